//! The one error of the library: what went wrong, with the value and the limit that was passed, and what can be done about it.
//!
//! A caller that can act on an error finds its kind as a variant, with the numbers it needs: a mesh that does not fit the memory tells
//! how many triangles would. Remedies are in terms of the library and of the case file; a program says them in its own terms.

mod kinds;
mod problems;
mod render;
mod usage;

pub use kinds::{Memory, MeshFault, NoConvergence, OtherCase};
pub use problems::{Problem, Problems};
pub use usage::Usage;

use std::path::PathBuf;

/// Result of everything in this crate that can fail.
pub type Result<T> = std::result::Result<T, Error>;

/// Whatever can stop a run. Its text is [`Error::what`] and, on a line of its own, [`Error::remedy`].
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The case file, or a file it names, is wrong.
    #[error("{0}")]
    Input(Problems),
    /// What was asked for cannot be done as it was put.
    #[error("{}\nhelp: {}", .0, .0.remedy())]
    Usage(Usage),
    /// The output folder holds the results of another case.
    #[error("{}\nhelp: {}", .0, .0.remedy())]
    Folder(Box<OtherCase>),
    /// A file could not be read or written.
    #[error("cannot {action} {}: {source}", path.display())]
    File {
        /// What was tried, as a verb: "read", "write", "create".
        action: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the operating system said.
        source: std::io::Error,
    },
    /// A mesh would not fit the memory that is free.
    #[error("{}\nhelp: {}", .0, .0.remedy())]
    Memory(Memory),
    /// No mesh could be made.
    #[error("{what}\nhelp: {remedy}")]
    Mesh {
        /// What is in the way of it.
        fault: MeshFault,
        /// What went wrong, with the value and the limit.
        what: String,
        /// What can be done about it.
        remedy: String,
    },
    /// A solver did not come to its end.
    #[error("{}\nhelp: {}", .0, .0.remedy())]
    NoConvergence(NoConvergence),
    /// A ladder that ended early, for one of its meshes could not be made or solved on.
    #[error("{}\nhelp: ask for at most {solved} meshes, those solved so far", cause.what())]
    CutShort {
        /// Meshes solved before.
        solved: usize,
        /// Why.
        cause: Box<Error>,
    },
    /// The run was stopped from outside ([`super::stop`]).
    #[error("the run was stopped")]
    Stopped,
    /// Anything else that could not be completed.
    #[error("{what}\nhelp: {remedy}")]
    Failed {
        /// What went wrong, with the value and the limit.
        what: String,
        /// What can be done about it.
        remedy: String,
    },
}

impl Error {
    /// Something that could not be completed and is of no other kind.
    pub fn failed(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Error::Failed { what: what.into(), remedy: remedy.into() }
    }

    /// A mesh that could not be made.
    pub fn mesh(fault: MeshFault, what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Error::Mesh { fault, what: what.into(), remedy: remedy.into() }
    }

    /// An argument of the library that makes no sense.
    pub fn argument(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Error::Usage(Usage::Argument { what: what.into(), remedy: remedy.into() })
    }

    /// What went wrong, with the value and the limit; without the remedy, save for [`Error::Input`], whose mistakes have one each.
    pub fn what(&self) -> String {
        match self {
            Error::Input(problems) => problems.to_string(),
            Error::Usage(usage) => usage.to_string(),
            Error::Folder(other) => other.to_string(),
            Error::File { .. } | Error::Stopped => self.to_string(),
            Error::Memory(memory) => memory.to_string(),
            Error::NoConvergence(left) => left.to_string(),
            Error::CutShort { cause, .. } => cause.what(),
            Error::Mesh { what, .. } | Error::Failed { what, .. } => what.clone(),
        }
    }

    /// What can be done about it, in terms of the library and of the case file; none where what went wrong says it all.
    pub fn remedy(&self) -> Option<String> {
        match self {
            Error::Input(_) | Error::File { .. } | Error::Stopped => None,
            Error::Usage(usage) => Some(usage.remedy()),
            Error::Folder(other) => Some(other.remedy()),
            Error::Memory(memory) => Some(memory.remedy()),
            Error::NoConvergence(left) => Some(left.remedy()),
            Error::CutShort { solved, .. } => Some(format!("ask for at most {solved} meshes, those solved so far")),
            Error::Mesh { remedy, .. } | Error::Failed { remedy, .. } => Some(remedy.clone()),
        }
    }
}

impl Problems {
    /// Nothing if there is no mistake, else all of them, sorted, as an [`Error::Input`].
    pub fn into_result(mut self) -> Result<()> {
        if self.is_empty() {
            return Ok(());
        }
        self.tidy();
        Err(Error::Input(self))
    }
}

impl From<Usage> for Error {
    fn from(usage: Usage) -> Error {
        Error::Usage(usage)
    }
}
