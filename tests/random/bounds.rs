//! Two hundred plans at random, the same in every run: the bounds hold and nest under refinement.
//!
//! `PLANS=FOLDER cargo test --test random two_hundred` leaves the cases of [`WRITTEN`] plans there for a second solution by another
//! library (`validation/cross_check/random_plans.py`).

use crate::cells::{Grid, cell, circle, ellipse, ladder, text_of_gap};
use rayon::prelude::*;
use std::f64::consts::TAU;
use std::fmt::Write;
use std::path::Path;
use twinplate::input::case::Ends::{self, GivenInflow, HeldPressure};
use twinplate::numerics::mesh::{Mesh, SizeField};

const PLANS: usize = 200;
/// Plans that are solved a second time.
const WRITTEN: usize = 20;
/// Triangles of the coarsest mesh; narrow passages ask for more.
const COARSEST: usize = 300;

/// Knuth's linear congruential generator, its upper 24 bits.
struct Dice(u64);

impl Dice {
    fn throw(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        let drawn = low + (high - low) * (self.0 >> 40) as f64 / (1u64 << 24) as f64;
        // a tenth of a micrometre, so that a case file can be read by people too
        (drawn * 1e7).round() * 1e-7
    }

    fn pick(&mut self, count: usize) -> usize {
        (self.throw(0.0, count as f64) as usize).min(count - 1)
    }
}

/// One to eight obstacles in a cell of 2 by 1, each in a square of its own of 0.5 by 0.5, which it may fill to all but 0.005 all
/// round: circles, ellipses down to an eighth as thick as long, half-round piers on a wall, stars of three to nine unequal rays.
fn obstacles(dice: &mut Dice) -> String {
    let mut text = String::new();
    let certain = dice.pick(8);
    for square in 0..8 {
        let (column, row) = (square % 4, square / 4);
        let centre = [0.25 + 0.5 * column as f64, 0.25 + 0.5 * row as f64];
        let size = dice.throw(0.05, 0.245);
        if square != certain && dice.pick(5) > 1 {
            continue;
        }
        text += &match dice.pick(5) {
            0 => circle(centre, 2.0 * size),
            1 => ellipse(centre, [size, size * dice.throw(0.125, 1.0)], dice.throw(-90.0, 90.0)),
            2 => {
                let wall = ["lower", "upper"][row];
                circle([centre[0], row as f64], 2.0 * size)
                    .replace("[[obstacle]]", &format!("[[obstacle]]\non_wall = \"{wall}\""))
            }
            _ => star(dice, centre, size),
        };
    }
    text
}

/// Rays at even angles, so that no corner lies on another side.
fn star(dice: &mut Dice, centre: [f64; 2], size: f64) -> String {
    let (rays, turn) = (3 + dice.pick(7), dice.throw(0.0, TAU));
    let mut text = String::from("[[obstacle]]\npolygon = { points = [");
    for k in 0..rays {
        let (angle, r) = (turn + TAU * k as f64 / rays as f64, size * dice.throw(0.3, 1.0));
        let _ = write!(text, "[{:.7}, {:.7}], ", centre[0] + r * angle.cos(), centre[1] + r * angle.sin());
    }
    text + "] }\n"
}

/// Bounds of a grid with what its chords may add.
struct Bounds {
    lower: f64,
    upper: f64,
    allowance: f64,
}

/// What must hold of one plan.
///
/// On a polygon, energies of nested spaces can only fall, so that brackets nest: what is left of the iteration is a hundredth
/// of a bracket's square, far less than what refinement takes off a bracket, and rounding is 1e-12. Where chords stand for a curve,
/// refined ones take room from the fluid, by no more than the coarser mesh's allowance; the curves are convex, so the upper bound
/// only falls.
/// Another mesh, made without regard to the plan, has a bracket of its own about the same number: the two must overlap.
fn examine(plan: usize, ends: Ends, text: &str) -> f64 {
    let (case, outline) = cell(2.0, 1.0, ends, text);
    let bounds = |grid: &Grid| {
        let shape = grid.pattern(&case).shape_factor;
        Bounds { lower: shape.lower, upper: shape.upper, allowance: shape.outline_allowance }
    };
    let nest: Vec<Bounds> = ladder(&case, &outline, COARSEST, 3).iter().map(bounds).collect();
    let straight = !text.contains("circle") && !text.contains("ellipse");
    let said = |b: &Bounds| format!("{} to {}, allowance {}", b.lower, b.upper, b.allowance);
    let all = || format!("plan {plan}, {ends:?}: {:?}\n{text}", nest.iter().map(said).collect::<Vec<_>>());
    for b in &nest {
        // obstacles only take room: below the empty cell
        assert!(0.0 < b.lower && b.lower <= b.upper && b.lower < 0.5, "{}", all());
        assert!(!straight || b.allowance == 0.0, "{}", all());
    }
    for pair in nest.windows(2) {
        let (coarse, fine) = (&pair[0], &pair[1]);
        assert!(fine.upper <= coarse.upper * (1.0 + 1e-12), "upper bounds do not nest: {}", all());
        assert!(fine.lower + coarse.allowance >= coarse.lower * (1.0 - 1e-12), "lower bounds do not nest: {}", all());
        // linear elements: h^(2 pi/omega), a quarter where all is smooth and half at a knife edge; more where a curve is still coarse
        assert!(
            fine.upper - fine.lower < 0.75 * (coarse.upper - coarse.lower),
            "the bracket does not close: {}",
            all()
        );
    }
    let other = Mesh::generate(&outline, &SizeField::new(0.07, 0.3, vec![]), 100_000).unwrap();
    let other = bounds(&Grid::new(other, &case.cell.gap, 1e-3, ends));
    let finest = &nest[2];
    assert!(other.lower - other.allowance <= finest.upper, "{} above {}", said(&other), all());
    assert!(finest.lower - finest.allowance <= other.upper, "{} below {}", said(&other), all());
    (finest.upper - finest.lower) / finest.upper
}

#[test]
fn two_hundred_plans_bounds_hold_and_nest() {
    let mut dice = Dice(20);
    let plans: Vec<(Ends, String)> =
        (0..PLANS).map(|k| (if k < PLANS / 2 { HeldPressure } else { GivenInflow }, obstacles(&mut dice))).collect();
    if let Some(folder) = std::env::var_os("PLANS") {
        for (k, (ends, text)) in plans.iter().take(WRITTEN).enumerate() {
            let text = text_of_gap(2.0, 1.0, "0.001", *ends, text);
            std::fs::write(Path::new(&folder).join(format!("plan_{k:02}.toml")), text).unwrap();
        }
    }
    let mut widths: Vec<f64> = plans.par_iter().enumerate().map(|(k, (ends, text))| examine(k, *ends, text)).collect();
    widths.sort_by(f64::total_cmp);
    println!("finest brackets over their values: median {:.1e}, widest {:.1e}", widths[PLANS / 2], widths[PLANS - 1]);
    // wide brackets would hold anything: 5000 triangles, each about 0.03 long, know a plan of size 0.2 to some (0.03/0.2)^2
    assert!(widths[PLANS / 2] < 0.0225, "{widths:?}");
}
