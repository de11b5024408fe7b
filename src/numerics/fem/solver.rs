//! Conjugate gradients preconditioned by a multigrid cycle, started by nested iteration.

use super::cycle::{Hierarchy, Work};
use super::{Conditions, Stiffness};
use crate::base::bisect::bisected;
use crate::base::error::NoConvergence;
use crate::base::stop::go_on;
use crate::base::{Error, Result};
use crate::numerics::mesh::Mesh;
use std::sync::Arc;

/// Most iterations before giving up; a healthy hierarchy needs about ten.
const MOST_ITERATIONS: usize = 300;

/// A matrix with its conditions, ready to solve for any number of loads.
#[derive(Debug)]
pub struct Operator {
    hierarchy: Hierarchy,
}

/// What a solve gives.
#[derive(Debug, Clone)]
pub struct Solution {
    /// Vertex values.
    pub values: Vec<f64>,
    /// Conjugate gradient iterations on the finest level.
    pub iterations: usize,
    /// Estimated bound of the squared energy norm of what iteration leaves undone.
    pub algebraic: f64,
}

impl Operator {
    /// Prepares the levels of a mesh for the given conditions; factorises the coarsest.
    pub fn new(mesh: &Arc<Mesh>, levels: Arc<Vec<Stiffness>>, conditions: Conditions) -> Result<Self> {
        Ok(Operator { hierarchy: Hierarchy::new(levels, mesh.clone(), conditions)? })
    }

    /// Conditions of the problem.
    pub fn conditions(&self) -> &Conditions {
        &self.hierarchy.conditions
    }

    /// The finest matrix without conditions.
    pub fn matrix(&self) -> &Stiffness {
        self.hierarchy.matrix(self.hierarchy.finest())
    }

    /// Solves A x = loads with the given values kept, from the coarsest level upwards.
    ///
    /// `start` holds the given values where vertices are fixed (other entries are ignored), `loads` one entry per vertex
    /// (their sum over a tied group is what counts; in a floating problem they must sum to zero). Iteration stops when the
    /// estimated squared energy norm of the remaining error is below `tolerance`.
    pub fn solve(&self, start: &[f64], loads: &[f64], tolerance: f64) -> Result<Solution> {
        let h = &self.hierarchy;
        let mut work = h.work();
        let mut x = self.nested(start, loads, &mut work);
        let top = h.finest();
        if top == 0 {
            return Ok(Solution { values: x, iterations: 0, algebraic: 0.0 });
        }
        let (iterations, algebraic) = self.iterate(&mut x, loads, tolerance, &mut work)?;
        Ok(Solution { values: x, iterations, algebraic })
    }

    /// Goes on iterating from a solution until the tolerance is met.
    pub fn improve(&self, solution: &mut Solution, loads: &[f64], tolerance: f64) -> Result<()> {
        if self.hierarchy.finest() == 0 || solution.algebraic <= tolerance {
            return Ok(());
        }
        let mut work = self.hierarchy.work();
        let (more, algebraic) = self.iterate(&mut solution.values, loads, tolerance, &mut work)?;
        solution.iterations += more;
        solution.algebraic = algebraic;
        Ok(())
    }

    fn nested(&self, start: &[f64], loads: &[f64], work: &mut Work) -> Vec<f64> {
        let h = &self.hierarchy;
        let top = h.finest();
        let mut level_loads = vec![loads.to_vec()];
        for level in (1..=top).rev() {
            let mut coarse = vec![0.0; h.matrix(level - 1).vertices()];
            h.restrict(level, &level_loads[0], &mut coarse);
            level_loads.insert(0, coarse);
        }
        let mut x: Vec<f64> = Vec::new();
        for (level, f) in level_loads.iter().enumerate() {
            let n = h.matrix(level).vertices();
            let mut next = vec![0.0; n];
            if level > 0 {
                h.prolong(&x, &mut next);
            }
            for v in 0..n {
                if h.conditions.is_fixed(v) {
                    next[v] = start[v];
                }
            }
            let (mut r, mut z) = (vec![0.0; n], vec![0.0; n]);
            h.residual(level, f, &next, &mut r);
            h.apply(level, &r, &mut z, work);
            next.iter_mut().zip(&z).for_each(|(x, z)| *x += z);
            x = next;
        }
        x
    }

    fn iterate(&self, x: &mut [f64], loads: &[f64], tolerance: f64, work: &mut Work) -> Result<(usize, f64)> {
        let h = &self.hierarchy;
        let (top, n) = (h.finest(), x.len());
        let a = h.matrix(top);
        let (mut r, mut z, mut q) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        h.residual(top, loads, x, &mut r);
        h.apply(top, &r, &mut z, work);
        let mut p = z.clone();
        let mut rho = dot(&r, &z);
        let floor = f64::EPSILON * f64::EPSILON * a.energy(x).abs();
        let mut ritz = Ritz::default();
        for iteration in 0..MOST_ITERATIONS {
            go_on()?;
            let bound = rho / ritz.least();
            if bound <= tolerance || rho <= floor {
                return Ok((iteration, bound.max(0.0)));
            }
            let mut energy = 0.0;
            for (v, (q, p_v)) in q.iter_mut().zip(&p).enumerate() {
                *q = if h.conditions.is_fixed(v) { 0.0 } else { a.row_times(v, &p) };
                energy += *q * p_v;
            }
            let alpha = rho / energy;
            for ((x, r), (p, q)) in x.iter_mut().zip(&mut r).zip(p.iter().zip(&q)) {
                *x += alpha * p;
                *r -= alpha * q;
            }
            h.apply(top, &r, &mut z, work);
            let next = dot(&r, &z);
            let beta = next / rho;
            ritz.add(alpha, beta);
            rho = next;
            p.iter_mut().zip(&z).for_each(|(p, z)| *p = z + beta * *p);
        }
        Err(Error::NoConvergence(NoConvergence { wanted: tolerance, left: rho, iterations: MOST_ITERATIONS }))
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The Lanczos matrix that conjugate gradients build; its least eigenvalue estimates that of the preconditioned matrix
/// from above, so half of it is taken (Golub & Meurant 1997, BIT 37, 687).
#[derive(Debug, Default)]
struct Ritz {
    alpha: Vec<f64>,
    beta: Vec<f64>,
}

impl Ritz {
    fn add(&mut self, alpha: f64, beta: f64) {
        self.alpha.push(alpha);
        self.beta.push(beta);
    }

    fn least(&self) -> f64 {
        let n = self.alpha.len();
        if n == 0 {
            return 0.25;
        }
        let diagonal = |k: usize| 1.0 / self.alpha[k] + if k > 0 { self.beta[k - 1] / self.alpha[k - 1] } else { 0.0 };
        let off = |k: usize| self.beta[k].abs().sqrt() / self.alpha[k];
        // Sturm count: the number of eigenvalues below s
        let below = |s: f64| {
            let mut pivot: f64 = 1.0;
            (0..n)
                .filter(|&k| {
                    let coupling = if k > 0 { off(k - 1).powi(2) / pivot } else { 0.0 };
                    pivot = diagonal(k) - s - coupling;
                    if pivot == 0.0 {
                        pivot = f64::MIN_POSITIVE;
                    }
                    pivot < 0.0
                })
                .count()
        };
        let [low, _] = bisected([0.0, (0..n).map(diagonal).fold(f64::INFINITY, f64::min)], 40, |s| below(s) == 0);
        (0.5 * low).max(1e-3)
    }
}
