//! Number of triangles a size field asks for.

use super::delaunay::outline_triangles;
use super::work::distance2;
use super::{Mesh, SizeField};
use crate::outline::Plan;
use crate::{Error, Point, Result};
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
}

impl Mesh {
    /// A mesh of about `triangles` triangles, graded as the field asks: all sizes are scaled until the number is met within
    /// 10 %, or as nearly as the outlines allow (a curve keeps edges of at most 0.4 rad turning).
    pub fn generate_with_count(plan: &Arc<Plan>, size: &SizeField, triangles: usize) -> Result<Mesh> {
        if triangles == 0 {
            return Err(Error::failed("a mesh of 0 triangles was asked for", "ask for at least one"));
        }
        let wanted = triangles as f64;
        let most = triangles.saturating_mul(2).saturating_add(20_000);
        let mut scale = 1.0;
        for _ in 0..4 {
            let ratio = size.scaled(scale).estimate_triangles(plan)? / wanted;
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
