//! `departure`: how far from ideal? `figure`: the same, drawn.

use super::args::Common;
use super::progress::Progress;
use super::{MISSED, output_folder, say};
use crate::Result;
use crate::output::Folder;
use crate::output::text::summary;
use crate::study::{FigureSettings, Settings, Study, read};
use std::path::Path;

/// Solves a case with all corrections, measures every departure and judges it; draws it if figures are wanted.
pub fn departure(path: &Path, figures: Option<FigureSettings>, common: &Common) -> Result<u8> {
    let (case, plan) = read(path)?;
    let folder = Folder::open(&output_folder(path, common), &case, common.force)?;
    let shown = folder.dir().display().to_string();
    let encoding = common.encoding();
    let settings = Settings { goal: None, inertia: true, edge_layer: true, encoding };
    let progress = Progress::new(common);
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    let budget = study.budget(&|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = study.write_all(folder, Some(&budget), figures.as_ref())?;
    progress.end();
    if common.json {
        say(&report.to_json_string()?)?;
    } else if !common.quiet {
        say(&format!("{}{}\nResults are in {shown}\n", summary(&report).trim_start(), budget.summary()))?;
    }
    Ok(if study.reached() { 0 } else { MISSED })
}
