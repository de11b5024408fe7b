//! What inertia makes of the ideal velocity at a place: gradient, acceleration in a taper, spreading, the local number.

use crate::base::plane;
use crate::numerics::fem::{Model, Space};
use crate::numerics::mesh::BoundaryEdge;
use crate::theory::ideal::{WallTangent, wall_tangents};
use std::collections::HashMap;

/// Nodal gradient of the velocity: element i, j is the derivative of V_i along j, 1/s. Along smooth solid edges of a uniform gap it follows from
/// the speed V_s along them and their curvature (`along_edges`), which is an order better than what is recovered from one side.
pub fn velocity_gradient(space: &Space, velocity: &[[f64; 2]]) -> Vec<[[f64; 2]; 2]> {
    let component = |k: usize| -> Vec<f64> { velocity.iter().map(|v| v[k]).collect() };
    let [x, y] = space.recovery().gradients(space.harmonic_if_uniform(), [&component(0), &component(1)]);
    let mut gradient: Vec<[[f64; 2]; 2]> = x.into_iter().zip(y).map(|(x, y)| [x, y]).collect();
    if space.uniform_gap() {
        along_edges(space, velocity, &mut gradient);
    }
    gradient
}

/// The velocity of a potential along a solid edge has, in the directions t along it and n into the fluid, the gradient
/// `[[V_s', −κ V_s], [−κ V_s, −V_s']]`, κ > 0 where the solid is convex. V_s' is the difference of second order of three neighbours with a
/// tangent each; vertices at corners and beside them keep theirs.
fn along_edges(space: &Space, velocity: &[[f64; 2]], gradient: &mut [[[f64; 2]; 2]]) {
    let mesh = &space.mesh;
    let tangents: HashMap<u32, [f64; 2]> = wall_tangents(space)
        .into_iter()
        .filter_map(|(v, tangent)| match tangent {
            WallTangent::Smooth(t) => Some((v, t)),
            WallTangent::Corner { .. } => None,
        })
        .collect();
    let on_solid = || mesh.boundary.iter().filter(|edge| mesh.plan.solid(mesh.side(edge)).is_some());
    let before: HashMap<u32, &BoundaryEdge> = on_solid().map(|edge| (edge.vertices[1], edge)).collect();
    for next in on_solid() {
        let [v, w] = next.vertices;
        let Some(u) = before.get(&v).map(|edge| edge.vertices[0]) else { continue };
        let [Some(&at_u), Some(&t), Some(&at_w)] = [u, v, w].map(|vertex| tangents.get(&vertex)) else { continue };
        let speed = |vertex: u32, tangent: [f64; 2]| plane::dot(velocity[vertex as usize], tangent);
        let [low, own, high] = [speed(u, at_u), speed(v, t), speed(w, at_w)];
        let [p, q, r] = [u, v, w].map(|vertex| mesh.points[vertex as usize]);
        let (back, forth) = (plane::distance(p, q), plane::distance(q, r));
        let slope = (back * back * (high - own) + forth * forth * (own - low)) / (back * forth * (back + forth));
        let [from, to] = next.parameters;
        // walked with the fluid on the left, a convex solid turns to the right
        let convex = -(to - from).signum() * mesh.plan.pieces[next.piece as usize].curve.curvature(from);
        let across = -convex * own;
        if across.is_finite() && slope.is_finite() {
            let n = plane::left(t);
            let entry = |i: usize, j: usize| slope * (t[i] * t[j] - n[i] * n[j]) + across * (t[i] * n[j] + n[i] * t[j]);
            gradient[v as usize] = [[entry(0, 0), entry(0, 1)], [entry(1, 0), entry(1, 1)]];
        }
    }
}

/// Local inertia number b² |N|/(ν |V|) at the vertices.
pub(super) fn inertia_number(
    space: &Space,
    speed: &[f64],
    slopes: &[[[f64; 2]; 2]],
    acceleration: &[[f64; 2]],
    nu: f64,
) -> Vec<f64> {
    let still = 1e-9 * speed.iter().fold(0.0, |a: f64, &b| a.max(b));
    let at = |v: usize| space.gap[v].powi(2) / nu * turning_rate(speed[v], &slopes[v], acceleration[v], still);
    (0..speed.len()).map(at).collect()
}

/// |N|/|V|, 1/s. Where the speed is not above `still`, at a stagnation point, it tends to a value between the extreme stretchings; their
/// root mean square is taken.
fn turning_rate(speed: f64, slope: &[[f64; 2]; 2], acceleration: [f64; 2], still: f64) -> f64 {
    if speed > still {
        plane::length(acceleration) / speed
    } else {
        (0.5 * slope.as_flattened().iter().map(|g| g * g).sum::<f64>()).sqrt()
    }
}

