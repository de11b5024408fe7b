//! The mesh of the closure: so many elements in a gap at obstacles, graded away from them, so that it is linear in perimeter over gap.

use crate::base::plane::{Rect, distance};
use crate::base::units::significant;
use crate::base::{Error, Point, Result};
use crate::geometry::span::Extent;
use crate::geometry::{Piece, Plan, Rim, Side, Solid};
use crate::input::case::{Case, Gap};
use crate::numerics::mesh::{Mesh, SizeField};
use crate::theory::ideal::{Goal, Stage, check_memory, first_size_field};
use std::sync::Arc;

/// Elements in a gap at obstacles.
pub const PER_GAP: f64 = 8.0;
/// Growth of the size with the distance from the edge on the coarser mesh, which is halved: a dipole is then interpolated to 1 %.
const GROWTH: f64 = 0.2;
/// Gaps from a side wall within which an obstacle makes it hold the flow back in full.
const NEAR: f64 = 5.0;
/// Most triangles of the finer mesh: a perimeter of some 20 000 gaps.
pub const MOST_TRIANGLES: f64 = 4e6;
/// Bytes for a triangle beyond those of a pattern: two factorisations and the fields of all orders; 690 to 725 in all, as measured on 0.15 to
/// 0.67 million triangles.
const BYTES: f64 = 525.0;

/// Which side walls hold the flow back in full; along the others it slips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Walls {
    /// The lower one.
    pub lower: bool,
    /// The upper one.
    pub upper: bool,
}

impl Walls {
    /// Both.
    pub const BOTH: Walls = Walls { lower: true, upper: true };

    /// Those that an obstacle stands on or comes nearer to than five gaps; both unless the cell is a rectangle, along whose walls alone the
    /// flow may slip.
    pub fn of(plan: &Plan, gap: f64) -> Walls {
        if plan.rectangle().is_none() {
            return Walls::BOTH;
        }
        let obstacles = plan.pieces.iter().filter(|piece| matches!(piece.side, Side::Obstacle(_)));
        let extent = Extent::of(obstacles.map(|piece| (&piece.curve, piece.from, piece.to)));
        let (Some(extent), Some([low, high])) = (extent, plan.bounds()) else {
            return Walls { lower: false, upper: false };
        };
        let Rect { low: [_, bottom], high: [_, top] } = extent.rect();
        Walls { lower: bottom - low[1] < NEAR * gap, upper: high[1] - top < NEAR * gap }
    }

    /// Whether the flow sticks to a solid.
    pub fn sticks(self, solid: Solid) -> bool {
        match solid {
            Solid::Lower => self.lower,
            Solid::Upper => self.upper,
            Solid::Obstacle(_) => true,
        }
    }
}

/// The gap, m, where it is uniform and the flow sticks to every obstacle.
///
/// # Errors
/// [`Error::Failed`] where it is not, or a bubble has a free rim.
pub fn uniform_gap(case: &Case) -> Result<f64> {
    if let Some(bubble) = case.obstacles.iter().find(|obstacle| obstacle.bubble == Some(Rim::Free)) {
        return Err(Error::failed(
            format!(
                "in the closure the flow sticks to every obstacle, and \"{}\" is a bubble with a free rim",
                bubble.name
            ),
            "leave the closure out, or give the bubble edge = \"solid\" to see it with a stiff rim",
        ));
    }
    match case.cell.gap {
        Gap::Uniform(gap) => Ok(gap),
        _ => Err(Error::failed(
            "the closure holds for a uniform gap, and this one varies".to_owned(),
            "leave the closure out, or give cell.gap one value to see what a varying gap leaves open",
        )),
    }
}

/// The coarser mesh, with half of [`PER_GAP`] elements in a gap.
///
/// # Errors
/// [`Error::Failed`] if the finer one would have more than [`MOST_TRIANGLES`]; as for any mesh.
pub fn coarse_mesh(case: &Case, plan: &Arc<Plan>, gap: f64, walls: Walls, watch: &dyn Fn(Stage)) -> Result<Mesh> {
    let size = size_field(case, plan, gap, walls)?;
    let finer = check_size(&size, plan)?;
    watch(Stage::Meshing(finer));
    Mesh::generate(plan, &size, finer)
}

/// Triangles of the finer mesh for the sizes of the coarser one.
///
/// # Errors
/// [`Error::Failed`] if it has more than [`MOST_TRIANGLES`], [`Error::Memory`] if it does not fit the memory.
pub fn check_size(size: &SizeField, plan: &Plan) -> Result<usize> {
    let finer = 4.0 * size.estimate_triangles(plan)?;
    if finer > MOST_TRIANGLES {
        return Err(too_large(finer));
    }
    check_memory(finer as usize, BYTES)?;
    Ok(finer as usize)
}

fn too_large(triangles: f64) -> Error {
    Error::failed(
        format!(
            "the closure needs about {} triangles, eight elements in a gap along all obstacles; it is made for up to {}",
            significant(triangles, 2),
            significant(MOST_TRIANGLES, 2)
        ),
        "leave the closure out: where the gap is so small beside the obstacles, the series decides",
    )
}

/// Sizes on the coarser mesh: half of [`PER_GAP`] elements in a gap along whatever the flow sticks to.
///
/// # Errors
/// [`Error::Failed`] if the finer one would be far too large, [`Error::Mesh`] as for the pattern.
pub fn size_field(case: &Case, plan: &Plan, gap: f64, walls: Walls) -> Result<SizeField> {
    let edge = 2.0 * gap / PER_GAP;
    let goal = Goal::Error { relative: case.mesh.error, most_triangles: case.mesh.max_triangles };
    let base = first_size_field(plan, case, goal)?;
    let sticky = plan.pieces.iter().filter(|piece| plan.solid(piece.side).is_some_and(|solid| walls.sticks(solid)));
    let perimeter: f64 = sticky.clone().map(Piece::length).sum();
    // a source for each edge: before they are made, a bound of what they will ask for
    if 4.0 * perimeter / edge > MOST_TRIANGLES {
        return Err(too_large(4.0 * 8.0 * perimeter / edge));
    }
    let mut sources: Vec<(Point, f64)> = base.sources().to_vec();
    sources.extend(sticky.flat_map(|piece| along(piece, edge)).map(|p| (p, edge)));
    Ok(SizeField::new(base.largest(), GROWTH.min(base.growth()), sources))
}

/// Points along a piece no further apart than a spacing.
fn along(piece: &Piece, spacing: f64) -> Vec<Point> {
    let mut points = vec![piece.start()];
    let mut open: Vec<[f64; 2]> = (0..8).rev().map(|k| [k, k + 1].map(|k| f64::from(k) / 8.0)).collect();
    while let Some([from, to]) = open.pop() {
        let middle = 0.5 * (from + to);
        let next = piece.point(to);
        let far = points.last().is_some_and(|&last| distance(last, next) > spacing);
        if far && middle != from && middle != to {
            open.extend([[middle, to], [from, middle]]);
        } else {
            points.push(next);
        }
    }
    points
}
