//! Filling with tension: the meniscus of a channel and air behind lone obstacles.

use super::{Effort, Figure};
use std::f64::consts::PI;
use twinplate::Point;
use twinplate::geometry::Wall::{Lower, Upper};
use twinplate::geometry::{Curve, Piece, Plan, PlanObstacle, Side, TailChoice};
use twinplate::theory::meniscus::{Front, Setup, run};

/// Half the channel's width.
const HALF: f64 = 2.5;

/// Named quantities: angles in degrees, obstacle first, then N = a²/S.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    let h = if effort.sharp { 0.05 } else { 0.1 };
    match (what, with) {
        ("sagitta", &[angle]) => sagitta(angle, h),
        ("round", &[angle, n]) => half_pocket(&[arc()], [1.0, angle, n], h),
        ("square", &[angle, n]) => half_pocket(&polyline(&SQUARE[..]), [1.0, angle, n], h),
        ("cup", &[angle, n]) => half_pocket(&polyline(&CUP[..]), [-0.8, angle, n], h),
        ("face", &[angle, seal, n]) => pocket(&cell([-2.5, 6.0], HALF, Some(&FACE)), [angle, seal, n], h, 1.0),
        _ => None,
    }
}

const FACE: [Point; 4] = [[-1.0, -1.0], [-1.0, 1.0], [1.0, 1.0], [1.0, -1.0]];
const SQUARE: [Point; 4] = [[-1.0, 0.0], [-1.0, 1.0], [1.0, 1.0], [1.0, 0.0]];
const CUP: [Point; 6] = [[-1.0, 0.0], [-1.0, 1.0], [1.0, 1.0], [1.0, 0.8], [-0.8, 0.8], [-0.8, 0.0]];

fn arc() -> Curve {
    Curve::Arc { centre: [0.0; 2], semi_axes: [1.0; 2], rotation: 0.0, start: PI, end: 0.0 }
}

fn polyline(corners: &[Point]) -> Vec<Curve> {
    corners.windows(2).map(|pair| Curve::Line { from: pair[0], to: pair[1] }).collect()
}

fn piece(curve: Curve, side: Side) -> Piece {
    Piece { curve, from: 0.0, to: 1.0, side }
}

/// A cell, with a polygon as an obstacle or none.
fn cell(length: [f64; 2], half: f64, obstacle: Option<&[Point]>) -> Plan {
    let corners = [[length[0], -half], [length[1], -half], [length[1], half], [length[0], half]];
    let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
    Plan::polygon(&corners, &sides, &obstacle.map(<[Point]>::to_vec).into_iter().collect::<Vec<_>>()).expect("a cell")
}

/// Half a cell above its axis, which is its lower wall, with half an obstacle on it from x = -1 to `rear`.
fn half_cell(outline: &[Curve], rear: f64) -> Plan {
    let line = |from: Point, to: Point| Curve::Line { from, to };
    let mut pieces = vec![piece(line([-2.5, 0.0], [-1.0, 0.0]), Side::Wall(Lower))];
    pieces.extend(outline.iter().map(|curve| piece(curve.clone(), Side::Obstacle(0))));
    pieces.push(piece(line([rear, 0.0], [6.0, 0.0]), Side::Wall(Lower)));
    pieces.push(piece(line([6.0, 0.0], [6.0, HALF]), Side::Outlet));
    pieces.push(piece(line([6.0, HALF], [-2.5, HALF]), Side::Wall(Upper)));
    pieces.push(piece(line([-2.5, HALF], [-2.5, 0.0]), Side::Inlet));
    let obstacle =
        PlanObstacle { name: "half".into(), on_wall: Some(Lower), height: 1.0, tail: TailChoice::Clear, bubble: None };
    let whole = 0..pieces.len();
    Plan { pieces, loops: vec![whole], obstacles: vec![obstacle], notes: vec![] }
}

fn fill(plan: &Plan, [angle, seal, n]: [f64; 3], h: f64) -> Option<Front> {
    let setup = Setup {
        size: h,
        seal_angle: seal.to_radians(),
        obstacle_angle: angle.to_radians(),
        ..Setup::new(plan, 1.0 / n, 1.0)
    };
    run(&setup, &mut |_| true).ok()
}

/// How far the middle of a slow front stands ahead of its ends, in half widths. Error: a front of straight edges has the curvature of an
/// arc to h²/8 of it, and N bends it by N in all.
fn sagitta(angle: f64, h: f64) -> Option<Figure> {
    let n = 1e-4;
    let front = fill(&cell([0.0, 3.0], 1.0, None), [angle, angle, n], h)?;
    let nodes = front.moments.last()?.fronts.first()?;
    let reach = nodes.iter().map(|p| p[0] - nodes[0][0]).max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    Some(Figure { value: reach, error: h * h / 8.0 + h * h * angle.to_radians().cos().abs() / 8.0 + n })
}

/// Twice the air that is kept in half a cell: the axis is a wall that the front meets at a right angle.
fn half_pocket(outline: &[Curve], [rear, angle, n]: [f64; 3], h: f64) -> Option<Figure> {
    pocket(&half_cell(outline, rear), [angle, 90.0, n], h, 2.0)
}

/// All air that is kept, times a factor, extrapolated at first order from two sizes. Error: what extrapolation changed, and what is not
/// seen.
fn pocket(plan: &Plan, with: [f64; 3], h: f64, factor: f64) -> Option<Figure> {
    let coarse = fill(plan, with, 2.0 * h)?.books.pockets;
    let fine = fill(plan, with, h)?;
    let (value, unseen) = (fine.books.pockets, fine.unseen[1]);
    Some(Figure { value: factor * (2.0 * value - coarse), error: factor * ((value - coarse).abs() + unseen) })
}
