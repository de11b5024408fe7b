//! Verdicts on drawn obstacles.

use super::conditions::tests::water;
use super::outline::tests::{cell, cup, mirrored, square, with_ellipse};
use super::*;
use crate::base::Point;
use crate::geometry::Plan;

/// Water so slow that N_r is below 1e-6, plates of 90 degrees, for which angles in the plane are those of the sides; a cell of 20 by 5 m, radii of 1 m.
fn still(side: f64, seal: f64) -> Conditions {
    let degrees = f64::to_radians;
    let conditions = Conditions { plate_angle: degrees(90.0), gap: 1.0, speed: 1e-9, ..water() };
    Conditions { side_angle: degrees(side), seal_angle: degrees(seal), ..conditions }
}

fn judged(plan: &Plan, conditions: &Conditions) -> Vec<Verdict> {
    verdicts(plan, conditions).unwrap()
}

fn post() -> Plan {
    with_ellipse(cell(&[]), [6.0, 2.5], [1.0; 2])
}

/// Exact areas for H = 2.5 and seals of 90 degrees; a share below 1 by 0.65 n^0.8 < 2e-5.
#[test]
fn drawn_obstacles_keep_what_their_forms_say() {
    let kept = |plan: &Plan, side: f64, seal: f64| judged(plan, &still(side, seal))[0].clone();
    let near = |kept: &Kept, area: f64| kept.pocket().is_some_and(|p| (p.area / area - 1.0).abs() < 1e-3);
    let one = kept(&post(), 110.0, 90.0);
    assert!(near(&one.kept, 0.03656) && one.form == Form::Round, "{one:?}");
    let pocket = one.kept.pocket().unwrap();
    assert!((pocket.tip[0] - 7.646).abs() < 1e-3 && pocket.tip[1] == 2.5 && pocket.place == Place::Rear);
    assert!(
        (pocket.band_low / pocket.area - 0.75).abs() < 1e-9 && (pocket.band_high / pocket.area - 1.25).abs() < 1e-9
    );
    assert_eq!((one.front_pocket, one.lead), (Kept::None, None));
    let low = kept(&post(), 89.0, 90.0);
    assert!(low.kept == Kept::None && low.words.iter().any(|word| word.contains(NONE)), "{low:?}");
    let block = cell(&[square([6.0, 2.5])]);
    assert!(near(&kept(&block, 110.0, 90.0).kept, 0.08488));
    let hollow = kept(&block, 60.0, 60.0);
    assert!(near(&hollow.front_pocket, 0.13497) && hollow.kept == Kept::None, "{hollow:?}");
    let down = cell(&[cup([6.0, 2.5])]);
    let cupped = kept(&down, 110.0, 90.0);
    assert!(near(&cupped.kept, 3.785) && cupped.form == Form::CupDownstream);
    let snap = kept(&down, 45.0 + 1e-6, 90.0);
    let pocket = snap.kept.pocket().unwrap();
    assert!(pocket.band_low == 0.0 && pocket.band_high > 3.7 && snap.words[0].contains("snaps"), "{snap:?}");
    let up = cell(&[mirrored(&cup([6.0, 2.5]), 6.0)]);
    assert!(near(&kept(&up, 60.0, 90.0).front_pocket, 2.88));
    let row = with_ellipse(post(), [9.0, 2.5], [1.0; 2]);
    let both = judged(&row, &still(80.0, 90.0));
    assert!(near(&both[0].kept, 0.4424) && both[0].form == Form::InRow && both[1].kept == Kept::None, "{both:?}");
    assert_eq!(both[0].kept.pocket().unwrap().place, Place::Between);
    assert_eq!(kept(&row, 60.0, 90.0).kept, Kept::None);
}

