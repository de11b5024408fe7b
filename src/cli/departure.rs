//! `departure`: how far from ideal? `figure`: the same, drawn.

use super::args::Common;
use super::job::{Job, tell};
use crate::base::Result;
use crate::report::FigureSettings;
use crate::report::text::summary;
use crate::study::{Settings, Study};
use std::path::Path;

/// Solves a case with all corrections, measures every departure and judges it; draws it if figures are wanted.
pub fn departure(path: &Path, figures: Option<FigureSettings>, common: &Common) -> Result<u8> {
    let Job { case, plan, folder, shown, progress } = Job::begin(path, common)?;
    let settings = Settings { goal: None, inertia: true, edge_layer: true };
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    let budget = study.budget(&|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = study.write_all(folder, Some(&budget), figures.as_ref())?;
    progress.end();
    let text =
        || format!("{}{}\nResults are in {shown}\n", summary(&report, common.detail()).trim_start(), budget.summary());
    tell(common, study.reached(), || report.to_json_string(), text)
}
