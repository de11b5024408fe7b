//! Nodal gradients of second order by patch recovery: round each vertex a quadratic is fitted by least squares to the vertex
//! values of its patch and differentiated there (the patch idea of Zienkiewicz & Zhu 1992, Int. J. Numer. Meth. Eng. 33,
//! 1331, applied to values as by Zhang & Naga 2005, SIAM J. Sci. Comput. 26, 1192).
//!
//! The patch is the star of the vertex; it takes in the stars of its neighbours where the vertex lies on the boundary (the
//! fit is one-sided there) or where fewer than six neighbours leave the quadratic undetermined.

use super::Stars;
use crate::mesh::Mesh;
use rayon::prelude::*;

/// Prepared patches of a mesh.
#[derive(Debug)]
pub struct Recovery<'a> {
    mesh: &'a Mesh,
    stars: &'a Stars,
    on_boundary: Vec<bool>,
}

/// Nodal gradients of N vertex fields; see [`Recovery`].
pub fn recover<const N: usize>(mesh: &Mesh, stars: &Stars, fields: [&[f64]; N]) -> [Vec<[f64; 2]>; N] {
    Recovery::new(mesh, stars).gradients(fields)
}

impl<'a> Recovery<'a> {
    /// Marks the boundary vertices.
    pub fn new(mesh: &'a Mesh, stars: &'a Stars) -> Self {
        let mut on_boundary = vec![false; mesh.points.len()];
        for &v in mesh.boundary.iter().flat_map(|edge| &edge.vertices) {
            on_boundary[v as usize] = true;
        }
        Recovery { mesh, stars, on_boundary }
    }

    /// Nodal gradients of N vertex fields (one value per vertex each).
    pub fn gradients<const N: usize>(&self, fields: [&[f64]; N]) -> [Vec<[f64; 2]>; N] {
        let at_vertices: Vec<[[f64; 2]; N]> = (0..self.mesh.points.len())
            .into_par_iter()
            .map_init(Vec::new, |patch, v| self.fit(v, fields, patch))
            .collect();
        std::array::from_fn(|k| at_vertices.iter().map(|g| g[k]).collect())
    }

    fn add_star(&self, v: usize, patch: &mut Vec<u32>) {
        for &t in self.stars.of(v) {
            patch.extend_from_slice(&self.mesh.triangles[t as usize]);
        }
    }

    fn fit<const N: usize>(&self, v: usize, fields: [&[f64]; N], patch: &mut Vec<u32>) -> [[f64; 2]; N] {
        patch.clear();
        self.add_star(v, patch);
        patch.sort_unstable();
        patch.dedup();
        if self.on_boundary[v] || patch.len() < 7 {
            self.widen(patch);
        }
        for _ in 0..3 {
            if let Some(gradients) = self.least_squares(v, fields, patch) {
                return gradients;
            }
            self.widen(patch);
        }
        self.star_mean(v, fields)
    }

    fn widen(&self, patch: &mut Vec<u32>) {
        for k in 0..patch.len() {
            self.add_star(patch[k] as usize, patch);
        }
        patch.sort_unstable();
        patch.dedup();
    }

    /// Fits u - u(v) = g.d + d.H.d/2 with weights 1/|d|^2; none if the patch does not determine it.
    fn least_squares<const N: usize>(&self, v: usize, fields: [&[f64]; N], patch: &[u32]) -> Option<[[f64; 2]; N]> {
        let points = &self.mesh.points;
        let centre = points[v];
        let reach = patch
            .iter()
            .map(|&w| (points[w as usize][0] - centre[0]).hypot(points[w as usize][1] - centre[1]))
            .fold(0.0, f64::max);
        let mut normal = [[0.0; 5]; 5];
        let mut rhs = [[0.0; 5]; N];
        for &w in patch.iter().filter(|&&w| w as usize != v) {
            let x = (points[w as usize][0] - centre[0]) / reach;
            let y = (points[w as usize][1] - centre[1]) / reach;
            let weight = 1.0 / (x * x + y * y);
            let basis = [x, y, 0.5 * x * x, x * y, 0.5 * y * y];
            for i in 0..5 {
                for j in i..5 {
                    normal[i][j] += weight * basis[i] * basis[j];
                }
                for (r, field) in rhs.iter_mut().zip(fields) {
                    r[i] += weight * basis[i] * (field[w as usize] - field[v]);
                }
            }
        }
        let factor = cholesky(normal)?;
        Some(rhs.map(|r| {
            let s = substitute(&factor, r);
            [s[0] / reach, s[1] / reach]
        }))
    }

    fn star_mean<const N: usize>(&self, v: usize, fields: [&[f64]; N]) -> [[f64; 2]; N] {
        let mut sums = [[0.0; 2]; N];
        let mut total = 0.0;
        for &t in self.stars.of(v) {
            let corners = self.mesh.triangles[t as usize];
            let places = corners.map(|w| self.mesh.points[w as usize]);
            let weight = super::area(places);
            total += weight;
            for (sum, field) in sums.iter_mut().zip(fields) {
                let g = super::gradient(places, corners.map(|w| field[w as usize]));
                *sum = [sum[0] + weight * g[0], sum[1] + weight * g[1]];
            }
        }
        sums.map(|s| if total > 0.0 { [s[0] / total, s[1] / total] } else { [0.0, 0.0] })
    }
}

/// Lower Cholesky factor of the matrix whose upper triangle is given; none if it is nearly singular.
fn cholesky(a: [[f64; 5]; 5]) -> Option<[[f64; 5]; 5]> {
    let mut l = [[0.0; 5]; 5];
    for j in 0..5 {
        let mut d = a[j][j];
        for k in 0..j {
            d -= l[j][k] * l[j][k];
        }
        if !(d > 1e-6 * a[j][j]) {
            return None;
        }
        l[j][j] = d.sqrt();
        for i in j + 1..5 {
            let mut s = a[j][i];
            for k in 0..j {
                s -= l[i][k] * l[j][k];
            }
            l[i][j] = s / l[j][j];
        }
    }
    Some(l)
}

fn substitute(l: &[[f64; 5]; 5], mut b: [f64; 5]) -> [f64; 5] {
    for i in 0..5 {
        for k in 0..i {
            b[i] -= l[i][k] * b[k];
        }
        b[i] /= l[i][i];
    }
    for i in (0..5).rev() {
        for k in i + 1..5 {
            b[i] -= l[k][i] * b[k];
        }
        b[i] /= l[i][i];
    }
    b
}
