//! The next term of the edge layer's inertia, of order Re* (b/L)².
//!
//! With `U = V_s` of the ideal pattern along the edge, `U1` that of the edge-layer correction, `κ > 0` the curvature of a convex solid
//! and `' = d/ds`, the flux per unit gap that the edge layer carries is
//!
//! `Q1 = C1 (b³/ν) [U U' + (U1 U)'] + (b⁴/ν) [A1 κ U U' + A2 κ' U²]/(1 + 0.734 |κ| b)`,
//!
//! and what it drives is displaced by the edge layer once more, as the ideal pattern is. The leading term is in [`super::edge`]; this
//! part takes the others.
//!
//! A1, A2 and 0.734 are a FIT to three-dimensional solutions of Navier-Stokes past a round post and past elliptic ones of 2:1 along and
//! across the stream, b/a from 0.05 to 0.2: with them the first coefficient of Re* is met within 1 to 2 per cent, and within 4 at 30
//! degrees, which was not fitted; without, it is off by up to 39. Nothing was fitted on concave edges, at corners (the term is switched
//! off where the leading one is) or in channels. κ is what the edge turns within a gap, over the length.

use super::bend::bends;
use super::edge::EDGE_COEFFICIENT;
use crate::base::plane::dot;
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{SolidEdge, Space};
use crate::theory::edge_layer::{Band, displacement_loads, weight};

/// Fitted: of κ U U', of κ' U², and how they weaken on strongly curved edges.
pub const CURVATURE_FIT: [f64; 3] = [-0.1062, -0.0306, 0.734];

/// Loads on q1, one per vertex. `velocity` is the ideal one, `edge_change` what the edge layer changes of it, m/s; `potential` is the
/// leading q1, Pa.
pub(super) fn loads(
    space: &Space,
    ends: Ends,
    fluid: &Fluid,
    velocity: &[[f64; 2]],
    edge_change: &[[f64; 2]],
    potential: &[f64],
    bands: &[Band],
) -> Vec<f64> {
    let mut loads = displacement_loads(space, ends, potential, fluid.viscosity, bands);
    let [first, second, weakening] = CURVATURE_FIT;
    let edges: Vec<SolidEdge> = space.solid_edges().collect();
    let bends = bends(&edges, &space.mesh.points);
    for (SolidEdge { vertices: [i, j], middle, length, gap: b }, bend) in edges.into_iter().zip(bends) {
        let square = |v: usize| dot(velocity[v], velocity[v]);
        let mixed = |v: usize| dot(velocity[v], edge_change[v]);
        let (bent, bending) = (0.5 * (bend[0] + bend[1]), (bend[1] - bend[0]) / length);
        let of_curvature =
            first * bent * 0.5 * (square(j) - square(i)) / length + second * bending * 0.5 * (square(i) + square(j));
        let flux = EDGE_COEFFICIENT * b.powi(3) * (mixed(j) - mixed(i)) / length
            + b.powi(4) * of_curvature / (1.0 + weakening * bent.abs() * b);
        let flux = b * flux * fluid.density / fluid.viscosity * weight(bands, middle);
        loads[j] += flux;
        loads[i] -= flux;
    }
    loads
}
