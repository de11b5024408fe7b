//! What replacing curved outlines by chords can add to the bracket.
//!
//! Moving an edge into the fluid by dn changes the conductance by `dC = -∫ K |∇p|² dn ds / dp²` to first order. Over one
//! chord, `∫ dn ds` is the area between chord and curve. The allowance sums the absolute values, each with the larger of
//! the gradients at its ends, so that no cancellation is counted on.

use crate::geometry::Curve;
use crate::numerics::fem::Space;

/// Bound, to first order, of the change of the shape factor when chords replace curves. `gradient` is |grad p| at the vertices
/// for unit pressure drop, 1/m.
pub(super) fn outline_allowance(space: &Space, gradient: impl Fn(usize) -> f64) -> f64 {
    let edges = space.mesh.boundary.iter().filter(|edge| space.mesh.plan.solid(space.mesh.side(edge)).is_some());
    edges
        .map(|edge| {
            let curve = &space.mesh.plan.pieces[edge.piece as usize].curve;
            let sliver = sliver_area(curve, edge.parameters).abs();
            let at = |v: u32| {
                let k = (space.gap[v as usize] / space.reference_gap).powi(3);
                k * gradient(v as usize).powi(2)
            };
            at(edge.vertices[0]).max(at(edge.vertices[1])) * sliver
        })
        .sum()
}

/// Signed area between a curve and its chord, by four Gauss points on `half the integral of (x − a) x dx`.
fn sliver_area(curve: &Curve, [from, to]: [f64; 2]) -> f64 {
    if matches!(curve, Curve::Line { .. }) {
        return 0.0;
    }
    const NODES: [(f64, f64); 4] = [
        (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
        (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
        (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
        (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
    ];
    let a = curve.point(from);
    NODES
        .iter()
        .map(|(s, weight)| {
            let t = from + s * (to - from);
            let (x, d) = (curve.point(t), curve.derivative(t));
            0.5 * weight * (to - from) * ((x[0] - a[0]) * d[1] - (x[1] - a[1]) * d[0])
        })
        .sum()
}
