//! The excess flux that inertia drives along solid edges.
//!
//! Slow fluid within about a gap of an edge feels the outer pressure gradient with less inertia of its own and carries an
//! excess flux `Q1 = C1 (ρ b³/μ) V_s dV_s/ds` per unit gap along the edge. The outer flow sees its divergence. With
//! `b Q1 = (C1 ρ/(2 μ)) b^(8/3) d(b^(4/3) V_s²)/ds` the loads on q1 are `∫ b Q1 dt/ds ds`.
//!
//! Near a corner V_s ~ s^(π/ω - 1); for fluid angles ω above 4 π/3 the loads diverge under refinement. They are
//! switched off within one band length of such corners and come back smoothly over the next.

use crate::input::case::Fluid;
use crate::numerics::fem::{SolidEdge, Space};
use crate::theory::edge_layer::{Band, sharp_bands, weight};

/// Constant of the straight edge, from the cross-section problem of unit gap: C1 is the integral over n of the gap mean of χ, with
/// lap φ = -12, lap(v, w) = grad P, v_n + w_z = -φ, lap χ = -54/35 + φ² + v phi_n + w phi_z.
pub const EDGE_COEFFICIENT: f64 = 0.052_080_15;

/// Fluid angle from which on the loads diverge, rad; less what rounding makes of it.
pub const DIVERGENT: f64 = 4.0 / 3.0 * std::f64::consts::PI - 1e-9;

/// Length of a band, in local gaps.
pub(super) const BAND: f64 = 1.0;

/// Bands tried in place of that one, in local gaps.
pub(super) const TRIED: [f64; 2] = [0.5, 2.0];

/// Corners too sharp for the edge inertia term, each with a band of `gaps` local gaps.
pub fn bands(space: &Space, gaps: f64) -> Vec<Band> {
    sharp_bands(space, gaps, DIVERGENT)
}

/// Loads of the edge term on q1, one per vertex; they sum to zero. `speed` is |V| at the vertices, m/s.
pub fn edge_loads(space: &Space, speed: &[f64], fluid: &Fluid, bands: &[Band]) -> Vec<f64> {
    let flux = |edge: SolidEdge| (edge, weight(bands, edge.middle) * carried_flux(space, speed, fluid, &edge));
    space.flux_loads(space.holding_edges().map(flux))
}

/// b Q1 along an edge, m3/s.
pub(super) fn carried_flux(space: &Space, speed: &[f64], fluid: &Fluid, edge: &SolidEdge) -> f64 {
    let [from, to] = edge.vertices.map(|v| space.gap[v].powf(4.0 / 3.0) * speed[v] * speed[v]);
    0.5 * EDGE_COEFFICIENT * fluid.density / fluid.viscosity * edge.gap.powf(8.0 / 3.0) * (to - from) / edge.length
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Plan, Side};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::f64::consts::PI;
    use std::sync::Arc;

    /// A regular polygon of so many sides in a square of 1 m; the gap is 2 % of x + 1.
    fn regular(sides: usize) -> Space {
        let corner = |k: usize| {
            let (sin, cos) = (2.0 * PI * k as f64 / sides as f64 + 0.1).sin_cos();
            [0.5 + 0.2 * cos, 0.5 + 0.2 * sin]
        };
        let outer = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let hole: Vec<[f64; 2]> = (0..sides).map(corner).collect();
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &outer, &[hole]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.1, 0.3, vec![]), 10_000).unwrap();
        let gap = Gap::Linear { at: 0.03, slope: [0.02, 0.0], middle: [0.5; 2] };
        Space::new(Arc::new(mesh), &gap, 0.03)
    }

    /// Fluid angles of 300, 270, 252, 240 and 234 degrees round polygons of 3 to 7 sides: from 240 degrees on the loads diverge. The
    /// bands are so many gaps of their own corner.
    #[test]
    fn the_term_is_switched_off_from_240_degrees_on() {
        for (sides, off) in [(3, 3), (4, 4), (5, 5), (6, 6), (7, 0)] {
            let space = regular(sides);
            let bands = bands(&space, 0.5);
            assert_eq!(bands.len(), off, "{sides}");
            for band in bands {
                assert!((band.fluid_angle - PI * (1.0 + 2.0 / sides as f64)).abs() < 1e-9);
                assert!((band.length - 0.5 * (0.03 + 0.02 * (band.at[0] - 0.5))).abs() < 1e-15);
            }
        }
    }

    /// The loads of an edge are b Q1 off its first vertex and onto its second: all together nothing, and nothing within the bands.
    #[test]
    fn loads_balance_and_vanish_in_the_bands() {
        let space = regular(4);
        let kind = crate::input::case::FluidKind::Stated;
        let fluid = Fluid { name: String::new(), density: 900.0, viscosity: 3e-3, kind };
        let speed: Vec<f64> = space.mesh.points.iter().map(|p| 0.1 + p[0] * p[1]).collect();
        let loads = edge_loads(&space, &speed, &fluid, &[]);
        let size = loads.iter().fold(0.0, |a: f64, x| a.max(x.abs()));
        assert!(size > 0.0 && loads.iter().sum::<f64>().abs() < 1e-12 * size);
        let everywhere = [Band { at: [0.5; 2], fluid_angle: 5.0, length: 2.0 }];
        assert!(edge_loads(&space, &speed, &fluid, &everywhere).iter().all(|&load| load == 0.0));
    }
}
