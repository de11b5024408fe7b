//! The excess flux that inertia drives along solid edges.
//!
//! Slow fluid within about a gap of an edge feels the outer pressure gradient with less inertia of its own and carries an
//! excess flux `Q1 = C1 (rho b^3/mu) V_s dV_s/ds` per unit gap along the edge. The outer flow sees its divergence. With
//! `b Q1 = (C1 rho/(2 mu)) b^(8/3) d(b^(4/3) V_s^2)/ds` the loads on q1 are `int b Q1 dt/ds ds`.
//!
//! Near a corner V_s ~ s^(pi/omega - 1); for fluid angles omega above 4 pi/3 the loads diverge under refinement. They are
//! switched off within one band length of such corners and come back smoothly over the next.

use crate::input::case::Fluid;
use crate::numerics::fem::{SolidEdge, Space};
use crate::theory::edge_layer::{Band, sharp_bands, weight};

/// Constant of the straight edge, from the cross-section problem of unit gap: C1 is the integral over n of the gap mean of chi, with
/// lap phi = -12, lap(v, w) = grad P, v_n + w_z = -phi, lap chi = -54/35 + phi^2 + v phi_n + w phi_z.
pub const EDGE_COEFFICIENT: f64 = 0.052_080_15;

/// Fluid angle from which on the loads diverge, rad; less what rounding makes of it.
pub const DIVERGENT: f64 = 4.0 / 3.0 * std::f64::consts::PI - 1e-9;

/// Corners too sharp for the edge inertia term, each with a band of `gaps` local gaps.
pub fn bands(space: &Space, gaps: f64) -> Vec<Band> {
    sharp_bands(space, gaps, DIVERGENT)
}

/// Loads of the edge term on q1, one per vertex; they sum to zero. `speed` is |V| at the vertices, m/s.
pub fn edge_loads(space: &Space, speed: &[f64], fluid: &Fluid, bands: &[Band]) -> Vec<f64> {
    let mut loads = vec![0.0; space.mesh.points.len()];
    let carried = |v: usize| space.gap[v].powf(4.0 / 3.0) * speed[v] * speed[v];
    for SolidEdge { vertices: [i, j], middle, length, gap: b } in space.solid_edges() {
        let flux =
            0.5 * EDGE_COEFFICIENT * fluid.density / fluid.viscosity * b.powf(8.0 / 3.0) * (carried(j) - carried(i))
                / length;
        let flux = flux * weight(bands, middle);
        loads[j] += flux;
        loads[i] -= flux;
    }
    loads
}
