//! Obstacles on the side walls, and those that should not be there.

use crate::*;
use std::f64::consts::PI;
use twinplate::geometry::Wall;
use twinplate::geometry::{Side, Solid};

/// A half circle on the wall: area pi r^2/2, feet at right angles; a circle sunk to height h: circular segment
/// r^2 acos((r - h)/r) - (r - h) sqrt(2 r h - h^2), contact angle acos(1 - h/r).
#[test]
fn posts_on_walls_are_cut_at_the_wall() {
    for (wall, y) in [(Wall::Lower, 0.0), (Wall::Upper, 1.0)] {
        let plan = plan(vec![(circle(0.6, y, 0.4), Some(wall))]).expect("a plan");
        assert_sound(&plan);
        assert_eq!(plan.loops.len(), 1);
        approx::assert_abs_diff_eq!(plan.area(), 2.0 - 0.02 * PI, epsilon = 1e-12);
        approx::assert_abs_diff_eq!(plan.obstacles[0].height, 0.2, epsilon = 1e-15);
        let feet: Vec<_> = plan.corners().into_iter().filter(|c| (c.at[0] - 0.6).abs() < 0.3).collect();
        assert_eq!(feet.len(), 2);
        for foot in feet {
            approx::assert_abs_diff_eq!((foot.at[0] - 0.6).abs(), 0.2, epsilon = 1e-13);
            approx::assert_abs_diff_eq!(foot.fluid_angle, PI / 2.0, epsilon = 1e-13);
        }
        assert!(!plan.contains([0.6, (y - 0.1).abs()]));
        assert!(plan.contains([0.6, (y - 0.21).abs()]));
    }
    let (r, h) = (0.2f64, 0.05f64);
    let plan = plan(vec![(circle(1.0, h - r, 2.0 * r), Some(Wall::Lower))]).expect("a plan");
    let segment = r * r * ((r - h) / r).acos() - (r - h) * (2.0 * r * h - h * h).sqrt();
    approx::assert_abs_diff_eq!(plan.area(), 2.0 - segment, epsilon = 1e-13);
    let foot = plan.corners().into_iter().find(|c| (c.at[0] - 1.0).abs() < 0.3).expect("a foot");
    // The boundary turns left by the contact angle at each foot.
    approx::assert_abs_diff_eq!(foot.fluid_angle, PI - (1.0 - h / r).acos(), epsilon = 1e-12);
}

#[test]
fn flush_edges_are_dropped() {
    for (wall, y) in [(Wall::Lower, [0.0, 0.25]), (Wall::Upper, [0.75, 1.0])] {
        let plan = plan(vec![(rectangle([0.5, 1.0], y), Some(wall))]).expect("a plan");
        assert_sound(&plan);
        assert_eq!(plan.pieces.len(), 4 + 4);
        approx::assert_abs_diff_eq!(plan.area(), 2.0 - 0.125, epsilon = 1e-15);
        assert_eq!(plan.corners().len(), 8);
        assert_eq!(plan.solid(Side::Obstacle(0)), Some(if wall == Wall::Lower { Solid::Lower } else { Solid::Upper }));
    }
    // Sunk into the wall, missing it by rounding, and two towers joined under the wall.
    let sunk = plan(vec![(rectangle([0.5, 1.0], [-3.0, 0.25]), Some(Wall::Lower))]).expect("a plan");
    approx::assert_abs_diff_eq!(sunk.area(), 1.875, epsilon = 1e-14);
    let near = plan(vec![(rectangle([0.5, 1.0], [0.1 + 0.2 - 0.3, 0.25]), Some(Wall::Lower))]).expect("a plan");
    approx::assert_abs_diff_eq!(near.area(), 1.875, epsilon = 1e-14);
    let towers = [[0.2, -0.1], [1.2, -0.1], [1.2, 0.3], [1.0, 0.3], [1.0, -0.05], [0.4, -0.05], [0.4, 0.5], [0.2, 0.5]];
    let towers = plan(vec![(polygon(&towers), Some(Wall::Lower))]).expect("a plan");
    assert_sound(&towers);
    approx::assert_abs_diff_eq!(towers.area(), 2.0 - 0.06 - 0.1, epsilon = 1e-14);
    approx::assert_abs_diff_eq!(towers.obstacles[0].height, 0.5, epsilon = 1e-14);
}

