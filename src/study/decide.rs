//! Two meshes for the errors of a budget, and finer ones until the verdict is decided.

use super::{Budget, CoarseBudget, Settings, Spent, Study};
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
    let solve = |goal: Option<Goal>| -> Result<(Study, Budget)> {
        let settings = Settings { goal: goal.or(settings.goal), ..settings };
        let study = Study::solve(case.clone(), plan.clone(), settings, watch)?;
        let budget = study.budget(watch)?;
        Ok((study, budget))
    };
    let clock = Instant::now();
    let triangles = |study: &Study| study.solved.space.mesh.triangles.len();
    let (mut study, mut budget) = solve(None)?;
    let count = triangles(&study);
    let coarse = solve(Some(Goal::Triangles(count / STEP)))?;
    let alike =
        |coarse: &CoarseBudget, study: &Study| (triangles(study) as f64) < LEAST_STEP * coarse.triangles() as f64;
    let mut below = coarse.1.coarse(&coarse.0);
    let mut meshing = study.spent.mesh + coarse.0.spent.mesh;
    let keeps = matches!(settings.goal, Some(Goal::Triangles(_)));
    loop {
        let too_alike = alike(&below, &study);
        if !too_alike {
            budget.compare(&study, &below);
        }
        let next = STEP * triangles(&study);
        let settled = budget.verdict.decided && !too_alike;
        if settled || keeps || next > case.mesh.max_triangles {
            let total = clock.elapsed();
            study.spent = Spent { mesh: meshing, solve: total.saturating_sub(meshing), total };
            return Ok((study, budget));
        }
        below = budget.coarse(&study);
        let reached = study.solved.reached;
        (study, budget) = solve(Some(Goal::Triangles(next)))?;
        study.solved.reached &= reached;
        meshing += study.spent.mesh;
    }
}
