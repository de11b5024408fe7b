//! `fill`: how the dry cell fills, and the air that stays.

use super::args::{Common, MeshGoal};
use super::exit::Exit;
use super::job::Job;
use super::tell::tell_briefly;
use crate::base::Result;
use crate::report::FigureSettings;
use crate::report::digest::Digest;
use crate::study::fill_cell;
use std::path::Path;

/// Fills the cell of a case, writes the files and prints the report.
pub fn fill(path: &Path, mesh: MeshGoal, figures: &FigureSettings, common: &Common) -> Result<Exit> {
    let Job { mut case, plan, folder, shown, progress } = Job::begin(path, common)?;
    let goal = mesh.of(&mut case);
    let filled = fill_cell(case, plan, goal, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = filled.write(folder, figures)?;
    progress.end();
    tell_briefly(common, true, &report.sections, Digest::Fill, &format!("Results are in {shown}"))
}
