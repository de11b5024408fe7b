//! The triangulation of the fluid domain and its nested levels.

mod assemble;
mod corner;
mod count;
mod delaunay;
mod distance;
mod gate;
mod locate;
mod places;
mod quality;
mod refine;
pub mod region;
mod rule;
mod sample;
mod size;
mod smooth;
mod snap;
mod split;
mod stars;
mod topology;
mod work;

pub use gate::Gate;
pub use locate::{Index, Locator};
pub use places::Place;
pub use quality::{HISTOGRAM_STEP, Quality};
pub(crate) use rule::TOO_MANY;
pub use rule::{CornerSize, SizeOptions};
pub use size::SizeField;
pub use stars::Stars;
pub use topology::NO_TRIANGLE;

use crate::base::Point;
use crate::geometry::{Plan, Side};
use std::sync::Arc;

/// A boundary edge, the fluid on its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoundaryEdge {
    /// Its vertices.
    pub vertices: [u32; 2],
    /// The triangle it belongs to.
    pub triangle: u32,
    /// Index of the piece of the plan it lies on.
    pub piece: u32,
    /// Curve parameters of its vertices on that piece.
    pub parameters: [f64; 2],
}

/// A triangulation of the fluid, possibly the finest of nested levels.
///
/// Vertices of a coarser level are the first of the finer one; the vertex that halves an edge comes later and names its two
/// parents in `parents`.
#[derive(Debug, Clone)]
pub struct Mesh {
    /// The plan it triangulates.
    pub plan: Arc<Plan>,
    /// Vertices, m.
    pub points: Vec<Point>,
    /// Triangles, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// Boundary edges.
    pub boundary: Vec<BoundaryEdge>,
    /// Coarser levels, coarsest first; empty for a single mesh.
    pub coarser: Vec<Level>,
    /// For every vertex from `coarser[0].vertices` on, the ends of the edge it halves.
    pub parents: Vec<[u32; 2]>,
}

/// A coarser level: it uses the first `vertices` points of the mesh.
#[derive(Debug, Clone)]
pub struct Level {
    /// Number of vertices.
    pub vertices: usize,
    /// Triangles, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// Triangles of which nothing else is known: one level, no edges with their outlines, no plan.
    pub fn bare(points: Vec<Point>, triangles: Vec<[u32; 3]>) -> Mesh {
        let plan = Plan { pieces: vec![], loops: vec![], obstacles: vec![], notes: vec![] };
        Mesh { plan: Arc::new(plan), points, triangles, boundary: vec![], coarser: vec![], parents: vec![] }
    }

    /// What a boundary edge is.
    pub fn side(&self, edge: &BoundaryEdge) -> Side {
        self.plan.pieces[edge.piece as usize].side
    }
}
