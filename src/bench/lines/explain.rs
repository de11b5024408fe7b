//! Which effects explain the shifts of traced lines, and how much of each.
//!
//! `s = level_j/|grad psi| + Σ a_k f_k + Σ z_m g_m + noise`: amplitudes a_k of what effects predict, and z_m of the modes of a
//! calibration, shifts by one standard deviation of it, with the prior 0 ± 1. Least squares with the weights of Huber (1964, Ann. Math.
//! Stat. 35, 73) beyond three standard deviations, four times over. Each line's level is taken out of everything before,
//! so that what is left is a system of as many unknowns as there are columns, a sum over lines. Stations count as
//! one per 10 mm ([`ALONE`]) where priors and standard errors are weighed.
//!
//! Amplitudes may come out negative: that is a finding. Errors are those of a bootstrap over lines (Efron 1979, Ann. Stat. 7, 1), which
//! does not see what lines have in common; so they are widened by the chi of the lines, the size of what is left over stretches of
//! 10 mm over the noise of a station, and are never below a floor.

use super::against::ALONE;
use super::noise::{deviation, noise, stretches};
use super::shift::{Line, levelled};
use crate::base::{Error, Result};
use crate::bench::statistics::{Chance, System, rms};
use rayon::prelude::*;

/// Least stated error of an amplitude.
pub const AMPLITUDE_FLOOR: f64 = 0.03;
/// Least stated error of a move of an obstacle, m.
pub const MOVE_FLOOR: f64 = 0.05e-3;
/// Below this identifiable share an effect cannot be told apart from others.
pub const IDENTIFIABLE: f64 = 0.1;

/// Below this share it is the same to what the solutions it was made of leave undone, and has no amplitude at all.
const SAME: f64 = 1e-3;

/// Standard deviations from which on a station counts less.
const HUBER: f64 = 3.0;
/// Times that weights are set anew.
const REWEIGHTINGS: usize = 4;
/// Samples of the bootstrap.
const SAMPLES: usize = 400;
/// A pattern of shifts with an amplitude to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its key.
    pub name: String,
    /// What it shifts at an amplitude of one, m or, for moves of obstacles, m per m.
    pub shifts: Vec<Vec<f64>>,
    /// Standard deviation of its amplitude about zero, known before; none if nothing is known.
    pub prior: Option<f64>,
    /// Least stated error of its amplitude.
    pub floor: f64,
}

/// What was found of a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Its key.
    pub name: String,
    /// The amplitude.
    pub value: f64,
    /// Its standard error as stated; infinite if the lines do not determine it.
    pub sigma: f64,
    /// Its standard error by the bootstrap alone.
    pub bootstrap: f64,
    /// Predicted shift, root mean square at an amplitude of one, levels out.
    pub predicted_rms: f64,
    /// Part of the mean square shift that it takes away at its amplitude.
    pub explained: f64,
    /// Size of the part of it that neither levels nor other columns have, over its size with levels out.
    pub identifiable: f64,
    /// The column it is most like.
    pub like: Option<String>,
}

/// A fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The columns, in their order.
    pub columns: Vec<Estimate>,
    /// What is left of the shifts, m.
    pub left: Vec<Vec<f64>>,
    /// Root mean square shift with nothing but levels fitted, m.
    pub rms_before: f64,
    /// Root mean square of what is left, m.
    pub rms_after: f64,
    /// Noise of a station, m.
    pub noise: f64,
    /// What is left over stretches of 10 mm over the noise of a station.
    pub chi: f64,
    /// Root mean square of the amplitudes that have a prior over that: above 2 marks and lines disagree. None without any.
    pub prior_z: Option<f64>,
}

impl Fit {
    /// What a column came to.
    pub fn of(&self, name: &str) -> Option<&Estimate> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// Part of the mean square shift that all columns together take away.
    pub fn explained(&self) -> f64 {
        if self.rms_before > 0.0 { 1.0 - (self.rms_after / self.rms_before).powi(2) } else { 0.0 }
    }
}

