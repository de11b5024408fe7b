//! The ideal pattern at any place: its stream function, the gradient of that, and how good they are on the mesh.
//!
//! The stream function is scaled to the width of the cell, psi = W ψ/Q, so that |grad psi| = |V|/U and far upstream a change of psi
//! is a distance across the flow. Between vertices `psi = Σ λ_i (psi_i + g_i·(x − x_i)/2)` with recovered gradients g_i, which is exact
//! for quadratics; linear interpolation alone errs by h² |psi''|/8, 0.008 mm at h = 1 mm beside a pier of 30 mm across, as
//! much as the noise of a traced line.

use crate::base::Point;
use crate::base::plane::{dot, length, way};
use crate::geometry::Solid;
use crate::numerics::fem::{Model, Space};
use crate::numerics::mesh::Locator;

/// The stream function of the ideal pattern on a mesh.
#[derive(Debug)]
pub struct Ideal<'a> {
    space: &'a Space,
    locator: Locator<'a>,
    psi: Vec<f64>,
    slope: Vec<[f64; 2]>,
}

/// The ideal pattern at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IdealAt {
    /// The triangle that holds it.
    pub triangle: u32,
    /// Its weights there.
    pub weights: [f64; 3],
    /// Stream function over that of the whole flow, times the width of the cell, m.
    pub psi: f64,
    /// Its gradient; its length is |V|/U.
    pub slope: [f64; 2],
}

impl<'a> Ideal<'a> {
    /// From the stream function at the vertices, zero on the lower wall, of a gap that is uniform, in any unit; `width` is that of the
    /// cell, m. A budget has it as [`crate::study::Budget::stream`].
    pub fn new(space: &'a Space, stream: &[f64], width: f64) -> Self {
        let upper = space.vertices_on(Solid::Upper);
        let whole = upper.first().map_or(1.0, |&v| stream[v as usize]);
        let psi: Vec<f64> = stream.iter().map(|value| width * value / whole).collect();
        let [slope] = space.recovery().gradients(Model::Harmonic, [&psi]);
        Ideal { space, locator: space.locator(), psi, slope }
    }

    /// The mesh.
    pub fn space(&self) -> &'a Space {
        self.space
    }

    /// The stream function at the vertices, m.
    pub fn stream(&self) -> &[f64] {
        &self.psi
    }

    /// V/U at the vertices.
    pub fn velocity(&self) -> Vec<[f64; 2]> {
        self.slope.iter().map(|slope| [slope[1], -slope[0]]).collect()
    }

    /// The pattern at a place; none outside the mesh. `hint` is a triangle nearby.
    pub fn at(&self, place: Point, hint: Option<u32>) -> Option<IdealAt> {
        let (triangle, weights) = self.locator.find(place, hint)?;
        Some(self.in_triangle(place, triangle, weights))
    }

    fn in_triangle(&self, place: Point, triangle: u32, weights: [f64; 3]) -> IdealAt {
        let corners = self.space.mesh.triangles[triangle as usize];
        let (mut psi, mut slope) = (0.0, [0.0; 2]);
        for (v, weight) in corners.into_iter().map(|v| v as usize).zip(weights) {
            let step = way(self.space.mesh.points[v], place);
            psi += weight * (self.psi[v] + 0.5 * dot(self.slope[v], step));
            slope = [0, 1].map(|k| slope[k] + weight * self.slope[v][k]);
        }
        IdealAt { triangle, weights, psi, slope }
    }

    /// The pattern at a place, beyond the mesh that of the nearest triangle.
    pub fn nearest(&self, place: Point) -> IdealAt {
        let (triangle, weights) = self.locator.place(place, None);
        self.in_triangle(place, triangle, weights)
    }

    /// Value of a vertex field of vectors where the pattern is known, linear on triangles.
    pub fn value(&self, field: &[[f64; 2]], at: &IdealAt) -> [f64; 2] {
        let corners = self.space.mesh.triangles[at.triangle as usize];
        [0, 1].map(|k| (0..3).map(|i| at.weights[i] * field[corners[i] as usize][k]).sum())
    }

    /// Value of a vertex field of vectors at a place, linear on triangles; beyond the mesh that of the nearest triangle.
    pub fn vector_at(&self, field: &[[f64; 2]], place: Point, hint: Option<u32>) -> (u32, [f64; 2]) {
        let (triangle, weights) = self.locator.place(place, hint);
        let corners = self.space.mesh.triangles[triangle as usize];
        (triangle, [0, 1].map(|k| (0..3).map(|i| weights[i] * field[corners[i] as usize][k]).sum()))
    }

    /// Numerical error of shifts at some places, root mean square, m: their differences to a coarser mesh, of which a part is left
    /// here that follows from errors going as the square of the size of triangles.
    ///
    /// Levels are free, so of each line's differences the mean is taken out.
    pub fn error_from(&self, coarse: &Ideal, lines: &[Vec<Point>]) -> f64 {
        let triangles = |ideal: &Ideal| ideal.space.mesh.triangles.len() as f64;
        let ratio = triangles(self) / triangles(coarse);
        if ratio <= 1.0 {
            return f64::INFINITY;
        }
        let (mut sum, mut count) = (0.0, 0.0);
        for line in lines {
            let (mut here, mut there) = (None, None);
            let of_line: Vec<[f64; 2]> = line
                .iter()
                .filter_map(|&place| {
                    let (fine, rough) = (self.at(place, here)?, coarse.at(place, there)?);
                    (here, there) = (Some(fine.triangle), Some(rough.triangle));
                    Some([fine.psi - rough.psi, length(fine.slope)])
                })
                .collect();
            let mean = of_line.iter().map(|d| d[0]).sum::<f64>() / of_line.len().max(1) as f64;
            sum += of_line.iter().map(|d| ((d[0] - mean) / d[1]).powi(2)).sum::<f64>();
            count += of_line.len() as f64;
        }
        if count > 0.0 { (sum / count).sqrt() / (ratio - 1.0) } else { 0.0 }
    }
}
