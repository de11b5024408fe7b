//! Every warning once on and once off.

use super::*;
use crate::base::warning::Level;
use crate::input::case::Order;

/// Nothing to warn of.
fn calm() -> Facts {
    let band = Vec::new;
    Facts {
        drawing: Vec::new(),
        goal: Goal::Error { relative: 1e-3, most_triangles: 1000 },
        reached: true,
        shape_factor: ShapeFactor {
            value: 1.0,
            lower: 0.999,
            upper: 1.001,
            relative_half_width: 1e-3,
            outline_allowance: 1e-4,
        },
        tails: Vec::new(),
        gap_over_length: 0.01,
        probes: vec![Probe { name: "shoulder".into(), at: [0.1, 0.2], distance: 0.02, gap: 1e-3 }],
        corners: vec![Corner { at: [0.3, 0.1], fluid_angle: 4.71 }],
        no_moved_edges: None,
        edge_bands: band(),
        reduced_reynolds: 0.01,
        inertia: None,
        endings: vec![Ending::Outlet; 9],
        dye_height: 0.5,
        reference: Reference::Given,
    }
}

fn inertial(facts: &mut Facts) -> &mut Inertial {
    facts.inertia.get_or_insert(Inertial {
        order: Order::First,
        edge_number: 0.2,
        number: 0.1,
        at: [0.4, 0.2],
        bands: Vec::new(),
        band_sensitivity: None,
        gap_mean: 0.01,
        tolerated: 0.02,
    })
}

fn band(degrees: f64) -> Band {
    Band { at: [degrees, 0.0], fluid_angle: degrees.to_radians(), length: 1e-3 }
}

type Change = fn(&mut Facts);

/// Every warning once on and once off, on either side of its limit where it has one; the limits themselves are those of the
/// physics: b/L = 0.1, three gaps, 0.05 and 0.3 of Re*, a local number of 1, a fifth of the gap-mean departure, 342 degrees.
const CASES: [(Code, Level, Change, Change); 22] = [
    (Code::Drawing, Level::Note, |f| f.drawing.push("two points dropped".into()), |f| f.drawing.clear()),
    (
        Code::TargetMissed,
        Level::Warning,
        |f| f.reached = false,
        |f| (f.reached, f.goal) = (false, Goal::Triangles(1000)),
    ),
    (
        Code::OutlineAllowance,
        Level::Warning,
        |f| f.shape_factor.outline_allowance = 1.01e-3,
        |f| f.shape_factor.outline_allowance = 0.99e-3,
    ),
    (
        Code::SharpTail,
        Level::Warning,
        |f| f.tails.push(Tail { name: "keel".into(), at: [0.5, 0.1] }),
        |f| f.tails.clear(),
    ),
    (Code::ThickGap, Level::Warning, |f| f.gap_over_length = 0.101, |f| f.gap_over_length = 0.099),
    (Code::ProbeNearEdge, Level::Warning, |f| f.probes[0].distance = 2.9e-3, |f| f.probes[0].distance = 3.1e-3),
    (Code::ProbeNearEdge, Level::Warning, |f| f.probes[0].gap = 7e-3, |f| f.probes[0].gap = 6.6e-3),
    (
        Code::KnifeEdge,
        Level::Warning,
        |f| f.corners[0].fluid_angle = 343f64.to_radians(),
        |f| f.corners[0].fluid_angle = 341f64.to_radians(),
    ),
    (
        Code::NoMovedEdges,
        Level::Warning,
        |f| f.no_moved_edges = Some("grown solids meet".into()),
        |f| f.no_moved_edges = None,
    ),
    (Code::EdgeLayerOff, Level::Warning, |f| f.edge_bands = vec![band(310.0)], |f| f.edge_bands.clear()),
    (Code::InertiaLeftOut, Level::Warning, |f| f.reduced_reynolds = 0.051, |f| f.reduced_reynolds = 0.049),
    (
        Code::ReducedReynolds,
        Level::Warning,
        |f| {
            inertial(f);
            f.reduced_reynolds = 0.31;
        },
        |f| {
            inertial(f);
            f.reduced_reynolds = 0.29;
        },
    ),
    (
        Code::ReducedReynolds,
        Level::Warning,
        |f| {
            inertial(f).order = Order::Second;
            f.reduced_reynolds = 0.61;
        },
        |f| {
            inertial(f).order = Order::Second;
            f.reduced_reynolds = 0.59;
        },
    ),
    (Code::InertiaNumber, Level::Warning, |f| inertial(f).number = 1.01, |f| inertial(f).number = 0.99),
    (
        Code::InertiaNumber,
        Level::Warning,
        |f| (inertial(f).order, inertial(f).number) = (Order::Second, 2.01),
        |f| (inertial(f).order, inertial(f).number) = (Order::Second, 1.99),
    ),
    (Code::EdgeNumber, Level::Warning, |f| inertial(f).edge_number = 1.51, |f| inertial(f).edge_number = 1.49),
    (
        Code::EdgeInertiaOff,
        Level::Note,
        |f| (inertial(f).bands, inertial(f).band_sensitivity) = (vec![band(270.0)], Some(0.19)),
        |f| inertial(f).bands.clear(),
    ),
    (
        Code::EdgeInertiaOff,
        Level::Warning,
        |f| (inertial(f).bands, inertial(f).band_sensitivity) = (vec![band(270.0)], Some(0.21)),
        |f| inertial(f).band_sensitivity = None,
    ),
    (Code::LineAtRest, Level::Warning, |f| f.endings[4] = Ending::Stagnation, |f| f.endings[4] = Ending::Outlet),
    (Code::LineAtCorner, Level::Note, |f| f.endings[4] = Ending::Corner, |f| f.endings[4] = Ending::Outlet),
    (Code::LineCut, Level::Warning, |f| f.endings[4] = Ending::Steps, |f| f.endings[4] = Ending::Outlet),
    (Code::DyeAtPlate, Level::Note, |f| f.dye_height = -0.996, |f| f.dye_height = -0.995),
];

