//! What every command that works on a case begins and ends with.

use super::args::Common;
use super::exit::Exit;
use super::place::{command_line, output_folder};
use super::progress::Progress;
use super::say::{Shown, print};
use super::settings::settings;
use crate::base::Result;
use crate::base::row::{Detail, Section};
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::report::digest::{Digest, digest};
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

/// Prints what was found like [`tell`], for reading cut to the screen unless everything is wanted.
pub fn tell_briefly(common: &Common, reached: bool, sections: &[Section], of: Digest, last: &str) -> Result<Exit> {
    match common.shown() {
        Shown::Text(Detail::Main) => {
            let last = format!("{last}; --full prints all of it");
            tell(common, reached, &digest(sections, of), &last)
        }
        _ => tell(common, reached, sections, last),
    }
}

/// Prints what was found, as JSON or for reading with a last line, and returns the exit code.
pub fn tell(common: &Common, reached: bool, sections: &[Section], last: &str) -> Result<Exit> {
    print(sections, last, common.shown())?;
    Ok(Exit::reached(reached))
}
