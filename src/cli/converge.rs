//! `converge`: is it converged?

use super::args::{Common, Series};
use super::exit::Exit;
use super::job::Job;
use super::tell::tell_briefly;
use crate::base::Result;
use crate::report::FigureSettings;
use crate::report::digest::Digest;
use crate::study::{LadderSettings, solve_ladder};
use std::path::Path;

/// Solves a case on a ladder of meshes and judges every quantity; draws the errors for print if figures are wanted.
pub fn converge(
    path: &Path,
    wish: &LadderSettings,
    series: Series,
    figures: Option<FigureSettings>,
    common: &Common,
) -> Result<Exit> {
    let Job { mut case, plan, folder, shown, progress } = Job::begin(path, common)?;
    series.apply(&mut case);
    let ladder = solve_ladder(&case, &plan, wish, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = ladder.write(folder, figures.as_ref())?;
    progress.end();
    tell_briefly(common, true, &report.sections, Digest::Converge, &format!("Results are in {shown}"))
}
