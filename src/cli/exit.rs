//! How the program ends.

use crate::base::Error;
use crate::base::error::Usage;
use std::process::{ExitCode, Termination};

/// The exit codes of the program, all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// All that was asked for is done.
    Done = 0,
    /// Something failed while running.
    Failed = 1,
    /// The command line asks for what cannot be.
    CommandLine = 2,
    /// The case, or a file it names, is wrong.
    Case = 3,
    /// Results are written, but the wanted accuracy was not reached.
    Missed = 4,
}

impl Exit {
    /// All of them, in order.
    pub const ALL: [Exit; 5] = [Exit::Done, Exit::Failed, Exit::CommandLine, Exit::Case, Exit::Missed];

    /// The number the shell sees.
    pub fn code(self) -> u8 {
        self as u8
    }

    /// What it tells, in a few words.
    pub fn meaning(self) -> &'static str {
        match self {
            Exit::Done => "done",
            Exit::Failed => "failed while running",
            Exit::CommandLine => "wrong command line",
            Exit::Case => "the case or a file it names is wrong",
            Exit::Missed => "done, but the target was not reached",
        }
    }

    /// Done, or written without reaching the target.
    pub(super) fn reached(reached: bool) -> Exit {
        if reached { Exit::Done } else { Exit::Missed }
    }
}

impl From<&Error> for Exit {
    fn from(error: &Error) -> Exit {
        match error {
            // nobody asked for the meshes that the case leaves no room for
            Error::Input(_) | Error::Usage(Usage::LargeLadder { chosen: false, .. }) => Exit::Case,
            Error::Usage(_) | Error::Folder(_) | Error::CutShort { .. } => Exit::CommandLine,
            Error::File { .. }
            | Error::Memory(_)
            | Error::Mesh { .. }
            | Error::NoConvergence(_)
            | Error::Stopped
            | Error::Failed { .. } => Exit::Failed,
        }
    }
}

impl Termination for Exit {
    fn report(self) -> ExitCode {
        ExitCode::from(self.code())
    }
}
