//! How much of a predicted effect the directions of the tracks show.
//!
//! An effect adds dV to the ideal V. A particle then leaves its line by d(psi) = (V x dV)/(U |V|) dl, whatever its height. The levels
//! psi along each track are fitted by a level of its own and the sum of amplitudes times predictions; 1 is the effect as predicted. Errors
//! follow the scatter between tracks.

use super::direction::OnLines;
use super::flow::Local;
use super::smooth::Smooth;
use crate::base::plane::{Point, Vector, cross, dot, square, way};
use crate::bench::statistics::{Group, Row, solve};
use rayon::prelude::*;

/// What an effect adds to the gap-averaged velocity at a place, m/s; none outside the fluid.
pub type Effect<'a> = &'a (dyn Fn(Point) -> Option<Vector> + Sync);

/// Size of an effect over its prediction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amplitude {
    /// The size; 1 as predicted, 0 as without the effect.
    pub value: f64,
    /// Its standard error.
    pub sigma: f64,
}

/// A track with what is known of it, as far as directions need it.
pub(crate) struct Seen<'a> {
    pub smooth: &'a Smooth,
    pub pattern: &'a [Local],
    pub places: &'a [OnLines],
}

/// The amplitudes of effects together; none where they cannot be told apart by these tracks.
pub(crate) fn amplitudes<const N: usize>(
    tracks: &[Seen<'_>],
    effects: [Effect<'_>; N],
    mean_speed: f64,
) -> Option<[Amplitude; N]> {
    let group = |seen: &Seen<'_>| {
        let drifts = effects.map(|effect| drift(seen, effect, mean_speed));
        let rows: Vec<Row<N>> = (0..seen.places.len())
            .filter_map(|k| {
                let mut factors = [0.0; N];
                for (factor, drift) in factors.iter_mut().zip(&drifts) {
                    *factor = drift[k]?;
                }
                Some((seen.places[k].weight, factors, seen.places[k].level))
            })
            .collect();
        Group::new(&rows)
    };
    let groups: Vec<Group<N>> = tracks.par_iter().map(group).collect();
    let (values, covariance) = solve(&groups)?;
    Some(std::array::from_fn(|k| Amplitude { value: values[k], sigma: covariance[k][k].sqrt() }))
}

/// psi that a particle gains by an effect up to each of its places, m; none from where it stands outside the fluid.
fn drift(seen: &Seen<'_>, effect: Effect<'_>, mean_speed: f64) -> Vec<Option<f64>> {
    let mut sum = Some(0.0);
    let mut before: Option<(Point, Vector)> = None;
    seen.smooth
        .samples
        .iter()
        .zip(seen.pattern)
        .map(|(sample, local)| {
            // (V x dV)/(U |V|) dl = (V x dV)/(U |V|^2) V.dx
            let turning = effect(sample.at).map(|added| {
                let factor = cross(local.velocity, added) / (mean_speed * square(local.velocity));
                [factor * local.velocity[0], factor * local.velocity[1]]
            });
            sum = sum.zip(turning).map(|(sum, turning)| match before {
                Some((at, last)) => sum + 0.5 * (dot(last, way(at, sample.at)) + dot(turning, way(at, sample.at))),
                None => sum,
            });
            before = turning.map(|turning| (sample.at, turning));
            sum
        })
        .collect()
}
