//! What every command that works on a case begins and ends with.

use super::args::Common;
use super::exit::Exit;
use super::progress::Progress;
use super::say::print;
use crate::base::Result;
use crate::base::row::Section;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::report::Folder;
use crate::study::read;
use std::path::{Path, PathBuf};
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
        let (case, plan) = read(path)?;
        let mut folder = Folder::open(&output_folder(path, common), &case, common.force)?;
        folder.encoding = common.encoding();
        let shown = folder.dir().display().to_string();
        Ok(Job { case, plan, folder, shown, progress: Progress::new(common) })
    }
}

/// Prints what was found, as JSON or for reading with a last line, and returns the exit code.
pub fn tell(common: &Common, reached: bool, sections: &[Section], last: &str) -> Result<Exit> {
    print(sections, last, common.shown())?;
    Ok(Exit::reached(reached))
}

/// The folder for the results of a case.
fn output_folder(case: &Path, common: &Common) -> PathBuf {
    common.output.clone().unwrap_or_else(|| Path::new("results").join(case.file_stem().unwrap_or_default()))
}
