//! How good a mesh is.

use super::smooth::least_angle_cosine;
use super::{Mesh, topology::NO_TRIANGLE};
use crate::base::Point;
use crate::base::plane::{centroid, distance, triangle_area, turn, way};
use rayon::prelude::*;

/// Width of the bins of `Quality::histogram`, degrees.
pub const HISTOGRAM_STEP: f64 = 5.0;

/// Measures of a mesh; places are centroids of triangles.
#[derive(Debug, Clone, PartialEq)]
pub struct Quality {
    /// Number of vertices.
    pub vertices: usize,
    /// Number of triangles.
    pub triangles: usize,
    /// Number of boundary edges.
    pub boundary_edges: usize,
    /// Least angle, rad.
    pub least_angle: f64,
    /// Where it is, m.
    pub least_angle_at: Point,
    /// Largest angle, rad.
    pub largest_angle: f64,
    /// Where it is, m.
    pub largest_angle_at: Point,
    /// Area of the smallest triangle, m2.
    pub least_area: f64,
    /// Area of the largest triangle, m2.
    pub largest_area: f64,
    /// Area of the fluid, m2.
    pub total_area: f64,
    /// Shortest side, m.
    pub shortest_side: f64,
    /// Longest side, m.
    pub longest_side: f64,
    /// Largest ratio of the areas of two triangles that share a side.
    pub growth: f64,
    /// Triangles by least angle, in bins of 5 degrees from 0 to 60.
    pub histogram: [usize; 12],
}

impl Mesh {
    /// Least angle of every triangle, rad.
    pub fn least_angles(&self) -> Vec<f64> {
        let of = |t: &[u32; 3]| {
            let p = t.map(|v| self.points[v as usize]);
            (0..3).map(|k| corner_angle(p, k)).fold(f64::INFINITY, f64::min)
        };
        self.triangles.iter().map(of).collect()
    }

    /// Least angle of all triangles, rad; 0 if one is not counter-clockwise.
    pub fn least_angle(&self) -> f64 {
        let cosine = |t: &[u32; 3]| least_angle_cosine(t.map(|v| self.points[v as usize]));
        self.triangles.par_iter().map(cosine).reduce(|| 0.5, f64::max).min(1.0).acos()
    }

    /// Areas of the triangles, m2.
    pub fn areas(&self) -> Vec<f64> {
        self.triangles.iter().map(|t| triangle_area(t.map(|v| self.points[v as usize]))).collect()
    }

    /// Measures of the mesh.
    pub fn quality(&self) -> Quality {
        let mut quality = Quality {
            vertices: self.points.len(),
            triangles: self.triangles.len(),
            boundary_edges: self.boundary.len(),
            least_angle: f64::INFINITY,
            least_angle_at: [0.0; 2],
            largest_angle: 0.0,
            largest_angle_at: [0.0; 2],
            least_area: f64::INFINITY,
            largest_area: 0.0,
            total_area: 0.0,
            shortest_side: f64::INFINITY,
            longest_side: 0.0,
            growth: 1.0,
            histogram: [0; 12],
        };
        let (areas, neighbours) = (self.areas(), self.neighbours());
        for (index, triangle) in self.triangles.iter().enumerate() {
            let p = triangle.map(|v| self.points[v as usize]);
            let middle = centroid(p);
            let mut least = f64::INFINITY;
            for k in 0..3 {
                let angle = corner_angle(p, k);
                least = least.min(angle);
                if angle > quality.largest_angle {
                    (quality.largest_angle, quality.largest_angle_at) = (angle, middle);
                }
                let side = distance(p[k], p[(k + 1) % 3]);
                quality.shortest_side = quality.shortest_side.min(side);
                quality.longest_side = quality.longest_side.max(side);
            }
            if least < quality.least_angle {
                (quality.least_angle, quality.least_angle_at) = (least, middle);
            }
            quality.histogram[((least.to_degrees() / HISTOGRAM_STEP) as usize).min(11)] += 1;
            let area = areas[index];
            quality.total_area += area;
            quality.least_area = quality.least_area.min(area);
            quality.largest_area = quality.largest_area.max(area);
            for &neighbour in neighbours[index].iter().filter(|&&n| n != NO_TRIANGLE) {
                quality.growth = quality.growth.max(area / areas[neighbour as usize]);
            }
        }
        quality
    }
}

/// Angle of a triangle at corner k, rad.
fn corner_angle(p: [Point; 3], k: usize) -> f64 {
    turn(way(p[k], p[(k + 1) % 3]), way(p[k], p[(k + 2) % 3])).abs()
}
