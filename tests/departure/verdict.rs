//! The verdict on made-up contributions, uniform over an empty cell: departures and thresholds follow from their powers.

use crate::given::{Given, close};
use twinplate::input::case::{Reynolds, Tolerance};
use twinplate::theory::departure::{
    Contribution, Effect, Measure, Measures, Scale, Together, Verdict, View, total, verdict,
};

const GAP: f64 = 1e-3;
const REYNOLDS: Reynolds = Reynolds { obstacle: 4.0, gap: 0.2, reduced: 0.01, reference_length: 0.02 };

fn judged(given: &Given, contributions: &[Contribution], tolerance: &Tolerance) -> Verdict {
    let reference = given.reference();
    let count = given.velocity.len();
    let each: Vec<Measures> =
        contributions.iter().map(|c| reference.measure(&c.departure(Scale::ONE, View::AtHeight))).collect();
    let own = contributions.iter().filter(|c| c.effect.is_of_the_plates());
    let together = Together {
        all: reference.measure(&total(contributions, count, Scale::ONE, View::AtHeight)),
        cell_alone: reference.measure(&total(own, count, Scale::ONE, View::AtHeight)),
    };
    verdict(&reference, contributions, &each, &together, tolerance, &REYNOLDS, GAP)
}

/// Edge layer 0.010 U along x going as b, inertia 0.001 U going as U b²/nu, and confinement, which would be beyond everything.
fn contributions(given: &Given) -> Vec<Contribution> {
    vec![
        given.effect(Effect::EdgeLayer, &[([0.01, 0.0], 0, 1)]),
        given.effect(Effect::Inertia, &[([0.001, 0.002], 1, 2)]),
        given.effect(Effect::Confinement, &[([0.5, 0.5], 0, 0)]),
    ]
}

/// Along x the speed departs by 0.010 g + 0.001 s g² to first order, s and g being speed and gap over those of the case; the part across
/// adds at most half its square, (0.002 s g²)²/2.
#[test]
fn thresholds_follow_the_powers() {
    let given = Given::uniform(0.1, 0.0);
    let list = contributions(&given);
    let threshold = |tolerance: Tolerance, measure: Measure| {
        let list = judged(&given, &list, &tolerance).thresholds;
        assert_eq!(list.iter().map(|t| t.measure).collect::<Vec<_>>(), Measure::ALL);
        list.into_iter().find(|t| t.measure == measure).unwrap()
    };
    let wide = Tolerance { speed: 1.0, direction: 3.0, shift: 10.0 };
    // hypot(1.01 + 0.001 s, 0.002 s) = 1.05 and hypot(1 + 0.01 g + 0.001 g², 0.002 g²) = 1.05
    let speed = threshold(Tolerance { speed: 0.05, ..wide.clone() }, Measure::Speed);
    let s = root(|s| (1.01 + 0.001 * s).hypot(0.002 * s) - 1.05);
    let g = root(|g| (1.0 + 0.01 * g + 0.001 * g * g).hypot(0.002 * g * g) - 1.05);
    assert!(s > 30.0 && g > 3.0);
    close(speed.reduced_reynolds.unwrap(), s * 0.01, 1e-6);
    close(speed.gap_over_length.unwrap(), g * 0.05, 1e-6);
    // tan = 0.002 s/(1.01 + 0.001 s)
    let direction = threshold(Tolerance { direction: 0.03, ..wide.clone() }, Measure::Direction);
    let tan = 0.03f64.tan();
    close(direction.reduced_reynolds.unwrap(), 1.01 * tan / (0.002 - 0.001 * tan) * 0.01, 1e-6);
    // 0.002 s g² L with L = 1 m
    let shift = threshold(Tolerance { shift: 0.018, ..wide.clone() }, Measure::Shift);
    close(shift.reduced_reynolds.unwrap(), 9.0 * 0.01, 1e-6);
    close(shift.gap_over_length.unwrap(), 3.0 * 0.05, 1e-6);
    // one and a half is not the furthest: nearly a hundred times is found, more is not
    let far = threshold(Tolerance { shift: 0.198, ..wide.clone() }, Measure::Shift);
    close(far.reduced_reynolds.unwrap(), 99.0 * 0.01, 1e-6);
    assert_eq!(threshold(Tolerance { shift: 0.202, ..wide.clone() }, Measure::Shift).reduced_reynolds, None);
    // the edge layer alone is beyond: no speed helps, a thinner gap does
    let tight = threshold(Tolerance { speed: 0.005, ..wide }, Measure::Speed);
    assert_eq!(tight.reduced_reynolds, None);
    close(
        tight.gap_over_length.unwrap(),
        root(|g| (1.0 + 0.01 * g + 0.001 * g * g).hypot(0.002 * g * g) - 1.005) * 0.05,
        1e-6,
    );
}

/// The root of an increasing function between 0 and 100.
fn root(of: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if of(middle) < 0.0 { low = middle } else { high = middle }
    }
    low
}

