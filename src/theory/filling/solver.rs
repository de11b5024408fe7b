//! Conjugate gradients on the wet vertices, preconditioned by a multigrid cycle whose coarser functions live on the wet region alone.
//!
//! A coarser function is kept only where its whole support is free, so that the coarser spaces lie in the finer ones and the matrices of the
//! levels serve as they are (Kornhuber & Yserentant 1994, Numer. Math. 67, 431, recalled). The factor of the coarsest level is kept while few
//! of its vertices come and go: any subspace gives a preconditioner.

use super::Work;
use crate::base::error::NoConvergence;
use crate::base::{Error, Result};
use crate::numerics::fem::{Conditions, Operator, Stiffness};
use crate::numerics::mesh::Mesh;
use std::sync::Arc;

/// Most iterations with the cycle before the diagonal alone is tried.
const MOST_CYCLES: usize = 150;
/// Most iterations with the diagonal alone, over the square root of the number of unknowns.
const MOST_PLAIN: f64 = 40.0;
/// Part of the coarsest vertices that may differ from those of its factor, and their least number.
const STALE: (f64, usize) = (0.03, 20);

pub(super) struct Solver {
    mesh: Arc<Mesh>,
    levels: Arc<Vec<Stiffness>>,
    /// The finest matrix where triangles were struck out.
    struck: Option<Stiffness>,
    /// The finest matrix of the present step where dry vertices take no flux.
    parted: Option<Stiffness>,
    /// Vertices whose stars were struck out wholly.
    dead: Vec<bool>,
    free: Vec<Vec<bool>>,
    list: Vec<Vec<u32>>,
    direct: Option<Direct>,
    /// Whether the factor is that of the free vertices as they are.
    fresh: bool,
    arrays: Vec<Arrays>,
    pub work: Work,
}

struct Direct {
    operator: Operator,
    inside: Vec<bool>,
}

/// Work arrays of one level; zero where vertices are not free.
#[derive(Default)]
struct Arrays {
    residual: Vec<f64>,
    rhs: Vec<f64>,
    update: Vec<f64>,
}

impl Solver {
    pub fn new(mesh: &Arc<Mesh>, levels: &Arc<Vec<Stiffness>>) -> Self {
        let sizes = || levels.iter().map(Stiffness::vertices);
        let arrays = sizes().map(|n| Arrays { residual: vec![0.0; n], rhs: vec![0.0; n], update: vec![0.0; n] });
        Solver {
            mesh: mesh.clone(),
            levels: levels.clone(),
            struck: None,
            parted: None,
            dead: Vec::new(),
            free: sizes().map(|n| vec![false; n]).collect(),
            list: sizes().map(|_| Vec::new()).collect(),
            direct: None,
            fresh: false,
            arrays: arrays.collect(),
            work: Work::default(),
        }
    }

    /// Takes another matrix on the finest level, from which the stars of dead vertices were struck out.
    pub fn strike(&mut self, matrix: Stiffness, dead: Vec<bool>) {
        self.struck = Some(matrix);
        self.dead = dead;
    }

    /// Takes, until the next call, the finest matrix without the exchange along some edges.
    pub fn part(&mut self, edges: &[[u32; 2]]) {
        self.parted = (!edges.is_empty()).then(|| self.whole().parted(edges.iter().copied()));
    }

    /// The finest matrix with all its exchanges.
    pub fn whole(&self) -> &Stiffness {
        self.struck.as_ref().unwrap_or(&self.levels[self.levels.len() - 1])
    }

    /// The matrix of a level.
    pub fn matrix(&self, level: usize) -> &Stiffness {
        if level + 1 < self.levels.len() { &self.levels[level] } else { self.parted.as_ref().unwrap_or(self.whole()) }
    }

