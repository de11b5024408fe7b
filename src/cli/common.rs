//! Options that commands have in common.

use super::say::Shown;
use crate::base::row::Detail;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::campaign::{Base, Literal};
use crate::input::case::Case;
use crate::report::vtk::Encoding;
use crate::study::{read, read_text};
use clap::Args;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Options of every command that reads a case.
#[derive(Debug, Args)]
pub struct Common {
    /// Folder for the results [default: results/<case file stem>/, or beside it where another case of that name has its own].
    #[arg(short, long, value_name = "DIR")]
    pub output: Option<PathBuf>,
    /// Write even into a folder that holds results of another case, or of this one before it or a file it reads was changed.
    #[arg(long)]
    pub force: bool,
    /// Another value of a key of the case, as if it stood there: cell.gap="0.6 mm", obstacle.seal.angle=5. May be given several times.
    #[arg(long, value_name = "KEY=VALUE")]
    set: Vec<String>,
    /// Print the report as JSON on standard output and nothing else there.
    #[arg(long)]
    pub json: bool,
    /// Threads to use; results are the same for any number [default: all cores].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// VTK files with raw appended data: smaller and faster, but not every reader takes them.
    #[arg(long)]
    pub raw: bool,
    /// VTK files with LZ4-compressed appended data: smallest, but fewest readers take them.
    #[arg(long, conflicts_with = "raw")]
    pub compress: bool,
    /// Print all that was found, not only what matters most; the files hold it in any case.
    #[arg(long)]
    pub full: bool,
    /// No progress and no summary.
    #[arg(short, long, conflicts_with = "verbose")]
    pub quiet: bool,
    /// Tell about every cycle and its iterations, and the code and value of every warning.
    #[arg(short, long)]
    pub verbose: bool,
}

impl Common {
    /// Reads a case, with the values that are set in place of its own.
    pub fn read(&self, path: &Path) -> Result<(Case, Arc<Plan>)> {
        if self.set.is_empty() {
            return read(path);
        }
        let (base, ..) = Base::read(path)?;
        let mut set = Vec::new();
        for given in &self.set {
            let Some((key, value)) = given.split_once('=') else {
                let remedy = "write the key, then = and its value: cell.gap=\"0.6 mm\"";
                return Err(Error::argument(format!("\"{given}\" sets no key"), remedy));
            };
            set.push((base.key(key.trim())?, Literal::typed(value)));
        }
        read_text(&base.with(set.iter().map(|(key, value)| (key, value))), path)
    }

    /// Refuses values that are set where that means nothing.
    pub fn refuse_set(&self, why: &str) -> Result<()> {
        match self.set.first() {
            Some(given) => Err(Error::argument(format!("--set {given} means nothing here"), why)),
            None => Ok(()),
        }
    }

    /// Cores to use: so many, or all.
    pub fn cores(&self) -> usize {
        let all = || std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
        self.threads.map_or_else(all, usize::from)
    }

    /// What is printed of a report.
    pub fn shown(&self) -> Shown {
        match (self.json, self.quiet, self.verbose || self.full) {
            (true, ..) => Shown::Json,
            (_, true, _) => Shown::Nothing,
            (_, _, true) => Shown::Text(Detail::Full),
            _ => Shown::Text(Detail::Main),
        }
    }

    /// How VTK files store their numbers.
    pub fn encoding(&self) -> Encoding {
        match (self.raw, self.compress) {
            (true, _) => Encoding::Raw,
            (_, true) => Encoding::Compressed,
            _ => Encoding::Base64,
        }
    }
}
