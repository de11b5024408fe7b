//! A convergence study: one case on a ladder of meshes, every quantity judged.
//!
//! On the ladder of uniform halving every triangle of a mesh is split into four, new vertices on outlines go onto the true curve,
//! and the probes are vertices of every mesh ([`crate::numerics::mesh::Mesh::with_vertices_at`]), so that values need no interpolation. The coarsest mesh follows curves and
//! passages but is not graded into corners: the order then is the one theory has for uniform meshes. Both problems are solved
//! far below the discretisation error on every mesh.

mod bracket;
mod climb;
mod quantity;
mod sections;
mod settings;

pub use bracket::Bracket;
pub use quantity::{Quantity, Rung};
pub use settings::{LEAST_MESHES, LadderSettings, Meshes};

use super::Study;
use crate::base::Result;
use crate::base::row::Order;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::theory::convergence::{Grading, Sharpest, Standing, expected_order, judge, sharpest_corner};
use crate::theory::ideal::Stage;
use climb::{Climb, too_few};
use std::sync::Arc;

/// A case on a ladder of meshes.
#[derive(Debug)]
pub struct Ladder {
    /// The meshes, coarse to fine.
    pub rungs: Vec<Rung>,
    /// The quantities, the shape factor first.
    pub quantities: Vec<Quantity>,
    /// The corner that sets the order on meshes not graded into corners.
    pub sharpest: Option<Sharpest>,
    /// Whether meshes are graded into corners; those that are not are nested.
    pub grading: Grading,
    /// What a reader must know.
    pub notes: Vec<String>,
    /// The study on the finest mesh.
    pub finest: Study,
}

/// Solves a case on a ladder of meshes and judges every quantity. `watch` is told what is going on.
///
/// # Errors
/// [`crate::base::Error::Usage`] for fewer than three meshes, sizes that do not grow, a finest mesh beyond memory or `mesh.max_triangles`, or an
/// unknown key; [`crate::base::Error::Mesh`], [`crate::base::Error::Memory`] or [`crate::base::Error::NoConvergence`] if one of its first meshes
/// cannot be made or solved on.
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
    let grading = match wish.meshes {
        Meshes::Halving { .. } => Grading::Even,
        Meshes::Sizes(_) | Meshes::Adaptive { .. } => Grading::IntoCorners,
    };
    let sharpest = sharpest_corner(plan, case.drive.ends);
    let mut ladder = Ladder { rungs, quantities, sharpest, grading, notes, finest };
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
            let noise = self.quantities[k].noise_among(&values);
            let quantity = &mut self.quantities[k];
            quantity.expected = expected_order(self.sharpest.as_ref(), quantity.order, self.grading);
            quantity.judgement = judge(&sizes, &values, quantity.expected, noise);
            let faster = quantity.judgement.observed_order.is_some_and(|p| p > quantity.expected + 0.25);
            if faster && quantity.order == Order::Pattern && quantity.expected < 2.0 {
                quantity.judgement.reason += "; the part of the sharpest corner is small as yet, or symmetry keeps the fluid from turning round it";
            }
            if quantity.order == Order::Region && quantity.judgement.standing != Standing::Asymptotic {
                quantity.judgement.reason += "; the rim of the observed region and the places next to stagnation points, where maxima sit, follow the mesh";
            }
        }
        self.explain_mean();
    }

    /// The shape factor is the mean of its bounds, whose errors have opposite signs and may cancel: then its order means little and
    /// those of the bounds count.
    fn explain_mean(&mut self) {
        let sound = |q: &Quantity| q.judgement.standing == Standing::Asymptotic;
        if let [mean, lower, upper, ..] = self.quantities.as_mut_slice() {
            let blurred =
                matches!(mean.judgement.standing, Standing::NotYet | Standing::Oscillating | Standing::Settled);
            if blurred && sound(lower) && sound(upper) {
                mean.judgement.reason +=
                    "; it is the mean of two bounds whose errors nearly cancel, and both bounds are asymptotic";
            }
        }
    }
}
