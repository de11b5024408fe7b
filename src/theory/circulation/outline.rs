//! Stagnation points, chord and wake of a section.

use super::tail::Tail;
use crate::base::Point;
use crate::base::bisect::bisected;
use crate::base::plane::distance;
use crate::geometry::{SLIGHT, Side, Solid};
use crate::numerics::fem::Space;
use crate::numerics::mesh::Locator;
use crate::theory::ideal::{WallTangent, interpolate, wall_tangents};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Radius of the circle on which the wake is looked at, over the chord.
const WAKE: f64 = 0.25;
/// Places looked at on that circle before the crossing is bracketed.
const PLACES: usize = 720;

/// Vertices on either side of a corner at which tangential speeds are not looked at.
const ASIDE: usize = 2;

/// Largest distance of the outline from the tail, m.
pub(super) fn chord(space: &Space, tail: &Tail) -> f64 {
    let vertices = space.vertices_on(Solid::Obstacle(tail.obstacle));
    vertices.iter().map(|&v| distance(space.mesh.points[v as usize], tail.at)).fold(0.0, f64::max)
}

/// Where the stream meets an outline and where it leaves.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stagnation {
    /// The most upstream place from which the flow runs both ways.
    pub front: Option<Point>,
    /// The most downstream place at which it comes from both ways.
    pub rear: Option<Point>,
}

/// Stagnation points of a nodal velocity along an obstacle: sign changes of the tangential speed between neighbouring vertices on
/// smooth parts of the outline, in linear interpolation; across corners the third vertices on both sides are taken. Where chords
/// of an outline meet that turns by less than [`SLIGHT`], it counts as smooth.
pub(super) fn stagnation(space: &Space, obstacle: u32, velocity: &[[f64; 2]]) -> Stagnation {
    let order = walk(space, obstacle);
    let n = order.len();
    let at = |k: usize| space.mesh.points[order[k % n] as usize];
    let chord = |k: usize| -> [f64; 2] {
        let (p, q) = (at(k + n - 1), at(k + 1));
        let length = distance(p, q);
        [(q[0] - p[0]) / length, (q[1] - p[1]) / length]
    };
    let place: BTreeMap<u32, usize> = order.iter().enumerate().map(|(k, &v)| (v, k)).collect();
    let tangents: BTreeMap<u32, [f64; 2]> = wall_tangents(space)
        .into_iter()
        .filter_map(|(v, tangent)| match tangent {
            WallTangent::Smooth(t) => Some((v, t)),
            WallTangent::Corner { fluid_angle } if (fluid_angle - PI).abs() < SLIGHT => {
                Some((v, chord(*place.get(&v)?)))
            }
            WallTangent::Corner { .. } => None,
        })
        .collect();
    // next to a sharp tail the patches of the recovery reach round it to the other side
    let clear = |k: usize| (0..=2 * ASIDE).all(|j| tangents.contains_key(&order[(k + n + j - ASIDE.min(n)) % n]));
    let speeds: Vec<(Point, f64)> = (0..n)
        .filter(|&k| clear(k))
        .filter_map(|k| {
            let v = order[k];
            let (t, u) = (tangents.get(&v)?, velocity[v as usize]);
            Some((space.mesh.points[v as usize], u[0] * t[0] + u[1] * t[1]))
        })
        .collect();
    let (mut front, mut rear): (Option<Point>, Option<Point>) = (None, None);
    for (k, &(p, u)) in speeds.iter().enumerate() {
        let (q, w) = speeds[(k + 1) % speeds.len()];
        if (u < 0.0) == (w < 0.0) {
            continue;
        }
        let s = u / (u - w);
        let at = [p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1])];
        if u < 0.0 {
            front = Some(front.filter(|known| known[0] <= at[0]).unwrap_or(at));
        } else {
            rear = Some(rear.filter(|known| known[0] >= at[0]).unwrap_or(at));
        }
    }
    Stagnation { front, rear }
}

