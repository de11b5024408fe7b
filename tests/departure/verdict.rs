//! The verdict on made-up contributions, uniform over an empty cell: departures and thresholds follow from their powers.

use crate::given::{Given, close};
use twinplate::input::case::{Reynolds, Tolerance, UsualTolerances};
use twinplate::theory::departure::{
    Contribution, Effect, Errors, Measure, Measures, Numbers, Outcome, Reference, Scale, Spread, Standing, Verdict,
    View, confinement_widening, thresholds, total, verdict,
};

const GAP: f64 = 1e-3;
const REYNOLDS: Reynolds = Reynolds { obstacle: 4.0, gap: 0.2, reduced: 0.01, reference_length: 0.02 };
const NUMBERS: Numbers = Numbers { reduced: 0.01, local: 0.05, edge: 0.02 };

fn judged_with(given: &Given, contributions: &[Contribution], tolerance: &Tolerance, errors: &Errors) -> Verdict {
    let reference = Reference { tolerance, ..given.reference() };
    let measure = |departure: Vec<[f64; 2]>| reference.measure(&departure);
    let each: Vec<Measures> = contributions.iter().map(|c| measure(c.departure(Scale::ONE, View::AtHeight))).collect();
    let own = contributions.iter().filter(|c| c.effect.is_of_the_plates());
    let alone = measure(total(own, given.velocity.len(), Scale::ONE, View::AtHeight));
    verdict(contributions, &each, &alone, errors, tolerance, &REYNOLDS)
}

fn judged(given: &Given, contributions: &[Contribution], tolerance: &Tolerance) -> Verdict {
    judged_with(given, contributions, tolerance, &Errors::default())
}

/// Measures of which speed, direction and shift have these sizes, by whatever way they are judged.
fn sizes(speed: f64, direction: f64, shift: f64) -> Measures {
    let spread = |judged: f64| Spread { judged, ..Spread::default() };
    Measures {
        speed: spread(speed),
        direction: spread(direction),
        shift: spread(shift),
        coefficient: Spread::default(),
    }
}

fn of(speed: f64, direction: f64, shift: f64) -> Tolerance {
    Tolerance { speed, direction, shift, usual: UsualTolerances::default(), ..Tolerance::default() }
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
        let reference = Reference { tolerance: &tolerance, ..given.reference() };
        let list = thresholds(&reference, &list, &REYNOLDS, GAP, NUMBERS);
        assert_eq!(list.iter().map(|t| t.measure).collect::<Vec<_>>(), Measure::ALL);
        list.into_iter().find(|t| t.measure == measure).unwrap()
    };
    let wide = of(1.0, 3.0, 10.0);
    // hypot(1.01 + 0.001 s, 0.002 s) = 1.05 and hypot(1 + 0.01 g + 0.001 g², 0.002 g²) = 1.05
    let speed = threshold(Tolerance { speed: 0.05, ..wide.clone() }, Measure::Speed);
    let s = root(|s| (1.01 + 0.001 * s).hypot(0.002 * s) - 1.05);
    let g = root(|g| (1.0 + 0.01 * g + 0.001 * g * g).hypot(0.002 * g * g) - 1.05);
    assert!(s > 30.0 && g > 3.0);
    close(speed.reduced_reynolds.unwrap().value, s * 0.01, 1e-6);
    close(speed.gap_over_length.unwrap().value, g * 0.05, 1e-6);
    // tan = 0.002 s/(1.01 + 0.001 s)
    let direction = threshold(Tolerance { direction: 0.03, ..wide.clone() }, Measure::Direction);
    let tan = 0.03f64.tan();
    close(direction.reduced_reynolds.unwrap().value, 1.01 * tan / (0.002 - 0.001 * tan) * 0.01, 1e-6);
    // 0.002 s g² L with L = 1 m
    let shift = threshold(Tolerance { shift: 0.018, ..wide.clone() }, Measure::Shift);
    close(shift.reduced_reynolds.unwrap().value, 9.0 * 0.01, 1e-6);
    close(shift.gap_over_length.unwrap().value, 3.0 * 0.05, 1e-6);
    // one and a half is not the furthest: nearly a hundred times is found, more is not
    let far = threshold(Tolerance { shift: 0.198, ..wide.clone() }, Measure::Shift);
    close(far.reduced_reynolds.unwrap().value, 99.0 * 0.01, 1e-6);
    assert_eq!(threshold(Tolerance { shift: 0.202, ..wide.clone() }, Measure::Shift).reduced_reynolds, None);
    // the edge layer alone is beyond: no speed helps, a thinner gap does
    let tight = threshold(Tolerance { speed: 0.005, ..wide }, Measure::Speed);
    assert_eq!(tight.reduced_reynolds, None);
    close(
        tight.gap_over_length.unwrap().value,
        root(|g| (1.0 + 0.01 * g + 0.001 * g * g).hypot(0.002 * g * g) - 1.005) * 0.05,
        1e-6,
    );
}

