//! The verdict against the tolerances, in plain sentences.

use super::contribution::{Contribution, Effect, View, total};
use super::measure::{Measure, Measures, Reference};
use super::scale::Scale;
use crate::base::bisect::bisected;
use crate::base::units::significant;
use crate::input::case::{Reynolds, Tolerance};

/// Largest factor of speed or gap up to which a threshold is looked for.
const FURTHEST: f64 = 100.0;

/// Where a tolerance is first exceeded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// What the tolerance is of.
    pub measure: Measure,
    /// Reduced Reynolds number at which the largest departure, confinement left aside, reaches it, all else kept; none if it never
    /// does below a hundred times the case's, or does so without any inertia.
    pub reduced_reynolds: Option<f64>,
    /// b/L at which it does, at the same speed.
    pub gap_over_length: Option<f64>,
}

/// Measures of effects together at the dye height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Together {
    /// Of everything.
    pub all: Measures,
    /// Of everything but confinement: what the cell itself does.
    pub cell_alone: Measures,
}

/// The verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Whether every largest departure of all effects together is within its tolerance.
    pub within_tolerance: bool,
    /// The effect with the largest speed departure, root mean square; none without any.
    pub dominant: Option<Effect>,
    /// Where tolerances are first exceeded.
    pub thresholds: Vec<Threshold>,
    /// In words.
    pub text: String,
}

/// Judges the departures; `each` are the measures of every contribution. Thresholds are found by scaling the contributions.
pub fn verdict(
    reference: &Reference,
    contributions: &[Contribution],
    each: &[Measures],
    together: &Together,
    tolerance: &Tolerance,
    reynolds: &Reynolds,
    gap: f64,
) -> Verdict {
    let dominant = contributions
        .iter()
        .zip(each)
        .max_by(|a, b| a.1.speed_rms.total_cmp(&b.1.speed_rms))
        .map(|(contribution, _)| contribution.effect);
    let own: Vec<&Contribution> = contributions.iter().filter(|c| c.effect.is_of_the_plates()).collect();
    let threshold = |measure: Measure| {
        let limit = measure.tolerance(tolerance);
        let largest = |scale: Scale| {
            let departure = total(own.iter().copied(), reference.velocity.len(), scale, View::AtHeight);
            measure.largest(&reference.measure(&departure))
        };
        let by_inertia = crossing(|x| largest(Scale { inertia: x, gap: 1.0 }), limit);
        let by_gap = crossing(|x| largest(Scale { inertia: 1.0, gap: x }), limit);
        Threshold {
            measure,
            reduced_reynolds: by_inertia.map(|x| x * reynolds.reduced),
            gap_over_length: by_gap.map(|x| x * gap / reynolds.reference_length),
        }
    };
    let confined = own.len() < contributions.len();
    Verdict {
        within_tolerance: within(&together.all, tolerance),
        dominant,
        thresholds: Measure::ALL.into_iter().map(threshold).collect(),
        text: in_words(dominant, together, confined, tolerance, reynolds),
    }
}

/// Whether every largest departure is at most its tolerance.
fn within(measures: &Measures, tolerance: &Tolerance) -> bool {
    Measure::ALL.into_iter().all(|measure| measure.largest(measures) <= measure.tolerance(tolerance))
}

/// The factor up to a hundred at which a growing quantity reaches a limit; none if it starts above or never does.
fn crossing(of: impl Fn(f64) -> f64, limit: f64) -> Option<f64> {
    if of(0.0) > limit || of(FURTHEST) < limit {
        return None;
    }
    let [low, high] = bisected([0.0, FURTHEST], 30, |x| of(x) < limit);
    Some(0.5 * (low + high))
}

fn in_words(
    dominant: Option<Effect>,
    together: &Together,
    confined: bool,
    tolerance: &Tolerance,
    reynolds: &Reynolds,
) -> String {
    let Together { all, cell_alone } = together;
    let mut text = which_is_ten(reynolds);
    text += &format!(" The largest effect is the {}. ", dominant.map_or("none", Effect::described));
    for measure in Measure::ALL {
        let (value, limit) = (measure.largest(all), measure.tolerance(tolerance));
        text += &format!(
            "{} by at most {}, {} the tolerance of {}. ",
            departs(measure),
            measure.show(value),
            if value <= limit { "within" } else { "BEYOND" },
            measure.show(limit)
        );
    }
    if confined {
        let shown = |measure: Measure| measure.show(measure.largest(cell_alone));
        text += &format!(
            "Without confinement, that is against ideal flow in the same channel, it is {}, {} and {}: {} the tolerances. ",
            shown(Measure::Speed),
            shown(Measure::Direction),
            shown(Measure::Shift),
            if within(cell_alone, tolerance) { "within" } else { "beyond" }
        );
    }
    text + if within(all, tolerance) {
        "Outside the edge band the picture is the ideal pattern within your tolerances."
    } else {
        "The picture is not the ideal pattern within your tolerances."
    }
}

fn which_is_ten(reynolds: &Reynolds) -> String {
    format!(
        "The obstacle Reynolds number is {}, the gap Reynolds number {}, but what measures inertia between the plates is the \
         reduced one, Re* = {}.",
        significant(reynolds.obstacle, 3),
        significant(reynolds.gap, 3),
        significant(reynolds.reduced, 3)
    )
}

fn departs(measure: Measure) -> &'static str {
    match measure {
        Measure::Speed => "The speed departs",
        Measure::Direction => "The direction departs",
        Measure::Shift => "Streaklines shift",
    }
}
