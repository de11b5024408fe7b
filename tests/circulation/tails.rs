//! Which corner is the tail: shapes with one, two and three sharp corners.

use crate::{U, case, run};
use twinplate::Point;
use twinplate::base::error::Problems;
use twinplate::geometry::{Plan, TailChoice};
use twinplate::input::case::{Case, Shape, parse};
use twinplate::theory::circulation::{NoTailReason, Tails, sharp_tails, solve_circulation};

/// A fish, chord 0.1 m, nose blunt: a tail forked into two tips `apart` of the chord apart along the stream.
fn fish(apart: f64, angle: f64) -> Vec<Point> {
    let points = [
        [0.0, 0.006],
        [0.0, -0.006],
        [0.02, -0.012],
        [0.06, -0.008],
        [0.1 - 0.1 * apart, -0.022],
        [0.085 - 0.1 * apart, 0.0],
        [0.1, 0.022],
        [0.06, 0.008],
        [0.02, 0.012],
    ];
    let (sin, cos) = (-angle).to_radians().sin_cos();
    points.iter().map(|p| [0.15 + cos * p[0] - sin * p[1], 0.1 + sin * p[0] + cos * p[1]]).collect()
}

fn with(points: Vec<Point>, tail: TailChoice) -> Case {
    let mut case = case(0.4, 0.2, vec![(Shape::Polygon { points }, None)]);
    case.obstacles[0].tail = tail;
    case
}

fn tails(points: Vec<Point>, tail: TailChoice) -> Tails {
    sharp_tails(&run(with(points, tail), 2_000).solved.space)
}

/// Two tips abreast: turned by a degree either way the one or the other is ahead by less than a tenth of the chord, and neither is taken.
#[test]
fn a_forked_tail_has_no_circulation_whichever_way_it_is_turned() {
    for angle in [-2.0, -1.0, 0.0, 1.0, 2.0] {
        let found = tails(fish(0.0, angle), TailChoice::Clear);
        assert!(found.found.is_empty() && found.left_out.len() == 1, "{angle}");
        let one = &found.left_out[0];
        assert_eq!((one.reason, one.corners.len()), (NoTailReason::SeveralCorners, 2), "{one:?}");
        assert!(one.corners[0][0] >= one.corners[1][0]);
    }
}

/// A tip ahead of the other by more than a tenth of the chord is the tail; the limit lies where they are a tenth apart.
#[test]
fn a_tip_clear_of_the_others_is_the_tail() {
    // the chord is measured from the tip, some 3 % longer than the 0.1 m along the stream
    for (apart, is_tail) in [(0.09, false), (0.115, true), (0.2, true)] {
        let found = tails(fish(apart, 0.0), TailChoice::Clear);
        assert_eq!(found.found.len() == 1, is_tail, "{apart}: {found:?}");
        if let Some(tail) = found.found.first() {
            assert!((tail.at[0] - 0.25).abs() < 1e-9 && (tail.at[1] - 0.122).abs() < 1e-9, "{:?}", tail.at);
            assert!(!tail.sharp_nose, "the second tip is no nose");
        }
    }
}

/// A corner of 75 degrees is the last that counts as sharp.
#[test]
fn a_blunt_corner_is_no_tail() {
    let wedge = |degrees: f64| {
        let half = 0.05 * (0.5 * degrees).to_radians().tan();
        let [low, high] = [0.1 - half, 0.1 + half];
        vec![[0.25, 0.1], [0.2, high], [0.15, high], [0.15, low], [0.2, low]]
    };
    for (degrees, is_tail) in [(74.0, true), (76.0, false)] {
        let found = tails(wedge(degrees), TailChoice::Clear);
        assert_eq!((found.found.len() == 1, found.left_out.is_empty()), (is_tail, true), "{degrees}");
    }
}

