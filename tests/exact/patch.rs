//! What linear elements must reproduce to rounding.

use crate::cells::{Grid, cell, nested, study};
use std::sync::Arc;
use twinplate::geometry::Wall::{Lower, Upper};
use twinplate::geometry::{Plan, Side};
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::input::case::Gap;
use twinplate::numerics::fem::triangle_gradients;
use twinplate::numerics::mesh::{Mesh, SizeField};

/// Rounding of sums over some 1e4 triangles and of a solve whose matrix has a condition number of about 1e4.
const ROUNDING: f64 = 1e-11;

/// Empty cell: p = 1 - x/L and psi = y/W are linear, so both bounds are W/L, V = U everywhere, and nothing is left for the
/// bracket.
#[test]
fn empty_cell_is_exact() {
    for ends in [HeldPressure, GivenInflow] {
        let (case, plan) = cell(2.5, 1.0, ends, "");
        let study = study(case, plan, 1500, false);
        let shape = study.pattern.shape_factor;
        for value in [shape.value, shape.lower, shape.upper] {
            assert!((value - 0.4).abs() < 0.4 * ROUNDING, "{ends:?}: {value}");
        }
        assert_eq!(shape.outline_allowance, 0.0);
        // 12 mu U L/b^2 with mu = 1e-3 Pa s, U = 1e-3 m/s, L = 2.5 m, b = 1e-3 m
        assert!((study.pattern.drive.pressure_drop - 30.0).abs() < 30.0 * ROUNDING);
        for (v, p) in study.solved.space.mesh.points.iter().enumerate() {
            let [vx, vy] = study.pattern.velocity[v];
            assert!((vx - 1e-3).abs() < 1e-9 * 1e-3 && vy.abs() < 1e-9 * 1e-3, "{ends:?} at {p:?}: {vx} {vy}");
            assert!((study.pattern.pressure[v] - 30.0 * (1.0 - p[0] / 2.5)).abs() < 30.0 * ROUNDING);
        }
    }
}

/// Patch test: on any triangulation of a tilted channel, refined levels included, the linear pressure and stream function are
/// solutions of the discrete problems.
#[test]
fn linear_pressure_is_reproduced_on_any_mesh() {
    let (sin, cos) = 0.5f64.sin_cos();
    let turned = |x: f64, y: f64| [x * cos - y * sin, x * sin + y * cos];
    let corners = [turned(0.0, 0.0), turned(2.0, 0.0), turned(2.0, 1.0), turned(0.0, 1.0)];
    let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
    let plan = Arc::new(Plan::polygon(&corners, &sides, &[]).unwrap());
    // an uneven mesh: fine round three arbitrary places
    let sources = vec![(turned(0.3, 0.2), 0.004), (turned(1.7, 0.9), 0.01), (turned(1.0, 0.0), 0.002)];
    let base = Mesh::generate(&plan, &SizeField::new(0.2, 0.4, sources), 20_000).unwrap();
    for mesh in nested(base, 3) {
        let grid = Grid::new(mesh, &Gap::Uniform(1.0), 1.0, HeldPressure);
        let mesh = &grid.space.mesh;
        assert!((grid.pair.lower - 0.5).abs() < ROUNDING && (grid.pair.upper - 0.5).abs() < ROUNDING);
        for (v, p) in mesh.points.iter().enumerate() {
            let along = p[0] * cos + p[1] * sin;
            let across = p[1] * cos - p[0] * sin;
            assert!((grid.pair.pressure[v] - (1.0 - 0.5 * along)).abs() < 1e-9);
            assert!((grid.pair.stream[v] - across).abs() < 1e-9);
        }
        let [recovered] = grid.space.recovery().gradients(grid.space.conserved(3.0), [&grid.pair.pressure]);
        let discrete = triangle_gradients(&mesh.points, &mesh.triangles, &grid.pair.pressure);
        // differences of values good to 1e-9 relative to sides of 1e-3
        for g in recovered.iter().chain(&discrete) {
            assert!((g[0] + 0.5 * cos).abs() < 1e-5 && (g[1] + 0.5 * sin).abs() < 1e-5, "{g:?}");
        }
    }
}
