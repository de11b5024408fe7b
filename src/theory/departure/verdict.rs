//! The verdict against the tolerances, in plain sentences.

use super::contribution::{Contribution, Effect};
use super::errors::{Errors, Outcome};
use super::measure::{Measure, Measures};
use crate::base::Point;
use crate::base::units::significant;
use crate::input::case::{Reynolds, Tolerance};

/// A departure against its tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// What is measured.
    pub measure: Measure,
    /// The size that no more than the share allowed exceeds.
    pub size: f64,
    /// Its estimated numerical error.
    pub error: f64,
    /// The tolerance.
    pub tolerance: f64,
    /// Whether it is within.
    pub outcome: Outcome,
    /// The largest over the region, and where.
    pub largest: (f64, Point),
}

/// The verdict against ideal flow in the same cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Speed, direction, shift.
    pub judged: [Judged; 3],
    /// Whether all three are within their tolerances, confinement left aside.
    pub within_tolerance: bool,
    /// Whether their errors leave that standing: one is surely beyond, or all are surely within.
    pub decided: bool,
    /// The effect of the plates with the largest speed departure, root mean square; none without any.
    pub dominant: Option<Effect>,
    /// In words.
    pub text: String,
}

/// Judges what the cell itself does; `each` are the measures of every contribution.
pub fn verdict(
    contributions: &[Contribution],
    each: &[Measures],
    cell_alone: &Measures,
    errors: &Errors,
    tolerance: &Tolerance,
    reynolds: &Reynolds,
) -> Verdict {
    let plates = contributions.iter().zip(each).filter(|(c, _)| c.effect.is_of_the_plates());
    let dominant = plates.max_by(|a, b| a.1.speed.rms.total_cmp(&b.1.speed.rms)).map(|(c, _)| c.effect);
    let judged = Measure::ALL.map(|measure| {
        let (spread, error, limit) = (cell_alone.of(measure), errors.of(measure), measure.tolerance(tolerance));
        let outcome = Outcome::of(spread.judged, error, limit);
        let largest = (spread.largest, spread.largest_at);
        Judged { measure, size: spread.judged, error, tolerance: limit, outcome, largest }
    });
    let has = |outcome: Outcome| judged.iter().any(|one| one.outcome == outcome);
    let decided = has(Outcome::Beyond) || !has(Outcome::Undecided);
    let within_tolerance = judged.iter().all(|one| one.size <= one.tolerance);
    let text = in_words(&judged, within_tolerance, decided, dominant, tolerance, reynolds);
    Verdict { judged, within_tolerance, decided, dominant, text }
}

/// How many times as wide and as long a cell would have to be for confinement to be within the tolerances, one if it is: obstacles act
/// on far walls as dipoles and the images act back as the square of their distance, so that speed and direction fall as 1/m², and the
/// shift, gathered along m times the way, as 1/m.
pub fn confinement_widening(measures: &Measures, tolerance: &Tolerance) -> f64 {
    let over = |measure: Measure| measures.of(measure).judged / measure.tolerance(tolerance);
    let [speed, direction, shift] = Measure::ALL.map(over);
    speed.max(direction).sqrt().max(shift).max(1.0)
}

fn in_words(
    judged: &[Judged; 3],
    within: bool,
    decided: bool,
    dominant: Option<Effect>,
    tolerance: &Tolerance,
    reynolds: &Reynolds,
) -> String {
    let ending = match (decided, within) {
        (false, _) => "Whether it is within your tolerances is not decided on this mesh.",
        (true, true) => "Outside the edge band the picture is the ideal pattern of this cell within the tolerances.",
        (true, false) => "The picture is not the ideal pattern of this cell within the tolerances.",
    };
    let mut text = format!("{ending} {} ", which_is_ten(reynolds));
    text += &format!("The largest effect is the {}. ", dominant.map_or("none", Effect::described));
    let most = significant(100.0 * (1.0 - tolerance.share), 3);
    text += &format!("Against ideal flow in the same cell, over {most} % of the observed area: ");
    let one = |judged: &Judged| {
        let Judged { measure, size, error, tolerance: limit, outcome, largest: (largest, [x, y]) } = *judged;
        let usual = if measure.is_usual(tolerance) { "default " } else { "" };
        let standing = match outcome {
            Outcome::Within => "within",
            Outcome::Beyond => "BEYOND",
            Outcome::Undecided => "NOT DECIDED on this mesh against",
        };
        format!(
            "{} by at most {}, {standing} the {usual}tolerance of {} (largest {} at ({}, {}) mm)",
            departs(measure),
            measure.show_with(size, error),
            measure.show(limit),
            measure.show(largest),
            significant(1e3 * x, 4),
            significant(1e3 * y, 4),
        )
    };
    text + &judged.iter().map(one).collect::<Vec<_>>().join("; ") + "."
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
        Measure::Speed => "the speed departs",
        Measure::Direction => "the direction departs",
        Measure::Shift => "streaklines shift",
    }
}