/// A fin on the back of a body that goes on behind it by more than a tenth of the chord is no tail.
#[test]
fn a_fin_is_no_tail() {
    let body = vec![[0.12, 0.09], [0.26, 0.09], [0.26, 0.11], [0.17, 0.11], [0.2, 0.15], [0.15, 0.11], [0.12, 0.11]];
    let found = tails(body, TailChoice::Clear);
    assert!(found.found.is_empty(), "{found:?}");
    assert_eq!(found.left_out[0].reason, NoTailReason::OutlineGoesOn);
}

/// A lens has a sharp nose at its front.
#[test]
fn a_sharp_front_is_a_nose() {
    let lens = vec![[0.1, 0.1], [0.2, 0.085], [0.3, 0.1], [0.2, 0.115]];
    assert!(tails(lens, TailChoice::Clear).found[0].sharp_nose);
}

/// The case may name the corner or say that there is none. With a corner named, circulation has the sign of that corner: the upper tip turns
/// the flow down, the lower tip, its mirror image, up by as much.
#[test]
fn the_case_may_choose() {
    let none = tails(fish(0.0, 0.0), TailChoice::None);
    assert!(none.found.is_empty() && none.left_out[0].reason == NoTailReason::Given);
    let lift = |y: f64| {
        let run = run(with(fish(0.0, 0.0), TailChoice::At([0.25, y])), 6_000);
        let space = &run.solved.space;
        let found =
            solve_circulation(space, &sharp_tails(space).found, &run.solved.pair, run.case.drive.ends, &run.pattern);
        let section = found.unwrap().unwrap().sections.remove(0);
        assert!((section.tail.at[1] - y).abs() < 0.002, "{:?}", section.tail.at);
        assert!((section.lift_coefficient - 2.0 * section.kutta_circulation / (U * section.chord)).abs() < 1e-12);
        (section.lift_coefficient, section.lift_coefficient_error)
    };
    let ((upper, error), (lower, other)) = (lift(0.121), lift(0.079));
    assert!(upper * lower < 0.0 && upper.abs() > 0.1, "{upper} {lower}");
    // the meshes are no mirror images
    assert!((upper + lower).abs() < 10.0 * (error + other), "{upper} {lower} {error} {other}");
}

/// A tail that is named stands at a corner of its obstacle, or the case is wrong there; a post has none.
#[test]
fn a_named_tail_stands_at_a_corner() {
    let message = |case: &Case| {
        let mut problems = Problems::default();
        assert!(Plan::new(case, &mut problems).is_none());
        problems.to_string()
    };
    // a tenth of the height of 44 mm is allowed
    let mut problems = Problems::default();
    assert!(Plan::new(&with(fish(0.0, 0.0), TailChoice::At([0.254, 0.122])), &mut problems).is_some(), "{problems}");
    let far = message(&with(fish(0.0, 0.0), TailChoice::At([0.255, 0.122])));
    assert!(far.contains("is not at a corner of it: its nearest corners are (0.25 m, 0.122 m)"), "{far}");
    let mut post = case(0.4, 0.2, vec![(Shape::Circle { centre: [0.2, 0.1], diameter: 0.04 }, None)]);
    post.obstacles[0].tail = TailChoice::At([0.22, 0.1]);
    assert!(message(&post).contains("it has no corner that could be one"), "{}", message(&post));
}

/// `tail = [x, y]` and `tail = false` are read; true names no corner.
#[test]
fn the_key_is_read() {
    let text = "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 1e-3\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-3\n\
                [[obstacle]]\ncircle = { centre = [0.2, 0.1], diameter = 0.04 }\n";
    let read = |value: &str| {
        let parsed = parse(&format!("{text}tail = {value}\n"), "case.toml".as_ref()).into_result();
        parsed.map(|case| case.obstacles[0].tail).map_err(|error| error.to_string())
    };
    assert_eq!(read("[\"250 mm\", 0.122]"), Ok(TailChoice::At([0.25, 0.122])));
    assert_eq!(read("false"), Ok(TailChoice::None));
    assert!(read("true").unwrap_err().contains("tail = true does not say which corner"));
    assert!(read("[0.1]").unwrap_err().contains("tail must be two values"));
}
