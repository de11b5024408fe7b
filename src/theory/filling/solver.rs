//! Conjugate gradients on the wet vertices, preconditioned by a multigrid cycle whose coarser functions live on the wet region alone.
//!
//! A coarser function is kept only where its whole support is free, so that the coarser spaces lie in the finer ones and the matrices of the
//! levels serve as they are (Kornhuber & Yserentant 1994, Numer. Math. 67, 431, recalled). Vertices that no coarser function reaches, a rim
//! along the front, are swept over once more on each side of the coarser level.

use super::Work;
use crate::base::error::NoConvergence;
use crate::base::{Error, Result};
use crate::numerics::fem::{Conditions, Direct, Stiffness};
use crate::numerics::mesh::Mesh;
use std::sync::Arc;

/// Most iterations with the cycle before the diagonal alone is tried.
const MOST_CYCLES: usize = 150;
/// Most iterations with the diagonal alone, over the square root of the number of unknowns.
const MOST_PLAIN: f64 = 40.0;

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
    /// Free vertices of a level that no function of the coarser one reaches.
    rim: Vec<Vec<u32>>,
    /// The coarsest level with its free vertices.
    factor: Option<(Vec<bool>, Direct)>,
    pub work: Work,
}

/// A system `Σ_j A_ij x_j = rhs_i` for the free vertices of a level; the others keep their x.
pub(super) struct System<'a> {
    pub x: &'a mut [f64],
    pub rhs: &'a [f64],
    /// It is solved when no |residual| exceeds this times the volume of its vertex.
    pub tolerance: f64,
}

/// Arrays of a cycle on one level.
struct Arrays {
    residual: Vec<f64>,
    /// Zero where vertices are not free.
    update: Vec<f64>,
    /// What the update leaves of the residual.
    left: Vec<f64>,
}

impl Solver {
    pub fn new(mesh: &Arc<Mesh>, levels: &Arc<Vec<Stiffness>>) -> Self {
        let sizes = || levels.iter().map(Stiffness::vertices);
        Solver {
            mesh: mesh.clone(),
            levels: levels.clone(),
            struck: None,
            parted: None,
            dead: Vec::new(),
            free: sizes().map(|n| vec![false; n]).collect(),
            list: sizes().map(|_| Vec::new()).collect(),
            rim: sizes().map(|_| Vec::new()).collect(),
            factor: None,
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
            let Some(coarse) = below.checked_sub(1).map(|coarser| &self.free[coarser]) else { continue };
            let first = coarse.len() - self.levels[0].vertices();
            let reached = |v: usize| match v.checked_sub(coarse.len()) {
                None => coarse[v],
                Some(k) => self.mesh.parents[first + k].iter().any(|&v| coarse[v as usize]),
            };
            self.rim[below] = self.list[below].iter().copied().filter(|&v| !reached(v as usize)).collect();
        }
        self.factorise()
    }

    fn factorise(&mut self) -> Result<()> {
        let free = &self.free[0];
        // a level that is the only one may have another matrix at every step
        if self.levels.len() > 1 && self.factor.as_ref().is_some_and(|(inside, _)| inside == free) {
            return Ok(());
        }
        let mut conditions = Conditions::free(free.len());
        (0..free.len()).filter(|&v| !free[v]).for_each(|v| conditions.fix(v as u32));
        self.factor = Some((free.clone(), Direct::new(self.matrix(0), &conditions)?));
        self.work.factorisations += 1;
        Ok(())
    }

    /// Solves a system of a level.
    pub fn solve(&mut self, level: usize, volumes: &[f64], system: System) -> Result<()> {
        let cycles = self.solved(level, volumes, system)?;
        self.count(level, cycles);
        Ok(())
    }

    /// Solves two systems of a level side by side.
    pub fn solve_both(&mut self, level: usize, volumes: &[f64], [first, second]: [System; 2]) -> Result<()> {
        let this = &*self;
        let (first, second) =
            rayon::join(|| this.solved(level, volumes, first), || this.solved(level, volumes, second));
        self.count(level, first?);
        self.count(level, second?);
        Ok(())
    }

    fn count(&mut self, level: usize, cycles: usize) {
        if level + 1 == self.levels.len() && !self.list[level].is_empty() {
            self.work.solves += 1;
            self.work.cycles += cycles;
        }
    }

    /// The cycles it took.
    fn solved(&self, level: usize, volumes: &[f64], system: System) -> Result<usize> {
        if self.list[level].is_empty() {
            return Ok(0);
        }
        let System { x, rhs, tolerance } = system;
        let before = x.to_vec();
        let cycles = self.conjugate(level, System { x, rhs, tolerance }, volumes, true)?;
        if cycles.is_err() {
            x.copy_from_slice(&before);
            if let Err(left) = self.conjugate(level, System { x, rhs, tolerance }, volumes, false)? {
                return Err(Error::NoConvergence(left));
            }
        }
        Ok(cycles.unwrap_or_else(|left| left.iterations))
    }

