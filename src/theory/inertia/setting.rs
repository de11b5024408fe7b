//! What every order of inertia is solved on.

use crate::base::Result;
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Model, Operator, Space};

/// What every order is solved on: elements, the pressure operator of the ideal pattern, ends and fluid.
#[derive(Clone, Copy)]
pub struct Setting<'a> {
    /// The elements.
    pub space: &'a Space,
    /// The operator.
    pub operator: &'a Operator,
    /// The ends.
    pub ends: Ends,
    /// The fluid.
    pub fluid: &'a Fluid,
}

impl Setting<'_> {
    /// The potential, Pa, of loads in m3/s with its values on held ends.
    pub(super) fn solve(&self, start: &[f64], mut loads: Vec<f64>) -> Result<Vec<f64>> {
        let conductivity = self.space.reference_gap.powi(3) / (12.0 * self.fluid.viscosity);
        loads.iter_mut().for_each(|load| *load /= conductivity);
        let scale = operator_scale(start, &loads, self.ends);
        Ok(self.operator.solve(start, &loads, 1e-12 * scale * scale)?.values)
    }

    /// −(b²/12 μ) grad q, m/s, of a potential that is not harmonic.
    pub(super) fn velocity(&self, potential: &[f64]) -> Vec<[f64; 2]> {
        let [slope] = self.space.recovery().gradients(Model::Any, [potential]);
        let mobility = |v: usize| -self.space.gap[v].powi(2) / (12.0 * self.fluid.viscosity);
        slope.into_iter().enumerate().map(|(v, slope)| slope.map(|x| mobility(v) * x)).collect()
    }
}

/// Size of the solution's energy norm, for the stopping tolerance.
fn operator_scale(start: &[f64], loads: &[f64], ends: Ends) -> f64 {
    let load = loads.iter().fold(0.0, |a: f64, &b| a.max(b.abs()));
    match ends {
        Ends::HeldPressure => load.max(start.iter().sum::<f64>() / start.len() as f64),
        Ends::GivenInflow => load,
    }
}