    /// Sets the free vertices of a level and, from them, those of the coarser ones.
    pub fn set_free(&mut self, level: usize, free: impl Fn(usize) -> bool) -> Result<()> {
        let top = self.levels.len() - 1;
        let n = self.levels[level].vertices();
        for v in 0..n {
            self.free[level][v] = free(v);
        }
        for below in (0..level).rev() {
            let (coarse, fine) = self.free.split_at_mut(below + 1);
            let (coarse, fine) = (&mut coarse[below], &fine[0]);
            let dead = |v: usize| below + 1 == top && self.dead.get(v).is_some_and(|d| *d);
            let count = coarse.len();
            for (v, free) in coarse.iter_mut().enumerate() {
                *free = fine[v] || dead(v);
            }
            let first = count - self.levels[0].vertices();
            for (k, inside) in fine[count..].iter().enumerate() {
                if !inside && !dead(count + k) {
                    self.mesh.parents[first + k].iter().for_each(|&v| coarse[v as usize] = false);
                }
            }
        }
        for below in 0..=level {
            let free = &self.free[below];
            self.list[below] = (0..free.len() as u32).filter(|&v| free[v as usize]).collect();
            let Arrays { residual, rhs, update } = &mut self.arrays[below];
            [residual, rhs, update].into_iter().for_each(|list| list.fill(0.0));
        }
        self.factorise()
    }

    fn factorise(&mut self) -> Result<()> {
        let free = &self.free[0];
        if let Some(direct) = &self.direct {
            let differ = free.iter().zip(&direct.inside).filter(|(a, b)| a != b).count();
            self.fresh = differ == 0;
            if differ <= STALE.1.max((STALE.0 * self.list[0].len() as f64) as usize) {
                return Ok(());
            }
        }
        let mut conditions = Conditions::free(free.len());
        (0..free.len()).filter(|&v| !free[v]).for_each(|v| conditions.fix(v as u32));
        let matrix = self.matrix(0).clone();
        let operator = Operator::new(&self.mesh, Arc::new(vec![matrix]), conditions)?;
        self.work.factorisations += 1;
        self.fresh = true;
        self.direct = Some(Direct { operator, inside: free.clone() });
        Ok(())
    }

    /// Solves `Σ_j A_ij x_j = rhs_i` for the free vertices of a level; the others keep their values. Ends when no |residual| exceeds
    /// `tolerance` times the volume of its vertex.
    pub fn solve(&mut self, level: usize, x: &mut [f64], rhs: &[f64], volumes: &[f64], tolerance: f64) -> Result<()> {
        if self.list[level].is_empty() {
            return Ok(());
        }
        let finest = level + 1 == self.levels.len();
        self.work.solves += usize::from(finest);
        let before = x.to_vec();
        let cycles = self.iterate(level, x, rhs, volumes, tolerance, true)?;
        if cycles.is_err() {
            x.copy_from_slice(&before);
            if let Err(left) = self.iterate(level, x, rhs, volumes, tolerance, false)? {
                return Err(Error::NoConvergence(left));
            }
        }
        if finest {
            self.work.cycles += cycles.unwrap_or_else(|left| left.iterations);
        }
        Ok(())
    }

    fn iterate(
        &mut self,
        level: usize,
        x: &mut [f64],
        rhs: &[f64],
        volumes: &[f64],
        tolerance: f64,
        cycle: bool,
    ) -> Result<std::result::Result<usize, NoConvergence>> {
        let list = std::mem::take(&mut self.list[level]);
        let found = self.conjugate(level, &list, x, rhs, volumes, tolerance, cycle);
        self.list[level] = list;
        found
    }

