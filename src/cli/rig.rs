//! `rig`: the cell's design sheet.

use super::args::Common;
use super::progress::Progress;
use super::{MISSED, output_folder, say};
use crate::Result;
use crate::output::Folder;
use crate::study::{Settings, Study, read};
use std::path::Path;

/// Solves a case with all corrections and writes the design sheet of its cell.
pub fn rig(path: &Path, common: &Common) -> Result<u8> {
    let (case, plan) = read(path)?;
    let folder = Folder::open(&output_folder(path, common), &case, common.force)?;
    let shown = folder.dir().display().to_string();
    let settings = Settings { goal: None, inertia: true, edge_layer: true, encoding: common.encoding() };
    let progress = Progress::new(common);
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    let budget = study.budget(&|stage| progress.stage(stage))?;
    progress.show("sizing the cell");
    let rig = study.rig(&budget)?;
    let [json, text] = study.write_rig(&rig, folder)?;
    progress.end();
    if common.json {
        say(&json)?;
    } else if !common.quiet {
        say(&format!(
            "{text}\nThe sheet is in {shown} (rig.txt, rig.json, figures/feasible.* and feasible_by_rms.*)\n"
        ))?;
    }
    Ok(if study.reached() { 0 } else { MISSED })
}
