//! The solver with a gap that varies along and across the flow, all conditions it knows, and loads on the right-hand side.

use crate::cells::{cell_of_gap, nested};
use crate::norms::{errors, has_orders, place, radon};
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Side;
use twinplate::input::case::Ends::{self, GivenInflow, HeldPressure};
use twinplate::numerics::fem::{Conditions, Operator, Space};
use twinplate::numerics::mesh::{Mesh, SizeField};

const LENGTH: f64 = 1.2;
const WIDTH: f64 = 0.8;
/// Gap 1 mm in the middle, from 0.6 to 1.4 mm.
const GAP: &str = "{ at = 0.001, slope = [4e-4, -4e-4] }";

/// u = sin(1.3 x + 0.4) cos(1.7 y - 0.2) + 0.3 x^2: value, gradient, Laplacian.
fn chosen([x, y]: Point) -> (f64, [f64; 2], f64) {
    let (a, b) = (1.3 * x + 0.4, 1.7 * y - 0.2);
    let value = a.sin() * b.cos() + 0.3 * x * x;
    let slope = [1.3 * a.cos() * b.cos() + 0.6 * x, -1.7 * a.sin() * b.sin()];
    (value, slope, -(1.3 * 1.3 + 1.7 * 1.7) * a.sin() * b.cos() + 0.6)
}

/// k = (b/b0)^n and its gradient.
fn coefficient([x, y]: Point, n: i32) -> (f64, [f64; 2]) {
    let b = 1.0 + 0.4 * (x - 0.5 * LENGTH) - 0.4 * (y - 0.5 * WIDTH);
    let slope = f64::from(n) * b.powi(n - 1);
    (b.powi(n), [0.4 * slope, -0.4 * slope])
}

/// Loads of -div(k grad u) in the fluid and of k du/dn on the boundary edges that are free.
fn loads(space: &Space, n: i32, free: impl Fn(Side) -> bool) -> Vec<f64> {
    let mut loads = vec![0.0; space.mesh.points.len()];
    for (t, corners) in space.mesh.triangles.iter().enumerate() {
        for (weights, weight) in radon() {
            let p = place(space, t, weights);
            let ((_, g, laplacian), (k, slope)) = (chosen(p), coefficient(p, n));
            let source = -(k * laplacian + slope[0] * g[0] + slope[1] * g[1]);
            for i in 0..3 {
                loads[corners[i] as usize] += space.area(t) * weight * weights[i] * source;
            }
        }
    }
    let gauss = 0.5 * (3.0f64 / 5.0).sqrt();
    for edge in space.mesh.boundary.iter().filter(|edge| free(space.mesh.side(edge))) {
        let [a, b] = edge.vertices.map(|v| space.mesh.points[v as usize]);
        // the fluid is on the left, so this points out of it; its length is that of the edge
        let normal = [b[1] - a[1], a[0] - b[0]];
        for (s, weight) in [(0.5 - gauss, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.5 + gauss, 5.0 / 18.0)] {
            let p = [0, 1].map(|k| a[k] + s * (b[k] - a[k]));
            let g = chosen(p).1;
            let flux = coefficient(p, n).0 * (g[0] * normal[0] + g[1] * normal[1]);
            loads[edge.vertices[0] as usize] += weight * (1.0 - s) * flux;
            loads[edge.vertices[1] as usize] += weight * s * flux;
        }
    }
    loads
}

/// Solves on nested meshes with the sides of given values fixed; pressure (n = 3) or stream function (n = -3).
fn study(name: &str, n: i32, ends: Ends, fixed: impl Fn(Side) -> bool) {
    let (case, plan) = cell_of_gap(LENGTH, WIDTH, GAP, ends, "");
    let base = Mesh::generate(&plan, &SizeField::new(0.15, 0.3, vec![]), 10_000).unwrap();
    let mut all = Vec::new();
    for mesh in nested(base, 5) {
        let space = Space::new(Arc::new(mesh), &case.cell.gap, 1e-3);
        let count = space.mesh.points.len();
        let mut conditions = Conditions::free(count);
        let mut start = vec![0.0; count];
        for v in space.vertices_where(&fixed) {
            conditions.fix(v);
            start[v as usize] = chosen(space.mesh.points[v as usize]).0;
        }
        let floating = conditions.floating();
        let mut loads = loads(&space, n, |side| !fixed(side));
        if floating {
            // quadrature leaves the sum at its own error, far below that of the elements
            let mean = loads.iter().sum::<f64>() / count as f64;
            loads.iter_mut().for_each(|load| *load -= mean);
        }
        let levels = if n > 0 { &space.levels.pressure } else { &space.levels.stream };
        let operator = Operator::new(&space.mesh, levels.clone(), conditions).unwrap();
        let u = operator.solve(&start, &loads, 1e-20).unwrap().values;
        all.push(errors(&space, &u, &|p| (chosen(p).0, chosen(p).1), floating));
    }
    has_orders(name, &all);
}

fn end(side: Side) -> bool {
    matches!(side, Side::Inlet | Side::Outlet)
}

#[test]
fn pressure_between_held_ends() {
    study("pressure, held ends", 3, HeldPressure, end);
}

#[test]
fn pressure_with_given_inflow() {
    study("pressure, given inflow", 3, GivenInflow, |_| false);
}

#[test]
fn stream_function_with_either_kind_of_ends() {
    study("stream function, held ends", -3, HeldPressure, |side| !end(side));
    study("stream function, given inflow", -3, GivenInflow, |_| true);
}
