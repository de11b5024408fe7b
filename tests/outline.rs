//! Outlines and plans against exact values, and every mistake a plan can have.

use proptest::prelude::*;
use std::f64::consts::PI;
use std::path::{Path, PathBuf};
use twinplate::Point;
use twinplate::case::*;
use twinplate::error::Problems;
use twinplate::outline::{Curve, Outline, Plan, Side, Solid};

fn case(length: f64, width: f64, obstacles: Vec<(Shape, Option<Wall>)>) -> Case {
    let obstacles = obstacles
        .into_iter()
        .enumerate()
        .map(|(k, (shape, on_wall))| Obstacle { name: format!("pier {k}"), shape, on_wall, place: 10 * k..10 * k + 5 })
        .collect();
    Case {
        title: "harbour".into(),
        file: PathBuf::from("case.toml"),
        text: String::new(),
        sha256: String::new(),
        cell: Cell { length, width, gap: Gap::Uniform(1e-3) },
        fluid: Fluid { name: "water".into(), density: 998.0, viscosity: 1e-3, temperature: None },
        drive: Drive { quantity: DriveQuantity::MeanSpeed(1e-3), ends: Ends::HeldPressure, reference_length: None },
        obstacles,
        probes: vec![],
        mesh: MeshSettings { error: 1e-3, max_triangles: 1000, max_edge: None, growth: 0.3 },
        streaklines: StreaklineSettings { seeding: Seeding::Count(24), height: 0.0 },
        tolerance: Tolerance { speed: 0.02, direction: 0.02, shift: 5e-4 },
    }
}

fn circle(x: f64, y: f64, diameter: f64) -> Shape {
    Shape::Circle { centre: [x, y], diameter }
}

fn polygon(points: &[Point]) -> Shape {
    Shape::Polygon { points: points.to_vec() }
}

fn rectangle(x: [f64; 2], y: [f64; 2]) -> Shape {
    polygon(&[[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]])
}

fn plan_of(case: &Case) -> Result<Plan, Problems> {
    let mut problems = Problems::default();
    match Plan::new(case, &mut problems) {
        Some(plan) => {
            assert!(problems.is_empty());
            Ok(plan)
        }
        None => {
            assert!(!problems.is_empty(), "no plan, but no problem either");
            Err(problems)
        }
    }
}

fn plan(obstacles: Vec<(Shape, Option<Wall>)>) -> Result<Plan, Problems> {
    plan_of(&case(2.0, 1.0, obstacles))
}

fn free(shapes: Vec<Shape>) -> Result<Plan, Problems> {
    plan(shapes.into_iter().map(|shape| (shape, None)).collect())
}

/// The one mistake of a case: its message, and the obstacle it points at.
fn only_mistake(result: Result<Plan, Problems>) -> (String, usize) {
    let problems = result.expect_err("a plan came out of a wrong case");
    assert_eq!(problems.list.len(), 1, "{problems}");
    let problem = &problems.list[0];
    assert!(!problem.remedy.is_empty());
    assert_eq!(problem.file, Path::new("case.toml"));
    (problem.message.clone(), problem.span.clone().expect("no place").start / 10)
}

fn assert_says(message: &str, words: &[&str]) {
    for word in words {
        assert!(message.contains(word), "{message:?} does not say {word:?}");
    }
}

/// Loops are closed, their pieces joined, the outer one counter-clockwise.
fn assert_sound(plan: &Plan) {
    for range in &plan.loops {
        for k in range.clone() {
            let next = if k + 1 == range.end { range.start } else { k + 1 };
            let (p, q) = (plan.pieces[k].end(), plan.pieces[next].start());
            let gap = (p[0] - q[0]).hypot(p[1] - q[1]);
            assert!(gap < 1e-12, "gap {gap} between pieces {k} and {next}");
            assert!(plan.pieces[k].length() > 0.0);
        }
    }
    assert_eq!(plan.loops.iter().map(|r| r.len()).sum::<usize>(), plan.pieces.len());
}

