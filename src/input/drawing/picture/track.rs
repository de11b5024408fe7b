//! A closed half-tone line, walked by length.

use super::corner::{STEP, resampled};
use crate::base::Point;
use crate::base::plane::{distance, distance_to_segment};

/// A closed half-tone line and its samples at equal distances.
pub(super) struct Track<'a> {
    points: &'a [Point],
    /// Length from the first point to each, and round, pixels.
    passed: Vec<f64>,
    pub samples: Vec<Point>,
}

impl<'a> Track<'a> {
    pub fn new(points: &'a [Point]) -> Self {
        let mut passed = vec![0.0];
        let mut sum = 0.0;
        for k in 0..points.len() {
            sum += distance(points[k], points[(k + 1) % points.len()]);
            passed.push(sum);
        }
        Track { points, passed, samples: resampled(points, STEP) }
    }

    /// The line from one sample to another after it, counted on round by round, with all its own points between.
    pub fn between(&self, from: usize, to: usize) -> Vec<Point> {
        let (n, m) = (self.samples.len(), self.points.len());
        let (from, to) = (from % n, to - from / n * n);
        let total = self.passed[m];
        let place = |sample: usize| total * sample as f64 / n as f64;
        let mut found = vec![self.samples[from]];
        let start = self.passed[..m].partition_point(|s| *s <= place(from));
        let own = (start..).map(|k| (k % m, self.passed[k % m] + total * (k / m) as f64));
        found.extend(own.take_while(|(_, s)| *s < place(to)).map(|(k, _)| self.points[k]));
        found.push(self.samples[to % n]);
        found
    }

    /// Distance of a place from the line within so many samples of one of them.
    pub fn distance_about(&self, sample: usize, reach: usize, p: Point) -> f64 {
        let (n, reach) = (self.samples.len(), reach.min(self.samples.len() / 2));
        let line = self.between(sample + n - reach, sample + n + reach);
        line.windows(2).map(|pair| distance_to_segment(p, [pair[0], pair[1]])).fold(f64::INFINITY, f64::min)
    }

    /// The line itself.
    pub fn points(&self) -> &[Point] {
        self.points
    }
}