#[test]
fn every_warning_is_on_where_it_is_due_and_off_elsewhere() {
    assert_eq!(judge(&calm()), []);
    for (k, (code, level, on, off)) in CASES.into_iter().enumerate() {
        let told = |change: Change| {
            let mut facts = calm();
            change(&mut facts);
            judge(&facts)
        };
        let list = told(on);
        let found: Vec<(Code, Level)> = list.iter().map(|warning| (warning.code, warning.level)).collect();
        assert_eq!(found, [(code, level)], "case {k}");
        assert!(list[0].message.len() > 10);
        assert_eq!(told(off), [], "case {k}: {code:?}");
    }
    let width = judge(&Facts { reference: Reference::Width, ..calm() });
    assert_eq!((width.len(), width[0].code, width[0].level), (1, Code::NoObstacle, Level::Note));
    // beyond first order lines are ideal, which comes with the word on the Reynolds number
    for (reduced, due) in [(0.99, vec![Code::ReducedReynolds]), (1.01, vec![Code::ReducedReynolds, Code::IdealLines])] {
        let mut facts = Facts { reduced_reynolds: reduced, ..calm() };
        inertial(&mut facts);
        let list = judge(&facts);
        let found: Vec<Code> = list.iter().map(|warning| warning.code).collect();
        assert_eq!(found, due, "{reduced}");
        let level = |code| if code == Code::IdealLines { Level::Note } else { Level::Warning };
        assert!(list.iter().all(|warning| warning.level == level(warning.code)), "{list:#?}");
    }
    // those that are seen before a solve are tried in `likely`
    let before = [
        Code::IdealLines,
        Code::NoObstacle,
        Code::UnlikelySize,
        Code::UnlikelyGap,
        Code::UnlikelyFlow,
        Code::LooseTolerance,
    ];
    // those of what was measured are tried in `bench` and `study/compare`
    let of_measurements = [
        Code::MarkNotSeen,
        Code::MarkInGlare,
        Code::PictureTooBright,
        Code::MarkLeftOut,
        Code::MarksAtOdds,
        Code::FewMarks,
        Code::MarksOff,
        Code::Mirrored,
        Code::PlacingAssumed,
        Code::OutlineElsewhere,
        Code::LineHidden,
        Code::MapTooPoor,
        Code::MarksAgainstLines,
        Code::MeshTooCoarse,
        Code::LooksAlike,
    ];
    // those of fillings are tried in `theory/wetting` and `study/fill`
    let of_fillings = [Code::AirStays, Code::Wicks, Code::FrontUnstable, Code::FastFront, Code::FrontNotComputed];
    // those of bubbles are tried in `bubbles`
    let of_bubbles = [Code::SmallBubble, Code::BubbleTravels];
    // those of dye and of lines are tried in `tests/needles`, `dye` beside this folder and `tests/sample`
    let of_lines = [Code::ThickNeedle, Code::TimeLinesCut, Code::LineCutBySolid];
    let tried = |code| {
        CASES.iter().any(|case| case.0 == code)
            || before.contains(&code)
            || of_measurements.contains(&code)
            || of_fillings.contains(&code)
            || of_bubbles.contains(&code)
            || of_lines.contains(&code)
    };
    assert!(Code::ALL.into_iter().all(tried));
}

