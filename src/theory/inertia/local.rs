//! What inertia makes of the ideal velocity at a place: gradient, acceleration in a taper, spreading, the local number.

use crate::base::plane;
use crate::numerics::fem::{Model, Space};

/// Nodal gradient of the velocity: element i, j is the derivative of V_i along j, 1/s.
pub fn velocity_gradient(space: &Space, velocity: &[[f64; 2]]) -> Vec<[[f64; 2]; 2]> {
    let component = |k: usize| -> Vec<f64> { velocity.iter().map(|v| v[k]).collect() };
    let [x, y] = space.recovery().gradients(space.harmonic_if_uniform(), [&component(0), &component(1)]);
    x.into_iter().zip(y).map(|(x, y)| [x, y]).collect()
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
    use crate::geometry::{Plan, Side};
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
