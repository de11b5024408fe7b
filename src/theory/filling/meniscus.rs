//! The pressure of a front between plates that the fluid wets or not, on a cell that may be tilted.

use crate::base::Point;
use crate::base::plane::{Vector, dot, length};
use crate::base::units::GRAVITY;
use crate::numerics::fem::Space;

/// What sets the pressure at the front: `p_front = p_air − 2 γ cos(θ)/b`, reduced by the weight of the fluid, `− ρ g·x` (Young and Laplace).
/// The curvature in the plane is left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meniscus {
    /// Surface tension γ, N/m.
    pub tension: f64,
    /// Advancing contact angle θ, rad.
    pub angle: f64,
    /// Density of the fluid ρ, kg/m3.
    pub density: f64,
    /// The part of gravity along the cell over g: (sin α, 0) where the cell falls by the angle α along x, negative where it rises.
    pub slope: Vector,
}

impl Meniscus {
    /// Reduced pressure on the liquid side of the front at every vertex, Pa.
    pub fn front(&self, space: &Space) -> Vec<f64> {
        let capillary = |b: f64| 2.0 * self.tension * self.angle.cos() / b;
        space.mesh.points.iter().zip(&space.gap).map(|(&p, &b)| self.air_at(p) - capillary(b)).collect()
    }

    /// Reduced pressure of the air at every vertex, Pa: what the outlet has once the liquid is there.
    pub fn vent(&self, space: &Space) -> Vec<f64> {
        space.mesh.points.iter().map(|&p| self.air_at(p)).collect()
    }

    /// Speed at which the fluid runs down the cell by its weight alone, m/s: `ρ g sin(α) b²/(12 μ)`. A front that follows the slope at less than
    /// that is unstable and runs ahead in fingers (Saffman & Taylor 1958, Proc. R. Soc. A 245, 312).
    pub fn draining_speed(&self, gap: f64, viscosity: f64) -> f64 {
        self.density * GRAVITY * length(self.slope) * gap * gap / (12.0 * viscosity)
    }

    /// Whether a front that moves in a direction at a speed, m/s, is stable against its weight.
    pub fn is_stable(&self, gap: f64, viscosity: f64, velocity: Vector) -> bool {
        let speed = length(velocity);
        let along = self.density * GRAVITY * gap * gap / (12.0 * viscosity) * dot(self.slope, velocity) / speed;
        speed > 0.0 && speed > along
    }

    fn air_at(&self, p: Point) -> f64 {
        -self.density * GRAVITY * dot(self.slope, p)
    }
}