/// Along x inertia changes the speed by 0.001 s + 0.0001 s²: a tolerance of 0.02 is passed at s = 10, by first order alone at 20. The share of
/// the second order is 0.1 s = 1 there, and the measure rises by 0.003 for a step of one. What decides: Re* = 0.01 s below 0.6, a local
/// number 0.05 s of no more than 2, an edge number 0.02 s of no more than 1.5.
#[test]
fn a_threshold_tells_what_each_order_says_and_how_well_it_is_known() {
    let given = Given::uniform(0.1, 0.0);
    let list = [given.effect(Effect::Inertia, &[([0.001, 0.0], 1, 2), ([0.0001, 0.0], 2, 4)])];
    let passed = |speed: f64, numbers: Numbers| {
        let tolerance = Tolerance { speed, ..of(1.0, 3.0, 10.0) };
        let reference = Reference { tolerance: &tolerance, ..given.reference() };
        thresholds(&reference, &list, &REYNOLDS, GAP, numbers)[0].reduced_reynolds.unwrap()
    };
    let found = passed(0.02, NUMBERS);
    close(found.value, 0.1, 1e-6);
    close(found.by_first.unwrap(), 0.2, 1e-6);
    close(found.truncation, 0.1, 1e-5);
    close(found.slope, 0.01 / 0.003, 1e-3);
    close(found.error(Measure::Speed, &Errors { speed: 0.003, ..Errors::default() }), 0.1f64.hypot(0.01), 1e-5);
    // at s = 5 the second order is half of the first
    let found = passed(0.0075, NUMBERS);
    close(found.truncation, 0.5 * (0.075 - 0.05), 1e-5);
    for (numbers, decides) in [
        (NUMBERS, true),
        (Numbers { reduced: 0.0599, ..NUMBERS }, true),
        (Numbers { reduced: 0.0601, ..NUMBERS }, false),
        (Numbers { local: 0.199, ..NUMBERS }, true),
        (Numbers { local: 0.201, ..NUMBERS }, false),
        (Numbers { edge: 0.149, ..NUMBERS }, true),
        (Numbers { edge: 0.151, ..NUMBERS }, false),
    ] {
        assert_eq!(passed(0.02, numbers).decides, decides, "{numbers:?}");
    }
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

/// The largest speed departure of the plates, root mean square, names the dominant effect, wherever it stands in the list; confinement is none
/// of the plates.
#[test]
fn the_largest_effect_is_named() {
    let given = Given::uniform(0.2, 0.0);
    let wide = of(1.0, 3.0, 10.0);
    for (k, words) in [
        (0, "edge layer, of order gap over length"),
        (1, "inertia in the gap, of order Re*"),
        (2, "change of the gap over the cell"),
        (3, "bubble between the plates, which the flow goes round"),
    ] {
        let size = |n: usize| if n == k { 0.03 } else { 0.01 };
        let list: Vec<Contribution> = Effect::ALL
            .iter()
            .enumerate()
            .map(|(n, &effect)| {
                given.effect(effect, &[([if effect.is_of_the_plates() { size(n) } else { 0.5 }, 0.0], 0, 0)])
            })
            .collect();
        let verdict = judged(&given, &list, &wide);
        assert_eq!(verdict.dominant, Some(Effect::ALL[k]));
        assert!(verdict.text.contains(&format!("The largest effect is the {words}. ")), "{}", verdict.text);
    }
    assert_eq!(judged(&given, &[], &wide).dominant, None);
}

/// Each of the three measures alone can be beyond its tolerance; at the tolerance it is within. Confinement, far beyond all of them, does not
/// count: the verdict is against ideal flow in the same cell.
#[test]
fn beyond_one_tolerance_is_beyond() {
    let given = Given::uniform(0.1, 0.0);
    let list = vec![
        given.effect(Effect::EdgeLayer, &[([0.03, 0.04], 0, 1)]),
        given.effect(Effect::Confinement, &[([0.9, 0.9], 0, 0)]),
    ];
    let [speed, direction, shift] = [1.03f64.hypot(0.04) - 1.0, 0.04f64.atan2(1.03), 0.04];
    let tolerance = |by: [f64; 3]| of(speed * by[0], direction * by[1], shift * by[2]);
    let above = judged(&given, &list, &tolerance([1.001; 3]));
    assert!(above.within_tolerance && above.decided && !above.text.contains("BEYOND"), "{}", above.text);
    assert!(
        above
            .text
            .starts_with("Outside the edge band the picture is the ideal pattern of this cell within the tolerances.")
    );
    assert_eq!(above.text.matches(", within the tolerance of").count(), 3);
    for (k, words) in ["the speed departs", "the direction departs", "streaklines shift"].into_iter().enumerate() {
        let mut by = [1.001; 3];
        by[k] = 0.999;
        let verdict = judged(&given, &list, &tolerance(by));
        assert!(!verdict.within_tolerance && verdict.decided, "{words}");
        let sentence = verdict.text.split([':', ';']).find(|s| s.trim().starts_with(words)).unwrap();
        assert!(sentence.contains("BEYOND") && verdict.text.matches("BEYOND").count() == 1, "{}", verdict.text);
        assert!(verdict.text.starts_with("The picture is not the ideal pattern of this cell within the tolerances."));
    }
    let outcome = |error: f64| Outcome::of(0.5, error, 0.5);
    assert_eq!([outcome(0.0), outcome(1e-9)], [Outcome::Within, Outcome::Undecided]);
}

/// An error that reaches across a tolerance leaves the verdict open, unless another measure is surely beyond; the words say so.
#[test]
fn an_error_across_the_tolerance_decides_nothing() {
    for (size, error, outcome) in [
        (0.9, 0.09, Outcome::Within),
        (0.9, 0.11, Outcome::Undecided),
        (1.1, 0.11, Outcome::Undecided),
        (1.1, 0.09, Outcome::Beyond),
    ] {
        assert_eq!(Outcome::of(size, error, 1.0), outcome, "{size} {error}");
    }
    let given = Given::uniform(0.1, 0.0);
    let list = vec![given.effect(Effect::EdgeLayer, &[([0.03, 0.04], 0, 1)])];
    let size = [1.03f64.hypot(0.04) - 1.0, 0.04f64.atan2(1.03), 0.04];
    for k in 0..3 {
        let mut errors = [0.0; 3];
        errors[k] = 0.2 * size[k];
        let errors = Errors { speed: errors[0], direction: errors[1], shift: errors[2] };
        let with = |by: f64| judged_with(&given, &list, &of(by * size[0], by * size[1], by * size[2]), &errors);
        assert!(with(1.3).decided && with(1.3).within_tolerance);
        let open = with(1.1);
        assert!(!open.decided && open.within_tolerance);
        assert!(
            open.text.starts_with("Whether it is within your tolerances is not decided on this mesh."),
            "{}",
            open.text
        );
        assert_eq!(open.text.matches("NOT DECIDED on this mesh against").count(), 1, "{}", open.text);
        let beyond = with(0.9);
        assert!(beyond.decided && !beyond.within_tolerance);
        assert_eq!(beyond.judged.map(|j| j.outcome == Outcome::Undecided), std::array::from_fn(|n| n == k));
    }
}

/// What is a default is called so, and only that.
#[test]
fn default_tolerances_are_called_default() {
    let given = Given::uniform(0.2, 0.0);
    let text = |tolerance: &Tolerance| judged(&given, &contributions(&given), tolerance).text;
    assert_eq!(text(&Tolerance::default()).matches("the default tolerance of").count(), 3);
    let own =
        Tolerance { usual: UsualTolerances { shift: true, ..UsualTolerances::default() }, ..of(0.05, 0.05, 0.01) };
    let text = text(&own);
    assert!(text.matches("default").count() == 1 && text.contains("the default tolerance of 10.0 mm"), "{text}");
    let numbers = "The obstacle Reynolds number is 4.00, the gap Reynolds number 0.200, but what measures inertia between the plates is \
                   the reduced one, Re* = 0.0100.";
    assert!(text.contains(numbers), "{text}");
}

/// Half of the area departs by 3 % of U, the other half by 1 %: with a share of 60 % allowed it is the 1 % that counts, with 40 % the 3 %. One
/// column of triangles, a tenth of the area, may fall on either side.
#[test]
fn a_share_of_the_area_may_be_beyond() {
    let given = Given::uniform(0.05, 0.0);
    let departure = given.field(|p| [if p[0] < 0.5 { 0.03 } else { 0.01 }, 0.0]);
    let with = |share: f64| {
        let tolerance = Tolerance { share, ..of(0.02, 1.0, 1.0) };
        Reference { tolerance: &tolerance, ..given.reference() }.measure(&departure)
    };
    assert!((with(0.4).speed.judged - 0.03).abs() < 1e-12 && (with(0.4).speed.q99 - 0.03).abs() < 1e-12);
    assert!((with(0.6).speed.judged - 0.01).abs() < 1e-12);
    assert!((with(0.4).beyond_area() - 0.5).abs() < 0.05, "{}", with(0.4).beyond_area());
    // a hundredth of the length
    let ramp = given.measure(|p| [0.1 * p[0], 0.0]).speed;
    assert!((ramp.q99 - 0.099).abs() < 0.1 * 0.025 && (ramp.largest - 0.1).abs() < 1e-12, "{ramp:?}");
}

/// Far walls act as 1/m² on speed and direction and as 1/m on shifts; a cell that is within is wide enough.
#[test]
fn a_wider_cell_is_told() {
    let with = |speed: f64, direction: f64, shift: f64| {
        confinement_widening(&sizes(speed, direction, shift), &of(1.0, 1.0, 1.0))
    };
    assert_eq!(
        [with(0.9, 0.5, 1.0), with(4.0, 0.5, 0.5), with(0.5, 9.0, 0.5), with(0.5, 0.5, 3.0)],
        [1.0, 2.0, 3.0, 3.0]
    );
}

/// What is below a hundredth of its tolerance is negligible, what is below its error is not measured; one measure that is there is enough.
#[test]
fn what_is_there_is_told_from_what_is_not() {
    for (size, error, standing) in [
        (0.0101, 0.01, Standing::Measured),
        (0.0099, 0.0, Standing::Negligible),
        (0.02, 0.021, Standing::BelowError),
        (0.02, 0.019, Standing::Measured),
    ] {
        assert_eq!(Standing::of(size, error, 1.0), standing, "{size} {error}");
    }
    let of_all = |[speed, direction, shift]: [f64; 3]| {
        let measures = sizes(speed, direction, shift);
        Standing::of_all(&measures, &Errors { speed: 0.1, direction: 0.1, shift: 0.1 }, &of(1.0, 1.0, 1.0))
    };
    assert_eq!(of_all([0.0, 0.001, 0.0]), Standing::Negligible);
    assert_eq!(of_all([0.0, 0.05, 0.0]), Standing::BelowError);
    assert_eq!(of_all([0.0, 0.05, 0.2]), Standing::Measured);
}

/// Errors from two meshes: at first order the rest is the change over `r - 1`; but no less than half of what the velocity's error brings.
#[test]
fn errors_come_from_two_meshes() {
    let of = |k: f64| sizes(k, 2.0 * k, 3.0 * k);
    let errors = Errors::from_two_meshes(&of(1.0), &of(1.1), 1.5, &Errors::default());
    for (found, exact) in [(errors.speed, 0.2), (errors.direction, 0.4), (errors.shift, 0.6)] {
        close(found, exact, 1e-12);
    }
    let least = Errors::from_two_meshes(&of(1.0), &of(1.0), 1.5, &Errors::of_velocity(0.04, 2.0));
    assert_eq!(least, Errors { speed: 0.02, direction: 0.02, shift: 0.04 });
}
