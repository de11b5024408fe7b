//! The direction of a track: free of its height at leading order, and of its speed.
//!
//! A track is a short line. Along a line of the ideal pattern psi keeps its level, so r = psi - mean(psi) along a track is its departure,
//! and r U/|V| a shift of the line, positive to the left. The angle of the track against the ideal direction is the slope of psi over
//! phi, d(phi) = (V/U).dx, by least squares with weights (U/|V|)^2: equal noise of every place. Directions of single velocities would
//! leave ten times the error.

use super::flow::Local;
use super::smooth::Smooth;
use crate::base::plane::{Point, cross, dot, square, way};

/// Part of U below which the direction of the flow is not looked at: near stagnation points shifts grow without limit.
const SLOW: f64 = 0.1;

/// The direction of a track.
#[derive(Debug, Clone, PartialEq)]
pub struct Direction {
    /// Mean angle to the left of the ideal direction, rad.
    pub angle: f64,
    /// Its standard error, rad.
    pub sigma: f64,
    /// Shift at each place from the track's own level, m; none where the flow is slow.
    pub shifts: Vec<Option<f64>>,
}

/// A place of a track on the lines of the ideal pattern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OnLines {
    /// Stream function psi over U, m.
    pub level: f64,
    /// Potential phi over U from the start of the track, m.
    pub along: f64,
    /// (U/|V|)^2, 0 where the flow is slow.
    pub weight: f64,
}

/// The places of a track on the lines of the ideal pattern. psi is carried from the smoothed place to the seen one by its gradient.
pub(crate) fn on_lines(points: &[Point], smooth: &Smooth, pattern: &[Local], mean_speed: f64) -> Vec<OnLines> {
    let mut along = 0.0;
    let mut before: Option<(Point, Local)> = None;
    let places = points.iter().zip(smooth.samples.iter().zip(pattern));
    places
        .map(|(point, (sample, local))| {
            if let Some((at, last)) = before {
                let step = way(at, sample.at);
                along += 0.5 * (dot(last.velocity, step) + dot(local.velocity, step)) / mean_speed;
            }
            before = Some((sample.at, *local));
            let level = local.level + cross(local.velocity, way(sample.at, *point)) / mean_speed;
            let speed = square(local.velocity) / (mean_speed * mean_speed);
            let weight = if speed > SLOW * SLOW { 1.0 / speed } else { 0.0 };
            OnLines { level, along, weight }
        })
        .collect()
}

/// The direction of a track with the given noise of places, m; none of one that does not move or keeps to slow flow.
pub(crate) fn direction(places: &[OnLines], noise: f64) -> Option<Direction> {
    let total: f64 = places.iter().map(|place| place.weight).sum();
    let mean = |of: fn(&OnLines) -> f64| places.iter().map(|place| place.weight * of(place)).sum::<f64>() / total;
    let (level, along) = (mean(|place| place.level), mean(|place| place.along));
    let spread: f64 = places.iter().map(|place| place.weight * (place.along - along).powi(2)).sum();
    let lean: f64 = places.iter().map(|p| p.weight * (p.along - along) * (p.level - level)).sum();
    let shift = |place: &OnLines| (place.weight > 0.0).then(|| (place.level - level) * place.weight.sqrt());
    (total > 0.0 && spread > 0.0).then(|| Direction {
        angle: (lean / spread).atan(),
        sigma: noise / spread.sqrt(),
        shifts: places.iter().map(shift).collect(),
    })
}
