//! The speed of a track over that of the ideal pattern at mid-gap, s = u.V/((3/2)|V|^2): one number for each track, for a particle keeps
//! its height zeta, s = kappa (1 - zeta^2), where kappa is the speed of the flow over that of the case.
//!
//! The mean over the frames weighted by |V|^2, the inverse variance of s in one frame, is s = sum u.V/((3/2) sum |V|^2). Velocities of
//! neighbouring frames share places; the error follows the places, each with its own noise, through the sums.
//!
//! Quadratics over seven frames miss part of a bend, as much as a per cent where a particle passes an obstacle in a dozen frames. The
//! pattern is therefore seen through the same quadratics: V is the rate that they make of the places int V dt. Beyond the edge layers
//! the fluid is faster than in the ideal pattern, for they leave it less room: V here is with them.

use super::flow::Local;
use super::smooth::{FRAMES, Sample, Smooth};
use crate::base::plane::{Vector, dot, length, square};

/// Part of s by which it may vary along a track beside noise: edge layer, inertia, a coarse quadratic.
const ALLOWED: f64 = 0.01;

/// The speed of a track.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Speed {
    /// Mean s.
    pub ratio: f64,
    /// Its standard error for places of the given noise.
    pub sigma: f64,
    /// Mean square of the deviations of single frames from the mean over their variances: about 1 for a constant s.
    pub chi2: f64,
}

/// The speed of a smoothed track beside the ideal pattern at each sample, for places with the given noise, m.
pub fn speed(smooth: &Smooth, pattern: &[Local], noise: f64) -> Speed {
    let pairs = || smooth.samples.iter().zip(pattern);
    let total = 1.5 * pattern.iter().map(|local| square(local.velocity)).sum::<f64>();
    let ratio = pairs().map(|(sample, local)| dot(sample.velocity, local.velocity)).sum::<f64>() / total;
    let mut takes: Vec<Vector> = vec![[0.0; 2]; smooth.samples.len()];
    for (sample, local) in pairs() {
        for (take, place) in sample.takes.iter().zip(&mut takes[sample.first..sample.first + FRAMES]) {
            *place = [0, 1].map(|k| place[k] + take * local.velocity[k] / total);
        }
    }
    let sigma = noise * takes.iter().map(|take| square(*take)).sum::<f64>().sqrt();
    let deviation = |(sample, local): (&Sample, &Local)| {
        let (one, own) = single(sample, local, noise);
        (one - ratio).powi(2) / (own.powi(2) + (ALLOWED * ratio).powi(2))
    };
    let chi2 = pairs().map(deviation).sum::<f64>() / smooth.samples.len() as f64;
    Speed { ratio, sigma, chi2 }
}

/// The pattern as quadratics over the frames of a track see it: rates of int V dt, by trapezoids, which leave a twelfth of what they mend.
pub(crate) fn through(smooth: &Smooth, times: &[f64], pattern: &[Local]) -> Vec<Local> {
    let mut sum = [0.0; 2];
    let mut way: Vec<Vector> = vec![sum];
    for (local, time) in pattern.windows(2).zip(times.windows(2)) {
        let half = 0.5 * (time[1] - time[0]);
        let of = |local: &Local, k: usize| local.faster * local.velocity[k];
        sum = [0, 1].map(|k| sum[k] + half * (of(&local[0], k) + of(&local[1], k)));
        way.push(sum);
    }
    let seen = |(sample, local): (&Sample, &Local)| {
        let places = &way[sample.first..sample.first + FRAMES];
        let velocity = [0, 1].map(|k| sample.takes.iter().zip(places).map(|(take, place)| take * place[k]).sum());
        Local { velocity, ..*local }
    };
    smooth.samples.iter().zip(pattern).map(seen).collect()
}

/// s in one frame and its standard error.
pub fn single(sample: &Sample, local: &Local, noise: f64) -> (f64, f64) {
    let ideal = 1.5 * length(local.velocity);
    let sum = sample.takes.iter().map(|take| take * take).sum::<f64>().sqrt();
    (dot(sample.velocity, local.velocity) / (ideal * length(local.velocity)), noise * sum / ideal)
}
