//! Leaving out the points of a line that a file does not need.

use super::follow::Streakline;
use crate::base::plane;

/// Part of their largest value on a line by which heights, times and speeds between the points that are kept may be off.
pub const PART: f64 = 2e-3;

impl Streakline {
    /// The line with as few points as its tolerance lets (Douglas & Peucker 1973, Cartographica 10, 112): what is left out stands no further
    /// from the chord than the tolerance, and height, time and speed there are by linear interpolation off by no more than [`PART`] of their
    /// largest values. First and last point stay.
    pub fn thinned(&self) -> Streakline {
        let largest = |values: &[f64]| values.iter().fold(0.0, |a: f64, b| a.max(b.abs()));
        let along = [&self.heights, &self.times, &self.speeds];
        let limits = along.map(|values| PART * largest(values));
        // how far a point is off the chord from one point to another, over what is allowed
        let off = |first: usize, last: usize, k: usize| -> f64 {
            let (a, b, p) = (self.points[first], self.points[last], self.points[k]);
            let (s, away) = (plane::foot(p, [a, b]), plane::distance_to_segment(p, [a, b]));
            let apart = |(values, limit): (&&Vec<f64>, &f64)| {
                let expected = values[first] + s * (values[last] - values[first]);
                let off = (values[k] - expected).abs();
                if off > 0.0 { off / limit } else { 0.0 }
            };
            along.iter().zip(&limits).map(apart).fold(away / self.tolerance, f64::max)
        };
        let mut kept = vec![false; self.points.len()];
        let mut parts = Vec::new();
        if let Some(last) = self.points.len().checked_sub(1) {
            (kept[0], kept[last]) = (true, true);
            parts.push((0, last));
        }
        while let Some((first, last)) = parts.pop() {
            let worst = (first + 1..last).map(|k| (k, off(first, last, k))).max_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((k, _)) = worst.filter(|(_, off)| *off > 1.0) {
                kept[k] = true;
                parts.extend([(first, k), (k, last)]);
            }
        }
        let of = |values: &[f64]| values.iter().zip(&kept).filter(|(_, kept)| **kept).map(|(x, _)| *x).collect();
        Streakline {
            points: self.points.iter().zip(&kept).filter(|(_, kept)| **kept).map(|(p, _)| *p).collect(),
            heights: of(&self.heights),
            times: of(&self.times),
            speeds: of(&self.speeds),
            ..*self
        }
    }
}