/// Fits the amplitudes of columns to the shifts of lines less `given` ones, m.
///
/// # Errors
/// [`Error::Failed`] without lines, or if columns without priors are the same for these lines.
pub fn explain(lines: &[Line], given: Option<&[Vec<f64>]>, columns: &[Column]) -> Result<Fit> {
    if lines.is_empty() {
        let remedy = "trace lines that run through the fluid beyond the edge layer, some 20 mm of each or more";
        return Err(Error::failed("no traced line has nine stations in the fluid beyond the edge layer", remedy));
    }
    let shifts: Vec<Vec<f64>> = super::against::left_over(lines, given);
    // what the lines do not feel at all would make the system singular
    let sizes: Vec<f64> = columns.iter().map(|column| rms(&level_free(lines, &column.shifts).concat())).collect();
    let felt: Vec<usize> = (0..columns.len()).filter(|&k| sizes[k] > 0.0 && sizes[k].is_finite()).collect();
    let used: Vec<&Column> = felt.iter().map(|&k| &columns[k]).collect();
    let mut weights: Vec<Vec<f64>> = shifts.iter().map(|s| vec![1.0; s.len()]).collect();
    let mut sigma = deviation(&shifts.concat());
    let mut solved = solve(lines, &shifts, &used, &weights, sigma)?;
    for _ in 0..REWEIGHTINGS {
        let left = left_after(lines, &shifts, &used, &solved.amplitudes, &weights);
        sigma = deviation(&left.concat());
        let weigh = |x: &f64| if x.abs() > HUBER * sigma { HUBER * sigma / x.abs() } else { 1.0 };
        weights = left.iter().map(|line| line.iter().map(weigh).collect()).collect();
        solved = solve(lines, &shifts, &used, &weights, sigma)?;
    }
    let left = left_after(lines, &shifts, &used, &solved.amplitudes, &weights);
    let noise = noise(&left).unwrap_or(sigma);
    let chi = stretches(lines, &left) / noise.max(f64::MIN_POSITIVE);
    let bootstrap = solved.bootstrap(&used);
    let formal = solved.system.inverse();
    let before = rms(&shifts.concat());
    let estimate = |k: usize| -> Estimate {
        let name = columns[k].name.clone();
        let Some(place) = felt.iter().position(|&used| used == k) else {
            let nothing = (0.0, f64::INFINITY);
            return Estimate {
                name,
                value: nothing.0,
                sigma: nothing.1,
                bootstrap: nothing.1,
                predicted_rms: 0.0,
                explained: 0.0,
                identifiable: 0.0,
                like: None,
            };
        };
        let value = solved.amplitudes[place];
        let own = formal[place][place].sqrt().max(bootstrap[place]);
        let less = |(s, f): (&Vec<f64>, &Vec<f64>)| s.iter().zip(f).map(|(s, f)| s - value * f).collect::<Vec<f64>>();
        let without: Vec<Vec<f64>> = shifts.iter().zip(&columns[k].shifts).map(less).collect();
        let (identifiable, like) = solved.told_apart(place);
        Estimate {
            name,
            value,
            sigma: (own * chi.max(1.0)).max(columns[k].floor),
            bootstrap: bootstrap[place],
            predicted_rms: sizes[k],
            explained: 1.0 - (rms(&level_free(lines, &without).concat()) / before.max(f64::MIN_POSITIVE)).powi(2),
            identifiable,
            like: like.map(|other| used[other].name.clone()),
        }
    };
    let estimates: Vec<Estimate> = (0..columns.len()).map(estimate).collect();
    let of_priors: Vec<f64> = columns
        .iter()
        .zip(&estimates)
        .filter_map(|(column, estimate)| column.prior.map(|prior| estimate.value / prior))
        .collect();
    Ok(Fit {
        columns: estimates,
        rms_before: before,
        rms_after: rms(&left.concat()),
        left,
        noise,
        chi,
        prior_z: (!of_priors.is_empty()).then(|| rms(&of_priors)),
    })
}

/// The normal equations of all lines and their solution, in units of the variance of a station.
struct Solved {
    of_lines: Vec<Normal>,
    priors: Vec<f64>,
    amplitudes: Vec<f64>,
    whole: Normal,
    system: System,
}

/// Normal matrix and right side of a line, its level taken out.
#[derive(Clone)]
struct Normal {
    matrix: Vec<Vec<f64>>,
    right: Vec<f64>,
}

impl Normal {
    fn zero(count: usize) -> Self {
        Normal { matrix: vec![vec![0.0; count]; count], right: vec![0.0; count] }
    }

    fn add(&mut self, other: &Normal) {
        for (row, more) in self.matrix.iter_mut().zip(&other.matrix) {
            row.iter_mut().zip(more).for_each(|(a, b)| *a += b);
        }
        self.right.iter_mut().zip(&other.right).for_each(|(a, b)| *a += b);
    }

    fn with_priors(mut self, priors: &[f64]) -> Self {
        self.matrix.iter_mut().zip(priors).enumerate().for_each(|(k, (row, prior))| row[k] += prior);
        self
    }

    /// Of a line: weighted products of the columns less those with the level's own shape 1/|grad psi|.
    fn of(line: &Line, shifts: &[f64], columns: &[&[f64]], weights: &[f64], scale: f64) -> Normal {
        let shape: Vec<f64> = line.stations.iter().map(|station| 1.0 / station.speed).collect();
        let product = |a: &[f64], b: &[f64]| -> f64 {
            weights.iter().zip(a).zip(b).map(|((w, a), b)| w * a * b).sum::<f64>() * scale
        };
        let own = product(&shape, &shape).max(f64::MIN_POSITIVE);
        let with_shape: Vec<f64> = columns.iter().map(|column| product(column, &shape)).collect();
        let free = product(shifts, &shape);
        let count = columns.len();
        let mut normal = Normal::zero(count);
        for i in 0..count {
            normal.right[i] = product(columns[i], shifts) - with_shape[i] * free / own;
            for j in 0..count {
                normal.matrix[i][j] = product(columns[i], columns[j]) - with_shape[i] * with_shape[j] / own;
            }
        }
        normal
    }
}

