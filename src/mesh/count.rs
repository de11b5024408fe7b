//! Number of triangles a size field asks for.

use super::delaunay::outline_triangles;
use super::work::distance2;
use super::{Mesh, SizeField};
use crate::outline::Plan;
use crate::{Error, Point, Result};
use rayon::prelude::*;
use std::sync::Arc;

impl SizeField {
    /// About the number of triangles a mesh of this field has: the integral of dA / (sqrt(3)/4 h^2), within some 10 %.
    pub fn estimate_triangles(&self, plan: &Plan) -> Result<f64> {
        let (points, triangles) = outline_triangles(plan, self)?;
        let mut count = 0.0;
        // Triangles with the size at the centroid of the one they are a half of: it bounds theirs.
        let mut stack: Vec<([Point; 3], (Point, f64))> = vec![];
        let centroid = |p: &[Point; 3]| [(p[0][0] + p[1][0] + p[2][0]) / 3.0, (p[0][1] + p[1][1] + p[2][1]) / 3.0];
        for triangle in triangles {
            let p = triangle.map(|v| points[v as usize]);
            stack.push((p, (centroid(&p), f64::INFINITY)));
            while let Some((p, (before, h_before))) = stack.pop() {
                let length2 = |k: usize| distance2(p[(k + 1) % 3], p[(k + 2) % 3]);
                let lengths2 = [length2(0), length2(1), length2(2)];
                let k = (0..3).max_by(|&i, &j| lengths2[i].total_cmp(&lengths2[j])).unwrap_or(0);
                let here = centroid(&p);
                let h = self.at_most(here, h_before + self.growth() * distance2(before, here).sqrt());
                let (a, b, c) = (p[k], p[(k + 1) % 3], p[(k + 2) % 3]);
                if lengths2[k] > 9.0 * h * h && stack.len() < 1000 {
                    let middle = [0.5 * (b[0] + c[0]), 0.5 * (b[1] + c[1])];
                    stack.extend([([a, b, middle], (here, h)), ([a, middle, c], (here, h))]);
                } else {
                    let area = 0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
                    count += area / (0.25 * 3f64.sqrt() * h * h);
                }
            }
        }
        Ok(count)
    }

    /// The same integral by the corners and the centroid of each triangle of a mesh.
    fn count_on(&self, mesh: &Mesh) -> f64 {
        let density = |p: Point| self.at(p).powi(-2) / (0.25 * 3f64.sqrt());
        let at_vertices: Vec<f64> = mesh.points.par_iter().map(|&p| density(p)).collect();
        let counts: Vec<f64> = mesh
            .triangles
            .par_iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| mesh.points[v as usize]);
                let area = 0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
                let corners: f64 = t.iter().map(|&v| at_vertices[v as usize]).sum();
                area * (9.0 * density([(a[0] + b[0] + c[0]) / 3.0, (a[1] + b[1] + c[1]) / 3.0]) + corners) / 12.0
            })
            .collect();
        counts.iter().sum()
    }
}

impl Mesh {
    /// A mesh of about `triangles` triangles, graded as the field asks: all sizes are scaled until the number is met within
    /// 10 %, or as nearly as the outlines allow (a curve keeps edges of at most 0.4 rad turning).
    pub fn generate_with_count(plan: &Arc<Plan>, size: &SizeField, triangles: usize) -> Result<Mesh> {
        Mesh::with_count(plan, size, triangles, &|field| field.estimate_triangles(plan))
    }

    /// The same where a mesh of the plan, at most some times coarser, is at hand to count on: much faster.
    pub(crate) fn regenerate_with_count(&self, size: &SizeField, triangles: usize) -> Result<Mesh> {
        Mesh::with_count(&self.plan, size, triangles, &|field| Ok(field.count_on(self)))
    }

    fn with_count(
        plan: &Arc<Plan>,
        size: &SizeField,
        triangles: usize,
        estimate: &dyn Fn(&SizeField) -> Result<f64>,
    ) -> Result<Mesh> {
        if triangles == 0 {
            return Err(Error::failed("a mesh of 0 triangles was asked for", "ask for at least one"));
        }
        let wanted = triangles as f64;
        let most = triangles.saturating_mul(2).saturating_add(20_000);
        let mut scale = 1.0;
        for _ in 0..4 {
            let ratio = estimate(&size.scaled(scale))? / wanted;
            if !(ratio > 0.0 && ratio.is_finite()) {
                break;
            }
            let before = scale;
            scale *= ratio.sqrt();
            // Scaled down, the field keeps its shape, and the number goes as the inverse square.
            if before.max(scale) <= 1.0 || (ratio - 1.0).abs() < 0.1 {
                break;
            }
        }
        let mut best: Option<(f64, Mesh)> = None;
        for _ in 0..4 {
            let mesh = match Mesh::generate(plan, &size.scaled(scale), most) {
                Ok(mesh) => mesh,
                Err(error) if best.is_none() => return Err(error),
                Err(_) => break,
            };
            let ratio = mesh.triangles.len() as f64 / wanted;
            let miss = ratio.ln().abs();
            if best.as_ref().is_none_or(|(least, _)| miss < *least) {
                best = Some((miss, mesh));
            } else {
                break;
            }
            if miss < 0.1 {
                break;
            }
            scale *= ratio.sqrt();
        }
        best.map(|(_, mesh)| mesh).ok_or_else(|| Error::failed("no mesh was made", "ask for more triangles"))
    }
}