fn sections() -> Vec<Shape> {
    let four_digit = |camber, closed_tail| Shape::FourDigit {
        camber,
        camber_place: 0.4,
        thickness: 0.12,
        chord: 0.5,
        nose: [0.6, 0.5],
        angle: 4f64.to_radians(),
        closed_tail,
    };
    let joukowski =
        |thickness, camber| Shape::Joukowski { chord: 0.5, thickness, camber, nose: [0.6, 0.5], angle: 0.1 };
    vec![
        circle(0.6, 0.45, 0.28),
        Shape::Ellipse { centre: [1.3, 0.6], semi_axes: [0.18, 0.1], angle: -0.2 },
        rectangle([0.5, 0.7], [0.4, 0.6]),
        Shape::OutlinePoints { points: vec![[0.3, 0.3], [0.8, 0.35], [0.7, 0.7], [0.35, 0.6]], smooth: true },
        four_digit(0.0, true),
        four_digit(0.0, false),
        four_digit(0.02, true),
        four_digit(0.06, false),
        joukowski(0.12, 0.0),
        joukowski(0.12, 0.03),
        joukowski(0.02, -0.05),
        Shape::Teardrop { length: 0.5, diameter: 0.1, nose: [0.6, 0.5], angle: -0.1 },
    ]
}