    #[allow(clippy::too_many_arguments)]
    fn conjugate(
        &mut self,
        level: usize,
        list: &[u32],
        x: &mut [f64],
        rhs: &[f64],
        volumes: &[f64],
        tolerance: f64,
        cycle: bool,
    ) -> Result<std::result::Result<usize, NoConvergence>> {
        let n = x.len();
        let (mut r, mut z, mut q, mut p) = (vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        let mut worst: f64 = 0.0;
        for &v in list {
            let v = v as usize;
            r[v] = rhs[v] - self.matrix(level).row_times(v, x);
            worst = worst.max((r[v] / volumes[v]).abs());
        }
        let most = if cycle { MOST_CYCLES } else { 100 + (MOST_PLAIN * (list.len() as f64).sqrt()) as usize };
        let mut rho = 0.0;
        for iteration in 0..=most {
            if worst <= tolerance {
                return Ok(Ok(iteration));
            }
            if iteration == most || !worst.is_finite() {
                break;
            }
            if cycle {
                self.cycle(level, list, &r, &mut z)?;
            } else {
                let a = self.matrix(level);
                list.iter().for_each(|&v| z[v as usize] = r[v as usize] / a.diagonal[v as usize]);
            }
            let next: f64 = list.iter().map(|&v| r[v as usize] * z[v as usize]).sum();
            let beta = if iteration == 0 { 0.0 } else { next / rho };
            rho = next;
            list.iter().for_each(|&v| p[v as usize] = z[v as usize] + beta * p[v as usize]);
            let a = self.matrix(level);
            let mut energy = 0.0;
            for &v in list {
                q[v as usize] = a.row_times(v as usize, &p);
                energy += q[v as usize] * p[v as usize];
            }
            let alpha = rho / energy;
            worst = 0.0;
            for &v in list {
                let v = v as usize;
                x[v] += alpha * p[v];
                r[v] -= alpha * q[v];
                worst = worst.max((r[v] / volumes[v]).abs());
            }
            if !alpha.is_finite() {
                break;
            }
        }
        Ok(Err(NoConvergence { wanted: tolerance, left: worst, iterations: most }))
    }

    /// z = B r, B one symmetric cycle; `list` are the free vertices of the level.
    fn cycle(&mut self, level: usize, list: &[u32], r: &[f64], z: &mut [f64]) -> Result<()> {
        if level == 0 && self.fresh {
            return self.coarsest(r, z, list);
        }
        list.iter().for_each(|&v| z[v as usize] = 0.0);
        let a = self.matrix(level);
        list.iter().for_each(|&v| relax(a, v as usize, r, z));
        let mut arrays = std::mem::take(&mut self.arrays[level]);
        let a = self.matrix(level);
        list.iter().for_each(|&v| arrays.residual[v as usize] = r[v as usize] - a.row_times(v as usize, z));
        if level == 0 {
            // its own arrays are in use by the level above
            let mut update = vec![0.0; r.len()];
            self.coarsest(&arrays.residual, &mut update, list)?;
            list.iter().for_each(|&v| z[v as usize] += update[v as usize]);
        } else {
            let mut below = std::mem::take(&mut self.arrays[level - 1]);
            let coarse_list = std::mem::take(&mut self.list[level - 1]);
            let count = below.rhs.len();
            let split = list.partition_point(|&v| (v as usize) < count);
            let first = count - self.levels[0].vertices();
            let parents = |v: u32| self.mesh.parents[first + v as usize - count];
            coarse_list.iter().for_each(|&v| below.rhs[v as usize] = arrays.residual[v as usize]);
            for &v in &list[split..] {
                let half = 0.5 * arrays.residual[v as usize];
                parents(v).iter().for_each(|&c| below.rhs[c as usize] += half);
            }
            // the level's own arrays are needed while it is worked on
            let (rhs, mut update) = (std::mem::take(&mut below.rhs), std::mem::take(&mut below.update));
            self.arrays[level - 1] = below;
            let done = self.cycle(level - 1, &coarse_list, &rhs, &mut update);
            for &v in &list[..split] {
                z[v as usize] += update[v as usize];
            }
            for &v in &list[split..] {
                let [c, d] = self.mesh.parents[first + v as usize - count];
                z[v as usize] += 0.5 * (update[c as usize] + update[d as usize]);
            }
            self.arrays[level - 1].rhs = rhs;
            self.arrays[level - 1].update = update;
            self.list[level - 1] = coarse_list;
            done?;
        }
        self.arrays[level] = arrays;
        let a = self.matrix(level);
        list.iter().rev().for_each(|&v| relax(a, v as usize, r, z));
        Ok(())
    }

    fn coarsest(&self, r: &[f64], z: &mut [f64], list: &[u32]) -> Result<()> {
        let Some(direct) = &self.direct else { return Ok(()) };
        let mut rhs = vec![0.0; r.len()];
        list.iter().filter(|v| direct.inside[**v as usize]).for_each(|&v| rhs[v as usize] = r[v as usize]);
        let solution = direct.operator.solve(&vec![0.0; r.len()], &rhs, 0.0)?;
        list.iter().for_each(|&v| z[v as usize] = solution.values[v as usize]);
        Ok(())
    }
}

fn relax(a: &Stiffness, v: usize, f: &[f64], x: &mut [f64]) {
    let (columns, values) = a.row(v);
    let sum = columns.iter().zip(values).fold(f[v], |sum, (&c, value)| sum - value * x[c as usize]);
    x[v] = sum / a.diagonal[v];
}