/// Place and number of a warning are those of what it is about; of several corners the sharpest.
#[test]
fn warnings_know_where_and_how_much() {
    let mut facts = calm();
    facts.probes[0].distance = 2.5e-3;
    facts.corners =
        [300.0, 345.0, 359.0, 350.0].map(|a: f64| Corner { at: [a, 1.0], fluid_angle: a.to_radians() }).into();
    facts.edge_bands = vec![band(310.0), band(330.0)];
    facts.endings[1..4].fill(Ending::Stagnation);
    (inertial(&mut facts).number, inertial(&mut facts).at) = (1.5, [0.7, 0.8]);
    (inertial(&mut facts).bands, inertial(&mut facts).band_sensitivity) = (vec![band(270.0), band(290.0)], Some(0.37));
    let list = judge(&facts);
    let of = |code| list.iter().find(|warning| warning.code == code).unwrap();
    let probe = of(Code::ProbeNearEdge);
    assert_eq!(probe.at, Some([0.1, 0.2]));
    assert!((probe.value.unwrap() - 2.5).abs() < 1e-12 && probe.message.contains("\"shoulder\""));
    let knife = of(Code::KnifeEdge);
    assert_eq!((knife.at, knife.value), (Some([359.0, 1.0]), Some(359f64.to_radians())));
    assert!(knife.message.starts_with("3 sharp edges with"), "{}", knife.message);
    assert!(of(Code::EdgeLayerOff).message.contains("2 edges") && of(Code::EdgeLayerOff).at == Some([330.0, 0.0]));
    assert_eq!((of(Code::InertiaNumber).at, of(Code::InertiaNumber).value), (Some([0.7, 0.8]), Some(1.5)));
    let off = of(Code::EdgeInertiaOff);
    assert!(off.message.contains("by up to 37 %") && off.message.contains("2 sharp corners"), "{}", off.message);
    assert_eq!((off.at, off.value), (Some([290.0, 0.0]), Some(0.37)));
    assert!(of(Code::LineAtRest).message.starts_with("3 of 9 streaklines"));
}

/// A hundredth of the tolerance: what could change of the departure is the change times the departure itself.
#[test]
fn what_hardly_matters_is_not_told() {
    for (gap_mean, due) in [(2.1e-4, 1), (1.9e-4, 0)] {
        let mut facts = calm();
        let inertia = inertial(&mut facts);
        (inertia.bands, inertia.band_sensitivity, inertia.gap_mean) = (vec![band(270.0)], Some(1.0), gap_mean);
        assert_eq!(judge(&facts).len(), due, "{gap_mean}");
    }
}

