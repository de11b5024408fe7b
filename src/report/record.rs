//! `results.json`: which files of which commands stand in an output folder, all made from one combined hash. It is written last.

use crate::base::{Error, Result};
use serde::{Deserialize, Serialize};
use std::io;
use std::path::Path;

/// Its name.
pub(super) const RECORD: &str = "results.json";

/// What stands in a folder.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Record {
    /// Hash over the case and every file it reads.
    pub combined_sha256: String,
    /// The command that wrote the files.
    pub command: String,
    /// The settings of that command that its files follow from.
    pub settings: String,
    /// Title of the case.
    pub title: String,
    /// The case file.
    pub case: String,
    /// The files of that command.
    pub files: Vec<Written>,
    /// What earlier commands wrote from the same case and files.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Run>,
}

/// The files of a command that stand there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Run {
    pub command: String,
    #[serde(default)]
    pub settings: String,
    pub files: Vec<Written>,
}

/// A file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Written {
    pub name: String,
    pub sha256: String,
}

/// The report of a folder without a record.
#[derive(Default, Deserialize)]
#[serde(default)]
struct OldReport {
    case: OldCase,
    files: Vec<String>,
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct OldCase {
    title: String,
    file: String,
    combined_sha256: String,
}

impl Record {
    /// The record of a folder, or what its `report.json` tells where there is no record; none if there is neither. One that cannot be
    /// understood tells of no hash, hence of another one.
    ///
    /// # Errors
    /// [`Error::File`] if it is there and cannot be read.
    pub fn of(dir: &Path) -> Result<Option<Record>> {
        if let Some(bytes) = bytes(&dir.join(RECORD))? {
            return Ok(Some(serde_json::from_slice(&bytes).unwrap_or_default()));
        }
        let Some(bytes) = bytes(&dir.join("report.json"))? else { return Ok(None) };
        let OldReport { case, files } = serde_json::from_slice(&bytes).unwrap_or_default();
        let files = files.into_iter().map(|name| Written { name, sha256: String::new() }).collect();
        let OldCase { title, file, combined_sha256 } = case;
        Ok(Some(Record { combined_sha256, title, case: file, files, ..Record::default() }))
    }

    /// The files by command, the last command first.
    pub fn runs(self) -> impl Iterator<Item = Run> {
        std::iter::once(Run { command: self.command, settings: self.settings, files: self.files }).chain(self.earlier)
    }
}

fn bytes(path: &Path) -> Result<Option<Vec<u8>>> {
    match std::fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(source) => Err(Error::File { action: "read", path: path.to_owned(), source }),
    }
}
