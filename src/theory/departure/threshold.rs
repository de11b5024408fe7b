//! Where tolerances are first exceeded as speed or gap grow, and how well that is known.

use super::contribution::{Contribution, of_the_plates};
use super::errors::Errors;
use super::growth::{Growth, Orders};
use super::measure::{Measure, Reference};
use super::scale::Scale;
use super::sweep::{Numbers, Series, sizes_of_orders};
use crate::base::bisect::bisected;
use crate::input::case::Reynolds;

/// Largest factor of speed or gap up to which a threshold is looked for.
const FURTHEST: f64 = 100.0;
/// Step of the factor by which the slope is found.
const STEP: f64 = 0.01;

/// Where a tolerance is first exceeded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// What the tolerance is of.
    pub measure: Measure,
    /// By raising the speed, all else kept: Re* at which the departure that is judged, confinement left aside, reaches it; none if it never does
    /// below a hundred times the case's, or does so without any inertia.
    pub reduced_reynolds: Option<Passed>,
    /// By widening the gap at the same speed: b/L at which it does.
    pub gap_over_length: Option<Passed>,
    /// Whether it is never reached below a hundred times the case's speed.
    pub never: bool,
    /// The obstacle Reynolds number over Re* in this cell, (L/b)².
    pub obstacle_per_reduced: f64,
}

/// A number at which a tolerance is passed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// With all orders of inertia there are.
    pub value: f64,
    /// With the first alone, where there is a second.
    pub by_first: Option<f64>,
    /// What the orders left out may change: the change by the second order times its share of the first.
    pub truncation: f64,
    /// How it changes with the measure, per unit of that.
    pub slope: f64,
    /// Whether the series decides there.
    pub decides: bool,
}

impl Passed {
    /// Its error, from what is left out and the numerical error of the measure.
    pub fn error(&self, measure: Measure, errors: &Errors) -> f64 {
        self.truncation.hypot(self.slope * errors.of(measure))
    }
}

/// Where tolerances are first exceeded, by scaling the contributions of the plates; `numbers` are those of the case.
pub fn thresholds(
    reference: &Reference,
    contributions: &[Contribution],
    reynolds: &Reynolds,
    gap: f64,
    numbers: Numbers,
) -> Vec<Threshold> {
    let plates: Vec<&Contribution> = of_the_plates(contributions).collect();
    let passed = |growth: &Growth, measure: Measure, unit: f64, scale: fn(f64) -> Scale| -> Crossed<Passed> {
        crossing(|x| growth.is_within(reference, measure, x, Orders::All)).map(|factor| {
            let (scale, at) = (scale(factor), numbers.at(scale(factor)));
            let orders = sizes_of_orders(reference, contributions, scale);
            let share = orders.map_or(0.0, |[a, b]| Series::judge(a, b, reference.tolerance.speed, at).second_share);
            let first = orders.and_then(|_| crossing(|x| growth.is_within(reference, measure, x, Orders::First)).at());
            let change = first.map_or(0.0, |first| (factor - first).abs());
            let [less, more] =
                [1.0 - STEP, 1.0 + STEP].map(|part| growth.judged(reference, measure, factor * part, Orders::All));
            let rise = more - less;
            Passed {
                value: unit * factor,
                by_first: first.map(|first| unit * first),
                truncation: unit * change * share.min(1.0),
                slope: if rise > 0.0 { unit * 2.0 * STEP * factor / rise } else { 0.0 },
                decides: !at.beyond(),
            }
        })
    };
    let with_speed = Growth::new(reference, &plates, |part| (part.inertia_power, 1.0));
    let with_gap = Growth::new(reference, &plates, |part| (part.gap_power, 1.0));
    let length = reynolds.reference_length;
    let threshold = |measure: Measure| {
        let by_speed = passed(&with_speed, measure, reynolds.reduced, |x| Scale { inertia: x, gap: 1.0 });
        Threshold {
            measure,
            never: by_speed == Crossed::Never,
            reduced_reynolds: by_speed.at(),
            gap_over_length: passed(&with_gap, measure, gap / length, |x| Scale { inertia: 1.0, gap: x }).at(),
            obstacle_per_reduced: (length / gap).powi(2),
        }
    };
    Measure::ALL.into_iter().map(threshold).collect()
}

/// Where something reaches a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Crossed<T> {
    /// It is beyond from the start.
    Before,
    /// There.
    At(T),
    /// Not below a hundred.
    Never,
}

impl<T> Crossed<T> {
    fn map<U>(self, of: impl FnOnce(T) -> U) -> Crossed<U> {
        match self {
            Crossed::Before => Crossed::Before,
            Crossed::At(value) => Crossed::At(of(value)),
            Crossed::Never => Crossed::Never,
        }
    }

    fn at(self) -> Option<T> {
        match self {
            Crossed::At(value) => Some(value),
            Crossed::Before | Crossed::Never => None,
        }
    }
}

/// The factor up to a hundred at which a growing quantity leaves a limit.
fn crossing(is_within: impl Fn(f64) -> bool) -> Crossed<f64> {
    if !is_within(0.0) {
        return Crossed::Before;
    }
    if is_within(FURTHEST) {
        return Crossed::Never;
    }
    let [low, high] = bisected([0.0, FURTHEST], 30, is_within);
    Crossed::At(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_found_between_nothing_and_a_hundredfold() {
        let found = crossing(|x| x * x < 2.0).at().unwrap();
        assert!((found - 2f64.sqrt()).abs() < 1e-6);
        // it starts above; it is never reached
        assert_eq!(crossing(|x| 1.0 + x < 0.5), Crossed::Before);
        assert_eq!(crossing(|x| 1e-3 * x < 0.5), Crossed::Never);
    }

    /// Parts in quadrature: what is left out, and the slope times the error of that measure.
    #[test]
    fn the_error_has_two_parts() {
        let passed = Passed { value: 0.3, by_first: Some(0.25), truncation: 0.03, slope: 2.0, decides: true };
        let errors = Errors { speed: 0.02, direction: 0.5, shift: 0.0 };
        assert!((passed.error(Measure::Speed, &errors) - 0.05).abs() < 1e-12);
        assert!((passed.error(Measure::Shift, &errors) - 0.03).abs() < 1e-12);
    }
}
