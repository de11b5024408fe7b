//! A port: a disc of the fluid, below a hole in a plate, at one pressure.
//!
//! Held head: `(r²/2) ln(r/r0) − (r² − r0²)/4 = I`; given flow: `π (r² − r0²) b = Q t`.

use crate::base::Point;
use crate::base::plane::{distance, triangle_area, way};
use crate::numerics::mesh::Mesh;
use std::f64::consts::PI;

/// Mesh edges round the rim of a port.
const ROUND: usize = 48;
/// Vertices nearer to the rim than this part of their shortest edge are put on it.
const NEAR: f64 = 0.5;
/// Least share of its area that a triangle keeps when a corner is put on the rim.
const KEPT: f64 = 0.2;

/// A round hole through which the fluid enters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Port {
    /// Its middle, m.
    pub at: Point,
    /// Its diameter, m.
    pub diameter: f64,
}

impl Port {
    /// Sizes that resolve the rim, for [`crate::numerics::mesh::SizeField::with_sources`]: places on it and the edge length there, m.
    pub fn sizes(&self) -> Vec<(Point, f64)> {
        let size = PI * self.diameter / ROUND as f64;
        let angles = (0..2 * ROUND).map(|k| PI * k as f64 / ROUND as f64);
        angles.map(|angle| (self.on_rim(angle), size)).collect()
    }

    /// Vertices to be put on the rim, with their places on it: inner ones nearer to it than half of their shortest edge whose triangles keep a
    /// fifth of their area. The ones in it then fill it up to the chords of the rim.
    pub fn rim_vertices(&self, mesh: &Mesh) -> Vec<(u32, Point)> {
        let n = mesh.points.len();
        let stars = crate::numerics::mesh::Stars::new(n, &mesh.triangles);
        let boundary = mesh.on_boundary();
        let mut points = mesh.points.clone();
        let mut moved = Vec::new();
        for v in 0..n {
            let p = points[v];
            let off = (distance(p, self.at) - self.radius()).abs();
            if boundary[v] || off > 0.5 * self.radius() {
                continue;
            }
            let corners = |points: &[Point], t: u32| mesh.triangles[t as usize].map(|w| points[w as usize]);
            let others = stars.of(v).iter().flat_map(|&t| mesh.triangles[t as usize]).filter(|&w| w as usize != v);
            let shortest = others.map(|w| distance(mesh.points[w as usize], p)).fold(f64::INFINITY, f64::min);
            if off > NEAR * shortest {
                continue;
            }
            let before: Vec<f64> = stars.of(v).iter().map(|&t| triangle_area(corners(&points, t))).collect();
            let [x, y] = way(self.at, p);
            points[v] = self.on_rim(y.atan2(x));
            let kept =
                stars.of(v).iter().zip(before).all(|(&t, area)| triangle_area(corners(&points, t)) >= KEPT * area);
            if kept {
                moved.push((v as u32, points[v]));
            } else {
                points[v] = p;
            }
        }
        moved
    }

    /// The mesh with [`Port::rim_vertices`] on the rim.
    pub fn resolved(&self, mesh: &Mesh) -> Mesh {
        let mut mesh = mesh.clone();
        for (v, place) in self.rim_vertices(&mesh) {
            mesh.points[v as usize] = place;
        }
        mesh
    }

    /// Its radius, m.
    pub fn radius(&self) -> f64 {
        0.5 * self.diameter
    }

    /// Whether a point lies in it or on its rim, to rounding.
    pub fn holds(&self, p: Point) -> bool {
        distance(p, self.at) <= self.radius() * (1.0 + 1e-9)
    }

    fn on_rim(&self, angle: f64) -> Point {
        let r = self.radius();
        [self.at[0] + r * angle.cos(), self.at[1] + r * angle.sin()]
    }
}
