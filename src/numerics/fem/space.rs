//! A mesh made ready for computing: its stars, the gap at its vertices, its stiffness matrices.

use super::{Levels, Model, Recovery, area};
use crate::base::Point;
use crate::geometry::{Side, Solid};
use crate::input::case::Gap;
use crate::numerics::mesh::{Mesh, Stars};
use rayon::prelude::*;
use std::sync::Arc;

/// A boundary edge on a solid, the fluid on its left.
#[derive(Debug, Clone, Copy)]
pub struct SolidEdge {
    /// Its vertices, in its direction.
    pub vertices: [usize; 2],
    /// Its middle, m.
    pub middle: Point,
    /// Its length, m.
    pub length: f64,
    /// Mean gap over it, m.
    pub gap: f64,
}

/// Linear elements on a mesh, with the gap between the plates.
#[derive(Debug)]
pub struct Space {
    /// The mesh.
    pub mesh: Arc<Mesh>,
    /// Stars of its vertices.
    pub stars: Stars,
    /// Gap at the vertices, m.
    pub gap: Vec<f64>,
    /// grad b / b at the vertices, 1/m; empty if the gap is uniform.
    pub gap_slope: Vec<[f64; 2]>,
    /// Gap at the middle of the cell, m.
    pub reference_gap: f64,
    /// Stiffness matrices of all levels.
    pub levels: Levels,
}

impl Space {
    /// Assembles everything that does not depend on conditions. `reference_gap` is the gap at the cell's middle, m.
    pub fn new(mesh: Arc<Mesh>, gap: &Gap, reference_gap: f64) -> Self {
        let stars = Stars::new(mesh.points.len(), &mesh.triangles);
        let at_vertices: Vec<f64> = mesh.points.par_iter().map(|&p| gap.at(p)).collect();
        let uniform = gap.is_uniform();
        let ratio: Option<Vec<f64>> = (!uniform).then(|| at_vertices.iter().map(|b| b / reference_gap).collect());
        let levels = Levels::assemble(&mesh, &stars, ratio.as_deref());
        let slope = |(&p, b): (&Point, &f64)| gap.gradient(p).map(|g| g / b);
        let gap_slope =
            if uniform { Vec::new() } else { mesh.points.par_iter().zip(&at_vertices).map(slope).collect() };
        Space { mesh, stars, gap: at_vertices, gap_slope, reference_gap, levels }
    }

    /// Whether the gap is the same everywhere.
    pub fn uniform_gap(&self) -> bool {
        self.gap_slope.is_empty()
    }

    /// Corner places of a triangle.
    pub fn corners(&self, triangle: usize) -> [Point; 3] {
        self.mesh.triangles[triangle].map(|v| self.mesh.points[v as usize])
    }

    /// Area of a triangle, m2.
    pub fn area(&self, triangle: usize) -> f64 {
        area(self.corners(triangle))
    }

    /// Model of a field that solves div(b^n grad u) = 0.
    pub fn conserved(&self, n: f64) -> Model<'_> {
        if self.uniform_gap() { Model::Harmonic } else { Model::Conserved(n, &self.gap_slope) }
    }

    /// Model of a field that is harmonic if the gap is uniform.
    pub fn harmonic_if_uniform(&self) -> Model<'_> {
        if self.uniform_gap() { Model::Harmonic } else { Model::Any }
    }

    /// Patches for nodal gradients.
    pub fn recovery(&self) -> Recovery<'_> {
        Recovery::new(&self.mesh, &self.stars)
    }

    /// Vertices on a solid, in ascending order, each once.
    pub fn vertices_on(&self, solid: Solid) -> Vec<u32> {
        self.vertices_where(|side| self.mesh.plan.solid(side) == Some(solid))
    }

    /// The boundary edges of side walls and obstacles.
    pub fn solid_edges(&self) -> impl Iterator<Item = SolidEdge> {
        let on_solid = self.mesh.boundary.iter().filter(|edge| self.mesh.plan.solid(self.mesh.side(edge)).is_some());
        on_solid.map(|edge| {
            let vertices @ [i, j] = edge.vertices.map(|v| v as usize);
            let (p, q) = (self.mesh.points[i], self.mesh.points[j]);
            SolidEdge {
                vertices,
                middle: [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])],
                length: (q[0] - p[0]).hypot(q[1] - p[1]),
                gap: 0.5 * (self.gap[i] + self.gap[j]),
            }
        })
    }

    /// Vertices on a side, in ascending order, each once.
    pub fn vertices_where(&self, wanted: impl Fn(Side) -> bool) -> Vec<u32> {
        let edges = self.mesh.boundary.iter().filter(|edge| wanted(self.mesh.side(edge)));
        let mut vertices: Vec<u32> = edges.flat_map(|edge| edge.vertices).collect();
        vertices.sort_unstable();
        vertices.dedup();
        vertices
    }
}
