//! The factor by which the edge layer's inertia weakens along a round edge, in place of its next term.
//!
//! `q = (1 + 1.9 κ b)/(1 + 2.7 κ b)`, FITTED to what three-dimensional solutions show of C1 past a round post, 0.981, 0.964, 0.935, 0.895, 0.850
//! at b/a = 0.025 to 0.4, within 0.004. It takes effects of the whole post for those of its curvature and is wrong by a tenth on other
//! shapes: for lone round posts only, and off unless the case asks for it.

use super::bend::bends;
use super::edge::carried_flux;
use crate::input::case::Fluid;
use crate::numerics::fem::{SolidEdge, Space};
use crate::theory::edge_layer::{Band, weight};

/// q on an edge of curvature κ, 1/m, in a gap, m; on a concave edge that of a straight one.
pub(super) fn factor(curvature: f64, gap: f64) -> f64 {
    let bent = curvature.max(0.0) * gap;
    (1.0 + 1.9 * bent) / (1.0 + 2.7 * bent)
}

/// `q − 1` times the loads of the leading term.
pub(super) fn loads(space: &Space, speed: &[f64], fluid: &Fluid, bands: &[Band]) -> Vec<f64> {
    let edges: Vec<SolidEdge> = space.holding_edges().collect();
    let bends = bends(&edges, &space.mesh.points);
    space.flux_loads(edges.into_iter().zip(bends).map(|(edge, bend)| {
        let q = factor(0.5 * (bend[0] + bend[1]), edge.gap);
        (edge, (q - 1.0) * weight(bands, edge.middle) * carried_flux(space, speed, fluid, &edge))
    }))
}

/// The mean of q² over all that is bent: what the volume term is multiplied by.
pub(super) fn mean_square(edges: &[SolidEdge], bends: &[[f64; 2]]) -> f64 {
    let bent = edges.iter().zip(bends).filter(|(_, bend)| bend[0] + bend[1] > 0.0);
    let (sum, length) = bent.fold((0.0, 0.0), |(sum, length), (edge, bend)| {
        (sum + edge.length * factor(0.5 * (bend[0] + bend[1]), edge.gap).powi(2), length + edge.length)
    });
    if length > 0.0 { sum / length } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What three-dimensional solutions show of C1 past a post of radius a.
    #[test]
    fn the_factor_is_that_of_round_posts() {
        for (ratio, seen) in [(0.025, 0.981), (0.05, 0.964), (0.1, 0.935), (0.2, 0.895), (0.4, 0.850)] {
            assert!((factor(1.0, ratio) - seen).abs() <= 0.004 + 5e-4, "{ratio}: {}", factor(1.0, ratio));
        }
        assert_eq!(factor(-3.0, 0.1), 1.0);
    }
}
