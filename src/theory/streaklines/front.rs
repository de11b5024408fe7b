//! Where dye of a line is at a time after its release.

use super::follow::{Ending, Streakline};
use crate::base::Point;
use crate::base::plane;

/// Dye at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dyed {
    /// Where, m; beyond the outlet where it has left the cell, as if that went on.
    pub at: Point,
    /// Height ζ.
    pub zeta: f64,
    /// Whether it is at the outlet or beyond.
    pub left: bool,
}

impl Streakline {
    /// Where the dye is that was let in this long ago, s: along the step from point to point by the cubic that has the times and speeds of
    /// both. None once the line has ended inside the cell.
    pub(super) fn dyed(&self, time: f64) -> Option<Dyed> {
        let k = self.times.partition_point(|t| *t <= time);
        let before = k.checked_sub(1)?;
        let (from, zeta, since) = (self.points[before], self.heights[before], time - self.times[before]);
        if k < self.points.len() {
            let way = plane::way(from, self.points[k]);
            let (whole, length) = (self.times[k] - self.times[before], plane::length(way));
            let slope = |speed: f64| speed * whole / length;
            let s = cubic(since / whole, slope(self.speeds[before]), slope(self.speeds[k])).clamp(0.0, 1.0);
            return Some(Dyed {
                at: plane::stepped(from, s, way),
                zeta: zeta + s * (self.heights[k] - zeta),
                left: false,
            });
        }
        if since == 0.0 {
            return Some(Dyed { at: from, zeta, left: self.ending == Ending::Outlet });
        }
        if self.ending != Ending::Outlet {
            return None;
        }
        let along = plane::unit(plane::way(*self.points.get(before.checked_sub(1)?)?, from))?;
        Some(Dyed { at: plane::stepped(from, since * self.speeds[before], along), zeta, left: true })
    }
}

/// From 0 to 1 with these slopes at both ends.
fn cubic(t: f64, first: f64, last: f64) -> f64 {
    let rest = 1.0 - t;
    t * t * (3.0 - 2.0 * t) + t * rest * (rest * first - t * last)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Along a line at speed 1 + 2 s from 0 to 1: s = (e^(2t) − 1)/2. The cubic of a step dt errs by s'''' dt^4/384, s'''' below 8 e^(2t) = 24.
    /// Beyond the outlet it goes on at its last speed; a line that ends inside is no more after its end.
    #[test]
    fn dye_is_found_between_points() {
        let times: Vec<f64> = (0..=8).map(|k| 0.125 * f64::from(k) * 0.5 * 3f64.ln()).collect();
        let s = |t: f64| 0.5 * ((2.0 * t).exp() - 1.0);
        let mut line = Streakline {
            points: times.iter().map(|&t| [s(t), 0.0]).collect(),
            heights: vec![0.0; 9],
            speeds: times.iter().map(|&t| (2.0 * t).exp()).collect(),
            times: times.clone(),
            stream_function: 0.0,
            ending: Ending::Outlet,
            steps: 8,
            tolerance: 1e-5,
        };
        let allowed = 24.0 * (times[1] - times[0]).powi(4) / 384.0;
        for k in 0..80 {
            let t = times[8] * f64::from(k) / 80.0;
            let found = line.dyed(t).unwrap().at[0];
            assert!((found - s(t)).abs() < allowed && allowed < 2e-6, "{t}: {found} {}", s(t));
        }
        let beyond = line.dyed(times[8] + 0.1).unwrap().at[0];
        assert!((beyond - 1.3).abs() < 1e-9, "{beyond}");
        line.ending = Ending::Stagnation;
        assert!(line.dyed(times[8]).is_some() && line.dyed(times[8] + 0.1).is_none());
    }
}
