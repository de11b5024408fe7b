//! Can a picture be trusted at its obstacle Reynolds number? One sentence for the case at hand.

use super::errors::{Errors, Outcome};
use super::measure::{Measure, Measures};
use super::threshold::{Passed, Threshold};
use crate::base::units::{significant, with_error};
use crate::input::case::{Reynolds, Tolerance};

/// The answer as far as inertia goes: what it changes at the dye height, and the speed up to which all effects of the plates together stay
/// within the tolerances.
pub fn answer(
    inertia: &Measures,
    errors: &Errors,
    thresholds: &[Threshold],
    all: &Errors,
    tolerance: &Tolerance,
    reynolds: &Reynolds,
) -> String {
    let within = Measure::ALL.iter().all(|&measure| {
        let size = inertia.of(measure).judged;
        Outcome::of(size, errors.of(measure), measure.tolerance(tolerance)) == Outcome::Within
    });
    let change = |measure: Measure| measure.show_with(inertia.of(measure).judged, errors.of(measure));
    let [speed, direction, shift] = Measure::ALL.map(change).map(|text| text.replace("the mean speed", "U"));
    let verdict = if within { "As far as inertia goes, yes: it" } else { "No: inertia" };
    format!(
        "Can this picture be trusted at Re_L = {} (Re* = {})? {verdict} changes the speed by {speed}, the direction by {direction}, \
         streaklines by {shift}; {}.",
        significant(reynolds.obstacle, 3),
        significant(reynolds.reduced, 3),
        up_to(thresholds, all)
    )
}

/// The first tolerance that is passed as the speed rises.
fn up_to(thresholds: &[Threshold], errors: &Errors) -> String {
    let of = |t: &Threshold| Some((*t, t.reduced_reynolds?));
    let first = thresholds.iter().filter_map(of).min_by(|a, b| a.1.value.total_cmp(&b.1.value));
    // one that starts beyond its tolerance has no speed at which it passes it
    match (first, thresholds.iter().all(|t| t.reduced_reynolds.is_some() || t.never)) {
        (_, false) => "other effects are beyond a tolerance at any speed".into(),
        (None, true) => "no tolerance is passed below a hundred times this speed".into(),
        (Some((threshold, passed)), true) => {
            let Passed { value, decides, .. } = passed;
            let error = passed.error(threshold.measure, errors);
            let per = threshold.obstacle_per_reduced;
            let beyond = if decides { "" } else { ", where the series no longer decides" };
            format!(
                "all effects together first pass a tolerance ({}) at Re_L = {}{beyond}",
                threshold.measure.key(),
                with_error(per * value, per * error),
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::departure::Spread;

    const REYNOLDS: Reynolds = Reynolds { obstacle: 10.0, gap: 0.2, reduced: 0.01, reference_length: 0.02 };

    fn said(speed: f64, error: f64, reduced: [Option<f64>; 3], never: [bool; 3]) -> String {
        let spread = |judged: f64| Spread { judged, ..Spread::default() };
        let measures = Measures { speed: spread(speed), ..Measures::default() };
        let passed = |value| Passed { value, by_first: None, truncation: 0.01, slope: 0.0, decides: value < 0.5 };
        let thresholds: Vec<Threshold> = (0..3)
            .map(|k| Threshold {
                measure: Measure::ALL[k],
                reduced_reynolds: reduced[k].map(passed),
                gap_over_length: None,
                never: never[k],
                obstacle_per_reduced: 1000.0,
            })
            .collect();
        let errors = Errors { speed: error, ..Errors::default() };
        answer(&measures, &errors, &thresholds, &errors, &Tolerance::default(), &REYNOLDS)
    }

    /// The default tolerance of speed is 2 %.
    #[test]
    fn the_answer_follows_the_inertia_of_this_case() {
        let thresholds = [Some(0.2), Some(0.3), None];
        let text = said(0.01, 0.001, thresholds, [false, false, true]);
        assert!(
            text.starts_with("Can this picture be trusted at Re_L = 10.0 (Re* = 0.0100)? As far as inertia"),
            "{text}"
        );
        assert!(text.contains("speed by 1.0 +- 0.1 % of U, the direction"), "{text}");
        assert!(text.ends_with("a tolerance (speed) at Re_L = 200 +- 10."), "{text}");
        // the error reaches across the tolerance; the change is beyond it
        for (speed, error) in [(0.0195, 0.001), (0.021, 0.0)] {
            assert!(said(speed, error, thresholds, [false, false, true]).contains("? No: inertia"), "{speed}");
        }
    }

    #[test]
    fn the_speed_up_to_which_it_holds_is_that_of_the_first_tolerance() {
        let end = |reduced, never| said(0.01, 0.001, reduced, never);
        assert!(end([Some(0.3), Some(0.2), Some(0.4)], [false; 3]).contains("(direction) at Re_L"));
        assert!(end([Some(0.6), None, None], [false, true, true]).ends_with("where the series no longer decides."));
        assert!(end([None; 3], [true; 3]).contains("no tolerance is passed below a hundred times"));
        assert!(end([Some(0.2), None, None], [false, false, true]).contains("beyond a tolerance at any speed"));
    }
}
