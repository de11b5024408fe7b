//! The ideal potential of the cell that fills, for the moment identity and for the impulse that fills it.

use super::cell::Cell;
use super::march::State;
use super::solver::{Solver, System};
use crate::base::Result;

/// The ideal potential of the same cell: 0 at the source, 1 at the outlet; its flow at unit drop.
pub(super) struct Ideal {
    potential: Vec<f64>,
    shape: f64,
}

impl Ideal {
    pub fn new(cell: &Cell, solver: &mut Solver) -> Result<Self> {
        let top = cell.top();
        let held = |v: usize| cell.source[v] || cell.outlet[v];
        solver.set_free(top, |v| !held(v))?;
        let mut potential: Vec<f64> = cell.outlet.iter().map(|&o| f64::from(u8::from(o))).collect();
        let none = vec![0.0; potential.len()];
        let system = System { x: &mut potential, rhs: &none, tolerance: 1e-12 / cell.total() };
        solver.solve(top, cell.finest(), system)?;
        let matrix = solver.matrix(top);
        let rows = (0..potential.len()).filter(|&v| cell.outlet[v]);
        let shape = rows.map(|v| matrix.row_times(v, &potential)).sum();
        Ok(Ideal { potential, shape })
    }

    /// Impulse at which all the liquid that fits would have come in, if none had left, m2.
    pub fn full(&self, cell: &Cell) -> f64 {
        cell.finest().iter().zip(&self.potential).map(|(m, p)| m * p).sum::<f64>() / self.shape
    }

    /// Miss of the moment identity, relative.
    pub fn miss(&self, now: &State) -> f64 {
        let sum: f64 = now.content.iter().zip(&self.potential).map(|(m, p)| m * p).sum();
        (sum + now.outflow - self.shape * now.impulse) / (self.shape * now.impulse)
    }
}
