//! Tangents at the ends of pieces and the angles between them.

use crate::base::plane::{Vector, left, length, turn, unit, way};
use crate::geometry::{Corner, Piece, Plan};
use std::f64::consts::PI;

/// The junctions of the pieces of every loop.
pub(super) fn corners(plan: &Plan) -> Vec<Corner> {
    let mut list = vec![];
    for range in &plan.loops {
        for after in range.clone() {
            let before = if after == range.start { range.end - 1 } else { after - 1 };
            let (Some(first), Some(second)) = (plan.pieces.get(before), plan.pieces.get(after)) else { continue };
            let turn = turn(tangent(first, first.to), tangent(second, second.from));
            // A full reversal is a knife edge of the solid: a fluid angle of zero cannot be meshed.
            let fluid_angle = if turn.abs() > PI - 1e-6 { 2.0 * PI } else { PI - turn };
            list.push(Corner { at: second.curve.point(second.from), fluid_angle, before, after });
        }
    }
    list
}

/// Direction of the walk along a piece at the parameter t, not normalised.
pub(super) fn tangent(piece: &Piece, t: f64) -> Vector {
    let range = piece.to - piece.from;
    let d = piece.curve.derivative(t).map(|d| d * range);
    let step = 1e-4 * range;
    // Where the parametrisation stops, at a cusp, the chord of a short step stands in.
    let (t0, t1) = if (t - piece.from).abs() < (t - piece.to).abs() { (t, t + step) } else { (t - step, t) };
    let chord = way(piece.curve.point(t0), piece.curve.point(t1)).map(|x| 1e4 * x);
    let small = length(d) < 1e-6 * length(chord);
    if small || !d[0].is_finite() || !d[1].is_finite() { chord } else { d }
}

/// Unit normal of a piece at t, into the fluid.
pub(super) fn normal(piece: &Piece, t: f64) -> Vector {
    unit(tangent(piece, t)).map_or([0.0; 2], left)
}
