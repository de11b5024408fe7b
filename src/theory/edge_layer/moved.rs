//! The shape factor between solids grown by the displacement thickness: a second-order variant of the edge layer.
//!
//! For a post the dipole of the true flow is (a + 0.315 b)² within 0.1 % even at b/a = 0.4 (azimuthal Stokes solutions), so that
//! the difference of this variant to the first-order term, over that term, is a fair measure of what first order neglects.

use super::EdgeLayer;
use crate::base::bisect::{TO_ROUNDING, bisected};
use crate::base::plane;
use crate::base::{Point, Result};
use crate::geometry::Wall;
use crate::geometry::part::bulge_arc;
use crate::geometry::{Curve, Piece, Plan, Side};
use crate::input::case::Case;
use crate::numerics::fem::Space;
use crate::theory::ideal::{Goal, Solved, solve_ideal};
use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use std::f64::consts::PI;
use std::sync::Arc;

/// Largest turn of one arc along a curve that is not an arc of a circle, rad. Arcs through points of the curve that turn as it does
/// are off it by some TURN³/50 of the radius.
const TURN: f64 = 0.06;
/// Most halvings of a piece.
const HALVINGS: u32 = 10;

/// The shape factor between grown solids.
#[derive(Debug, Clone, Copy)]
pub struct Moved {
    /// Shape factor.
    pub shape_factor: f64,
    /// Half the distance of its bounds.
    pub half_width: f64,
}

/// Solves the ideal pattern with every solid edge moved into the fluid by the displacement thickness, on about as many triangles as
/// `space` has.
///
/// # Errors
/// [`crate::base::Error::Failed`] if grown solids meet, [`crate::base::Error::Mesh`] if no mesh can be made between them.
pub fn solve_moved(case: &Case, plan: &Plan, space: &Space, layer: &EdgeLayer) -> Result<Moved> {
    let grown = Arc::new(grown_plan(plan, layer.displacement_thickness)?);
    let Solved { pair, .. } = solve_ideal(&grown, case, Goal::Triangles(space.mesh.triangles.len()), &|_| {})?;
    Ok(Moved { shape_factor: 0.5 * (pair.upper + pair.lower), half_width: 0.5 * (pair.upper - pair.lower) })
}

/// The plan with every edge that holds fluid back moved into the fluid by a distance, m: side walls and obstacles grow, ends and the free
/// rims of bubbles stay.
///
/// # Errors
/// [`crate::base::Error::Failed`] if grown solids meet, or a bubble with a free rim stands on a wall.
pub fn grown_plan(plan: &Plan, distance: f64) -> Result<Plan> {
    let outer = plan.loops.first().cloned().unwrap_or(0..0);
    if plan.pieces[outer.clone()].iter().any(|piece| plan.is_bubble(piece.side) && !plan.holds_back(piece.side)) {
        return Err(crate::base::Error::failed(
            "a bubble with a free rim stands on a side wall, whose moved edge would have a step there",
            "the variant with moved edges needs bubbles that stand free of the side walls",
        ));
    }
    let mut pieces = match plan.rectangle() {
        Some(_) => grown_outer(&plan.pieces[outer], distance, grown_wall)?,
        None if ends_are_square(plan) => grown_outer(&plan.pieces[outer], distance, grown_way)?,
        None => {
            return Err(crate::base::Error::failed(
                "a side wall does not leave the ends of the cell at a right angle",
                "the variant with moved edges needs channels with straight walls at both ends; the first order stands without it",
            ));
        }
    };
    let mut loops = Vec::with_capacity(plan.loops.len());
    loops.push(0..pieces.len());
    for range in plan.loops.iter().skip(1) {
        let own = &plan.pieces[range.clone()];
        let Some(side) = own.first().map(|piece| piece.side) else { continue };
        let start = pieces.len();
        if !plan.holds_back(side) {
            pieces.extend_from_slice(own);
            loops.push(start..pieces.len());
            continue;
        }
        let grown = offset(&polyline(own, Course::Closed), distance)?;
        pieces.extend(as_pieces(&grown, side));
        loops.push(start..pieces.len());
    }
    Ok(Plan { pieces, loops, obstacles: plan.obstacles.clone(), notes: vec![] })
}

