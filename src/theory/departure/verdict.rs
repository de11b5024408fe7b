//! The verdict against the tolerances, in plain sentences.

use super::sweep::total;
use super::{Contribution, Measures, Reference, Scale};
use crate::base::units::significant;
use crate::input::case::{Reynolds, Tolerance};

/// Where a tolerance is first exceeded.
#[derive(Debug, Clone, PartialEq)]
pub struct Threshold {
    /// `speed`, `direction` or `shift`.
    pub tolerance: &'static str,
    /// Reduced Reynolds number at which the largest departure, confinement left aside, reaches it, all else kept; none if it never
    /// does below a hundred times the case's, or does so without any inertia.
    pub reduced_reynolds: Option<f64>,
    /// b/L at which it does, at the same speed.
    pub gap_over_length: Option<f64>,
}

/// The verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Whether every largest departure of all effects together is within its tolerance.
    pub within_tolerance: bool,
    /// The effect with the largest speed departure.
    pub dominant: String,
    /// Where tolerances are first exceeded.
    pub thresholds: Vec<Threshold>,
    /// In words.
    pub text: String,
}

/// Judges the departures. `all` are the measures of everything together, `alone` those of everything but confinement, `each` those
/// of every contribution.
pub fn verdict(
    reference: &Reference,
    contributions: &[Contribution],
    each: &[Measures],
    [all, alone]: [&Measures; 2],
    tolerance: &Tolerance,
    reynolds: &Reynolds,
    gap: f64,
) -> Verdict {
    let parts = [
        ("speed", all.speed_max, tolerance.speed),
        ("direction", all.direction_max, tolerance.direction),
        ("shift", all.shift_max, tolerance.shift),
    ];
    let within = parts.iter().all(|(_, value, limit)| value <= limit);
    let dominant = contributions
        .iter()
        .zip(each)
        .max_by(|a, b| a.1.speed_rms.total_cmp(&b.1.speed_rms))
        .map_or("none", |(contribution, _)| contribution.name);
    let own: Vec<&Contribution> = contributions.iter().filter(|c| c.name != "confinement").collect();
    let thresholds: Vec<Threshold> = parts
        .iter()
        .map(|&(name, _, limit)| {
            let largest = |scale: Scale| {
                let measures = reference.measure(&total(own.iter().copied(), reference.velocity.len(), scale, false));
                match name {
                    "speed" => measures.speed_max,
                    "direction" => measures.direction_max,
                    _ => measures.shift_max,
                }
            };
            let by_inertia = crossing(|x| largest(Scale { inertia: x, gap: 1.0 }), limit);
            let by_gap = crossing(|x| largest(Scale { inertia: 1.0, gap: x }), limit);
            Threshold {
                tolerance: name,
                reduced_reynolds: by_inertia.map(|x| x * reynolds.reduced),
                gap_over_length: by_gap.map(|x| x * gap / reynolds.reference_length),
            }
        })
        .collect();
    let mut text = which_is_ten(reynolds);
    text += &format!(
        " The largest effect is the {}. ",
        match dominant {
            "edge_layer" => "edge layer, of order gap over length",
            "inertia" => "inertia in the gap, of order Re*",
            "gap" => "change of the gap over the cell",
            "confinement" => "confinement by the side walls and ends, which is no fault of the analogy",
            other => other,
        }
    );
    let shown = |name: &str, value: f64| match name {
        "speed" => format!("{} % of the mean speed", significant(100.0 * value, 3)),
        "direction" => format!("{} deg", significant(value.to_degrees(), 3)),
        _ => format!("{} mm", significant(1e3 * value, 3)),
    };
    for (name, value, limit) in parts {
        text += &format!(
            "{} by at most {}, {} the tolerance of {}. ",
            departs(name),
            shown(name, value),
            if value <= limit { "within" } else { "BEYOND" },
            shown(name, limit)
        );
    }
    if own.len() < contributions.len() {
        let keeps = alone.speed_max <= tolerance.speed
            && alone.direction_max <= tolerance.direction
            && alone.shift_max <= tolerance.shift;
        text += &format!(
            "Without confinement, that is against ideal flow in the same channel, it is {}, {} and {}: {} the tolerances. ",
            shown("speed", alone.speed_max),
            shown("direction", alone.direction_max),
            shown("shift", alone.shift_max),
            if keeps { "within" } else { "beyond" }
        );
    }
    text += if within {
        "Outside the edge band the picture is the ideal pattern within your tolerances."
    } else {
        "The picture is not the ideal pattern within your tolerances."
    };
    Verdict { within_tolerance: within, dominant: dominant.to_owned(), thresholds, text }
}

/// The least factor up to a hundred at which a growing quantity reaches a limit; none if it starts above or never does.
fn crossing(of: impl Fn(f64) -> f64, limit: f64) -> Option<f64> {
    let (mut low, mut high) = (0.0, 100.0);
    if of(low) > limit || of(high) < limit {
        return None;
    }
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if of(middle) < limit { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
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

fn departs(name: &str) -> &str {
    match name {
        "speed" => "The speed departs",
        "direction" => "The direction departs",
        _ => "Streaklines shift",
    }
}
