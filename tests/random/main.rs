//! What must hold for every plan.

mod bounds;
#[path = "../cells/mod.rs"]
mod cells;
mod nasty;

use cells::{cell, ellipse, study};
use proptest::prelude::*;
use twinplate::geometry::Side;
use twinplate::input::case::Ends;

/// Ellipses with semi-axes below 0.2 in two halves of a cell, so that they neither meet nor touch a wall.
fn obstacles() -> impl Strategy<Value = String> {
    let one = |x: f64| {
        (x - 0.2..x + 0.2, 0.3..0.7f64, 0.03..0.2f64, 0.03..0.2f64, -90.0..90.0f64)
            .prop_map(|(x, y, a, b, angle)| ellipse([x, y], [a, b], angle))
    };
    (one(0.5), proptest::option::of(one(1.5))).prop_map(|(first, second)| first + &second.unwrap_or_default())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn bounds_shares_and_fluxes(text in obstacles(), held in any::<bool>(), triangles in 500usize..30_000) {
        let ends = if held { Ends::HeldPressure } else { Ends::GivenInflow };
        let (case, plan) = cell(2.0, 1.0, ends, &text);
        let study = study(case, plan, triangles, false);
        let (space, pair) = (&study.solved.space, &study.solved.pair);
        let mesh = &space.mesh;
        prop_assert!(mesh.areas().iter().all(|&area| area > 0.0));
        prop_assert!(pair.lower <= pair.upper && pair.lower > 0.0);
        // obstacles only take room: below the empty cell
        prop_assert!(pair.lower < 0.5);
        // each share is an integral of a square; rounding of the terms, of the order of 1e-16 of the whole
        prop_assert!(pair.bracket_density.iter().all(|&eta| eta > -1e-15));
        let sum: f64 = pair.bracket_density.iter().sum();
        prop_assert!((sum - (pair.upper - pair.lower)).abs() < 1e-11 * pair.upper, "{} {}", sum, pair.upper - pair.lower);
        // the stream function climbs by the whole flux over either end
        for side in [Side::Inlet, Side::Outlet] {
            let climbs = mesh.boundary.iter().filter(|edge| mesh.side(edge) == side);
            let flux: f64 = climbs
                .map(|edge| edge.vertices.map(|v| pair.stream[v as usize]))
                .map(|[a, b]| if side == Side::Outlet { b - a } else { a - b })
                .sum();
            prop_assert!((flux - 1.0).abs() < 1e-12, "{:?} {}", side, flux);
        }
        // what enters by the discrete pressure leaves again: rows of a stiffness matrix sum to zero, and the rows of inner vertices
        // vanish as far as the solver went, which leaves sqrt(1e-2) of the bracket's square in the energy norm
        let matrix = pair.pressure_operator.matrix();
        let through = |side: Side| -> f64 {
            space.vertices_where(|s| s == side).iter().map(|&v| matrix.row_times(v as usize, &pair.pressure)).sum()
        };
        let (inflow, outflow) = (through(Side::Inlet), -through(Side::Outlet));
        let half_width = (pair.upper - pair.lower) / (pair.upper + pair.lower);
        prop_assert!((inflow - outflow).abs() < 0.2 * half_width * inflow.abs() + 1e-11, "{} {}", inflow, outflow);
        if held {
            prop_assert!((inflow - pair.upper).abs() < 0.2 * half_width * inflow.abs() + 1e-11, "{} {}", inflow, pair.upper);
        }
    }
}