/// The outer loop: from the inlet along the lower solids to the outlet, and back along the upper ones.
fn grown_outer(
    pieces: &[Piece],
    distance: f64,
    grown: fn(&[Piece], f64, Wall) -> Result<Vec<Piece>>,
) -> Result<Vec<Piece>> {
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    let mut behind_outlet = false;
    let first = pieces.iter().position(|piece| piece.side == Side::Inlet).unwrap_or(0);
    for piece in pieces[first..].iter().chain(&pieces[..first]) {
        match piece.side {
            Side::Inlet => {}
            Side::Outlet => behind_outlet = true,
            _ if behind_outlet => upper.push(piece.clone()),
            _ => lower.push(piece.clone()),
        }
    }
    let low = grown(&lower, distance, Wall::Lower)?;
    let high = grown(&upper, distance, Wall::Upper)?;
    let line = |from: Point, to: Point, side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
    let (Some(a), Some(b), Some(c), Some(d)) = (low.first(), low.last(), high.first(), high.last()) else {
        return Err(unfit("the plan has no side walls"));
    };
    let outlet = line(b.end(), c.start(), Side::Outlet);
    let inlet = line(d.end(), a.start(), Side::Inlet);
    Ok(low.iter().cloned().chain([outlet]).chain(high.iter().cloned()).chain([inlet]).collect())
}

/// One side of a channel that is no rectangle, offset into the fluid; it leaves both ends square, so that nothing is to be cut off.
fn grown_way(pieces: &[Piece], distance: f64, wall: Wall) -> Result<Vec<Piece>> {
    Ok(as_pieces(&offset(&polyline(pieces, Course::Open), distance)?, Side::Wall(wall)))
}

/// Whether the walls meet both ends of a plan at right angles.
fn ends_are_square(plan: &Plan) -> bool {
    let outer = plan.loops.first().map_or(&[][..], |range| &plan.pieces[range.clone()]);
    let along = |wall: &Piece, s: f64, outwards: plane::Vector| plane::dot(wall.direction(s), outwards);
    outer.iter().enumerate().all(|(k, piece)| {
        let Some(end) = plan.end(piece.side).filter(|_| matches!(piece.side, Side::Inlet | Side::Outlet)) else {
            return !matches!(piece.side, Side::Inlet | Side::Outlet);
        };
        let (before, after) = (&outer[(k + outer.len() - 1) % outer.len()], &outer[(k + 1) % outer.len()]);
        (before.side == piece.side || along(before, 1.0, end.outwards) > 1.0 - 1e-9)
            && (after.side == piece.side || along(after, 0.0, end.outwards) < 1e-9 - 1.0)
    })
}

/// One side of the channel, offset into the fluid and cut off again at both ends.
fn grown_wall(pieces: &[Piece], distance: f64, wall: Wall) -> Result<Vec<Piece>> {
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
        return Err(unfit("the plan has no side walls"));
    };
    let (start, end) = (first.start()[0], last.end()[0]);
    let grown = as_pieces(&offset(&polyline(pieces, Course::Open), distance)?, Side::Wall(wall));
    let between = |x: f64| (x - start) * (end - start).signum() >= 0.0 && (end - x) * (end - start).signum() >= 0.0;
    let mut kept: Vec<Piece> = Vec::new();
    for piece in grown {
        let (p, q) = (piece.start(), piece.end());
        if !between(p[0]) && !between(q[0]) && (p[0] - start) * (q[0] - start) > 0.0 {
            continue;
        }
        if let Curve::Line { .. } = piece.curve {
            let clip = |at: Point, other: Point| -> Point {
                let x = at[0].clamp(start.min(end), start.max(end));
                if x == at[0] { at } else { [x, at[1] + (x - at[0]) / (other[0] - at[0]) * (other[1] - at[1])] }
            };
            let (from, to) = (clip(p, q), clip(q, p));
            if from != to {
                kept.push(Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side: piece.side });
            }
        } else {
            // an arc round what stands beside an end
            let cut = |s: f64| {
                let x = piece.point(s)[0];
                let limit = x.clamp(start.min(end), start.max(end));
                let beyond = |s: f64| (piece.point(s)[0] - limit) * (x - limit) > 0.0;
                if x == limit { s } else { bisected([s, 1.0 - s], TO_ROUNDING, beyond)[1] }
            };
            let (from, to) = (piece.parameter(cut(0.0)), piece.parameter(cut(1.0)));
            kept.push(Piece { from, to, ..piece });
        }
    }
    Ok(kept)
}

