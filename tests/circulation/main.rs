//! Kutta circulation and unconfined patterns against exact solutions.

use std::path::Path;
use std::sync::Arc;
use twinplate::Point;
use twinplate::base::error::Problems;
use twinplate::geometry::Plan;
use twinplate::geometry::Wall;
use twinplate::input::case::*;
use twinplate::theory::ideal::{Goal, Pattern, Solved, solve_ideal};

mod kutta;
#[path = "../support/obstacles.rs"]
mod obstacles;
mod tails;
mod unbounded;

/// Mean speed of all cases, m/s.
const U: f64 = 1e-3;
/// Gap, m.
const B: f64 = 1e-3;

fn case(length: f64, width: f64, shapes: Vec<(Shape, Option<Wall>)>) -> Case {
    let obstacles = obstacles::obstacles("keel", shapes);
    let text = format!(
        "title = \"keel\"\n[cell]\nlength = {length}\nwidth = {width}\ngap = {B}\n\
         [fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = {U}\n"
    );
    let mut case = parse(&text, Path::new("case.toml")).into_result().unwrap();
    case.obstacles = obstacles;
    case
}

struct Run {
    case: Case,
    plan: Arc<Plan>,
    solved: Solved,
    pattern: Pattern,
}

fn run(case: Case, triangles: usize) -> Run {
    let mut problems = Problems::default();
    let plan = Plan::new(&case, &mut problems).unwrap_or_else(|| panic!("{problems}"));
    let plan = Arc::new(plan);
    let solved = solve_ideal(&plan, &case, Goal::Triangles(triangles), &|_| {}).unwrap();
    let pattern = Pattern::new(&solved.space, &solved.pair, &case, 0.1);
    Run { case, plan, solved, pattern }
}

fn times(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

fn over(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    let n = b[0] * b[0] + b[1] * b[1];
    [(a[0] * b[0] + a[1] * b[1]) / n, (a[1] * b[0] - a[0] * b[1]) / n]
}

fn distance(a: Point, b: Point) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}
