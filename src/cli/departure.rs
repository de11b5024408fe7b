//! `departure`: how far from ideal? `figure`: the same, drawn.

use super::args::Common;
use super::exit::Exit;
use super::job::{Job, tell};
use crate::base::Result;
use crate::report::FigureSettings;
use crate::study::{Settings, Study, Wanted};
use std::path::Path;

/// Solves a case with all corrections, measures every departure and judges it; draws it if figures are wanted.
pub fn departure(path: &Path, figures: Option<FigureSettings>, common: &Common) -> Result<Exit> {
    let Job { case, plan, folder, shown, progress } = Job::begin(path, common)?;
    let settings = Settings { goal: None, inertia: true, edge_layer: true };
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    let wanted = Wanted { departure: true, sheet: figures.is_some(), figures: figures.is_some() };
    let found = study.find(wanted, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = match &figures {
        Some(figures) => study.write_drawn(&found, folder, figures)?,
        None => study.write_found(&found, folder)?,
    };
    progress.end();
    tell(common, study.reached(), &report.sections, &format!("Results are in {shown}"))
}
