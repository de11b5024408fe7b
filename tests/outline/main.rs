//! Outlines and plans against exact values, and every mistake a plan can have.

use std::path::{Path, PathBuf};
use twinplate::Point;
use twinplate::base::error::Problems;
use twinplate::geometry::Plan;
use twinplate::geometry::Wall;
use twinplate::input::case::*;

mod cutting;
mod drawings;
mod files;
mod hostile;
mod marks;
#[path = "../support/obstacles.rs"]
mod obstacles;
mod patterns;
mod placing;
mod random;
mod shapes;
mod validity;
mod walls;

fn case(length: f64, width: f64, obstacles: Vec<(Shape, Option<Wall>)>) -> Case {
    let obstacles = obstacles::obstacles("pier", obstacles);
    let text = format!(
        "title = 'harbour'\n[cell]\nlength = {length}\nwidth = {width}\ngap = 1e-3\n[fluid]\ndensity = 998\nviscosity = 1e-3\n[drive]\n\
         mean_speed = 1e-3\n"
    );
    let case = twinplate::input::case::parse(&text, Path::new("case.toml")).into_result().unwrap();
    Case { text: String::new(), obstacles, ..case }
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
