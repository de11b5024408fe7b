//! Nodal gradients of second order by patch recovery: round each vertex a polynomial is fitted by least squares to the vertex
//! values of its patch and differentiated there (the patch idea of Zienkiewicz & Zhu 1992, Int. J. Numer. Meth. Eng. 33,
//! 1331, applied to values as by Zhang & Naga 2005, SIAM J. Sci. Comput. 26, 1192).
//!
//! A field known to solve `div(b^n ∇u) = 0` is fitted by polynomials that do so near the vertex: with r² = x² + y²,
//! `x − (n/4)(b_x/b) r²`, `y − (n/4)(b_y/b) r²`, `x² − y²`, `xy`, and on wide patches the two harmonic cubics. Any other field is
//! fitted by a full quadratic.
//!
//! The patch is the star of the vertex; it takes in the stars of its neighbours where the vertex lies on the boundary (the
//! fit is one-sided there) or where the star leaves the polynomial undetermined.

use crate::base::plane::{square, triangle_area, way};
use crate::numerics::mesh::{Mesh, Stars};
use rayon::prelude::*;

/// What is known about a field before it is fitted.
#[derive(Debug, Clone, Copy)]
pub enum Model<'a> {
    /// Nothing.
    Any,
    /// It is harmonic.
    Harmonic,
    /// It solves div(b^n grad u) = 0; n and grad b / b at the vertices.
    Conserved(f64, &'a [[f64; 2]]),
}

/// Prepared patches of a mesh.
#[derive(Debug)]
pub struct Recovery<'a> {
    mesh: &'a Mesh,
    stars: &'a Stars,
    on_boundary: Vec<bool>,
}

impl<'a> Recovery<'a> {
    /// Marks the boundary vertices.
    pub fn new(mesh: &'a Mesh, stars: &'a Stars) -> Self {
        let on_boundary = mesh.on_boundary();
        Recovery { mesh, stars, on_boundary }
    }

    /// Nodal gradients of N vertex fields (one value per vertex each) of one kind.
    pub fn gradients<const N: usize>(&self, model: Model, fields: [&[f64]; N]) -> [Vec<[f64; 2]>; N] {
        let at_vertices: Vec<[[f64; 2]; N]> = (0..self.mesh.points.len())
            .into_par_iter()
            .map_init(Vec::new, |patch, v| self.fit(v, model, fields, patch))
            .collect();
        std::array::from_fn(|k| at_vertices.par_iter().map(|g| g[k]).collect())
    }

    fn add_star(&self, v: usize, patch: &mut Vec<u32>) {
        for &t in self.stars.of(v) {
            patch.extend_from_slice(&self.mesh.triangles[t as usize]);
        }
    }

    /// The vertex and those it shares an edge with.
    fn star_patch(&self, v: usize, patch: &mut Vec<u32>) {
        patch.clear();
        for &t in self.stars.of(v) {
            for w in self.mesh.triangles[t as usize] {
                if !patch.contains(&w) {
                    patch.push(w);
                }
            }
        }
    }

