//! `check`: what the case says, and what solving it will take.

use super::args::Common;
use super::exit::Exit;
use super::job::tell;
use crate::base::Result;
use crate::report::Checked;
use crate::study::{expected, forecast, read, warnings_before};
use crate::theory::ideal::Goal;
use std::path::Path;

/// Reads and checks a case and prints what it understood.
pub fn check(path: &Path, common: &Common) -> Result<Exit> {
    let (case, plan) = read(path)?;
    let goal = Goal::Error { relative: case.mesh.error, most_triangles: case.mesh.max_triangles };
    let forecast = forecast(&plan, &case, goal)?;
    let (expected, warnings) = (expected(&case, &plan), warnings_before(&case, &plan));
    let last =
        if warnings.is_empty() { "The case is in order." } else { "The case can be solved, but mind the warnings." };
    let checked = Checked { case: &case, plan: &plan, forecast, expected, warnings };
    tell(common, true, &checked.sections(), last)
}
