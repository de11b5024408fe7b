//! A convergence study: one case on a ladder of meshes, every quantity judged.
//!
//! On the ladder of uniform halving every triangle of a mesh is split into four, new vertices on outlines go onto the true curve,
//! and the probes are vertices of every mesh ([`crate::numerics::mesh::Mesh::with_vertices_at`]), so that values need no interpolation. The coarsest mesh follows curves and
//! passages but is not graded into corners: the order then is the one theory has for uniform meshes. Both problems are solved
//! far below the discretisation error on every mesh.

use super::Study;
use super::ladder_climb::{Climb, too_few};
use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::theory::convergence::{Judgement, Kind, Sharpest, Verdict, expected_order, judge, sharpest_corner};
use crate::theory::ideal::Stage;
use std::sync::Arc;

/// Fewest meshes of a ladder.
pub const LEAST_MESHES: usize = 3;

/// Which meshes.
#[derive(Debug, Clone, PartialEq)]
pub enum Meshes {
    /// Nested meshes, each with half the size of the one before; five if none are asked for, four if the finest would be large.
    Halving {
        /// Number of meshes.
        levels: Option<usize>,
    },
    /// One graded mesh of about each number of triangles, as `solve --triangles` makes them.
    Sizes(Vec<usize>),
    /// Adaptive meshes, each for a quarter of the half-width of the bracket before.
    Adaptive {
        /// Number of meshes.
        levels: Option<usize>,
    },
}

/// What to study.
#[derive(Debug, Clone, PartialEq)]
pub struct LadderSettings {
    /// The meshes.
    pub meshes: Meshes,
    /// Whether to study the inertia departure.
    pub inertia: bool,
    /// Whether to study the edge layer.
    pub edge_layer: bool,
    /// Whether to study the measures of the departure budget; it includes the corrections.
    pub departure: bool,
    /// Further scalars of the report, by their keys joined by dots, entries of lists by name: `drive.head_m`,
    /// `probes.shoulder.angle_deg`.
    pub also: Vec<String>,
}

/// One mesh of a ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Triangles.
    pub triangles: usize,
    /// Size sqrt(area/N), m.
    pub size: f64,
    /// Lower and upper bound of the shape factor.
    pub bounds: [f64; 2],
    /// What chords in place of curves can add to the shape factor, to first order.
    pub allowance: f64,
    /// Values of the quantities, in their order.
    pub values: Vec<f64>,
}

/// One quantity over the ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// Its name: `shape_factor`, `probe.NAME.pressure`, `departure.edge_layer.speed_rms`, or a key of the report.
    pub name: String,
    /// Its unit, `1` for numbers.
    pub unit: String,
    /// Expected order.
    pub expected: f64,
    /// The verdict on it.
    pub judgement: Judgement,
    pub(super) key: String,
    pub(super) kind: Kind,
}

/// A case on a ladder of meshes.
#[derive(Debug)]
pub struct Ladder {
    /// The meshes, coarse to fine.
    pub rungs: Vec<Rung>,
    /// The quantities, the shape factor first.
    pub quantities: Vec<Quantity>,
    /// Whether the meshes are nested.
    pub nested: bool,
    /// The corner that sets the order on meshes not graded into corners.
    pub sharpest: Option<Sharpest>,
    /// Whether meshes are graded into corners.
    pub graded: bool,
    /// What a reader must know.
    pub notes: Vec<String>,
    /// The study on the finest mesh.
    pub finest: Study,
}

/// Solves a case on a ladder of meshes and judges every quantity. `watch` is told what is going on.
///
/// # Errors
/// [`crate::base::Error::Usage`] for fewer than three meshes, sizes that do not grow, a finest mesh beyond memory or `mesh.max_triangles`, or an
/// unknown key; [`crate::base::Error::Failed`] if a mesh cannot be made or a solver does not come to its end.
pub fn solve_ladder(
    case: &Case,
    plan: &Arc<Plan>,
    wish: &LadderSettings,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Ladder> {
    let mut climb = Climb::new(case, plan, wish);
    climb.run(watch)?;
    let Climb { quantities, rungs, notes, finest, .. } = climb;
    let finest = finest.ok_or_else(|| too_few(rungs.len()))?;
    let graded = !matches!(wish.meshes, Meshes::Halving { .. });
    let sharpest = sharpest_corner(plan, case.drive.ends);
    let mut ladder = Ladder { rungs, quantities, nested: !graded, sharpest, graded, notes, finest };
    ladder.judge();
    Ok(ladder)
}

impl Ladder {
    /// Sizes, coarse to fine, m.
    pub fn sizes(&self) -> Vec<f64> {
        self.rungs.iter().map(|rung| rung.size).collect()
    }

    /// Values of a quantity, coarse to fine.
    pub fn values(&self, quantity: usize) -> Vec<f64> {
        self.rungs.iter().map(|rung| rung.values[quantity]).collect()
    }

    fn judge(&mut self) {
        let sizes = self.sizes();
        for k in 0..self.quantities.len() {
            let values = self.values(k);
            let noise = self.noise(&self.quantities[k], &values);
            let quantity = &mut self.quantities[k];
            quantity.expected = expected_order(self.sharpest.as_ref(), quantity.kind, self.graded);
            quantity.judgement = judge(&sizes, &values, quantity.expected, noise);
            let faster = quantity.judgement.observed_order.is_some_and(|p| p > quantity.expected + 0.25);
            if faster && quantity.kind == Kind::Pattern && quantity.expected < 2.0 {
                quantity.judgement.why += "; the part of the sharpest corner is small as yet, or symmetry keeps the fluid from turning round it";
            }
            if quantity.kind == Kind::Region && quantity.judgement.verdict != Verdict::Asymptotic {
                quantity.judgement.why += "; the rim of the observed region and the places next to stagnation points, where maxima sit, follow the mesh";
            }
        }
        self.explain_mean();
    }

    /// Differences that iteration and rounding can make, units of the quantity: pressures relative to the pressure drop, speeds to
    /// the mean speed, all else to the value.
    fn noise(&self, quantity: &Quantity, values: &[f64]) -> f64 {
        let largest = values.iter().fold(0.0, |a: f64, v| a.max(v.abs()));
        match quantity.kind {
            _ if quantity.name.starts_with("shape_factor") => 1e-12 * largest,
            _ if quantity.name.ends_with(".pressure") => 1e-9 * self.finest.pattern.drive.pressure_drop.abs(),
            _ if quantity.name.ends_with("speed_ratio") => 1e-8,
            _ => 1e-8 * largest,
        }
    }

    /// The shape factor is the mean of its bounds, whose errors have opposite signs and may cancel: then its order means little and
    /// those of the bounds count.
    fn explain_mean(&mut self) {
        let sound = |q: &Quantity| q.judgement.verdict == Verdict::Asymptotic;
        if let [mean, lower, upper, ..] = self.quantities.as_mut_slice() {
            let blurred = matches!(mean.judgement.verdict, Verdict::NotYet | Verdict::Oscillating);
            if blurred && sound(lower) && sound(upper) {
                mean.judgement.why +=
                    "; it is the mean of two bounds whose errors nearly cancel, and both bounds are asymptotic";
            }
        }
    }
}