    fn fit<const N: usize>(&self, v: usize, model: Model, fields: [&[f64]; N], patch: &mut Vec<u32>) -> [[f64; 2]; N] {
        self.star_patch(v, patch);
        let mut wide = self.on_boundary[v] || patch.len() < 7;
        if wide {
            self.widen(patch);
        }
        if wide && patch.len() <= 2 * TERMS {
            // a corner of the fluid: so few vertices leave the polynomial loose
            self.widen(patch);
        }
        for _ in 0..3 {
            let basis = Basis::new(model, v, wide);
            let gradients = match basis.terms() {
                4 => self.least_squares::<N, 4>(v, &basis, fields, patch),
                5 => self.least_squares::<N, 5>(v, &basis, fields, patch),
                _ => self.least_squares::<N, TERMS>(v, &basis, fields, patch),
            };
            if let Some(gradients) = gradients {
                return gradients;
            }
            self.widen(patch);
            wide = true;
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

    /// Fits u - u(v) by the first T terms with weights 1/|d|²; none if the patch does not determine the polynomial.
    fn least_squares<const N: usize, const T: usize>(
        &self,
        v: usize,
        basis: &Basis,
        fields: [&[f64]; N],
        patch: &[u32],
    ) -> Option<[[f64; 2]; N]> {
        let points = &self.mesh.points;
        let centre = points[v];
        let offset = |w: u32| way(centre, points[w as usize]);
        let reach = patch.iter().map(|&w| square(offset(w))).fold(0.0, f64::max).sqrt();
        let mut normal = [[0.0; T]; T];
        let mut rhs = [[0.0; T]; N];
        for &w in patch.iter().filter(|&&w| w as usize != v) {
            let d = offset(w).map(|x| x / reach);
            let weight = 1.0 / square(d);
            let terms = basis.at(d, reach);
            for i in 0..T {
                for j in i..T {
                    normal[i][j] += weight * terms[i] * terms[j];
                }
                for (r, field) in rhs.iter_mut().zip(fields) {
                    r[i] += weight * terms[i] * (field[w as usize] - field[v]);
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
            let weight = triangle_area(places);
            total += weight;
            for (sum, field) in sums.iter_mut().zip(fields) {
                let g = super::gradient(places, corners.map(|w| field[w as usize]));
                *sum = [sum[0] + weight * g[0], sum[1] + weight * g[1]];
            }
        }
        sums.map(|s| if total > 0.0 { [s[0] / total, s[1] / total] } else { [0.0, 0.0] })
    }
}

/// Most terms of a basis.
const TERMS: usize = 6;

/// The polynomials fitted round one vertex; the first two have unit gradients along x and y there.
enum Basis {
    Quadratic,
    Solutions { bend: [f64; 2], cubic: bool },
}

impl Basis {
    fn new(model: Model, v: usize, wide: bool) -> Self {
        match model {
            Model::Any => Basis::Quadratic,
            Model::Harmonic => Basis::Solutions { bend: [0.0, 0.0], cubic: wide },
            Model::Conserved(n, slope) => Basis::Solutions { bend: slope[v].map(|s| 0.25 * n * s), cubic: wide },
        }
    }

    fn terms(&self) -> usize {
        match self {
            Basis::Quadratic => 5,
            Basis::Solutions { cubic: false, .. } => 4,
            Basis::Solutions { cubic: true, .. } => 6,
        }
    }

    /// Values at an offset given in units of `reach`.
    fn at(&self, [x, y]: [f64; 2], reach: f64) -> [f64; TERMS] {
        match self {
            Basis::Quadratic => [x, y, 0.5 * x * x, x * y, 0.5 * y * y, 0.0],
            Basis::Solutions { bend, .. } => {
                let square = reach * (x * x + y * y);
                let (re, im) = (x * x - y * y, 2.0 * x * y);
                [x - bend[0] * square, y - bend[1] * square, re, im, x * re - y * im, x * im + y * re]
            }
        }
    }
}

/// Lower Cholesky factor of the matrix whose upper triangle is given, its diagonal inverted; none if it is nearly singular.
pub(super) fn cholesky<const T: usize>(a: [[f64; T]; T]) -> Option<[[f64; T]; T]> {
    let mut l = [[0.0; T]; T];
    let known = |l: &[[f64; T]; T], i: usize, j: usize| -> f64 { (0..j).map(|k| l[i][k] * l[j][k]).sum() };
    for j in 0..T {
        let d = a[j][j] - known(&l, j, j);
        // also where a patch has no vertex off the centre and no entry at all
        if d.is_nan() || d <= 1e-6 * a[j][j] {
            return None;
        }
        l[j][j] = 1.0 / d.sqrt();
        for i in j + 1..T {
            l[i][j] = (a[j][i] - known(&l, i, j)) * l[j][j];
        }
    }
    Some(l)
}

pub(super) fn substitute<const T: usize>(l: &[[f64; T]; T], mut b: [f64; T]) -> [f64; T] {
    for i in 0..T {
        for k in 0..i {
            b[i] -= l[i][k] * b[k];
        }
        b[i] *= l[i][i];
    }
    for i in (0..T).rev() {
        for k in i + 1..T {
            b[i] -= l[k][i] * b[k];
        }
        b[i] *= l[i][i];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Plan, Side, Wall};
    use crate::input::case::Gap;
    use crate::numerics::fem::Space;
    use crate::numerics::mesh::SizeField;
    use std::sync::Arc;

    /// The patch of a boundary vertex is one-sided, whatever the number of its neighbours: the harmonic cubics must be in its fit, and
    /// Re z³ and Im z³ come back exactly but for rounding, some 1e-15/h with sides above 1e-2, magnified by the fit. At the edge of
    /// a wedge of 30 degrees a dozen neighbours stand round half a vertex.
    #[test]
    fn harmonic_cubics_are_exact_on_the_boundary() {
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let wedge = vec![[0.7, 0.5], [0.4, 0.58], [0.4, 0.42]];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[wedge]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.05, 0.3, vec![]), 10_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(1e-3), 1e-3);
        let points = &space.mesh.points;
        let real: Vec<f64> = points.iter().map(|[x, y]| x * x * x - 3.0 * x * y * y).collect();
        let imaginary: Vec<f64> = points.iter().map(|[x, y]| 3.0 * x * x * y - y * y * y).collect();
        let recovery = space.recovery();
        let [real, imaginary] = recovery.gradients(Model::Harmonic, [&real, &imaginary]);
        let mut most = 0;
        for v in (0..points.len()).filter(|&v| recovery.on_boundary[v]) {
            let [x, y] = points[v];
            let (re, im) = (3.0 * (x * x - y * y), 6.0 * x * y);
            for (found, exact) in [(real[v], [re, -im]), (imaginary[v], [im, re])] {
                let off = (found[0] - exact[0]).hypot(found[1] - exact[1]);
                assert!(off < 1e-10, "{x} {y}: {found:?} {exact:?}");
            }
            let mut patch = Vec::new();
            recovery.star_patch(v, &mut patch);
            most = most.max(patch.len());
        }
        assert!(most >= 7, "{most}: no vertex has as many neighbours as one in the fluid");
    }
}