/// Half a post on a seal keeps half of what a post in a cell twice as wide keeps, and 0.00566 at its foot.
#[test]
fn half_a_post_keeps_half() {
    use crate::geometry::{Curve, Piece, PlanObstacle, Side, TailChoice, Wall};
    let mut plan = cell(&[]);
    let line = |from: Point, to: Point, side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
    let pi = std::f64::consts::PI;
    let curve = Curve::Arc { centre: [6.0, 0.0], semi_axes: [1.0; 2], rotation: 0.0, start: pi, end: 0.0 };
    let post = Piece { curve, from: 0.0, to: 1.0, side: Side::Obstacle(0) };
    let wall = Side::Wall(Wall::Lower);
    plan.pieces.splice(0..1, [line([0.0; 2], [5.0, 0.0], wall), post, line([7.0, 0.0], [20.0, 0.0], wall)]);
    plan.loops[0] = 0..plan.pieces.len();
    let name = "half".to_owned();
    plan.obstacles.push(PlanObstacle {
        name,
        on_wall: Some(Wall::Lower),
        height: 1.0,
        tail: TailChoice::Clear,
        bubble: None,
    });
    let found = &judged(&plan, &still(110.0, 110.0))[0];
    let channel = Channel { half_width: 5.0, wall: Effective::Angle(110f64.to_radians()) };
    let whole = round_rear(1.0, &channel, channel.wall).unwrap().area;
    assert_eq!(found.form, Form::HalfPost);
    assert!((found.kept.pocket().unwrap().area / whole - 0.5).abs() < 1e-3, "{found:?}");
    assert!((found.front_pocket.pocket().unwrap().area - 0.00566).abs() < 1e-5, "{found:?}");
    assert_eq!(judged(&plan, &still(110.0, 90.0))[0].front_pocket, Kept::None);
}

/// Just above and below 90 degrees in sum, of sides and of seals.
#[test]
fn below_the_limit_of_wicking_nothing_is_claimed() {
    let with = |side: f64, seal: f64| {
        let plate_angle = 50f64.to_radians();
        judged(&post(), &Conditions { plate_angle, ..still(side, seal) })[0].clone()
    };
    for (side, seal, outside) in [(40.1, 90.0, false), (39.9, 90.0, true), (110.0, 40.1, false), (110.0, 39.9, true)] {
        let found = with(side, seal);
        assert_eq!(found.kept == Kept::Outside, outside, "{side} {seal}");
        assert_eq!(found.front_pocket == Kept::Outside, outside);
        assert_eq!(found.words.iter().any(|word| word.contains(OUTSIDE)), outside, "{found:?}");
        assert!(!outside || found.words.iter().all(|word| !word.contains("none")));
    }
}

/// Off the middle: the narrower side below N = 0.1, the rear above; the estimate of the lead is 12.7 radii at N = 0.01 for 0.2 off.
#[test]
fn off_the_middle_the_narrower_side_keeps_the_air() {
    let plan = with_ellipse(cell(&[]), [6.0, 2.7], [1.0; 2]);
    let at = |number: f64| {
        let still = still(120.0, 90.0);
        let speed = still.speed * number / still.number(1.0);
        judged(&plan, &Conditions { speed, ..still })[0].clone()
    };
    let (slow, fast) = (at(0.01), at(0.11));
    let [below, above] = [&slow, &fast].map(|verdict| verdict.kept.pocket().unwrap().place);
    assert_eq!((below, above), (Place::NarrowerSide, Place::Rear));
    assert!(slow.kept.pocket().unwrap().tip[1] > 3.4, "the passage above is the narrower");
    assert!((slow.lead.unwrap() - 12.72).abs() < 0.01, "{:?}", slow.lead);
    assert_eq!(at(0.099).kept.pocket().unwrap().place, Place::NarrowerSide);
}

/// A long ellipse has no form of its own: its band runs from none to twice, and says why. So does a post with another beside it.
#[test]
fn unlike_outlines_have_a_wider_band() {
    let long = judged(&with_ellipse(cell(&[]), [6.0, 2.5], [3.0, 1.0]), &still(130.0, 90.0))[0].clone();
    let pocket = long.kept.pocket().unwrap();
    assert!(pocket.band_low == 0.0 && (pocket.band_high / pocket.area - 2.0).abs() < 1e-9, "{long:?}");
    assert!(long.words.iter().any(|word| word.contains("band is wider")));
    let beside = with_ellipse(with_ellipse(cell(&[]), [6.0, 1.3], [0.8; 2]), [6.0, 3.7], [0.8; 2]);
    let two = judged(&beside, &still(130.0, 90.0));
    assert!(two.iter().all(|one| one.fit == Fit::Far && one.kept.pocket().unwrap().band_low == 0.0), "{two:?}");
    assert!(verdicts(&post(), &Conditions { gap: 0.0, ..water() }).is_err());
}