fn solve(lines: &[Line], shifts: &[Vec<f64>], columns: &[&Column], weights: &[Vec<f64>], sigma: f64) -> Result<Solved> {
    let variance = (sigma * sigma).max(f64::MIN_POSITIVE);
    let of_line = |k: usize| {
        let of_columns: Vec<&[f64]> = columns.iter().map(|column| column.shifts[k].as_slice()).collect();
        let alone = (lines[k].spacing() / ALONE).min(1.0);
        Normal::of(&lines[k], &shifts[k], &of_columns, &weights[k], alone / variance)
    };
    let of_lines: Vec<Normal> = (0..lines.len()).into_par_iter().map(of_line).collect();
    let priors: Vec<f64> = columns.iter().map(|column| column.prior.map_or(0.0, |prior| prior.powi(-2))).collect();
    let mut whole = Normal::zero(columns.len());
    of_lines.iter().for_each(|line| whole.add(line));
    let whole = whole.with_priors(&priors);
    let system = System::new(&whole.matrix);
    let solved = system.is_determined().then(|| {
        let amplitudes = system.solve(&whole.right);
        Solved { amplitudes, of_lines, priors, whole, system }
    });
    let is_own = |solved: &Solved, k: usize| columns[k].prior.is_some() || solved.told_apart(k).0 > SAME;
    solved.filter(|solved| (0..columns.len()).all(|k| is_own(solved, k))).ok_or_else(|| {
        let names: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
        Error::failed(
            format!("on these lines some of {} look the same", names.join(", ")),
            "trace lines on both sides of every obstacle, or fit fewer effects at a time",
        )
    })
}

impl Solved {
    /// Standard deviations of the amplitudes over samples of lines, drawn with repetition.
    fn bootstrap(&self, columns: &[&Column]) -> Vec<f64> {
        let count = columns.len();
        let sample = |seed: usize| -> Option<Vec<f64>> {
            let mut chance = Chance::new(seed as u64);
            let mut sum = Normal::zero(count);
            for _ in 0..self.of_lines.len() {
                sum.add(&self.of_lines[chance.below(self.of_lines.len())]);
            }
            let sum = sum.with_priors(&self.priors);
            let system = System::new(&sum.matrix);
            system.is_determined().then(|| system.solve(&sum.right))
        };
        let samples: Vec<Vec<f64>> =
            (0..SAMPLES).into_par_iter().map(sample).collect::<Vec<_>>().into_iter().flatten().collect();
        let of = |k: usize| {
            let mean = samples.iter().map(|sample| sample[k]).sum::<f64>() / samples.len().max(1) as f64;
            rms(&samples.iter().map(|sample| sample[k] - mean).collect::<Vec<f64>>())
        };
        (0..count).map(of).collect()
    }

    /// Part of a column that the others do not have, and the one it is most like: `√(1/(N_kk (N⁻¹)_kk))`.
    fn told_apart(&self, k: usize) -> (f64, Option<usize>) {
        let count = self.amplitudes.len();
        let n = &self.whole.matrix;
        let mut unit = vec![0.0; count];
        unit[k] = 1.0;
        let share = (n[k][k] * self.system.solve(&unit)[k]).recip().clamp(0.0, 1.0).sqrt();
        let likeness = |other: usize| (n[k][other] / (n[k][k] * n[other][other]).sqrt()).abs();
        let like = (0..count).filter(|&other| other != k).max_by(|&a, &b| likeness(a).total_cmp(&likeness(b)));
        (share, like)
    }
}

fn level_free(lines: &[Line], shifts: &[Vec<f64>]) -> Vec<Vec<f64>> {
    lines.iter().zip(shifts).map(|(line, shifts)| levelled(line, shifts)).collect()
}

/// Shifts less the columns at their amplitudes, each line at the level its weights give.
fn left_after(
    lines: &[Line],
    shifts: &[Vec<f64>],
    columns: &[&Column],
    amplitudes: &[f64],
    weights: &[Vec<f64>],
) -> Vec<Vec<f64>> {
    let of = |k: usize| {
        let mut left = shifts[k].clone();
        for (column, amplitude) in columns.iter().zip(amplitudes) {
            left.iter_mut().zip(&column.shifts[k]).for_each(|(left, f)| *left -= amplitude * f);
        }
        let (mut sum, mut total) = (0.0, 0.0);
        for ((left, station), weight) in left.iter().zip(&lines[k].stations).zip(&weights[k]) {
            sum += weight * left / station.speed;
            total += weight / station.speed.powi(2);
        }
        let level = if total > 0.0 { sum / total } else { 0.0 };
        left.iter_mut().zip(&lines[k].stations).for_each(|(left, station)| *left -= level / station.speed);
        left
    };
    (0..lines.len()).map(of).collect()
}
