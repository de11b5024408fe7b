//! How the tracers stand in the gap, and the speed of the flow that follows: kappa, the speed over that of the case.
//!
//! Uniform heights and heights counted at a gate are fitted, and the likelier one is held against the tracks by a Kolmogorov-Smirnov
//! test of each track's own smeared distribution. If it fails and all tracks run at nearly one speed, they are taken as
//! focused at mid-gap, with a width fitted beside kappa (a median of the faster half would be too high by part of the noise). Otherwise no
//! more is known than that no tracer is faster than mid-gap. Tracers that inertia has moved towards one height between mid-gap and plates look
//! focused too; at the Reynolds numbers of these cells they do not get there, they settle, which shows as slow tails.

use super::likelihood::{Fit, Measured, fit, fit_focused};
use super::profile::Profile;
use crate::bench::statistics::{median, quantile};

/// Probability below which a distribution is refused.
const LEAST_PROBABILITY: f64 = 0.01;
/// Spread of s over its median below which tracers run at one speed.
const NARROW: f64 = 0.10;
/// Part of the tracks that are slower than the bound where heights are unknown.
const BOUND: f64 = 0.95;
/// The 90 % quantile of uniform heights.
const AT_90: f64 = 0.99;
/// Error of the ideal pattern as a part of s, below which no track's error is believed.
const FLOOR: f64 = 5e-4;

/// How the tracers stand in the gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heights {
    /// Every height as often.
    Uniform,
    /// As often as the flux brings them: counted as they cross a line.
    Crossing,
    /// Near mid-gap.
    Focused,
    /// In no way that is known: the speed is a lower bound.
    Unknown,
}

impl Heights {
    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Heights::Uniform => "uniform",
            Heights::Crossing => "flux_weighted",
            Heights::Focused => "focused",
            Heights::Unknown => "unknown",
        }
    }
}

/// Heights and speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// How the tracers stand.
    pub heights: Heights,
    /// Speed over that of the case; a lower bound where heights are unknown.
    pub kappa: f64,
    /// Its standard error.
    pub sigma: f64,
    /// Share of strays.
    pub strays: f64,
    /// Probability by the Kolmogorov-Smirnov test that these heights give such tracks.
    pub probability: f64,
    /// Width of heights near mid-gap, as a standard deviation of zeta.
    pub width: Option<f64>,
    /// The same speed by other ways.
    pub checks: Checks,
    /// Passes over all tracks that it took.
    pub passes: usize,
}

/// Speed over that of the case by other ways, where they hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Checks {
    /// By the mean of s; strays move it.
    pub by_mean: f64,
    /// By the 90 % quantile of s.
    pub by_quantile: f64,
    /// The largest s: an upper bound but for its noise.
    pub largest: f64,
}

/// A first estimate of kappa that few strays can move; none without tracks.
pub(crate) fn first_estimate(measured: &[Measured]) -> Option<f64> {
    let ratios: Vec<f64> = measured.iter().map(|(s, _)| *s).collect();
    quantile(&ratios, 0.9).map(|s| s / AT_90).filter(|first| *first > 0.0)
}

/// Heights and speed from measured s; none without tracks that move.
pub(crate) fn find(measured: &[Measured]) -> Option<Found> {
    let first = first_estimate(measured)?;
    let measured: Vec<Measured> = measured.iter().map(|(s, sigma)| (*s, sigma.hypot(FLOOR * first))).collect();
    let ratios: Vec<f64> = measured.iter().map(|(s, _)| *s).collect();
    let [uniform, crossing] = [Profile::Uniform, Profile::Crossing].map(|profile| fit(profile, &measured, first));
    let passes = uniform.passes + crossing.passes;
    let best = if crossing.log_likelihood > uniform.log_likelihood { crossing } else { uniform };
    let probability = probability(&best, &measured, first);
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    let largest = ratios.iter().copied().fold(f64::MIN, f64::max);
    let found = |heights: Heights, fit: &Fit, probability: f64, mean_of_q: f64| {
        let width = if let Profile::Focused { width } = fit.profile { Some(width) } else { None };
        let quantile = if width.is_some() { quantile(&ratios, 0.9) } else { Some(first) };
        let checks = Checks { by_mean: mean / mean_of_q, by_quantile: quantile.unwrap_or(first), largest };
        let Fit { kappa, sigma, strays, .. } = *fit;
        Found { heights, kappa, sigma, strays, probability, width, checks, passes }
    };
    if probability > LEAST_PROBABILITY {
        return Some(match best.profile {
            Profile::Crossing => found(Heights::Crossing, &best, probability, 0.8),
            _ => found(Heights::Uniform, &best, probability, 2.0 / 3.0),
        });
    }
    if spread(&ratios)? < NARROW {
        let fit = fit_focused(&measured, first);
        let width = if let Profile::Focused { width } = fit.profile { width } else { 0.0 };
        let probability = self::probability(&fit, &measured, first);
        let focused = found(Heights::Focused, &fit, probability, 1.0 - width * width);
        return Some(Found { passes: passes + fit.passes, ..focused });
    }
    // V = u_max/(3/2) at least; a few strays or bubbles shall not make the bound
    let sure: Vec<f64> = measured.iter().map(|(s, sigma)| s - 2.0 * sigma).collect();
    let bound = Fit { kappa: quantile(&sure, BOUND)?, sigma: typical_error(&measured)?, ..best };
    Some(found(Heights::Unknown, &bound, probability, 2.0 / 3.0))
}

/// Standard error of s of most tracks.
fn typical_error(measured: &[Measured]) -> Option<f64> {
    median(&measured.iter().map(|(_, sigma)| *sigma).collect::<Vec<f64>>())
}

/// Half the width between the quantiles that hold the middle 68 %, over the median.
fn spread(ratios: &[f64]) -> Option<f64> {
    let [low, middle, high] = [quantile(ratios, 0.16)?, median(ratios)?, quantile(ratios, 0.84)?];
    Some(0.5 * (high - low) / middle)
}

/// Each track's place in its own distribution, strays with it, is uniform on [0, 1] if the heights are right.
fn probability(fit: &Fit, measured: &[Measured], first: f64) -> f64 {
    let place = |(s, sigma): &Measured| {
        let stray = (0.5 * s / first).clamp(0.0, 1.0);
        (1.0 - fit.strays) * fit.profile.measured_below(*s, *sigma, fit.kappa) + fit.strays * stray
    };
    let places: Vec<f64> = measured.iter().map(place).collect();
    crate::bench::statistics::uniform_probability(&places)
}