/// Whether the last piece ends where the first one starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Course {
    Open,
    Closed,
}

fn polyline(pieces: &[Piece], course: Course) -> Polyline<f64> {
    let mut path = match course {
        Course::Open => Polyline::new(),
        Course::Closed => Polyline::new_closed(),
    };
    for piece in pieces {
        match &piece.curve {
            Curve::Line { .. } => path.add(piece.start()[0], piece.start()[1], 0.0),
            Curve::Arc { semi_axes, start, end, .. } if semi_axes[0] == semi_axes[1] => {
                let sweep = (end - start) * (piece.to - piece.from);
                let count = (sweep.abs() / (0.5 * PI)).ceil().max(1.0);
                for k in 0..count as usize {
                    let p = piece.point(k as f64 / count);
                    path.add(p[0], p[1], (0.25 * sweep / count).tan());
                }
            }
            _ => {
                let parts = (16 / pieces.len()).max(1);
                for k in 0..parts {
                    add_arcs(&mut path, piece, [k as f64 / parts as f64, (k + 1) as f64 / parts as f64], HALVINGS);
                }
            }
        }
    }
    if let (Course::Open, Some(last)) = (course, pieces.last()) {
        path.add(last.end()[0], last.end()[1], 0.0);
    }
    path
}

/// Arcs from one parameter of a piece to another, halved until each turns little.
fn add_arcs(path: &mut Polyline<f64>, piece: &Piece, [from, to]: [f64; 2], halvings: u32) {
    let turn = |a: f64, b: f64| plane::turn(piece.direction(a), piece.direction(b));
    let middle = 0.5 * (from + to);
    let (first, second) = (turn(from, middle), turn(middle, to));
    if halvings > 0 && first.abs().max(second.abs()) > 0.5 * TURN {
        add_arcs(path, piece, [from, middle], halvings - 1);
        add_arcs(path, piece, [middle, to], halvings - 1);
    } else {
        let p = piece.point(from);
        path.add(p[0], p[1], (0.25 * (first + second)).tan());
    }
}

/// The offset to the left, which is into the fluid: the longest of its parts.
fn offset(path: &Polyline<f64>, distance: f64) -> Result<Polyline<f64>> {
    path.parallel_offset(distance)
        .into_iter()
        .max_by(|a, b| a.path_length().total_cmp(&b.path_length()))
        .ok_or_else(|| unfit("an outline vanishes when it is moved by the displacement thickness"))
}

fn as_pieces(path: &Polyline<f64>, side: Side) -> Vec<Piece> {
    let count = path.vertex_count();
    let segments = if path.is_closed() { count } else { count.saturating_sub(1) };
    (0..segments)
        .map(|k| {
            let (a, b) = (path.at(k), path.at((k + 1) % count));
            let (from, to) = ([a.x, a.y], [b.x, b.y]);
            Piece { curve: bulge_arc(from, to, a.bulge), from: 0.0, to: 1.0, side }
        })
        .collect()
}

fn unfit(why: &str) -> crate::base::Error {
    crate::base::Error::failed(
        why,
        "the variant with moved edges needs passages wider than two displacement thicknesses",
    )
}

#[cfg(test)]
mod tests;
