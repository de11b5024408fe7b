//! `converge`: is it converged?

use super::args::Common;
use super::progress::Progress;
use super::{output_folder, say};
use crate::Result;
use crate::output::Folder;
use crate::study::{LadderSettings, read, solve_ladder};
use std::path::Path;

/// Solves a case on a ladder of meshes and judges every quantity.
pub fn converge(path: &Path, wish: &LadderSettings, common: &Common) -> Result<u8> {
    let (case, plan) = read(path)?;
    let folder = Folder::open(&output_folder(path, common), &case, common.force)?;
    let shown = folder.dir().display().to_string();
    let progress = Progress::new(common);
    let ladder = solve_ladder(&case, &plan, wish, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = ladder.write(folder)?;
    progress.end();
    if common.json {
        say(&report.to_json_string()?)
    } else if !common.quiet {
        say(&format!("{}{}\nResults are in {shown}\n", case.title, ladder.summary()))
    } else {
        Ok(0)
    }
}
