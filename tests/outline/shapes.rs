//! Curves and plans against exact values.

use crate::*;
use std::f64::consts::PI;
use twinplate::geometry::{Side, Solid};
use twinplate::geometry::{TailChoice, Wall};
use twinplate::input::Outline;

fn outline(shape: Shape) -> Outline {
    let obstacle =
        Obstacle { name: "caisson".into(), shape, on_wall: None, tail: TailChoice::Clear, bubble: None, place: 0..1 };
    Outline::of(&obstacle, Path::new("case.toml")).expect("an outline").remove(0)
}

/// Central differences: truncation h^2/6 |third derivative| plus rounding 1e-16/h, at h = 1e-5 below 1e-8 for curves of
/// size one whose third derivative is below some 100.
#[test]
fn derivatives_are_those_of_the_points() {
    for curve in sections().into_iter().flat_map(|shape| outline(shape).curves) {
        for k in 0..=10 {
            let (t, h) = (0.001 + 0.998 * f64::from(k) / 10.0, 1e-5);
            for i in 0..2 {
                let first = (curve.point(t + h)[i] - curve.point(t - h)[i]) / (2.0 * h);
                let second = (curve.derivative(t + h)[i] - curve.derivative(t - h)[i]) / (2.0 * h);
                assert!((first - curve.derivative(t)[i]).abs() < 1e-8, "{curve:?} at {t}: {first}");
                assert!((second - curve.second_derivative(t)[i]).abs() < 1e-7, "{curve:?} at {t}: {second}");
            }
        }
    }
}

#[test]
fn outlines_are_closed_and_counter_clockwise() {
    for shape in sections() {
        let curves = outline(shape.clone()).curves;
        let mut area = 0.0;
        for (k, curve) in curves.iter().enumerate() {
            let (end, start) = (curve.point(1.0), curves[(k + 1) % curves.len()].point(0.0));
            assert!((end[0] - start[0]).hypot(end[1] - start[1]) < 1e-15, "{shape:?} open after {k}");
            let at = |i: u32| curve.point(f64::from(i) / 100.0);
            area += (0..100).map(|i| at(i)[0] * at(i + 1)[1] - at(i + 1)[0] * at(i)[1]).sum::<f64>();
        }
        assert!(area > 0.0, "{shape:?} is clockwise");
    }
}

/// Curvature: 1/r of a circle; a/b^2 and b/a^2 at the ends of an ellipse's axes; teardrop nose 32 L/(27 D^2).
#[test]
fn curvatures_are_the_closed_forms() {
    let curves = outline(circle(0.6, 0.45, 0.28)).curves;
    approx::assert_relative_eq!(curves[1].curvature(0.3), 1.0 / 0.14, max_relative = 1e-13);
    let curves = outline(Shape::Ellipse { centre: [0.0, 0.0], semi_axes: [0.3, 0.1], angle: 0.7 }).curves;
    approx::assert_relative_eq!(curves[0].curvature(0.0), 30.0, max_relative = 1e-13);
    approx::assert_relative_eq!(curves[1].curvature(0.0), 0.1 / 0.09, max_relative = 1e-13);
    let curves = outline(Shape::Teardrop { length: 0.5, diameter: 0.1, nose: [0.0, 0.0], angle: 0.0 }).curves;
    approx::assert_relative_eq!(curves[1].curvature(0.0), 32.0 * 0.5 / (27.0 * 0.01), max_relative = 1e-13);
}

/// Areas: pi a b; rectangle; teardrop 2 L k int s (1 - s^2) 2 s ds = (8/15) L k with k = (3 sqrt 3/4) D; open four-digit
/// section: 2 times the integral of Report 460's half-thickness, 10 t (0.2969 2/3 - 0.126/2 - 0.3516/3 + 0.2843/4 - 0.1015/5).
#[test]
fn plan_areas_are_exact() {
    let k = 0.75 * 3f64.sqrt() * 0.1;
    let four_digit = 10.0 * 0.12 * (0.2969 / 1.5 - 0.126 / 2.0 - 0.3516 / 3.0 + 0.2843 / 4.0 - 0.1015 / 5.0) * 0.25;
    let shapes = sections();
    for (shape, area) in [
        (&shapes[0], PI * 0.14 * 0.14),
        (&shapes[1], PI * 0.18 * 0.1),
        (&shapes[2], 0.04),
        (&shapes[5], four_digit),
        (&shapes[11], 8.0 / 15.0 * 0.5 * k),
    ] {
        let plan = free(vec![shape.clone()]).expect("a plan");
        assert_sound(&plan);
        approx::assert_abs_diff_eq!(plan.area(), 2.0 - area, epsilon = 1e-12);
    }
}

