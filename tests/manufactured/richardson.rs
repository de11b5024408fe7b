//! Ladders of the convergence study: the Richardson value of the shape factor lies within the guaranteed bounds, widened by the
//! allowance for chords, and orders are those of theory.

use crate::cells::{cell, cell_of_gap, circle};
use std::sync::Arc;
use twinplate::base::row::Detail;
use twinplate::geometry::Plan;
use twinplate::input::case::Case;
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::report::text::{WIDTH, text};
use twinplate::study::{Ladder, LadderSettings, Meshes, solve_ladder};
use twinplate::theory::convergence::Standing;

fn climb((case, plan): (Case, Arc<Plan>), meshes: Meshes) -> Ladder {
    let wish = LadderSettings { meshes, inertia: false, edge_layer: false, departure: false, also: vec![] };
    solve_ladder(&case, &plan, &wish, &|_| {}).unwrap()
}

const PROBE: &str = "[[probe]]\nname = \"side\"\nat = [1.1, 0.17]\n[mesh]\nmax_edge = 0.1\n";

/// Inside the bounds; both bounds and the pressure at the probe converge with the expected order. The recovered speed does so where the
/// mesh is regular; at a vertex of the first mesh triangles of unlike shape meet on every level, and first order is all that is sure.
fn holds(name: &str, ladder: &Ladder, expected: f64) {
    println!("{name}{}", text(&ladder.sections(), Detail::Full, WIDTH));
    let bracket = ladder.bracket().unwrap();
    assert!(bracket.inside, "{name}: {bracket:?}");
    for (k, quantity) in ladder.quantities.iter().enumerate().skip(1) {
        let j = &quantity.judgement;
        assert!((quantity.expected - expected).abs() < 1e-9, "{name}: {} {}", quantity.name, quantity.expected);
        if quantity.name.ends_with("speed_ratio") {
            let p = j.observed_order;
            assert!(p.is_none_or(|p| p > 0.9), "{name}: {} {:?} {j:?}", quantity.name, ladder.values(k));
            continue;
        }
        assert_eq!(j.standing, Standing::Asymptotic, "{name}: {} {:?} {j:?}", quantity.name, ladder.values(k));
    }
}

/// Circle of half the width in a long channel: added length 0.494479592 W (rows of images; see tests/exact).
#[test]
fn smooth_outline() {
    let ladder = climb(
        cell(3.0, 1.0, HeldPressure, &format!("{}{PROBE}", circle([1.5, 0.5], 0.5))),
        Meshes::Halving { levels: Some(5) },
    );
    holds("circle", &ladder, 2.0);
    let exact = 1.0 / (3.0 + 0.494479592);
    let judgement = &ladder.quantities[0].judgement;
    let miss = (judgement.extrapolated - exact).abs();
    println!("Richardson misses by {miss:.1e}, estimated error {:.1e}", judgement.uncertainty);
    assert!(miss < judgement.uncertainty, "{miss} {judgement:?}");
}

#[test]
fn corners_and_other_ends() {
    let post =
        format!("[[obstacle]]\npolygon = {{ points = [[1.3, 0.3], [1.7, 0.3], [1.7, 0.7], [1.3, 0.7]] }}\n{PROBE}");
    for (name, ends) in [("square post", HeldPressure), ("square post, given inflow", GivenInflow)] {
        let ladder = climb(cell(3.0, 1.0, ends, &post), Meshes::Halving { levels: Some(5) });
        assert!(ladder.bracket().unwrap().inside, "{name}");
        println!("{name}{}", text(&ladder.sections(), Detail::Full, WIDTH));
        for quantity in &ladder.quantities[1..3] {
            assert!((quantity.expected - 4.0 / 3.0).abs() < 1e-6, "{}", quantity.expected);
            // the smooth part, of order 2, dies out slowly: between the two
            let p = quantity.judgement.observed_order.unwrap();
            assert!(p > 4.0 / 3.0 - 0.1 && p < 2.1, "{name}: {} {p}", quantity.name);
        }
    }
}

#[test]
fn tapered_gap() {
    let text = format!("{}{PROBE}", circle([1.5, 0.5], 0.4));
    let gap = "{ at = 1e-3, slope = [0.0, 4e-4] }";
    let ladder = climb(cell_of_gap(3.0, 1.0, gap, GivenInflow, &text), Meshes::Halving { levels: Some(4) });
    holds("taper", &ladder, 2.0);
}

/// An empty cell is exact on every mesh: nothing to extrapolate, and no digit is made up.
#[test]
fn empty_cell_stands_at_rounding() {
    let ladder = climb(cell(3.0, 1.0, HeldPressure, PROBE), Meshes::Halving { levels: Some(4) });
    assert!(
        ladder.quantities.iter().all(|q| q.judgement.standing == Standing::Rounding),
        "{}",
        text(&ladder.sections(), Detail::Full, WIDTH)
    );
    assert!(ladder.bracket().unwrap().inside);
    assert!((ladder.rungs[0].values[0] - 1.0 / 3.0).abs() < 1e-12);
}

#[test]
fn adaptive_ladder_keeps_second_order_at_corners() {
    let post = "[[obstacle]]\npolygon = { points = [[1.3, 0.3], [1.7, 0.3], [1.7, 0.7], [1.3, 0.7]] }\n";
    let ladder = climb(cell(3.0, 1.0, HeldPressure, post), Meshes::Adaptive { levels: Some(4) });
    println!("adaptive{}", text(&ladder.sections(), Detail::Full, WIDTH));
    let bracket = ladder.bracket().unwrap();
    assert!(bracket.inside && ladder.rungs.len() == 4);
    // upper and lower bound, each of order two in sqrt(area/N); the meshes are not nested
    for quantity in &ladder.quantities[1..3] {
        let p = quantity.judgement.observed_order.unwrap();
        assert!((p - 2.0).abs() < 0.5, "{p}");
    }
}
