//! What the tolerances of a case make of every number of its report.
//!
//! First by differences: the case with each uncertain value one standard uncertainty below and above what is stated. With
//! `d_k = (f+ - f-)/2` the variance is the sum of `d_k²`, and the share of each value its part of that (JCGM 100:2008, 5.1.2); `c_k = f+ -
//! 2 f + f-` tells how far that holds: to second order it adds `c_k²/2` to the variance (5.1.2, note). Where that matters, or on demand,
//! a sample of low discrepancy over all values at once gives variance, 95 % interval and the indices of first order and total ([`chaos`]).
//!
//! All runs are on meshes of as many triangles; what a mesh made anew changes of a number is its numerical error, which stands beside it and
//! limits the smallest uncertainty that differences can tell.

pub mod chaos;
mod numbers;
mod rows;
pub mod sample;

use super::{KEPT, on_all_cores};
use crate::base::{Error, Result};
use crate::bench::statistics::quantile;
use crate::geometry::Plan;
use crate::input::campaign::{Base, Uncertain, uncertain};
use crate::input::case::{Case, Spread};
use crate::study::shared::key;
use crate::study::{Settings, Shared, read_text, solve_decided_with};
use crate::theory::ideal::Goal;
use chaos::{Design, Shares, term_count};
use numbers::{Numbers, numbers_of};
use sample::standard_points;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Part of a standard uncertainty up to which curvature is left out: it adds a hundredth to the variance.
pub const LINEAR: f64 = 0.1;
/// Points of a sample for each term of its polynomial.
const PER_TERM: usize = 3;
/// Fewest points of a sample.
const FEWEST: usize = 32;
/// Most points of a sample.
pub const MOST_POINTS: usize = 1 << 16;

/// How uncertainties were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// By differences.
    Differences,
    /// By a sample of so many points.
    Sample(usize),
}

/// A number of the report with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Its path in the report.
    pub path: String,
    /// Its unit in files.
    pub unit: &'static str,
    /// Its value for the case as it stands.
    pub value: f64,
    /// Whether it is one of those that matter most.
    pub is_main: bool,
    /// Its estimated numerical error.
    pub numerical: Option<f64>,
    /// Standard uncertainty.
    pub standard: f64,
    /// Where 95 % of the values lie.
    pub interval: [f64; 2],
    /// Share of each value alone in the variance.
    pub first: Vec<f64>,
    /// The same together with others.
    pub total: Vec<f64>,
    /// What curvature adds by differences, over the standard uncertainty.
    pub curved: f64,
    /// Share of the variance that a sample's polynomial leaves.
    pub left: f64,
}

/// What the tolerances of a case make of its report.
#[derive(Debug)]
pub struct Uncertainties {
    /// The case.
    pub case: Case,
    /// The uncertain values.
    pub inputs: Vec<Uncertain>,
    /// How uncertainties were found.
    pub method: Method,
    /// Triangles of the meshes.
    pub triangles: usize,
    /// Runs that it took.
    pub runs: usize,
    /// The numbers of the report, in its order.
    pub rows: Vec<Known>,
}

/// How uncertainties are to be found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UncertaintySettings {
    /// The goal of the mesh; the case's own if none.
    pub goal: Option<Goal>,
    /// Points of a sample, where one is wanted in any case.
    pub sample: Option<usize>,
    /// Runs at once.
    pub threads: usize,
}

/// Finds what the tolerances of a case make of the numbers of its report. `watch` is told how many runs of how many are done.
///
/// # Errors
/// [`Error::Usage`] if the case has no tolerance; [`Error::Failed`] if a value within its tolerance makes no valid case; as
/// [`crate::study::solve_decided`].
pub fn solve_uncertainty(
    case: Case,
    plan: &Arc<Plan>,
    settings: UncertaintySettings,
    watch: &(dyn Fn(usize, usize) + Sync),
) -> Result<Uncertainties> {
    let base = Base::of(&case)?;
    let inputs = uncertain(&case, &base).map_err(Error::Input)?;
    if inputs.is_empty() {
        let what = format!("{} has no [uncertainty]", case.file.display());
        return Err(Error::argument(what, "write [uncertainty] and below it a tolerance, \"cell.gap\" = \"20 um\""));
    }
    let with_all = |goal| Settings { goal, inertia: true, edge_layer: true };
    let (study, _) = solve_decided_with(&case, plan, with_all(settings.goal), &Shared::new(KEPT), &|_| {})?;
    let triangles = study.solved.space.mesh.triangles.len();
    // what numbers without an error of their own may be off
    let usual = study.pattern.shape_factor.relative_half_width;
    drop(study);
    let runs = Runs {
        base: &base,
        inputs: &inputs,
        settings: with_all(Some(Goal::Triangles(triangles))),
        threads: settings.threads,
    };

    let mut points = vec![vec![0.0; inputs.len()]];
    for k in 0..inputs.len() {
        for sign in [-1.0, 1.0] {
            let mut point = vec![0.0; inputs.len()];
            // in a uniform spread the standard uncertainty is a root of three of the half-width
            point[k] = sign * inputs[k].standard() / inputs[k].tolerance;
            points.push(point);
        }
    }
    let star = runs.numbers(&points, watch)?;
    let mut rows = by_differences(&star, inputs.len());
    let matters = |row: &Known| {
        let size = row.curved * row.standard;
        row.is_main && row.varies() && row.curved > LINEAR && size > row.numerical.unwrap_or(usual * row.value.abs())
    };
    let mut done = points.len();
    let mut method = Method::Differences;
    if settings.sample.is_some() || rows.iter().any(matters) {
        let enough = (PER_TERM * term_count(inputs.len())).next_power_of_two().max(FEWEST);
        let count = settings.sample.unwrap_or(enough).clamp(term_count(inputs.len()) + 1, MOST_POINTS);
        let spreads: Vec<Spread> = inputs.iter().map(|input| input.spread).collect();
        let points = standard_points(&spreads, count);
        let Some(design) = Design::new(&points, &spreads) else {
            let what = format!("{count} points do not tell the shares of {} values apart", inputs.len());
            return Err(Error::failed(what, format!("ask for {enough} of them")));
        };
        by_sample(&mut rows, &design, &runs.numbers(&points, watch)?);
        done += count;
        method = Method::Sample(count);
    }
    Ok(Uncertainties { case, inputs, method, triangles, runs: done, rows })
}

