//! The taper of the gap, from how a particle's speed changes along its track beside the ideal one of an even gap.
//!
//! A particle keeps its height, so ln s along its track changes by what the gap does to the speed. Where the gap changes along the flow, V
//! b is constant and the trend of ln s is -d(ln b). Across the flow a wider part takes more, V as b^2, but tracks of particles do
//! not cross the flow: a trend along y is only seen where obstacles turn the flow, and is told, not read as a gap.
//!
//! The trend is fitted within tracks, each with a level of its own. The one along the flow is taken out of the pattern's speed as
//! exp(g (x - x_0)); the mean speed then is the one that belongs to the gap at x_0. The one across is not: carried from the few millimetres that
//! a track moves across to the width of the cell, its error would be the largest of all.

use super::flow::Local;
use super::smooth::Smooth;
use super::speed::{Speed, single};
use crate::base::plane::{Point, Vector};
use crate::bench::statistics::{Group, Row, solve};
use rayon::prelude::*;

/// Standard errors above which a trend is taken out.
pub const CLEAR: f64 = 3.0;

/// The trend of ln s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// d(ln s)/dx and d(ln s)/dy, 1/m.
    pub slope: Vector,
    /// Their standard errors, 1/m; none where the tracks tell nothing.
    pub sigma: [Option<f64>; 2],
}

impl Trend {
    /// No trend, nothing known.
    pub const NONE: Trend = Trend { slope: [0.0; 2], sigma: [None; 2] };

    /// Whether its slope along an axis is clear of its error.
    pub fn is_clear(&self, axis: usize) -> bool {
        self.sigma[axis].is_some_and(|sigma| self.slope[axis].abs() > CLEAR * sigma)
    }

    /// Change of the logarithm of the gap by so many metres along the flow, with its error: -d(ln s)/dx.
    pub fn gap_change(&self, length: f64) -> Option<(f64, f64)> {
        self.sigma[0].map(|sigma| (-self.slope[0] * length, sigma * length))
    }

    /// The ideal pattern with the trend along the flow in its speed.
    pub(crate) fn put_into(&self, local: &Local, at: Point, from: Point) -> Local {
        let factor = (self.slope[0] * (at[0] - from[0])).exp();
        Local { velocity: local.velocity.map(|v| factor * v), ..*local }
    }
}

/// A track as far as its trend needs it.
pub(crate) struct Along<'a> {
    pub smooth: &'a Smooth,
    pub pattern: &'a [Local],
    pub speed: Speed,
    pub noise: f64,
}

/// The trend of ln s within the tracks: along both axes, or along the only one that is determined and asked for.
pub(crate) fn trend(tracks: &[Along<'_>], axes: [bool; 2]) -> Trend {
    let fitted = |axis: usize| {
        let groups: Vec<Group<1>> = tracks.par_iter().map(|track| group(track, [axis])).collect();
        solve(&groups).map(|(slope, covariance)| {
            let mut trend = Trend::NONE;
            (trend.slope[axis], trend.sigma[axis]) = (slope[0], Some(covariance[0][0].sqrt()));
            trend
        })
    };
    let both = || {
        let groups: Vec<Group<2>> = tracks.par_iter().map(|track| group(track, [0, 1])).collect();
        solve(&groups).map(|(slope, covariance)| Trend { slope, sigma: [0, 1].map(|k| Some(covariance[k][k].sqrt())) })
    };
    let found = match axes {
        [true, true] => both().or_else(|| fitted(0)),
        [true, false] => fitted(0),
        [false, true] => fitted(1),
        [false, false] => None,
    };
    found.unwrap_or(Trend::NONE)
}

/// Rows of a track: ln s to first order about its mean, which noise does not bend.
fn group<const N: usize>(track: &Along<'_>, axes: [usize; N]) -> Group<N> {
    let rows: Vec<Row<N>> = (track.smooth.samples.iter().zip(track.pattern))
        .map(|(sample, local)| {
            let (one, sigma) = single(sample, local, track.noise);
            let weight = (track.speed.ratio / sigma).powi(2);
            (weight, axes.map(|axis| sample.at[axis]), one / track.speed.ratio - 1.0)
        })
        .collect();
    Group::new(&rows)
}