#[test]
fn every_shape_stands_in_the_cell() {
    for shape in sections() {
        let plan = free(vec![shape]).expect("a plan");
        assert_sound(&plan);
        assert_eq!(plan.loops.len(), 2);
        assert_eq!(plan.solid(plan.pieces[4].side), Some(Solid::Obstacle(0)));
    }
}

/// Corners: four of the cell; a square hole has four of 3 pi/2; a smooth post none; the Joukowski cusp 2 pi; the teardrop's
/// tail 2 pi - 2 atan(3 sqrt 3 D/(4 L)).
#[test]
fn corners_have_exact_angles() {
    let angles = |shapes: Vec<Shape>| -> Vec<f64> {
        free(shapes).expect("a plan").corners().iter().skip(4).map(|corner| corner.fluid_angle).collect()
    };
    let shapes = sections();
    assert!(free(vec![]).expect("a plan").corners().iter().all(|c| (c.fluid_angle - PI / 2.0).abs() < 1e-15));
    assert!(angles(vec![shapes[0].clone()]).is_empty());
    assert!(angles(vec![shapes[3].clone()]).is_empty());
    let square = angles(vec![shapes[2].clone()]);
    assert_eq!(square.len(), 4);
    assert!(square.iter().all(|a| (a - 1.5 * PI).abs() < 1e-14));
    for k in [8, 9, 10] {
        let tail = angles(vec![shapes[k].clone()]);
        assert_eq!(tail.len(), 1);
        assert_eq!(tail[0], 2.0 * PI);
    }
    let tail = angles(vec![shapes[11].clone()]);
    assert_eq!(tail.len(), 1);
    approx::assert_abs_diff_eq!(tail[0], 2.0 * PI - 2.0 * (0.75 * 3f64.sqrt() * 0.2f64).atan(), epsilon = 1e-13);
}

#[test]
fn orientation_of_the_points_does_not_matter() {
    let points = [[0.3, 0.3], [0.8, 0.35], [0.7, 0.7]];
    let mut back = points;
    back.reverse();
    for smooth in [false, true] {
        let of =
            |points: &[Point]| free(vec![Shape::OutlinePoints { points: points.to_vec(), smooth }]).unwrap().area();
        approx::assert_abs_diff_eq!(of(&points), of(&back), epsilon = 1e-14);
    }
}

#[test]
fn reference_length_is_the_largest_extent_across() {
    assert_eq!(free(vec![]).unwrap().reference_length(), None);
    let plan =
        free(vec![circle(0.5, 0.5, 0.2), Shape::Ellipse { centre: [1.3, 0.5], semi_axes: [0.3, 0.15], angle: 0.0 }]);
    approx::assert_abs_diff_eq!(plan.unwrap().reference_length().unwrap(), 0.3, epsilon = 1e-15);
}

#[test]
fn polygons_of_the_users_choice_become_plans() {
    use Wall::{Lower, Upper};
    // The L of three unit squares, end to end.
    let points = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
    let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Wall(Upper), Side::Inlet, Side::Wall(Lower)];
    let plan = Plan::polygon(&points, &sides, &[]).expect("a plan");
    assert_sound(&plan);
    assert_eq!(plan.area(), 3.0);
    let angles: Vec<f64> = plan.corners().iter().map(|c| c.fluid_angle).collect();
    assert_eq!(angles.iter().filter(|a| (*a - 1.5 * PI).abs() < 1e-14).count(), 1);
    let (mut back, mut back_sides) = (points, sides);
    back.reverse();
    back_sides.reverse();
    back_sides.rotate_left(1);
    let same = Plan::polygon(&back, &back_sides, &[]).expect("a plan");
    assert_sound(&same);
    for piece in &same.pieces {
        let twin = plan.pieces.iter().find(|p| p.start() == piece.start()).expect("a twin");
        assert_eq!((twin.side, twin.end()), (piece.side, piece.end()));
    }
    let hole = |x: f64| vec![[x, 0.4], [x + 0.2, 0.4], [x + 0.2, 0.6], [x, 0.6]];
    let mut other = hole(1.2);
    other.reverse();
    let plan = Plan::polygon(&points, &sides, &[hole(0.3), other]).expect("a plan");
    assert_sound(&plan);
    approx::assert_abs_diff_eq!(plan.area(), 2.92, epsilon = 1e-14);
    assert!(plan.contains([0.1, 0.5]) && !plan.contains([0.4, 0.5]) && !plan.contains([1.5, 1.5]));
    for holes in [vec![hole(1.9)], vec![hole(3.0)], vec![hole(0.3), hole(0.4)], vec![vec![[0.1, 0.1], [0.2, 0.2]]]] {
        assert!(Plan::polygon(&points, &sides, &holes).is_err());
    }
    assert!(Plan::polygon(&points, &sides[..5], &[]).is_err());
    assert!(Plan::polygon(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]], &sides[..4], &[]).is_err());
}
