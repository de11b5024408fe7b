//! What every order of inertia is solved on.

use crate::base::Result;
use crate::base::plane::dot;
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Model, Operator, Space, gradient};
use rayon::prelude::*;

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

    /// −(b²/12 μ) (grad q + f), m/s, of a potential q of that model and a further force f, Pa/m, at the vertices; empty where there is none.
    pub(super) fn velocity(&self, potential: &[f64], model: Model, force: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let [slope] = self.space.recovery().gradients(model, [potential]);
        (0..slope.len())
            .into_par_iter()
            .map(|v| {
                let mobility = self.space.gap[v].powi(2) / (12.0 * self.fluid.viscosity);
                let f = force.get(v).copied().unwrap_or([0.0; 2]);
                std::array::from_fn(|k| -mobility * (slope[v][k] + f[k]))
            })
            .collect()
    }

    /// `∫ w·∇t`, one per vertex, of a field at the vertices.
    pub(super) fn loads(&self, w: impl Fn(usize) -> [f64; 2]) -> Vec<f64> {
        let space = self.space;
        let mut loads = vec![0.0; space.mesh.points.len()];
        for (t, corners) in space.mesh.triangles.iter().enumerate() {
            let at = corners.map(|v| w(v as usize));
            let mean = [0, 1].map(|k| (at[0][k] + at[1][k] + at[2][k]) / 3.0);
            for i in 0..3 {
                let slope = gradient(space.corners(t), std::array::from_fn(|k| if k == i { 1.0 } else { 0.0 }));
                loads[corners[i] as usize] += space.area(t) * dot(mean, slope);
            }
        }
        loads
    }
}

/// Size of the solution's energy norm, for the stopping tolerance.
fn operator_scale(start: &[f64], loads: &[f64], ends: Ends) -> f64 {
    let load = loads.iter().fold(0.0, |a: f64, &b| a.max(b.abs()));
    match ends {
        Ends::HeldPressure => load.max(start.iter().map(|q| q.abs()).sum::<f64>() / start.len() as f64),
        Ends::GivenInflow => load,
    }
}