#[test]
fn walls_and_ends_are_named() {
    for (shape, words) in [
        (circle(0.5, 0.1, 0.4), ["crosses", "lower wall", "(0.5 m, -0.1 m)"]),
        (circle(0.5, 0.9, 0.4), ["crosses", "upper wall", "(0.5 m, 1.1 m)"]),
        (circle(0.1, 0.5, 0.4), ["crosses", "inlet", "(-0.1 m, 0.5 m)"]),
        (circle(1.9, 0.5, 0.4), ["crosses", "outlet", "(2.1 m, 0.5 m)"]),
        (rectangle([0.5, 0.7], [0.0, 0.2]), ["touches", "lower wall", "(0.5 m, 0 m)"]),
    ] {
        assert_says(&only_mistake(free(vec![shape])).0, &words);
    }
    let closed = only_mistake(free(vec![circle(0.9, 0.5, 1.2)]));
    assert_says(&closed.0, &["closes the channel", "pier 0"]);
    let closed = only_mistake(plan(vec![(rectangle([0.5, 0.7], [0.0, 1.0]), Some(Wall::Lower))]));
    assert_says(&closed.0, &["closes the channel"]);
}

#[test]
fn wall_mistakes_are_named() {
    let lower = |shape| plan(vec![(shape, Some(Wall::Lower))]);
    assert_says(&only_mistake(lower(circle(0.5, 0.5, 0.4))).0, &["300.000000 mm away", "lower wall"]);
    assert_says(&only_mistake(lower(circle(0.5, -0.5, 0.4))).0, &["outside"]);
    assert_says(&only_mistake(lower(circle(0.5, 0.2, 0.4))).0, &["only at a point", "(0.5 m"]);
    assert_says(
        &only_mistake(lower(polygon(&[[0.5, 0.0], [0.7, 0.2], [0.5, 0.4], [0.3, 0.2]]))).0,
        &["only at a point"],
    );
    let arch = |y: f64| {
        let points = [[0.2, 0.0], [0.4, 0.0], [0.4, 0.3], [0.8, 0.3], [0.8, y], [1.0, y], [1.0, 0.5], [0.2, 0.5]];
        lower(polygon(&points))
    };
    assert_says(&only_mistake(arch(0.0)).0, &["pocket", "(0.6 m, 0 m)"]);
    assert_says(&only_mistake(arch(1e-7)).0, &["passage", "lower wall"]);
    assert!(arch(0.1).is_ok());
    let both =
        |x: f64| plan(vec![(circle(0.5, 0.0, 0.4), Some(Wall::Lower)), (circle(x, 0.0, 0.4), Some(Wall::Lower))]);
    assert_says(&only_mistake(both(0.8)).0, &["pier 0", "pier 1", "cross"]);
    assert_says(&only_mistake(both(0.9)).0, &["pier 0", "pier 1"]);
    assert!(both(0.91).is_ok());
    // One under the other on the same wall.
    let under = plan(vec![(circle(0.5, 0.0, 0.4), Some(Wall::Lower)), (circle(0.5, 0.0, 0.2), Some(Wall::Lower))]);
    assert_says(&only_mistake(under).0, &["pier 0", "pier 1", "overlap", "lower wall"]);
    // They cross outside the cell only.
    let roots = [[0.3, 0.2], [0.3, -0.2], [1.2, -0.2], [1.2, -0.1], [0.4, -0.1], [0.4, 0.2]];
    let other = rectangle([0.6, 0.8], [-0.5, 0.2]);
    assert!(plan(vec![(polygon(&roots), Some(Wall::Lower)), (other, Some(Wall::Lower))]).is_ok());
    // A chain from wall to wall.
    let chain = plan(vec![(circle(1.0, 0.1, 1.0), Some(Wall::Lower)), (circle(1.0, 0.9, 0.8), Some(Wall::Upper))]);
    assert_says(&only_mistake(chain).0, &["close the channel", "pier 0", "pier 1"]);
}
