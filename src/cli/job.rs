//! What every command that works on a case begins and ends with.

use super::args::Common;
use super::place::{command_line, output_folder};
use super::progress::Progress;
use super::settings::settings;
use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::report::{Folder, Others};
use std::path::Path;
use std::sync::Arc;

/// A case that has been read and checked, the folder for its results, and the progress that is shown.
pub struct Job {
    /// The case.
    pub case: Case,
    /// Its plan.
    pub plan: Arc<Plan>,
    /// Its folder.
    pub folder: Folder,
    /// The folder's name for reading.
    pub shown: String,
    /// The progress.
    pub progress: Progress,
}

impl Job {
    /// Reads a case and opens its folder.
    pub fn begin(path: &Path, common: &Common) -> Result<Job> {
        let (case, plan) = common.read(path)?;
        let dir = common.output.clone().map_or_else(|| output_folder(&case), Ok)?;
        Job::of(case, plan, &dir, common)
    }

    /// Opens a folder for a case that has been read, with all files it goes with.
    pub fn of(case: Case, plan: Arc<Plan>, dir: &Path, common: &Common) -> Result<Job> {
        let others = if common.force { Others::Replaced } else { Others::Refused };
        let mut folder = Folder::open(dir, &case, others)?;
        folder.encoding = common.encoding();
        folder.command = command_line();
        folder.set_settings(settings());
        let shown = folder.dir().display().to_string();
        Ok(Job { case, plan, folder, shown, progress: Progress::new(common.quiet, common.verbose) })
    }
}
