//! A square post: what the bands at its corners matter.

use crate::cells::{Grid, cell_of_gap, ladder};
use std::f64::consts::PI;
use twinplate::input::case::Ends::GivenInflow;
use twinplate::theory::edge_layer::reach;
use twinplate::theory::inertia::edge::{bands, edge_loads};
use twinplate::theory::inertia::solve_inertia;

const GAP: f64 = 0.002;

/// Halving or doubling the bands changes V1 by what the loads between them drive. V_s^2 goes as s^(-2/3) near a corner of 270 degrees and
/// the flux as s^(-5/3), so that what is left out goes as l^(-2/3) with the length of the band: halving it changes 2^(2/3) times as much as
/// doubling it. The next term of V_s is (s/a)^(4/3) smaller, 0.12 at the four gaps where the doubled band ends on a side of a = 20 gaps.
/// With given inflow there is no other part of V1.
#[test]
fn the_length_of_the_bands_matters_at_a_square_post() {
    let square = "[[obstacle]]\npolygon = { points = [[0.98, 0.48], [1.02, 0.48], [1.02, 0.52], [0.98, 0.52]] }\n";
    let (case, plan) = cell_of_gap(2.0, 1.0, &format!("{GAP:?}"), GivenInflow, square);
    let grid: Grid = ladder(&case, &plan, 8000, 1).remove(0);
    let (space, operator) = (&grid.space, &grid.pair.pressure_operator);
    let velocity = grid.pattern(&case).velocity;
    let solved = solve_inertia(space, operator, GivenInflow, &case.fluid, &velocity, &velocity).unwrap();
    assert_eq!(solved.bands.len(), 4);
    for band in &solved.bands {
        assert!((band.fluid_angle - 1.5 * PI).abs() < 1e-9 && (band.length - GAP).abs() < 1e-15);
    }
    let speed: Vec<f64> = velocity.iter().map(|v| v[0].hypot(v[1])).collect();
    let driven = |gaps: f64| -> Vec<[f64; 2]> {
        let conductivity = GAP.powi(3) / (12.0 * case.fluid.viscosity);
        let mut loads = edge_loads(space, &speed, &case.fluid, &bands(space, gaps));
        loads.iter_mut().for_each(|load| *load /= conductivity);
        let size = loads.iter().fold(0.0, |a: f64, load| a.max(load.abs()));
        let q = operator.solve(&vec![0.0; loads.len()], &loads, 1e-12 * size * size).unwrap().values;
        let [slope] = space.recovery().gradients(space.harmonic_if_uniform(), [&q]);
        slope.into_iter().map(|g| g.map(|x| -GAP * GAP / (12.0 * case.fluid.viscosity) * x)).collect()
    };
    let whole = driven(1.0);
    let apart = |other: &[[f64; 2]]| {
        let mean = |of: &dyn Fn(usize) -> f64| space.root_mean_square(reach(space).beyond(), of);
        mean(&|v| (whole[v][0] - other[v][0]).hypot(whole[v][1] - other[v][1]))
            / mean(&|v| whole[v][0].hypot(whole[v][1]))
    };
    let [half, twice] = [0.5, 2.0].map(|gaps| apart(&driven(gaps)));
    let sensitivity = solved.band_sensitivity.unwrap();
    println!("bands halved {half:.3}, doubled {twice:.3}: {sensitivity:.3}");
    assert!((sensitivity / half.max(twice) - 1.0).abs() < 1e-6);
    assert!((half / twice / 2f64.powf(2.0 / 3.0) - 1.0).abs() < 0.12, "{half} {twice}");
}
