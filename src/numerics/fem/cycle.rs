//! One multigrid cycle: symmetric Gauss-Seidel sweeps on every level, edge midpoints interpolated from their parents, the
//! coarsest level solved directly. As a preconditioner it is symmetric and positive definite.
//!
//! Residuals of tied vertices are kept apart and summed where the group is updated; values of tied vertices are equal.

use super::direct::Direct;
use super::{Conditions, Stiffness};
use crate::base::Result;
use crate::numerics::mesh::Mesh;
use std::sync::Arc;

/// A hierarchy of levels under one set of conditions.
#[derive(Debug)]
pub(super) struct Hierarchy {
    levels: Arc<Vec<Stiffness>>,
    mesh: Arc<Mesh>,
    pub conditions: Conditions,
    direct: Direct,
    /// Diagonal entry of each tied group on each level.
    group_diagonals: Vec<Vec<f64>>,
}

/// Work arrays of one cycle, level by level.
#[derive(Debug)]
pub(super) struct Work {
    residual: Vec<Vec<f64>>,
    rhs: Vec<Vec<f64>>,
    update: Vec<Vec<f64>>,
}

impl Hierarchy {
    pub fn new(levels: Arc<Vec<Stiffness>>, mesh: Arc<Mesh>, conditions: Conditions) -> Result<Self> {
        let direct = Direct::new(&levels[0], &conditions)?;
        let group_diagonals = levels
            .iter()
            .map(|a| {
                conditions
                    .ties(a.vertices())
                    .enumerate()
                    .map(|(group, vertices)| {
                        let own = |v: &u32| {
                            let (columns, values) = a.row(*v as usize);
                            let inside = columns
                                .iter()
                                .zip(values)
                                .filter(|(c, _)| conditions.group(**c as usize) == Some(group));
                            a.diagonal[*v as usize] + inside.map(|(_, value)| value).sum::<f64>()
                        };
                        vertices.iter().map(own).sum()
                    })
                    .collect()
            })
            .collect();
        Ok(Hierarchy { levels, mesh, conditions, direct, group_diagonals })
    }

    pub fn finest(&self) -> usize {
        self.levels.len() - 1
    }

    pub fn matrix(&self, level: usize) -> &Stiffness {
        &self.levels[level]
    }

    pub fn work(&self) -> Work {
        let arrays = || self.levels.iter().map(|a| vec![0.0; a.vertices()]).collect();
        Work { residual: arrays(), rhs: arrays(), update: arrays() }
    }

    /// z = B r on a level, B the cycle.
    pub fn apply(&self, level: usize, r: &[f64], z: &mut [f64], work: &mut Work) {
        if level == 0 {
            self.direct.solve(r, z);
            return;
        }
        z.fill(0.0);
        self.forward(level, r, z);
        let mut residual = std::mem::take(&mut work.residual[level]);
        let mut rhs = std::mem::take(&mut work.rhs[level - 1]);
        let mut update = std::mem::take(&mut work.update[level - 1]);
        self.residual(level, r, z, &mut residual);
        self.restrict(level, &residual, &mut rhs);
        self.apply(level - 1, &rhs, &mut update, work);
        self.prolong_add(&update, z);
        work.residual[level] = residual;
        work.rhs[level - 1] = rhs;
        work.update[level - 1] = update;
        self.backward(level, r, z);
    }

    /// r = f - A x, zero where values are given.
    pub fn residual(&self, level: usize, f: &[f64], x: &[f64], r: &mut [f64]) {
        let a = &self.levels[level];
        for (v, r) in r.iter_mut().enumerate() {
            *r = if self.conditions.is_fixed(v) { 0.0 } else { f[v] - a.row_times(v, x) };
        }
    }

    /// Interpolates a coarse array to the next finer level.
    pub fn prolong(&self, coarse: &[f64], fine: &mut [f64]) {
        fine[..coarse.len()].copy_from_slice(coarse);
        let first = coarse.len() - self.levels[0].vertices();
        for (k, x) in fine[coarse.len()..].iter_mut().enumerate() {
            let [a, b] = self.mesh.parents[first + k];
            *x = 0.5 * (coarse[a as usize] + coarse[b as usize]);
        }
    }

    /// The transpose of the interpolation.
    pub fn restrict(&self, level: usize, fine: &[f64], coarse: &mut [f64]) {
        let n = self.levels[level - 1].vertices();
        let first = n - self.levels[0].vertices();
        coarse.copy_from_slice(&fine[..n]);
        for (k, r) in fine[n..].iter().enumerate() {
            let [a, b] = self.mesh.parents[first + k];
            coarse[a as usize] += 0.5 * r;
            coarse[b as usize] += 0.5 * r;
        }
        for (v, r) in coarse.iter_mut().enumerate() {
            if self.conditions.is_fixed(v) {
                *r = 0.0;
            }
        }
    }

    fn prolong_add(&self, coarse: &[f64], fine: &mut [f64]) {
        let n = coarse.len();
        let first = n - self.levels[0].vertices();
        for (x, c) in fine[..n].iter_mut().zip(coarse) {
            *x += c;
        }
        for (k, x) in fine[n..].iter_mut().enumerate() {
            if !self.conditions.is_fixed(n + k) {
                let [a, b] = self.mesh.parents[first + k];
                *x += 0.5 * (coarse[a as usize] + coarse[b as usize]);
            }
        }
    }

    fn update_group(&self, level: usize, group: usize, vertices: &[u32], f: &[f64], x: &mut [f64]) {
        let a = &self.levels[level];
        let residual: f64 = vertices.iter().map(|&v| f[v as usize] - a.row_times(v as usize, x)).sum();
        let step = residual / self.group_diagonals[level][group];
        for &v in vertices {
            x[v as usize] += step;
        }
    }

    fn relax(&self, level: usize, v: usize, f: &[f64], x: &mut [f64]) {
        if self.conditions.is_free(v) {
            let a = &self.levels[level];
            let (columns, values) = a.row(v);
            let sum = columns.iter().zip(values).fold(f[v], |sum, (&c, value)| sum - value * x[c as usize]);
            x[v] = sum / a.diagonal[v];
        }
    }

    fn forward(&self, level: usize, f: &[f64], x: &mut [f64]) {
        for (group, vertices) in self.conditions.ties(x.len()).enumerate() {
            if !vertices.is_empty() {
                self.update_group(level, group, vertices, f, x);
            }
        }
        for v in 0..x.len() {
            self.relax(level, v, f, x);
        }
    }

    fn backward(&self, level: usize, f: &[f64], x: &mut [f64]) {
        for v in (0..x.len()).rev() {
            self.relax(level, v, f, x);
        }
        let groups: Vec<&[u32]> = self.conditions.ties(x.len()).collect();
        for (group, vertices) in groups.into_iter().enumerate().rev() {
            if !vertices.is_empty() {
                self.update_group(level, group, vertices, f, x);
            }
        }
    }
}
