//! `solve`: the main job.

use super::args::Common;
use super::job::{Job, tell};
use crate::base::Result;
use crate::report::FigureSettings;
use crate::report::text::summary;
use crate::study::{Settings, Study};
use crate::theory::ideal::Goal;
use std::path::Path;

/// What is asked of `solve`.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Add the inertia departure.
    pub inertia: bool,
    /// Add the edge-layer departure.
    pub edge_layer: bool,
    /// One mesh of about so many triangles.
    pub triangles: Option<usize>,
    /// Wanted relative half-width.
    pub error: Option<f64>,
    /// Draw the figures.
    pub figures: Option<FigureSettings>,
}

/// Solves a case, writes its files and prints the report.
pub fn solve(path: &Path, wish: Wish, common: &Common) -> Result<u8> {
    let Job { case, plan, folder, shown, progress } = Job::begin(path, common)?;
    let goal = match (wish.triangles, wish.error) {
        (Some(n), _) => Goal::Triangles(n),
        (None, error) => {
            Goal::Error { relative: error.unwrap_or(case.mesh.error), most_triangles: case.mesh.max_triangles }
        }
    };
    let settings = Settings { goal: Some(goal), inertia: wish.inertia, edge_layer: wish.edge_layer };
    let study = Study::solve(case, plan, settings, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let report = study.write_all(folder, None, wish.figures.as_ref())?;
    progress.end();
    let text = || format!("{}\nResults are in {shown}\n", summary(&report, common.detail()).trim_start());
    tell(common, study.reached(), || report.to_json_string(), text)
}
