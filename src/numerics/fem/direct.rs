//! The coarsest level by sparse Cholesky factorisation.

use super::{Conditions, Stiffness};
use crate::base::{Error, Result};
use faer::prelude::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, Triplet};
use faer::{Mat, Side};

/// A factorised level.
#[derive(Debug)]
pub struct Direct {
    /// Unknown of each vertex; none where its value is given.
    unknown: Vec<Option<u32>>,
    factor: Option<Llt<u32, f64>>,
    count: usize,
}

impl Direct {
    /// Factorises the level. A floating problem is held at zero in its first unknown.
    pub fn new(a: &Stiffness, conditions: &Conditions) -> Result<Self> {
        let n = a.vertices();
        let groups = conditions.ties(n).count();
        let mut next = groups as u32;
        let mut unknown: Vec<Option<u32>> = (0..n)
            .map(|v| match conditions.group(v) {
                Some(group) => Some(group as u32),
                None if conditions.is_free(v) => {
                    next += 1;
                    Some(next - 1)
                }
                None => None,
            })
            .collect();
        let mut count = next as usize;
        if conditions.floating() && count > 0 {
            unknown.iter_mut().for_each(|u| *u = u.and_then(|k| k.checked_sub(1)));
            count -= 1;
        }
        if count == 0 {
            return Ok(Direct { unknown, factor: None, count });
        }
        let mut entries = Vec::with_capacity(5 * n);
        for v in 0..n {
            let Some(row) = unknown[v] else { continue };
            entries.push(Triplet::new(row, row, a.diagonal[v]));
            let (columns, values) = a.row(v);
            for (&c, &value) in columns.iter().zip(values) {
                if let Some(column) = unknown[c as usize]
                    && column <= row
                {
                    entries.push(Triplet::new(row, column, value));
                }
            }
        }
        let broken = |why: String| {
            Error::failed(
                format!("the coarsest level with {count} unknowns could not be factorised: {why}"),
                "report this case: its mesh may hold a degenerate triangle",
            )
        };
        let matrix = SparseColMat::<u32, f64>::try_new_from_triplets(count, count, &entries)
            .map_err(|e| broken(format!("{e:?}")))?;
        let symbolic = SymbolicLlt::try_new(matrix.symbolic(), Side::Lower).map_err(|e| broken(format!("{e:?}")))?;
        let factor =
            Llt::try_new_with_symbolic(symbolic, matrix.as_ref(), Side::Lower).map_err(|e| broken(format!("{e:?}")))?;
        Ok(Direct { unknown, factor: Some(factor), count })
    }

    /// Solves for the vertex values z from the vertex residuals r; z is zero where values are given.
    pub fn solve(&self, r: &[f64], z: &mut [f64]) {
        let mut rhs = Mat::<f64>::zeros(self.count, 1);
        for (u, r) in self.unknown.iter().zip(r) {
            if let Some(k) = u {
                rhs[(*k as usize, 0)] += r;
            }
        }
        if let Some(factor) = &self.factor {
            factor.solve_in_place(&mut rhs);
        }
        for (u, z) in self.unknown.iter().zip(z) {
            *z = u.map_or(0.0, |k| rhs[(k as usize, 0)]);
        }
    }
}