/// Vertices of an obstacle in the order of its boundary, the fluid on the left.
fn walk(space: &Space, obstacle: u32) -> Vec<u32> {
    let mesh = &space.mesh;
    let edges = mesh.boundary.iter().filter(|edge| mesh.side(edge) == Side::Obstacle(obstacle));
    let next: BTreeMap<u32, u32> = edges.map(|edge| (edge.vertices[0], edge.vertices[1])).collect();
    let Some((&first, _)) = next.first_key_value() else { return Vec::new() };
    let mut order = vec![first];
    while let Some(&v) = next.get(&order[order.len() - 1]).filter(|&&v| v != first && order.len() < next.len()) {
        order.push(v);
    }
    order
}

/// Angle from the bisector of the tail at which the dividing streamline, where ψ has the value of the obstacle, crosses the
/// circle of a quarter chord about the tail, rad, counter-clockwise; the crossing nearest to the bisector.
pub(super) fn wake_angle(space: &Space, locator: &Locator, tail: &Tail, chord: f64, psi: &[f64]) -> Option<f64> {
    let base = psi[tail.vertex as usize];
    let radius = WAKE * chord;
    let excess = |angle: f64| -> Option<f64> {
        let (sin, cos) = (tail.bisector + angle).sin_cos();
        let (t, w) = locator.find([tail.at[0] + radius * cos, tail.at[1] + radius * sin], None)?;
        Some(interpolate(space, t, w, psi) - base)
    };
    // the solid stands across the circle near plus and minus pi
    let end = 0.5 * tail.fluid_angle.min(1.9 * PI);
    let place = |k: usize| end * (2.0 * k as f64 / PLACES as f64 - 1.0);
    let values: Vec<Option<f64>> = (0..=PLACES).map(|k| excess(place(k))).collect();
    let brackets =
        (0..PLACES).filter(|&k| matches!((values[k], values[k + 1]), (Some(a), Some(b)) if (a < 0.0) != (b < 0.0)));
    let k = brackets.min_by(|&i, &j| place(i).abs().total_cmp(&place(j).abs()))?;
    let negative_below = values[k]? < 0.0;
    let mut is_lost = false;
    let [low, high] = bisected([place(k), place(k + 1)], 40, |angle| {
        let found = excess(angle);
        is_lost |= found.is_none();
        found.is_some_and(|excess| excess < 0.0) == negative_below
    });
    (!is_lost).then_some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Curve, Piece, Plan};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::sync::Arc;

    /// Round a post the flow along the outline goes as -sin 3(θ - 0.2): it comes from both ways at 0.2 and a third and two thirds of the
    /// circle on, and parts half way between these. Of three places each the most upstream one and the most downstream one count. Linear
    /// interpolation between vertices h apart is off along the outline by (3 h/a)² h/16, and its chord across it by h²/(8 a).
    #[test]
    fn of_several_stagnation_points_the_outermost_count() {
        let a = 0.2;
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let mut plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let curve = Curve::Arc { centre: [0.5; 2], semi_axes: [a; 2], rotation: 0.0, start: 0.0, end: 2.0 * PI };
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(0) });
        plan.loops.push(4..5);
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.02, 0.3, vec![]), 100_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(1e-3), 1e-3);
        let flow = |p: &Point| {
            let (sin, cos) = (p[1] - 0.5).atan2(p[0] - 0.5).sin_cos();
            let along = -(3.0 * ((p[1] - 0.5).atan2(p[0] - 0.5) - 0.2)).sin();
            [-along * sin, along * cos]
        };
        let velocity: Vec<[f64; 2]> = space.mesh.points.iter().map(flow).collect();
        let found = stagnation(&space, 0, &velocity);
        let outline = walk(&space, 0);
        let at = |k: usize| space.mesh.points[outline[k % outline.len()] as usize];
        let h = (0..outline.len()).map(|k| distance(at(k), at(k + 1))).fold(0.0, f64::max);
        for (found, angle) in [(found.front, 0.2 + PI), (found.rear, 0.2)] {
            let exact = [0.5 + a * angle.cos(), 0.5 + a * angle.sin()];
            let off = distance(found.unwrap(), exact);
            assert!(
                off < (3.0 * h / a).powi(2) * h / 16.0 + h * h / (8.0 * a) && h < 0.03,
                "{found:?} instead of {exact:?}"
            );
        }
    }
}
