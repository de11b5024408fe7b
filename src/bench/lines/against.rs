//! Traced lines against a theory: how far they stand from where it has them, over all lines and line by line.

use super::shift::{Line, levelled};
use crate::base::Point;
use crate::bench::statistics::{quantile, rms};

/// How large a quantity is over the stations.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Size {
    /// Root mean square.
    pub rms: f64,
    /// 95 % of the stations have less.
    pub p95: f64,
    /// Largest, without its sign.
    pub largest: f64,
    /// Where that is, m.
    pub largest_at: Point,
}

/// The same of one line, with its signs.
#[derive(Debug, Clone, PartialEq)]
pub struct OfLine {
    /// Its number.
    pub line: i64,
    /// Its level, m.
    pub level: f64,
    /// Median shift, m.
    pub median: f64,
    /// Root mean square, m.
    pub rms: f64,
    /// 95 % of its stations have less, m.
    pub p95: f64,
    /// Slope of the shift along the line, m/m.
    pub trend: f64,
    /// Standard error of that; stations count as one per [`ALONE`].
    pub trend_sigma: f64,
}

/// Length of a line over which stations count as one, m: what draws a line aside does so over some length.
pub const ALONE: f64 = 10e-3;

/// Traced lines against a theory.
#[derive(Debug, Clone, PartialEq)]
pub struct Against {
    /// The key of the theory: `ideal`, `edge_layer` or what else was taken together.
    pub theory: String,
    /// Shifts, m.
    pub shift: Size,
    /// Directions, rad.
    pub direction: Size,
    /// Line by line.
    pub lines: Vec<OfLine>,
    /// What is left of the shifts, m.
    pub left: Vec<Vec<f64>>,
}

impl Against {
    /// Measures shifts less those that a theory predicts, m; levels that are not known are free.
    pub fn new(theory: impl Into<String>, lines: &[Line], predicted: Option<&[Vec<f64>]>) -> Self {
        let left = left_over(lines, predicted);
        let mut directions = Vec::new();
        for (line, shifts) in lines.iter().zip(&left) {
            let places = line.stations.iter().map(|station| station.at);
            let found = places.zip(line.directions(shifts));
            directions.extend(found.filter_map(|(at, turn)| turn.map(|turn| (at, turn))));
        }
        let places = lines.iter().flat_map(|line| line.stations.iter().map(|station| station.at));
        let shifts: Vec<(Point, f64)> = places.zip(left.iter().flatten().copied()).collect();
        Against {
            theory: theory.into(),
            shift: size(&shifts),
            direction: size(&directions),
            lines: lines.iter().zip(&left).map(|(line, shifts)| of_line(line, shifts)).collect(),
            left,
        }
    }
}

/// Shifts less those predicted, each line at its best level, m.
pub fn left_over(lines: &[Line], predicted: Option<&[Vec<f64>]>) -> Vec<Vec<f64>> {
    let of = |(k, line): (usize, &Line)| {
        let mut shifts = line.shifts();
        if let Some(predicted) = predicted.and_then(|predicted| predicted.get(k)) {
            shifts.iter_mut().zip(predicted).for_each(|(shift, p)| *shift -= p);
        }
        levelled(line, &shifts)
    };
    lines.iter().enumerate().map(of).collect()
}

/// Root mean square, 95 % and largest of values at places.
pub fn size(values: &[(Point, f64)]) -> Size {
    let Some(&first) = values.first() else { return Size::default() };
    let most = values.iter().fold(first, |most, &v| if v.1.abs() > most.1.abs() { v } else { most });
    let sizes: Vec<f64> = values.iter().map(|v| v.1.abs()).collect();
    Size { rms: rms(&sizes), p95: at(&sizes, 0.95), largest: most.1.abs(), largest_at: most.0 }
}

fn of_line(line: &Line, shifts: &[f64]) -> OfLine {
    let sizes: Vec<f64> = shifts.iter().map(|s| s.abs()).collect();
    let [trend, trend_sigma] = trend(line, shifts);
    OfLine {
        line: line.number,
        level: line.level,
        median: at(shifts, 0.5),
        rms: rms(shifts),
        p95: at(&sizes, 0.95),
        trend,
        trend_sigma,
    }
}

/// The value that a share of all is below; zero of nothing.
fn at(values: &[f64], share: f64) -> f64 {
    quantile(values, share).unwrap_or(0.0)
}

/// Slope of shifts along the arc and its standard error.
fn trend(line: &Line, shifts: &[f64]) -> [f64; 2] {
    let count = shifts.len() as f64;
    let middle = line.stations.iter().map(|station| station.arc).sum::<f64>() / count;
    let mean = shifts.iter().sum::<f64>() / count;
    let pairs = || line.stations.iter().zip(shifts).map(|(station, shift)| (station.arc - middle, shift - mean));
    let square: f64 = pairs().map(|(arc, _)| arc * arc).sum();
    if square <= 0.0 {
        return [0.0; 2];
    }
    let slope = pairs().map(|(arc, shift)| arc * shift).sum::<f64>() / square;
    let left: f64 = pairs().map(|(arc, shift)| (shift - slope * arc).powi(2)).sum();
    let alone = (line.spacing() / ALONE).min(1.0);
    let freedom = (alone * count - 2.0).max(1.0);
    [slope, (left * alone / freedom / (alone * square)).sqrt()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::lines::Observed;

    /// Shifts that grow by 1 mm per metre with ±0.01 mm beside: the slope comes back, its error is that of least squares with one of five
    /// stations, `0.01 mm √5/√Σ(arc − mean)²`.
    #[test]
    fn the_trend_of_a_line_is_found() {
        let station = |k: usize| Observed {
            arc: 2e-3 * k as f64,
            at: [k as f64, 1.0],
            psi: 0.0,
            speed: 1.0,
            place: k,
            seen: None,
            shift: 1e-3 * 2e-3 * k as f64 + 1e-5 * [1.0, -1.0, -1.0, 1.0][k % 4],
        };
        let line =
            Line { number: 4, level: 0.1, level_known: true, stations: (0..100).map(station).collect(), path: vec![] };
        let found = Against::new("ideal", &[line], None);
        let of = &found.lines[0];
        let spread: f64 = (0..100).map(|k| (2e-3 * (f64::from(k) - 49.5)).powi(2)).sum();
        assert!((of.trend - 1e-3).abs() < 1e-6, "{}", of.trend);
        let exact = 1e-5 * 5f64.sqrt() / spread.sqrt();
        assert!((of.trend_sigma / exact - 1.0).abs() < 0.1, "{} {exact}", of.trend_sigma);
        assert!(of.median.abs() < 1.2e-5 && found.shift.largest_at[0] > 95.0 || found.shift.largest_at[0] < 4.0);
    }
}
