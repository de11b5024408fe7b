//! The dry cell as the scheme sees it: volumes of vertices on all levels, the source, the outlet. All volumes are over the gap at the cell's
//! middle, m2, and times come as impulses, m2.

use super::{Setup, Source};
use crate::base::plane::triangle_area;
use crate::base::{Error, Result};
use crate::geometry::Side;
use crate::numerics::fem::{Space, mean_cube};

/// What does not change while the cell fills.
pub(super) struct Cell<'a> {
    pub space: &'a Space,
    /// M_i = ∫ (b/b0) φ_i of every level, coarsest first, m2.
    pub volumes: Vec<Vec<f64>>,
    /// A third of the area round each vertex, m2.
    pub areas: Vec<f64>,
    /// Vertices at the pressure of the source; those of a coarser level are the first of these.
    pub source: Vec<bool>,
    /// Vertices on the outlet.
    pub outlet: Vec<bool>,
    /// Liquid that stands in a port at the start, m2.
    pub held: f64,
    /// Mobility b0²/(12 μ), m2/(Pa s).
    pub mobility: f64,
}

impl<'a> Cell<'a> {
    pub fn new(setup: &Setup<'a>) -> Result<Self> {
        let space = setup.space;
        let mesh = &space.mesh;
        let n = mesh.points.len();
        let (mut source, mut outlet) = (vec![false; n], vec![false; n]);
        space.vertices_where(|side| side == Side::Outlet).into_iter().for_each(|v| outlet[v as usize] = true);
        let mut held = 0.0;
        match setup.source {
            Source::Inlet => {
                space.vertices_where(|side| side == Side::Inlet).into_iter().for_each(|v| source[v as usize] = true);
            }
            Source::Port(port) => {
                mesh.points.iter().zip(&mut source).for_each(|(&p, inside)| *inside = port.holds(p));
                for t in mesh.triangles.iter().filter(|t| t.iter().all(|&v| source[v as usize])) {
                    held += volume(space, t).iter().sum::<f64>();
                }
                if held == 0.0 {
                    return Err(Error::argument(
                        format!("no triangle lies in the port at ({}, {}) m", port.at[0], port.at[1]),
                        "give the size field the sizes of the port, put vertices on its rim, and keep it in the fluid",
                    ));
                }
            }
        }
        if source.iter().zip(&outlet).any(|(s, o)| *s && *o) {
            return Err(Error::argument("the source touches the outlet", "keep the port away from the outlet"));
        }
        let mut areas = vec![0.0; n];
        for t in 0..mesh.triangles.len() {
            mesh.triangles[t].iter().for_each(|&v| areas[v as usize] += space.area(t) / 3.0);
        }
        let coarse = mesh.coarser.iter().map(|level| (level.vertices, level.triangles.as_slice()));
        let levels = coarse.chain(std::iter::once((n, mesh.triangles.as_slice())));
        let volumes = levels.map(|(n, triangles)| volumes(space, n, triangles)).collect();
        let mobility = space.reference_gap.powi(2) / (12.0 * setup.viscosity);
        Ok(Cell { space, volumes, areas, source, outlet, held, mobility })
    }

    /// Volumes of the finest level, m2.
    pub fn finest(&self) -> &[f64] {
        &self.volumes[self.volumes.len() - 1]
    }

    /// Volume of the whole cell, m2.
    pub fn total(&self) -> f64 {
        self.finest().iter().sum()
    }

    /// Mean of (b/b0)³ over a triangle.
    pub fn coefficient(&self, t: [u32; 3]) -> f64 {
        if self.space.uniform_gap() { 1.0 } else { mean_cube(ratios(self.space, &t)) }
    }

    /// Number of levels below the finest.
    pub fn top(&self) -> usize {
        self.volumes.len() - 1
    }
}

fn ratios(space: &Space, t: &[u32; 3]) -> [f64; 3] {
    t.map(|v| space.gap[v as usize] / space.reference_gap)
}

/// ∫ (b/b0) φ_i over a triangle for its three corners: `A (Σ b + b_i)/(12 b0)`, b linear.
pub(super) fn volume(space: &Space, t: &[u32; 3]) -> [f64; 3] {
    let area = triangle_area(t.map(|v| space.mesh.points[v as usize]));
    let b = ratios(space, t);
    let sum: f64 = b.iter().sum();
    b.map(|b| area * (sum + b) / 12.0)
}

fn volumes(space: &Space, n: usize, triangles: &[[u32; 3]]) -> Vec<f64> {
    let mut list = vec![0.0; n];
    for t in triangles {
        t.iter().zip(volume(space, t)).for_each(|(&v, share)| list[v as usize] += share);
    }
    list
}
