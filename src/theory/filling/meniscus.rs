//! The pressure of a front between plates that the fluid wets or not, on a cell that may be tilted.

use crate::base::Point;
use crate::base::plane::{Vector, dot, length};
use crate::base::units::GRAVITY;
use crate::numerics::fem::Space;
use crate::theory::wetting::capillary_pressure;

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
        let capillary = |b: f64| capillary_pressure(self.tension, self.angle, b);
        space.mesh.points.iter().zip(&space.gap).map(|(&p, &b)| self.air_at(p) - capillary(b)).collect()
    }

    /// Reduced pressure of the air at every vertex, Pa: what the outlet has once the liquid is there.
    pub fn vent(&self, space: &Space) -> Vec<f64> {
        space.mesh.points.iter().map(|&p| self.air_at(p)).collect()
    }

    /// Speed at which the fluid runs by its weight alone along a direction, m/s: `ρ g b²/(12 μ)` times the part of the slope along it.
    pub fn running_speed(&self, gap: f64, viscosity: f64, direction: Vector) -> f64 {
        self.density * GRAVITY * gap * gap / (12.0 * viscosity) * dot(self.slope, direction) / length(direction)
    }

    /// Whether a front that moves at a velocity, m/s, is stable against its weight: one slower than the fluid runs along the slope runs ahead in
    /// fingers (Saffman & Taylor 1958, Proc. R. Soc. A 245, 312).
    pub fn is_stable(&self, gap: f64, viscosity: f64, velocity: Vector) -> bool {
        let speed = length(velocity);
        speed > 0.0 && speed > self.running_speed(gap, viscosity, velocity)
    }

    fn air_at(&self, p: Point) -> f64 {
        -self.density * GRAVITY * dot(self.slope, p)
    }
}
