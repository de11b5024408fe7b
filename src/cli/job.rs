//! What every command that works on a case begins and ends with.

use super::args::Common;
use super::progress::Progress;
use super::{MISSED, output_folder, say};
use crate::base::Result;
use crate::base::row::Section;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::report::Folder;
use crate::report::json::json;
use crate::report::text::{WIDTH, text};
use crate::study::read;
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
        let (case, plan) = read(path)?;
        let mut folder = Folder::open(&output_folder(path, common), &case, common.force)?;
        folder.encoding = common.encoding();
        let shown = folder.dir().display().to_string();
        Ok(Job { case, plan, folder, shown, progress: Progress::new(common) })
    }
}

/// Prints what was found, as JSON or for reading with a last line, and returns the exit code.
pub fn tell(common: &Common, reached: bool, sections: &[Section], last: &str) -> Result<u8> {
    if common.json {
        say(&json(sections)?)?;
    } else if !common.quiet {
        say(&format!("{}\n{last}\n", text(sections, common.detail(), WIDTH).trim_start()))?;
    }
    Ok(if reached { 0 } else { MISSED })
}

/// The same for a text and JSON made elsewhere.
pub fn tell_as(common: &Common, json: impl FnOnce() -> Result<String>, text: impl FnOnce() -> String) -> Result<u8> {
    if common.json {
        say(&json()?)?;
    } else if !common.quiet {
        say(&text())?;
    }
    Ok(0)
}
