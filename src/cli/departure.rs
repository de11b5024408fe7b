//! `departure`: how far from ideal? `figure`: the same, drawn.

use super::args::{Beside, Common, MeshGoal};
use super::exit::Exit;
use super::job::Job;
use super::tell::tell_briefly;
use crate::base::Result;
use crate::report::FigureSettings;
use crate::report::digest::Digest;
use crate::study::{Settings, Wanted, solve_decided};
use std::path::Path;

/// Solves a case with all corrections, measures every departure and judges it; draws it if figures are wanted.
pub fn departure(
    path: &Path,
    mesh: MeshGoal,
    beside: Beside,
    figures: Option<FigureSettings>,
    common: &Common,
) -> Result<Exit> {
    let Job { mut case, plan, folder, shown, progress } = Job::begin(path, common)?;
    if let Some(figures) = &figures {
        figures.check(&case)?;
    }
    let closure = beside.closure(&case, &plan)?;
    let settings = Settings { goal: mesh.of(&mut case), inertia: true, edge_layer: true };
    let (study, budget) = solve_decided(&case, &plan, settings, &|stage| progress.stage(stage))?;
    let wanted = Wanted { departure: true, sheet: figures.is_some(), figures: figures.is_some(), closure };
    let found = study.find_with(Some(budget), wanted, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = match &figures {
        Some(figures) => study.write_drawn(&found, folder, figures)?,
        None => study.write_found(&found, folder)?,
    };
    progress.end();
    tell_briefly(common, study.reached(), &report.sections, Digest::Departure, &format!("Results are in {shown}"))
}
