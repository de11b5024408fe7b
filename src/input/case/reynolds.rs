//! The three Reynolds numbers of a cell.

use super::Fluid;

/// The three Reynolds numbers of a flow between two close plates, which measure different things.
///
/// Only the reduced one measures inertia in the gap: a cell at obstacle Reynolds number 10 with b/L = 1/40 has Re* = 0.006.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reynolds {
    /// Obstacle Reynolds number Re_L = U L/ν.
    pub obstacle: f64,
    /// Gap Reynolds number Re_b = U b/ν.
    pub gap: f64,
    /// Reduced Reynolds number Re* = Re_b b/L = Re_L (b/L)².
    pub reduced: f64,
    /// The length L they use, m.
    pub reference_length: f64,
}

impl Reynolds {
    /// From the mean speed U in m/s, the reference length L and the gap b in m, and the fluid's ν = μ/ρ.
    ///
    /// ```
    /// use twinplate::input::case::{Fluid, FluidKind, Reynolds};
    /// let water = Fluid { name: "water".into(), density: 1000.0, viscosity: 1e-3, kind: FluidKind::Stated };
    /// let re = Reynolds::new(0.25e-3, 40e-3, 1e-3, &water);
    /// assert!((re.obstacle - 10.0).abs() < 1e-12);
    /// assert!((re.gap - 0.25).abs() < 1e-12);
    /// assert!((re.reduced - 0.00625).abs() < 1e-12);
    /// ```
    pub fn new(speed: f64, length: f64, gap: f64, fluid: &Fluid) -> Self {
        let nu = fluid.kinematic_viscosity();
        let (u, l, b) = (speed, length, gap);
        Reynolds { obstacle: u * l / nu, gap: u * b / nu, reduced: u * b * b / (nu * l), reference_length: l }
    }
}