/// Runs of the case at points of its uncertain values.
struct Runs<'a> {
    base: &'a Base,
    inputs: &'a [Uncertain],
    settings: Settings,
    threads: usize,
}

impl Runs<'_> {
    /// The case at a point, in tolerances from what is stated.
    fn case(&self, point: &[f64]) -> Result<(Case, Arc<Plan>)> {
        let moved = self.inputs.iter().zip(point).filter(|(_, x)| **x != 0.0);
        let values: Vec<_> =
            moved.map(|(input, x)| (&input.key, input.literal(input.nominal + x * input.tolerance))).collect();
        let text = self.base.with(values.iter().map(|(key, value)| (*key, value)));
        read_text(&text, &self.base.file).map_err(|error| {
            let said: Vec<String> =
                values.iter().map(|(key, value)| format!("{} = {}", key.typed, value.shown)).collect();
            let what = format!("within the tolerances the case is not valid, at {}: {}", said.join(", "), error.what());
            Error::failed(what, "give smaller tolerances, or move what is in the way")
        })
    }

    /// The numbers of the reports at points, in their order.
    fn numbers(&self, points: &[Vec<f64>], watch: &(dyn Fn(usize, usize) + Sync)) -> Result<Vec<Numbers>> {
        let cases = points.iter().map(|point| self.case(point)).collect::<Result<Vec<_>>>()?;
        // those that share a solution go together
        let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (k, (case, plan)) in cases.iter().enumerate() {
            let solution = key(case, plan, self.settings.goal_of(case), self.settings);
            groups.entry(solution).or_default().push(k);
        }
        let most = points.len().div_ceil(self.threads.max(1)).max(1);
        let groups: Vec<&[usize]> = groups.values().flat_map(|group| group.chunks(most)).collect();
        let found: Mutex<Vec<Option<Numbers>>> = Mutex::new(vec![None; points.len()]);
        on_all_cores(&groups, self.threads, &|k, shared| {
            let (case, plan) = &cases[k];
            let (study, budget) = solve_decided_with(case, plan, self.settings, shared, &|_| {})?;
            let mut sections = study.sections();
            sections.extend(budget.sections(&study));
            let numbers = numbers_of(&sections);
            let mut found = found.lock().unwrap_or_else(PoisonError::into_inner);
            found[k] = Some(numbers);
            watch(found.iter().flatten().count(), points.len());
            Ok(())
        })?;
        Ok(found.into_inner().unwrap_or_else(PoisonError::into_inner).into_iter().flatten().collect())
    }
}

/// Uncertainties from the case as it stands and each value below and above; a number that one of these reports lacks is left out.
fn by_differences(star: &[Numbers], inputs: usize) -> Vec<Known> {
    let Some((stated, others)) = star.split_first() else { return Vec::new() };
    let mut rows = Vec::new();
    'rows: for number in &stated.list {
        let mut halves = Vec::with_capacity(inputs);
        for pair in others.chunks(2) {
            let [Some(below), Some(above)] = [0, 1].map(|k| pair.get(k).and_then(|report| report.get(&number.path)))
            else {
                continue 'rows;
            };
            halves.push([0.5 * (above - below), above - 2.0 * number.value + below]);
        }
        let variance: f64 = halves.iter().map(|[d, _]| d * d).sum();
        let curvature: f64 = halves.iter().map(|[_, c]| 0.5 * c * c).sum();
        let shares: Vec<f64> =
            halves.iter().map(|[d, _]| if variance > 0.0 { d * d / variance } else { 0.0 }).collect();
        let standard = variance.sqrt();
        rows.push(Known {
            path: number.path.clone(),
            unit: number.unit,
            value: number.value,
            is_main: number.is_main,
            numerical: number.error,
            standard,
            interval: [number.value - 2.0 * standard, number.value + 2.0 * standard],
            total: shares.clone(),
            first: shares,
            curved: if standard > 0.0 { curvature.sqrt() / standard } else { 0.0 },
            left: 0.0,
        });
    }
    rows
}

/// Puts what a sample says in place; a number that a report of it lacks keeps what differences say.
fn by_sample(rows: &mut [Known], design: &Design, sample: &[Numbers]) {
    for row in rows {
        let values: Option<Vec<f64>> = sample.iter().map(|report| report.get(&row.path)).collect();
        let Some(values) = values else { continue };
        let Shares { variance, first, total, left, .. } = design.shares(&values);
        row.standard = variance.sqrt();
        let end = |part: f64| quantile(&values, part).unwrap_or(row.value);
        row.interval = [end(0.025), end(0.975)];
        (row.first, row.total, row.left) = (first, total, left);
    }
}
