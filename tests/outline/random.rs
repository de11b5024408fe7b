//! Plans of random obstacles: an error or a sound plan.

use crate::*;
use proptest::prelude::*;
use std::f64::consts::PI;
use twinplate::geometry::Curve;
use twinplate::geometry::Wall;

/// Distance between a point and a curve, by dense sampling.
fn boundary_distance(curve: &Curve, p: Point) -> f64 {
    (0..=400)
        .map(|k| curve.point(f64::from(k) / 400.0))
        .map(|q| (p[0] - q[0]).hypot(p[1] - q[1]))
        .fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// Circles: a plan comes out exactly if no two overlap and none reaches the rectangle, and its area is exact.
    #[test]
    fn circles_give_a_plan_or_an_error(posts in prop::collection::vec((0.0..2.0, 0.0..1.0, 0.02..0.4), 1..7)) {
        let clear = posts.iter().enumerate().all(|(i, &(x, y, d))| {
            let r = 0.5 * d;
            x > r && x < 2.0 - r && y > r && y < 1.0 - r && posts[..i].iter().all(|&(u, v, e): &(f64, f64, f64)| {
                (x - u).hypot(y - v) > r + 0.5 * e
            })
        });
        let result = free(posts.iter().map(|&(x, y, d)| circle(x, y, d)).collect());
        prop_assert_eq!(result.is_ok(), clear);
        if let Ok(plan) = result {
            let area = 2.0 - posts.iter().map(|&(_, _, d)| 0.25 * PI * d * d).sum::<f64>();
            prop_assert!((plan.area() - area).abs() < 1e-12);
        }
    }

    /// Ellipses on and off the walls: either an error or a plan whose pieces join, whose area is that counted by points, and
    /// whose membership is that of the ellipses' equations.
    #[test]
    fn ellipses_give_a_plan_or_an_error(
        ellipses in prop::collection::vec(((0.0..2.0, -0.1..1.1f64), (0.02..0.3, 0.02..0.3f64), 0.0..3.0f64, 0..3u8), 1..4),
        probes in prop::collection::vec((0.0..2.0f64, 0.0..1.0f64), 50),
    ) {
        let ellipses: Vec<(Shape, Option<Wall>)> = ellipses
            .iter()
            .map(|&((x, y), (a, b), angle, wall)| {
                let shape = Shape::Ellipse { centre: [x, y], semi_axes: [a, b], angle };
                (shape, [None, Some(Wall::Lower), Some(Wall::Upper)][wall as usize])
            })
            .collect();
        let Ok(plan) = plan(ellipses.clone()) else { return Ok(()) };
        assert_sound(&plan);
        for (x, y) in probes {
            let inside = ellipses.iter().any(|(shape, _)| match shape {
                Shape::Ellipse { centre, semi_axes, angle } => {
                    let (u, v): (f64, f64) = (x - centre[0], y - centre[1]);
                    let (s, c) = f64::sin_cos(*angle);
                    ((c * u + s * v) / semi_axes[0]).powi(2) + ((c * v - s * u) / semi_axes[1]).powi(2) < 1.0
                }
                _ => false,
            });
            let near = plan.pieces.iter().any(|piece| boundary_distance(&piece.curve, [x, y]) < 1e-3);
            prop_assert!(near || plan.contains([x, y]) != inside, "({x}, {y})");
        }
        if ellipses.iter().all(|(_, wall)| wall.is_none()) {
            let area = ellipses.iter().map(|(shape, _)| match shape {
                Shape::Ellipse { semi_axes, .. } => PI * semi_axes[0] * semi_axes[1],
                _ => 0.0,
            });
            prop_assert!((plan.area() - (2.0 - area.sum::<f64>())).abs() < 1e-12);
        }
    }

    /// Sections of any proportion in use are sound, free and cut by a wall, and never seem to cross themselves.
    #[test]
    fn sections_of_any_proportion_are_sound(
        thickness in 0.01..0.4f64,
        camber in -0.08..0.08f64,
        camber_place in 0.2..0.8f64,
        angle in -0.4..0.4f64,
        closed_tail: bool,
    ) {
        let nose = [0.7, 0.5];
        let shapes = [
            Shape::FourDigit { camber, camber_place, thickness, chord: 0.6, nose, angle, closed_tail },
            Shape::Joukowski { chord: 0.6, thickness, camber, nose, angle },
            Shape::Teardrop { length: 0.6, diameter: 0.6 * thickness, nose, angle },
        ];
        for shape in shapes {
            let result = free(vec![shape.clone()]);
            prop_assert!(result.is_ok(), "{shape:?} {result:?}");
            assert_sound(&result.unwrap());
            let mut case = case(2.0, 1.0, vec![(shape.clone(), Some(Wall::Lower))]);
            // The lower wall through the section's middle.
            match &mut case.obstacles[0].shape {
                Shape::FourDigit { nose, .. } | Shape::Joukowski { nose, .. } | Shape::Teardrop { nose, .. } => {
                    nose[1] = 0.3 * angle.sin();
                }
                _ => {}
            }
            if let Ok(plan) = plan_of(&case) {
                assert_sound(&plan);
                prop_assert!(plan.area() < 2.0 && plan.loops.len() == 1);
            }
        }
    }

    /// Points at random: never a panic, and what comes out is sound.
    #[test]
    fn random_points_never_panic(
        points in prop::collection::vec((-0.2..2.2, -0.2..1.2), 0..9),
        smooth: bool,
        wall in 0..3u8,
    ) {
        let points = points.into_iter().map(|(x, y)| [x, y]).collect();
        let on_wall = [None, Some(Wall::Lower), Some(Wall::Upper)][wall as usize];
        if let Ok(plan) = plan(vec![(Shape::OutlinePoints { points, smooth }, on_wall)]) {
            assert_sound(&plan);
            prop_assert!(plan.area() > 0.0 && plan.area() < 2.0);
        }
    }
}
