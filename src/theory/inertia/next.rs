//! The next term of the edge layer's inertia, of order Re* (b/L)².
//!
//! With `U = V_s` of the ideal pattern along the edge, `U1` that of the edge-layer correction, `κ > 0` the curvature of a convex solid
//! and `' = d/ds`, the flux per unit gap that the edge layer carries is
//!
//! `Q1 = C1 (b³/ν) [U U' + (U1 U)'] + A2 (b⁴/ν) [3 κ U U' + κ' U²]/(1 + w |κ| b)`,
//!
//! and what it drives is displaced by the edge layer once more, as the ideal pattern is. The leading term is in [`super::edge`]; this
//! part takes the others.
//!
//! A2 is derived: the next order in b of slow flow along a curved edge, by strip problems of the cross-section (`validation/next_edge_term`).
//! The factor 3 is exact: inertia does no work on a flow at rest on solids. Three-dimensional solutions past a round post and nearly round
//! ones ask for the same two numbers as b/a tends to 0, to 2e-5 and 1e-4. Only the weakening w on strongly curved edges, which stands for
//! terms of order (b/L)² that are not of this form, is a FIT: round posts of b/a from 0.05 to 0.2 ask for 1.06 to 0.85, elliptic ones of 2:1 for
//! 0.7 to 1.1. With it the first coefficient of Re* in the gap mean is within 2 % of three-dimensional solutions past round posts, 3, 6 and
//! 4 % across, at 30 degrees and along elliptic ones, b/a = 0.15 (32, 23, 2 % without it), 8 to 19 % at 0.3 (`validation/three_dimensions`).
//! Nothing was tried on concave edges, at corners (the term is switched off where the leading one is) or in channels. κ is what the edge
//! turns within half a gap before and behind, over the length.

use super::bend::bends;
use super::edge::EDGE_COEFFICIENT;
use crate::base::plane::dot;
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Model, SolidEdge, Space};
use crate::theory::edge_layer::{Band, displacement_loads, weight};

/// A2, of κ' U², and a third of what κ U U' has.
pub const CURVATURE_COEFFICIENT: f64 = -0.036_300_664_6;
/// Fitted: how the terms of the curvature weaken where it is of the order of the gap.
pub const WEAKENING: f64 = 0.9;

/// `∇(V0·V_e)`, m/s2: what the change V_e by the edge layer makes of N = ∇(|V|²/2) far from edges, to the order of the loads. Three-dimensional
/// solutions past a post show it in the layers: without it the change near the plates is off by 26 %, with it by 2, b/a = 0.2.
pub(super) fn acceleration(
    space: &Space,
    velocity: &[[f64; 2]],
    edge_change: &[[f64; 2]],
    bands: &[Band],
) -> Vec<[f64; 2]> {
    let product: Vec<f64> = velocity.iter().zip(edge_change).map(|(&v, &e)| dot(v, e)).collect();
    let [slope] = space.recovery().gradients(Model::Any, [&product]);
    slope.into_iter().zip(&space.mesh.points).map(|(n, &p)| n.map(|x| weight(bands, p) * x)).collect()
}

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
    let edges: Vec<SolidEdge> = space.holding_edges().collect();
    let bends = bends(&edges, &space.mesh.points);
    let mut loads = space.flux_loads(edges.into_iter().zip(bends).map(|(edge, bend)| {
        let SolidEdge { vertices: [i, j], middle, length, gap: b, .. } = edge;
        let square = |v: usize| dot(velocity[v], velocity[v]);
        let mixed = |v: usize| dot(velocity[v], edge_change[v]);
        let (bent, bending) = (0.5 * (bend[0] + bend[1]), (bend[1] - bend[0]) / length);
        let of_curvature = 1.5 * bent * (square(j) - square(i)) / length + 0.5 * bending * (square(i) + square(j));
        let flux = EDGE_COEFFICIENT * b.powi(3) * (mixed(j) - mixed(i)) / length
            + b.powi(4) * CURVATURE_COEFFICIENT * of_curvature / (1.0 + WEAKENING * bent.abs() * b);
        (edge, b * flux * fluid.density / fluid.viscosity * weight(bands, middle))
    }));
    let displaced = displacement_loads(space, ends, potential, fluid.viscosity, bands);
    loads.iter_mut().zip(displaced).for_each(|(load, more)| *load += more);
    loads
}