/// The largest speed departure, root mean square, names the dominant effect, wherever it stands in the list.
#[test]
fn the_largest_effect_is_named() {
    let given = Given::uniform(0.2, 0.0);
    let wide = Tolerance { speed: 1.0, direction: 3.0, shift: 10.0 };
    for (k, words) in [
        (0, "edge layer, of order gap over length"),
        (1, "inertia in the gap, of order Re*"),
        (2, "change of the gap over the cell"),
        (3, "confinement by the side walls and ends, which is no fault of the analogy"),
    ] {
        let size = |n: usize| if n == k { 0.03 } else { 0.01 };
        let list: Vec<Contribution> = Effect::ALL
            .iter()
            .enumerate()
            .map(|(n, &effect)| given.effect(effect, &[([size(n), 0.0], 0, 0)]))
            .collect();
        let verdict = judged(&given, &list, &wide);
        assert_eq!(verdict.dominant, Some(Effect::ALL[k]));
        assert!(verdict.text.contains(&format!("The largest effect is the {words}. ")), "{}", verdict.text);
    }
    assert_eq!(judged(&given, &[], &wide).dominant, None);
}

/// Each of the three measures alone can be beyond its tolerance; at the tolerance it is within.
#[test]
fn beyond_one_tolerance_is_beyond() {
    let given = Given::uniform(0.1, 0.0);
    let list = vec![given.effect(Effect::EdgeLayer, &[([0.03, 0.04], 0, 1)])];
    let [speed, direction, shift] = [1.03f64.hypot(0.04) - 1.0, 0.04f64.atan2(1.03), 0.04];
    let tolerance =
        |by: [f64; 3]| Tolerance { speed: speed * by[0], direction: direction * by[1], shift: shift * by[2] };
    let above = judged(&given, &list, &tolerance([1.001; 3]));
    assert!(above.within_tolerance && !above.text.contains("BEYOND"), "{}", above.text);
    assert!(above.text.ends_with("Outside the edge band the picture is the ideal pattern within your tolerances."));
    assert_eq!(above.text.matches(", within the tolerance of").count(), 3);
    for (k, words) in ["The speed departs", "The direction departs", "Streaklines shift"].into_iter().enumerate() {
        let mut by = [1.001; 3];
        by[k] = 0.999;
        let verdict = judged(&given, &list, &tolerance(by));
        assert!(!verdict.within_tolerance, "{words}");
        let sentence = verdict.text.split(". ").find(|s| s.starts_with(words)).unwrap();
        assert!(sentence.contains("BEYOND") && verdict.text.matches("BEYOND").count() == 1, "{}", verdict.text);
        assert!(verdict.text.ends_with("The picture is not the ideal pattern within your tolerances."));
    }
    let exactly = Measures { speed_max: 0.5, ..given.measure(|_| [0.0; 2]) };
    let together = Together { all: exactly, cell_alone: exactly };
    let at = Tolerance { speed: 0.5, direction: 1.0, shift: 1.0 };
    let verdict = verdict(&given.reference(), &[], &[], &together, &at, &REYNOLDS, GAP);
    assert!(verdict.within_tolerance && !verdict.text.contains("BEYOND"), "{}", verdict.text);
}

/// With confinement in the list the cell alone has a sentence of its own: it may be within where everything together is not.
#[test]
fn confinement_is_set_aside_in_words() {
    let given = Given::uniform(0.1, 0.0);
    let list = contributions(&given);
    let sentence = |list: &[Contribution], tolerance: &Tolerance| {
        let text = judged(&given, list, tolerance).text;
        text.split(". ").find(|s| s.starts_with("Without confinement")).map(str::to_owned)
    };
    let usual = Tolerance { speed: 0.05, direction: 0.05, shift: 0.01 };
    assert!(!judged(&given, &list, &usual).within_tolerance);
    // 1.1 % of U, 0.002/1.011 rad = 0.113 deg, 2 mm after a metre
    let exact = "it is 1.10 % of the mean speed, 0.113 deg and 2.00 mm: within the tolerances";
    assert!(sentence(&list, &usual).unwrap().ends_with(exact), "{:?}", sentence(&list, &usual));
    for tight in [
        Tolerance { speed: 0.01, ..usual.clone() },
        Tolerance { direction: 0.001, ..usual.clone() },
        Tolerance { shift: 0.001, ..usual.clone() },
    ] {
        assert!(sentence(&list, &tight).unwrap().ends_with(": beyond the tolerances"), "{tight:?}");
    }
    assert_eq!(sentence(&list[..2], &usual), None);
    let text = judged(&given, &list, &usual).text;
    let numbers = "The obstacle Reynolds number is 4.00, the gap Reynolds number 0.200, but what measures inertia between the plates is \
                   the reduced one, Re* = 0.0100.";
    assert!(text.starts_with(numbers), "{text}");
}
