//! Two meshes for the errors of a budget, and finer ones until the verdict is decided.

use super::{Budget, Settings, Shared, Spent, Study};
use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::theory::ideal::{Goal, Stage};
use std::sync::Arc;
use std::time::Instant;

/// Triangles of a mesh over those of the one it is compared with.
const STEP: usize = 3;
/// Least of that: with meshes too much alike the difference says nothing.
const LEAST_STEP: f64 = 1.8;

/// Solves a case, measures its departures, takes their errors from a second, coarser mesh, and refines until the verdict is decided or
/// the next mesh would have more triangles than the case allows. A goal of a number of triangles is kept.
///
/// # Errors
/// As [`Study::solve`] and [`Study::budget`].
pub fn solve_decided(
    case: &Case,
    plan: &Arc<Plan>,
    settings: Settings,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<(Study, Budget)> {
    solve_decided_with(case, plan, settings, &Shared::new(1), watch)
}

/// The same from what other runs have solved, or for them: to the same bits.
///
/// # Errors
/// As [`solve_decided`].
pub fn solve_decided_with(
    case: &Case,
    plan: &Arc<Plan>,
    settings: Settings,
    shared: &Shared,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<(Study, Budget)> {
    let solve = |goal: Option<Goal>| -> Result<Study> {
        let settings = Settings { goal: goal.or(settings.goal), ..settings };
        Study::solve_unshown(case.clone(), plan.clone(), settings, shared, watch)
    };
    let clock = Instant::now();
    let triangles = |study: &Study| study.solved.space.mesh.triangles.len();
    let mut study = solve(None)?;
    let mut budget = study.measured(watch)?;
    let coarse = solve(Some(Goal::Triangles(triangles(&study) / STEP)))?;
    let mut below = coarse.measured(watch)?.coarse(&coarse);
    let mut meshing = study.spent.mesh + coarse.spent.mesh;
    drop(coarse);
    let keeps = matches!(settings.goal, Some(Goal::Triangles(_)));
    loop {
        let too_alike = (triangles(&study) as f64) < LEAST_STEP * below.triangles() as f64;
        if !too_alike {
            budget.compare(&study, &below);
        }
        let next = STEP * triangles(&study);
        let settled = budget.verdict.decided && !too_alike;
        if settled || keeps || next > case.mesh.max_triangles {
            budget.complete(&study)?;
            study.show(shared)?;
            let total = clock.elapsed();
            study.spent = Spent { mesh: meshing, solve: total.saturating_sub(meshing), total };
            return Ok((study, budget));
        }
        below = budget.coarse(&study);
        let reached = study.reached;
        study = solve(Some(Goal::Triangles(next)))?;
        budget = study.measured(watch)?;
        study.reached &= reached;
        meshing += study.spent.mesh;
    }
}
