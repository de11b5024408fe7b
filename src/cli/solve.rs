//! `solve`: the main job.

use super::args::{Beside, Common, MeshGoal};
use super::exit::Exit;
use super::job::Job;
use super::tell::tell_briefly;
use crate::base::Result;
use crate::report::FigureSettings;
use crate::report::digest::Digest;
use crate::study::{Settings, Study, Wanted};
use std::path::Path;

/// What is asked of `solve`.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Add the inertia departure.
    pub inertia: bool,
    /// Add the edge-layer departure.
    pub edge_layer: bool,
    /// What is solved beside the series.
    pub beside: Beside,
    /// How fine the mesh shall be.
    pub mesh: MeshGoal,
    /// Draw the figures.
    pub figures: Option<FigureSettings>,
}

/// Solves a case, writes its files and prints the report.
pub fn solve(path: &Path, wish: Wish, common: &Common) -> Result<Exit> {
    let Job { mut case, plan, folder, shown, progress } = Job::begin(path, common)?;
    if let Some(figures) = &wish.figures {
        figures.check(&case)?;
    }
    let closure = wish.beside.closure(&case, &plan)?;
    let settings = Settings { goal: wish.mesh.of(&mut case), inertia: wish.inertia, edge_layer: wish.edge_layer };
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    let wanted = Wanted { figures: wish.figures.is_some(), closure, ..Wanted::default() };
    let found = study.find(wanted, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = match &wish.figures {
        Some(figures) => study.write_drawn(&found, folder, figures)?,
        None => study.write_found(&found, folder)?,
    };
    progress.end();
    tell_briefly(common, study.reached(), &report.sections, Digest::Solve, &format!("Results are in {shown}"))
}
