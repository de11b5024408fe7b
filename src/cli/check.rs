//! `check`: what the case says, and what solving it will take; are the files of a folder those that were written?

use super::args::Common;
use super::exit::Exit;
use super::tell::tell;
use crate::base::Result;
use crate::report::{Checked, verify};
use crate::study::{expected, forecast, warnings_before};
use crate::theory::ideal::Goal;
use std::path::Path;

/// Reads and checks a case and prints what it understood; of a folder of results, whether its files are the ones that were written.
pub fn check(path: &Path, common: &Common) -> Result<Exit> {
    if path.is_dir() {
        return tell(common, true, &verify(path)?, "Every file is the one that was written.");
    }
    let (case, plan) = common.read(path)?;
    let goal = Goal::Error { relative: case.mesh.error, most_triangles: case.mesh.max_triangles };
    let forecast = forecast(&plan, &case, goal)?;
    let (expected, warnings) = (expected(&case, &plan), warnings_before(&case, &plan));
    let last =
        if warnings.is_empty() { "The case is in order." } else { "The case can be solved, but mind the warnings." };
    let checked = Checked { case: &case, plan: &plan, forecast, expected, warnings };
    tell(common, true, &checked.sections(), last)
}
