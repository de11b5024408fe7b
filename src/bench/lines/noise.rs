//! The noise of traced lines, from what a fit leaves of their shifts.

use super::against::ALONE;
use super::shift::Line;
use crate::bench::statistics::{median, rms};

/// Stations between those whose second difference shows the noise: more than windows of stations overlap.
const LAG: usize = 4;
/// Median absolute value of a normal variable over its standard deviation.
const NORMAL: f64 = 0.674_489_75;

/// Standard deviation by the median of sizes, which strays do not move.
pub fn deviation(values: &[f64]) -> f64 {
    median(&values.iter().map(|v| v.abs()).collect::<Vec<f64>>()).unwrap_or(0.0) / NORMAL
}

/// Noise of a station: second differences of what is left have √6 of it; none for lines that short.
pub fn noise(left: &[Vec<f64>]) -> Option<f64> {
    let of = |line: &Vec<f64>| -> Vec<f64> {
        let middle = LAG..line.len().saturating_sub(LAG).max(LAG);
        middle.map(|i| line[i - LAG] - 2.0 * line[i] + line[i + LAG]).collect()
    };
    let differences: Vec<f64> = left.iter().flat_map(of).collect();
    (!differences.is_empty()).then(|| deviation(&differences) / 6f64.sqrt())
}

/// Root mean square of means over stretches of [`ALONE`], m.
pub(crate) fn stretches(lines: &[Line], left: &[Vec<f64>]) -> f64 {
    let of = |(line, left): (&Line, &Vec<f64>)| -> Vec<f64> {
        let stretch = |i: usize| (line.stations[i].arc / ALONE).floor();
        let places: Vec<usize> = (0..left.len()).collect();
        let groups = places.chunk_by(|&a, &b| stretch(a) == stretch(b));
        groups.map(|group| group.iter().map(|&i| left[i]).sum::<f64>() / group.len() as f64).collect()
    };
    rms(&lines.iter().zip(left).flat_map(of).collect::<Vec<f64>>())
}
