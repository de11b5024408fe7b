//! Problems of fourth order by linear elements: `−a Δω + c ω = f` with `ω = −Δψ`, both conditions on ψ.
//!
//! With the stiffness L and the lumped masses M of all vertices `M ω = L ψ`, so that no condition on ω leaves `∂ψ/∂n = 0` on every edge; rows
//! of vertices that slip are left out, where ω = 0. What is solved is `S ψ = f` with `S = a L M⁻¹ L + c L`, symmetric and positive definite, by
//! conjugate gradients: without the rows of the boundary S is the product of two problems of second order, each factorised once, whose
//! inverse is the preconditioner.

use super::direct::Direct;
use super::solver::{Solution, dot};
use super::{Conditions, Space, Stiffness};
use crate::base::error::NoConvergence;
use crate::base::{Error, Result};

/// Energy left undone over that of the loads, squared norms.
const TOLERANCE: f64 = 1e-20;
/// Most iterations; with ten elements along the decay length of the edges some twenty are needed.
const MOST_ITERATIONS: usize = 500;

/// A problem of fourth order, ready to solve for any number of loads.
#[derive(Debug)]
pub struct FourthOrder {
    stiffness: Stiffness,
    mass: Vec<f64>,
    conditions: Conditions,
    slips: Vec<bool>,
    coefficients: [f64; 2],
    of_laplace: Direct,
    of_decay: Direct,
}

impl FourthOrder {
    /// Factorises both problems of second order. `coefficients` are a and c, `slips` tells of every vertex whether ω = 0 there. The gap
    /// of the space does not matter.
    ///
    /// # Errors
    /// [`Error::Failed`] if a factorisation fails.
    pub fn new(space: &Space, conditions: Conditions, slips: Vec<bool>, coefficients: [f64; 2]) -> Result<Self> {
        let stiffness = space.stiffness().clone();
        let mass: Vec<f64> = (0..space.mesh.points.len()).map(|v| space.star_area(v) / 3.0).collect();
        let [a, c] = coefficients;
        let decay = stiffness.scaled_with_mass(a, c, &mass);
        let (of_laplace, of_decay) =
            rayon::join(|| Direct::new(&stiffness, &conditions), || Direct::new(&decay, &conditions));
        let (of_laplace, of_decay) = (of_laplace?, of_decay?);
        Ok(FourthOrder { stiffness, mass, conditions, slips, coefficients, of_laplace, of_decay })
    }

    /// ω = −Δψ at the vertices.
    pub fn vorticity(&self, psi: &[f64]) -> Vec<f64> {
        let at = |v: usize| if self.slips[v] { 0.0 } else { self.stiffness.row_times(v, psi) / self.mass[v] };
        (0..psi.len()).map(at).collect()
    }

    /// The harmonic ψ with the given values where they are fixed.
    pub fn harmonic(&self, start: &[f64]) -> Vec<f64> {
        let mut psi = self.fixed(start);
        let residual: Vec<f64> =
            (0..psi.len()).map(|v| self.unless_fixed(v, -self.stiffness.row_times(v, &psi))).collect();
        let mut change = vec![0.0; psi.len()];
        self.of_laplace.solve(&residual, &mut change);
        psi.iter_mut().zip(&change).for_each(|(p, c)| *p += c);
        psi
    }

    /// Solves `S ψ = loads` with the given values where they are fixed; `guess` is where to begin. The bound of what is left undone is strict:
    /// S is no less than the product that preconditions it.
    ///
    /// # Errors
    /// [`Error::NoConvergence`] if iteration does not come to its end.
    pub fn solve(&self, start: &[f64], loads: &[f64], guess: &[f64]) -> Result<Solution> {
        let count = start.len();
        let mut psi = self.fixed(start);
        (0..count).filter(|&v| !self.conditions.is_fixed(v)).for_each(|v| psi[v] = guess[v]);
        // the size of the problem: what a start from nothing but the fixed values would leave
        let scale = self.residual(&self.fixed(start), loads);
        let scale = dot(&scale, &self.precondition(&scale));
        let mut r = self.residual(&psi, loads);
        let mut z = self.precondition(&r);
        let mut p = z.clone();
        let mut rho = dot(&r, &z);
        for iterations in 0..MOST_ITERATIONS {
            if rho <= TOLERANCE * scale {
                return Ok(Solution { values: psi, iterations, algebraic: rho });
            }
            let q = self.times(&p);
            let alpha = rho / dot(&p, &q);
            for v in 0..count {
                psi[v] += alpha * p[v];
                r[v] -= alpha * q[v];
            }
            z = self.precondition(&r);
            let next = dot(&r, &z);
            let beta = next / rho;
            rho = next;
            p.iter_mut().zip(&z).for_each(|(p, z)| *p = z + beta * *p);
        }
        Err(Error::NoConvergence(NoConvergence { wanted: TOLERANCE * scale, left: rho, iterations: MOST_ITERATIONS }))
    }

    /// The given values where they are fixed, nothing elsewhere.
    fn fixed(&self, start: &[f64]) -> Vec<f64> {
        start.iter().enumerate().map(|(v, &x)| if self.conditions.is_fixed(v) { x } else { 0.0 }).collect()
    }

    fn unless_fixed(&self, vertex: usize, value: f64) -> f64 {
        if self.conditions.is_fixed(vertex) { 0.0 } else { value }
    }

    /// S x, nothing where values are fixed.
    fn times(&self, x: &[f64]) -> Vec<f64> {
        let [a, c] = self.coefficients;
        let omega = self.vorticity(x);
        let both: Vec<f64> = omega.iter().zip(x).map(|(w, x)| a * w + c * x).collect();
        (0..x.len()).map(|v| self.unless_fixed(v, self.stiffness.row_times(v, &both))).collect()
    }

    fn residual(&self, psi: &[f64], loads: &[f64]) -> Vec<f64> {
        let times = self.times(psi);
        (0..psi.len()).map(|v| self.unless_fixed(v, loads[v] - times[v])).collect()
    }

    /// `L⁻¹ M (a L + c M)⁻¹ r`: symmetric, for both inverses have the same conditions.
    fn precondition(&self, r: &[f64]) -> Vec<f64> {
        let (mut inner, mut z) = (vec![0.0; r.len()], vec![0.0; r.len()]);
        self.of_decay.solve(r, &mut inner);
        inner.iter_mut().zip(&self.mass).for_each(|(x, m)| *x *= m);
        self.of_laplace.solve(&inner, &mut z);
        z
    }
}