/// The number that a warning was judged by stands in its record, for scripts.
#[test]
fn warnings_bear_the_number_they_were_judged_by() {
    let cases: [(Code, Change, f64); 13] = [
        (Code::TargetMissed, |f| (f.reached, f.shape_factor.relative_half_width) = (false, 4e-3), 4e-3),
        (Code::OutlineAllowance, |f| f.shape_factor.outline_allowance = 0.02, 0.02),
        (Code::ThickGap, |f| f.gap_over_length = 0.15, 0.15),
        (Code::EdgeLayerOff, |f| f.edge_bands = vec![band(310.0), band(305.0)], 310f64.to_radians()),
        (Code::InertiaLeftOut, |f| f.reduced_reynolds = 0.7, 0.7),
        (
            Code::ReducedReynolds,
            |f| {
                inertial(f);
                f.reduced_reynolds = 0.7;
            },
            0.7,
        ),
        (
            Code::IdealLines,
            |f| {
                inertial(f);
                f.reduced_reynolds = 1.7;
            },
            1.7,
        ),
        (Code::InertiaNumber, |f| inertial(f).number = 2.5, 2.5),
        (Code::EdgeNumber, |f| inertial(f).edge_number = 2.7, 2.7),
        (Code::LineAtRest, |f| f.endings[..2].fill(Ending::Stagnation), 2.0),
        (Code::LineAtCorner, |f| f.endings[..3].fill(Ending::Corner), 3.0),
        (Code::LineCut, |f| f.endings[..4].fill(Ending::Steps), 4.0),
        (Code::DyeAtPlate, |f| f.dye_height = -0.999, -0.999),
    ];
    for (code, change, number) in cases {
        let mut facts = calm();
        change(&mut facts);
        let list = judge(&facts);
        let values: Vec<Option<f64>> =
            list.iter().filter(|warning| warning.code == code).map(|warning| warning.value).collect();
        assert_eq!(values, [Some(number)], "{code:?}");
    }
}

/// Limits are to be exceeded: 0.1 of the reference length, the allowance that is just half the distance of the bounds, 342 degrees, Re* of
/// 0.05, 0.3 and 1, a local number of 1, an edge number of 1.5, a dye height of 0.995; a fifth of the departure still leaves the choice open.
#[test]
fn at_the_limit_itself_nothing_is_said() {
    let cases: [Change; 9] = [
        |f| f.shape_factor.outline_allowance = f.shape_factor.half_width(),
        |f| f.gap_over_length = 0.1,
        |f| f.corners[0].fluid_angle = 1.9 * std::f64::consts::PI,
        |f| f.reduced_reynolds = 0.05,
        |f| {
            inertial(f);
            f.reduced_reynolds = 0.3;
        },
        |f| inertial(f).number = 1.0,
        |f| inertial(f).edge_number = 1.5,
        |f| f.dye_height = 0.995,
        |f| f.dye_height = -0.995,
    ];
    for (k, change) in cases.into_iter().enumerate() {
        let mut facts = calm();
        change(&mut facts);
        assert_eq!(judge(&facts), [], "case {k}");
    }
    let mut facts = Facts { reduced_reynolds: 1.0, ..calm() };
    inertial(&mut facts);
    assert!(judge(&facts).iter().all(|warning| warning.code == Code::ReducedReynolds));
}

/// Up to a fifth of the departure the length of a band is a choice that matters little, and a note; beyond it is no answer.
#[test]
fn a_band_that_decides_is_told_from_one_that_does_not() {
    for (change, level, words) in [
        (0.2, Level::Note, "; the choice matters little"),
        (
            0.201,
            Level::Warning,
            "; first order does not decide there: judge the picture away from the corners, or take a slower flow",
        ),
    ] {
        let mut facts = calm();
        (inertial(&mut facts).bands, inertial(&mut facts).band_sensitivity) = (vec![band(270.0)], Some(change));
        let list = judge(&facts);
        assert_eq!((list.len(), list[0].level), (1, level), "{change}");
        assert!(list[0].message.ends_with(words), "{}", list[0].message);
    }
}