/// div(b³ N)/b³ = tr(grad V . grad V) + V . grad(div V) + 3 N . grad b / b with div V = -V . grad b / b.
pub(super) fn spreading(
    space: &Space,
    velocity: &[[f64; 2]],
    slopes: &[[[f64; 2]; 2]],
    acceleration: &[[f64; 2]],
) -> Vec<f64> {
    if space.uniform_gap() {
        return slopes.iter().map(|g| g.as_flattened().iter().map(|x| x * x).sum()).collect();
    }
    let dot = |a: [f64; 2], b: [f64; 2]| a[0] * b[0] + a[1] * b[1];
    let divergence: Vec<f64> = (0..velocity.len()).map(|v| -dot(velocity[v], space.gap_slope[v])).collect();
    let [divergence_slope] = space.recovery().gradients(Model::Any, [&divergence]);
    (0..velocity.len())
        .map(|v| {
            let g = slopes[v];
            let trace = g[0][0] * g[0][0] + 2.0 * g[0][1] * g[1][0] + g[1][1] * g[1][1];
            trace + dot(velocity[v], divergence_slope[v]) + 3.0 * dot(acceleration[v], space.gap_slope[v])
        })
        .collect()
}

/// m = (2/b)[(V.grad b) V - |V|² grad b]; empty for a uniform gap.
pub(super) fn taper_acceleration(space: &Space, velocity: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let of = space.gap_slope.iter().zip(velocity);
    of.map(|(slope, v)| {
        let along = v[0] * slope[0] + v[1] * slope[1];
        let square = v[0] * v[0] + v[1] * v[1];
        [2.0 * (along * v[0] - square * slope[0]), 2.0 * (along * v[1] - square * slope[1])]
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Curve, Piece, Plan, Side};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::sync::Arc;

    /// Towards a stagnation point V = k (x, -y): N = k² (x, y), so that |N|/|V| = k everywhere, at the point itself as well. Shear flow
    /// (k y, 0) stretches by k across it and not at all along it: k/sqrt(2).
    #[test]
    fn the_turning_rate_goes_on_into_a_stagnation_point() {
        let k = 0.7;
        let slope = [[k, 0.0], [0.0, -k]];
        for [x, y] in [[1e-3, 0.0], [2e-6, 3e-6], [0.0, 1.0], [0.0, 0.0]] {
            let acceleration = [k * k * x, k * k * y];
            let rate = turning_rate(k * f64::hypot(x, y), &slope, acceleration, 1e-9);
            assert!((rate / k - 1.0).abs() < 1e-12, "{x} {y}: {rate}");
        }
        let sheared = turning_rate(0.0, &[[0.0, k], [0.0, 0.0]], [0.0; 2], 1e-9);
        assert!((sheared / k - 0.5f64.sqrt()).abs() < 1e-12, "{sheared}");
    }

    /// Past a post of radius a, w = 1 - a²/z² with V = conj w and dw/dz = 2 a²/z³: on the edge, from the exact velocity at the vertices, the
    /// difference of three leaves h²/6 of the third derivative, 16/a³ at most over the gradient's 2/a, and curvature nothing. Beside a
    /// square's corners the recovered gradient stays.
    #[test]
    fn gradients_along_a_round_edge_follow_from_the_speed_along_it() {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let mut plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let (a, h) = (0.2, 0.02);
        let curve =
            Curve::Arc { centre: [0.5; 2], semi_axes: [a; 2], rotation: 0.0, start: 0.0, end: std::f64::consts::TAU };
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(0) });
        plan.loops.push(4..5);
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(h, 0.3, vec![]), 100_000).unwrap();
        let velocity: Vec<[f64; 2]> = mesh
            .points
            .iter()
            .map(|p| {
                let [x, y] = [p[0] - 0.5, p[1] - 0.5];
                let r4 = (x * x + y * y).powi(2).max(1e-9);
                [1.0 - a * a * (x * x - y * y) / r4, -2.0 * a * a * x * y / r4]
            })
            .collect();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01);
        let mut gradient = vec![[[0.0; 2]; 2]; velocity.len()];
        along_edges(&space, &velocity, &mut gradient);
        let on_post = space.vertices_where(|side| side == Side::Obstacle(0));
        assert!(on_post.len() > 50);
        for v in on_post {
            let p = space.mesh.points[v as usize];
            let t = (p[1] - 0.5).atan2(p[0] - 0.5);
            // dw/dz = u_x - i v_x
            let exact = [
                [2.0 / a * (3.0 * t).cos(), 2.0 / a * (3.0 * t).sin()],
                [2.0 / a * (3.0 * t).sin(), -2.0 / a * (3.0 * t).cos()],
            ];
            let found = gradient[v as usize];
            let off = (0..4).map(|k| (found[k / 2][k % 2] - exact[k / 2][k % 2]).abs()).fold(0.0, f64::max);
            assert!(off < h * h / 6.0 * 16.0 / (a * a * a), "{p:?}: {found:?} {exact:?}");
        }
        let square = vec![vec![[0.4, 0.4], [0.6, 0.4], [0.6, 0.6], [0.4, 0.6]]];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &square).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.05, 0.3, vec![]), 100_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01);
        let velocity: Vec<[f64; 2]> = space.mesh.points.iter().map(|p| [p[0], -p[1]]).collect();
        let mark = [[7.0; 2]; 2];
        let mut gradient = vec![mark; velocity.len()];
        along_edges(&space, &velocity, &mut gradient);
        let corner = |p: &[f64; 2]| {
            (p[0] - 0.5).abs().min((p[1] - 0.5).abs()) > 0.0999 && (p[0] - 0.5).abs().max((p[1] - 0.5).abs()) < 0.1001
        };
        let kept = (0..velocity.len()).filter(|&v| corner(&space.mesh.points[v])).all(|v| gradient[v] == mark);
        assert!(kept && gradient.iter().any(|g| *g != mark));
    }

    /// grad b of a gap of 1 in the middle of a square of 1 m.
    const SLOPE: [f64; 2] = [0.3, -0.4];
    /// grad W of W = A (x, y).
    const A: [[f64; 2]; 2] = [[2.0, 1.0], [0.5, -3.0]];

    fn dot(u: [f64; 2], v: [f64; 2]) -> f64 {
        u[0] * v[0] + u[1] * v[1]
    }

    fn times(a: [[f64; 2]; 2], v: [f64; 2]) -> [f64; 2] {
        a.map(|row| dot(row, v))
    }

    /// The square, its gap at the vertices, and W there.
    fn oblique() -> (Space, Vec<f64>, Vec<[f64; 2]>) {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.2, 0.3, vec![]), 10_000).unwrap();
        let gap = mesh.points.iter().map(|[x, y]| 1.0 + SLOPE[0] * (x - 0.5) + SLOPE[1] * (y - 0.5)).collect();
        let w = mesh.points.iter().map(|&p| times(A, p)).collect();
        let space = Space::new(Arc::new(mesh), &Gap::Linear { at: 1.0, slope: SLOPE, middle: [0.5; 2] }, 1.0);
        (space, gap, w)
    }

    /// m has no part along V, and across it, n to its left, it is -2 |V|² (n . grad b)/b: only the slope across the flow turns it.
    #[test]
    fn a_taper_turns_the_flow_by_its_slope_across_it() {
        let (space, gap, velocity) = oblique();
        for (v, m) in taper_acceleration(&space, &velocity).into_iter().enumerate() {
            let [x, y] = velocity[v];
            let across = [-y, x];
            for k in 0..2 {
                let exact = -2.0 * dot(across, SLOPE) / gap[v] * across[k];
                assert!((m[k] - exact).abs() < 1e-13, "{:?}: {m:?}", space.mesh.points[v]);
            }
        }
    }

    /// V = b W, so that grad V = b A + W grad b and -V . grad b / b = -W . grad b, whose slope -A' grad b the fit of a quadratic finds to
    /// rounding.
    #[test]
    fn a_taper_spreads_the_flow() {
        let (space, gap, w) = oblique();
        let velocity: Vec<[f64; 2]> = w.iter().zip(&gap).map(|(w, b)| w.map(|x| b * x)).collect();
        let slope = |v: usize| [0, 1].map(|i| [0, 1].map(|j| gap[v] * A[i][j] + w[v][i] * SLOPE[j]));
        let slopes: Vec<_> = (0..gap.len()).map(slope).collect();
        let acceleration: Vec<[f64; 2]> = slopes.iter().zip(&velocity).map(|(&g, &v)| times(g, v)).collect();
        for (v, found) in spreading(&space, &velocity, &slopes, &acceleration).into_iter().enumerate() {
            let g = slopes[v];
            let square = [0, 1].map(|i| times(g, [g[0][i], g[1][i]])[i]);
            let carried = -dot(times(A, velocity[v]), SLOPE);
            let exact = square[0] + square[1] + carried + 3.0 * dot(acceleration[v], SLOPE) / gap[v];
            assert!((found - exact).abs() < 1e-11, "{:?}: {found} {exact}", space.mesh.points[v]);
        }
    }
}