fn outline(shape: Shape) -> Outline {
    let obstacle = Obstacle { name: "caisson".into(), shape, on_wall: None, place: 0..1 };
    Outline::new(&obstacle, Path::new("case.toml")).expect("an outline")
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
fn outlines_that_cross_are_named() {
    let (message, at) = only_mistake(free(vec![circle(0.5, 0.5, 0.4), circle(0.8, 0.5, 0.4)]));
    assert_eq!(at, 1);
    assert_says(&message, &["pier 0", "pier 1", "cross", "(650.0000 mm, "]);
    // Twice the same outline; tangent outlines; a shared edge.
    for second in [circle(0.5, 0.5, 0.4), circle(0.9, 0.5, 0.4), rectangle([0.7, 0.9], [0.4, 0.6])] {
        let (message, _) = only_mistake(free(vec![circle(0.5, 0.5, 0.4), second]));
        assert_says(&message, &["pier 0", "pier 1"]);
    }
    let shared = free(vec![rectangle([0.3, 0.6], [0.3, 0.6]), rectangle([0.6, 0.9], [0.3, 0.6])]);
    assert_says(&only_mistake(shared).0, &["cross or touch"]);
}

#[test]
fn narrow_passages_are_errors_below_the_stated_limit() {
    let pair = |gap: f64| free(vec![circle(0.5, 0.5, 0.4), circle(0.9 + gap, 0.5, 0.4)]);
    assert_says(
        &only_mistake(pair(0.9e-6)).0,
        &["passage", "pier 0", "pier 1", "9.000e-4 mm", "(700.0", "1.000e-3 mm"],
    );
    assert!(pair(1.1e-6).is_ok());
    let at_wall = |gap: f64| free(vec![circle(0.5, 0.2 + gap, 0.4)]);
    assert_says(&only_mistake(at_wall(0.9e-6)).0, &["passage", "pier 0", "lower wall"]);
    assert!(at_wall(1.1e-6).is_ok());
}

#[test]
fn walls_and_ends_are_named() {
    for (shape, words) in [
        (circle(0.5, 0.1, 0.4), ["crosses", "lower wall", "(500.0000 mm, -100.0000 mm)"]),
        (circle(0.5, 0.9, 0.4), ["crosses", "upper wall", "(500.0000 mm, 1100.0000 mm)"]),
        (circle(0.1, 0.5, 0.4), ["crosses", "inlet", "(-100.0000 mm, 500.0000 mm)"]),
        (circle(1.9, 0.5, 0.4), ["crosses", "outlet", "(2100.0000 mm, 500.0000 mm)"]),
        (rectangle([0.5, 0.7], [0.0, 0.2]), ["touches", "lower wall", "(500.0000 mm, 0.0000 mm)"]),
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
    assert_says(&only_mistake(lower(circle(0.5, 0.2, 0.4))).0, &["only at a point", "(500.0000 mm"]);
    assert_says(
        &only_mistake(lower(polygon(&[[0.5, 0.0], [0.7, 0.2], [0.5, 0.4], [0.3, 0.2]]))).0,
        &["only at a point"],
    );
    let arch = |y: f64| {
        let points = [[0.2, 0.0], [0.4, 0.0], [0.4, 0.3], [0.8, 0.3], [0.8, y], [1.0, y], [1.0, 0.5], [0.2, 0.5]];
        lower(polygon(&points))
    };
    assert_says(&only_mistake(arch(0.0)).0, &["pocket", "(600.0000 mm, 0.0000 mm)"]);
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

#[test]
fn nested_and_self_crossing_outlines_are_named() {
    let (message, at) = only_mistake(free(vec![circle(0.5, 0.5, 0.8), circle(0.4, 0.5, 0.2)]));
    assert_eq!(at, 1);
    assert_says(&message, &["\"pier 1\" stands inside \"pier 0\"", "mm"]);
    let bow_tie = polygon(&[[0.3, 0.3], [0.8, 0.7], [0.8, 0.3], [0.3, 0.6]]);
    assert_says(
        &only_mistake(free(vec![bow_tie])).0,
        &["crosses or touches itself near (514.2857 mm, 471.4286 mm)", "pier 0"],
    );
    let pinched = polygon(&[[0.3, 0.3], [0.8, 0.3], [0.8, 0.6], [0.5, 0.3], [0.3, 0.6]]);
    assert_says(&only_mistake(free(vec![pinched])).0, &["itself near (500.0000 mm, 300.0000 mm)"]);
    let spike = polygon(&[[0.3, 0.3], [0.8, 0.3], [0.8, 0.6], [0.8, 0.9], [0.8, 0.6], [0.3, 0.6]]);
    assert_says(&only_mistake(free(vec![spike])).0, &["itself"]);
    let points = vec![[0.3, 0.3], [0.8, 0.7], [0.8, 0.3], [0.3, 0.6]];
    let knot = Shape::OutlinePoints { points, smooth: true };
    assert_says(&only_mistake(free(vec![knot])).0, &["itself"]);
}

#[test]
fn shapes_without_area_or_points_are_named() {
    let flat = polygon(&[[0.3, 0.3], [0.5, 0.3], [0.8, 0.3]]);
    assert_says(&only_mistake(free(vec![flat])).0, &["no area"]);
    for points in [vec![], vec![[0.3, 0.3]], vec![[0.3, 0.3], [0.5, 0.3], [0.3, 0.3], [0.5, 0.3]]] {
        assert_says(&only_mistake(free(vec![polygon(&points)])).0, &["three distinct points"]);
    }
    assert_says(&only_mistake(free(vec![circle(0.5, 0.5, 0.0)])).0, &["diameter"]);
    assert_says(&only_mistake(free(vec![circle(f64::NAN, 0.5, 0.1)])).0, &["finite"]);
    assert_says(&only_mistake(free(vec![circle(0.5, 0.5, 1e-9)])).0, &["smallest size"]);
    let impossible = Shape::Joukowski { chord: 0.5, thickness: 0.95, camber: 0.0, nose: [0.5, 0.5], angle: 0.0 };
    assert_says(&only_mistake(free(vec![impossible])).0, &["no Joukowski section"]);
    for huge in [1e200, 1e308] {
        assert!(free(vec![circle(0.5, 0.5, huge)]).is_err());
        assert!(free(vec![polygon(&[[-huge, 0.5], [huge, 0.4], [huge, 0.6]])]).is_err());
        assert!(
            free(vec![Shape::OutlinePoints { points: vec![[-huge, 0.5], [huge, 0.4], [0.3, huge]], smooth: true }])
                .is_err()
        );
    }
}

#[test]
fn probes_must_lie_in_the_fluid() {
    let mut case = case(2.0, 1.0, vec![(circle(0.6, 0.45, 0.28), None)]);
    let probe = |at, k: usize| Probe { name: format!("probe {k}"), at, place: 100 * k..100 * k + 1 };
    // In the fluid, on the post to rounding, on the walls and ends.
    case.probes = [[0.3, 0.5], [0.6, 0.59], [0.46, 0.45], [0.0, 0.3], [2.0, 1.0]].map(|at| probe(at, 1)).to_vec();
    assert!(plan_of(&case).is_ok());
    case.probes = vec![probe([0.6, 0.58], 1), probe([0.5, 1.01], 2), probe([f64::NAN, 0.5], 3)];
    let problems = plan_of(&case).expect_err("no error");
    assert_eq!(problems.list.len(), 3);
    assert_says(&problems.list[0].message, &["probe 1", "inside \"pier 0\"", "(600.0000 mm, 580.0000 mm)"]);
    assert_eq!(problems.list[0].span, Some(100..101));
    assert_says(&problems.list[1].message, &["probe 2", "outside the cell"]);
}

#[test]
fn all_mistakes_are_reported_together() {
    let problems =
        free(vec![circle(0.5, 0.1, 0.4), circle(1.0, 0.5, -1.0), circle(1.5, 0.5, 0.2), circle(1.6, 0.5, 0.2)]);
    assert_eq!(problems.expect_err("no error").list.len(), 3);
}

fn from_file(text: &[u8], size: OutlineSize, angle: f64, mirror: bool) -> Result<Plan, Problems> {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("seal.csv"), text).expect("a file");
    let file = PathBuf::from("seal.csv");
    let shape = Shape::OutlineFile { file, centre: [1.0, 0.5], size, angle, mirror, smooth: false };
    let mut case = case(2.0, 1.0, vec![(shape, None)]);
    case.file = folder.path().join("case.toml");
    plan_of(&case)
}

#[test]
fn files_of_points_are_read() {
    let plain = b"0 0\n4 0\n4 2\n0 1\n".as_slice();
    let same: [&[u8]; 6] = [
        b"x, y\r\n0, 0\r\n4, 0\r\n4, 2\r\n0, 1\r\n",
        b"# seal\n\n0;0\n4;0 # corner\n4;2\n0;1\n0;0\n",
        b"\xef\xbb\xbfx y\n0\t0\n4e0 0\n4 0\n4 2\n0 1",
        b"0 1\n4 2\n4 0\n0 0\n",
        b"\"x\",\"y\"\n\"0\",\"0\"\n4,0\n4,2\n0,1\n",
        b"0 0\n0 0\n4 0\n4 2\n4 2\n0 1\n0 0\n0 0\n",
    ];
    // Width 4 to 0.4: scale 1/10, area 6/100; height 2 to 0.4: scale 1/5, area 6/25.
    let width = OutlineSize::Width(0.4);
    for text in [plain].into_iter().chain(same) {
        let plan = from_file(text, width, 0.0, false).expect("a plan");
        assert_sound(&plan);
        approx::assert_abs_diff_eq!(plan.area(), 2.0 - 0.06, epsilon = 1e-14);
        assert_eq!(plan.pieces.len(), 8);
    }
    let tall = from_file(plain, OutlineSize::Height(0.4), 0.3, false).expect("a plan");
    approx::assert_abs_diff_eq!(tall.area(), 2.0 - 0.24, epsilon = 1e-14);
    // Centred, mirrored, turned a quarter counter-clockwise: the high corner goes from the right to the left, then down.
    let at = |angle, mirror| -> Vec<[i64; 2]> {
        let plan = from_file(plain, width, angle, mirror).expect("a plan");
        let mut corners: Vec<_> =
            plan.pieces[4..].iter().map(|p| p.start().map(|v| (v * 1e6).round() as i64)).collect();
        corners.sort_unstable();
        corners
    };
    assert_eq!(at(0.0, false), [[800000, 400000], [800000, 500000], [1200000, 400000], [1200000, 600000]]);
    assert_eq!(at(0.0, true), [[800000, 400000], [800000, 600000], [1200000, 400000], [1200000, 500000]]);
    assert_eq!(at(PI / 2.0, true), [[900000, 300000], [1000000, 700000], [1100000, 300000], [1100000, 700000]]);
}

#[test]
fn bad_files_are_reported_with_their_place() {
    let width = OutlineSize::Width(0.4);
    let problems = from_file(b"x y\n0 0\n4 zero\n4 nan\n1 2 3\n", width, 0.0, false).expect_err("no error");
    let places: Vec<_> = problems.list.iter().map(|p| p.span.clone()).collect();
    assert_eq!(places, [Some(8..14), Some(15..20), Some(21..26)]);
    assert!(problems.list[0].file.ends_with("seal.csv"));
    assert_says(&problems.list[0].message, &["`zero` is not a number"]);
    assert_says(&problems.list[1].message, &["not a finite number"]);
    assert_says(&problems.list[2].message, &["expected two numbers, found 3"]);
    for (text, word) in [
        (b"".as_slice(), "three distinct points"),
        (b"0 0\n1 1\n0 0\n1 1\n", "three distinct points"),
        (b"0 0\n1 1\n\xff\xfe", "not UTF-8"),
        (b"0 0\n1 0\n2 0\n", "no area"),
        (b"<svg>\n", "three distinct points"),
    ] {
        let problems = from_file(text, width, 0.0, false).expect_err("no error");
        assert_says(&problems.list[0].message, &[word]);
        assert_eq!(problems.list[0].span, Some(0..5));
        assert!(problems.list[0].file.ends_with("case.toml"));
    }
    let many: String = (0..1_000_003).map(|i| format!("{i} 0\n")).collect();
    assert_says(
        &from_file(many.as_bytes(), width, 0.0, false).expect_err("no error").list[0].message,
        &["1000000 points"],
    );
    for file in ["none.csv", "."] {
        let shape = Shape::OutlineFile {
            file: file.into(),
            centre: [1.0, 0.5],
            size: width,
            angle: 0.0,
            mirror: false,
            smooth: false,
        };
        let words = if file == "." { "is a folder" } else { "cannot read the outline file" };
        assert_says(&only_mistake(free(vec![shape])).0, &[words, "pier 0"]);
    }
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

#[test]
fn many_obstacles_and_points_are_quick() {
    let posts = (0..200).map(|k| (circle(0.05 + 0.1 * f64::from(k % 20), 0.05 + 0.1 * f64::from(k / 20), 0.09), None));
    let start = std::time::Instant::now();
    let plan = plan(posts.collect()).expect("a plan");
    let posts = start.elapsed();
    approx::assert_abs_diff_eq!(plan.area(), 2.0 - 200.0 * PI * 0.045 * 0.045, epsilon = 1e-12);
    let n = 100_000;
    let ring: Vec<Point> = (0..n)
        .map(|k| 2.0 * PI * f64::from(k) / f64::from(n))
        .map(|a| (a, 0.3 + 0.05 * (40.0 * a).sin()))
        .map(|(a, r)| [1.0 + r * a.cos(), 0.5 + r * a.sin()])
        .collect();
    for smooth in [false, true] {
        let start = std::time::Instant::now();
        assert!(free(vec![Shape::OutlinePoints { points: ring.clone(), smooth }]).is_ok());
        eprintln!("200 posts {posts:?}, 1e5 points, smooth {smooth}: {:?}", start.elapsed());
    }
}

/// A scribble of long chords crosses itself some n^2/3 times; finding one crossing must not mean finding all.
#[test]
fn scribbles_are_refused_quickly() {
    let at = |k: u32, p: u32| f64::from(k.wrapping_mul(p) % 65_521) / 65_521.0;
    let points: Vec<Point> = (1..50_000).map(|k| [0.2 + at(k, 48_271), 0.1 + 0.8 * at(k, 40_014)]).collect();
    let start = std::time::Instant::now();
    assert_says(&only_mistake(free(vec![polygon(&points)])).0, &["itself"]);
    assert!(start.elapsed().as_secs() < 20);
}

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