    /// Conjugate gradients, with the cycle or with the diagonal alone; the iterations they took.
    fn conjugate(
        &self,
        level: usize,
        System { x, rhs, tolerance }: System,
        volumes: &[f64],
        cycle: bool,
    ) -> Result<std::result::Result<usize, NoConvergence>> {
        let (a, list) = (self.matrix(level), &self.list[level]);
        let array = |n: usize| vec![0.0; n];
        let sizes = self.levels[..=level].iter().map(Stiffness::vertices);
        let mut arrays: Vec<Arrays> =
            sizes.map(|n| Arrays { residual: array(n), update: array(n), left: array(n) }).collect();
        let (mut p, mut q) = (array(x.len()), array(x.len()));
        let mut worst: f64 = 0.0;
        for &v in list {
            let v = v as usize;
            let r = rhs[v] - a.row_times(v, x);
            arrays[level].residual[v] = r;
            worst = worst.max((r / volumes[v]).abs());
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
                self.cycle(level, &mut arrays, true);
            } else {
                self.scale(level, &mut arrays[level]);
            }
            let Arrays { residual: r, update: z, left } = &mut arrays[level];
            let next: f64 = list.iter().map(|&v| r[v as usize] * z[v as usize]).sum();
            let beta = if iteration == 0 { 0.0 } else { next / rho };
            rho = next;
            let mut energy = 0.0;
            for &v in list {
                let v = v as usize;
                p[v] = z[v] + beta * p[v];
                // A z is what the update takes off the residual
                q[v] = r[v] - left[v] + beta * q[v];
                energy += q[v] * p[v];
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

    /// The update by the diagonal alone.
    fn scale(&self, level: usize, Arrays { residual, update, left }: &mut Arrays) {
        let (a, list) = (self.matrix(level), &self.list[level]);
        list.iter().for_each(|&v| update[v as usize] = residual[v as usize] / a.diagonal[v as usize]);
        list.iter().for_each(|&v| left[v as usize] = residual[v as usize] - a.row_times(v as usize, update));
    }

    /// The update of one symmetric cycle, and, where it is wanted, what it leaves.
    ///
    /// A sweep of Gauss and Seidel solves the row of each vertex in turn: every change takes its share off the rows solved before it, by symmetry
    /// with the entries at hand, so that the residual comes with the sweep.
    fn cycle(&self, level: usize, arrays: &mut [Arrays], wants_left: bool) {
        let (a, list) = (self.matrix(level), &self.list[level]);
        let (below, here) = arrays.split_at_mut(level);
        let Arrays { residual, update, left } = &mut here[0];
        let Some(coarse) = below.last_mut() else {
            self.factor.iter().for_each(|(_, direct)| direct.solve(residual, update));
            list.iter().for_each(|&v| left[v as usize] = residual[v as usize] - a.row_times(v as usize, update));
            return;
        };
        list.iter().for_each(|&v| update[v as usize] = 0.0);
        for &v in list {
            let (columns, values) = a.row(v as usize);
            let before = columns.partition_point(|&c| c < v);
            let pairs = || columns[..before].iter().zip(&values[..before]);
            let sum = pairs().fold(residual[v as usize], |sum, (&c, a)| sum - a * update[c as usize]);
            let new = sum / a.diagonal[v as usize];
            (update[v as usize], left[v as usize]) = (new, 0.0);
            pairs().for_each(|(&c, a)| left[c as usize] -= a * new);
        }
        for &v in &self.rim[level] {
            let (columns, values) = a.row(v as usize);
            let change = left[v as usize] / a.diagonal[v as usize];
            update[v as usize] += change;
            left[v as usize] = 0.0;
            columns.iter().zip(values).for_each(|(&c, a)| left[c as usize] -= a * change);
        }
        let count = coarse.update.len();
        let split = list.partition_point(|&v| (v as usize) < count);
        let first = count - self.levels[0].vertices();
        let parents = |v: u32| self.mesh.parents[first + v as usize - count];
        // what is dead here is free there, and has no residual
        let free = &self.free[level];
        for &v in &self.list[level - 1] {
            coarse.residual[v as usize] = if free[v as usize] { left[v as usize] } else { 0.0 };
        }
        for &v in &list[split..] {
            parents(v).iter().for_each(|&c| coarse.residual[c as usize] += 0.5 * left[v as usize]);
        }
        self.cycle(level - 1, below, false);
        let Some(coarse) = below.last() else { return };
        list[..split].iter().for_each(|&v| update[v as usize] += coarse.update[v as usize]);
        for &v in &list[split..] {
            let [c, d] = parents(v).map(|c| coarse.update[c as usize]);
            update[v as usize] += 0.5 * (c + d);
        }
        for &v in self.rim[level].iter().rev() {
            let (columns, values) = a.row(v as usize);
            let pairs = columns.iter().zip(values);
            let sum = pairs.fold(residual[v as usize], |sum, (&c, a)| sum - a * update[c as usize]);
            update[v as usize] = sum / a.diagonal[v as usize];
        }
        for &v in list.iter().rev() {
            let (columns, values) = a.row(v as usize);
            let pairs = columns.iter().zip(values);
            let sum = pairs.fold(residual[v as usize], |sum, (&c, a)| sum - a * update[c as usize]);
            let new = sum / a.diagonal[v as usize];
            let change = new - update[v as usize];
            update[v as usize] = new;
            if wants_left {
                let after = columns.partition_point(|&c| c < v);
                left[v as usize] = 0.0;
                let pairs = columns[after..].iter().zip(&values[after..]);
                pairs.for_each(|(&c, a)| left[c as usize] -= a * change);
            }
        }
    }
}
