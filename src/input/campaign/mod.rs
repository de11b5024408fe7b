//! The plan of a campaign: a case, keys of it that are varied, what is measured of every run and what is kept.

mod key;
mod numbers;
mod plan;
mod runs;
mod seek;
mod uncertain;
mod values;

pub use key::Key;
pub use numbers::numbers;
pub use plan::read_plan;
pub use runs::{Combine, MOST_RUNS, Runs};
pub use seek::{Aim, Bound, Range, Seek};
pub use uncertain::{Uncertain, shown, uncertain};
pub use values::{Literal, MOST_VALUES};

use crate::base::error::Problems;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, read_text_of};
use std::path::{Path, PathBuf};
use toml_edit::DocumentMut;

/// What is done with every case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// The departure budget.
    Departure,
    /// The ideal pattern alone.
    Solve,
    /// The design sheet with the budget.
    Rig,
    /// The filling of the dry cell.
    Fill,
}

impl Work {
    /// As it is typed.
    pub const WORDS: [(&'static str, Work); 4] =
        [("departure", Work::Departure), ("solve", Work::Solve), ("rig", Work::Rig), ("fill", Work::Fill)];

    /// Its word.
    pub fn word(self) -> &'static str {
        Work::WORDS.iter().find(|(_, work)| *work == self).map_or("", |(word, _)| word)
    }
}

/// What is kept of a run beside its measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// The report.
    Report,
    /// The streaklines too.
    Lines,
    /// All files, in a folder for each run.
    All,
}

/// How fine the meshes of all runs shall be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeshWish {
    /// About so many triangles.
    pub triangles: Option<usize>,
    /// Wanted relative half-width of the bracket, in place of the case's.
    pub error: Option<f64>,
}

/// A case whose keys are varied.
#[derive(Debug, Clone)]
pub struct Base {
    /// Its file.
    pub file: PathBuf,
    document: DocumentMut,
}

impl Base {
    /// Reads a case and makes sure that it is one.
    ///
    /// # Errors
    /// [`Error::Input`] with every mistake found in it.
    pub fn read(file: &Path) -> Result<(Base, Case, Plan)> {
        let text = read_text_of(file).map_err(|problems| Error::Input(*problems))?;
        let (case, plan) = crate::input::read_text(&text, file)?;
        Ok((Base::of(&case)?, case, plan))
    }

    /// That of a case that was read.
    ///
    /// # Errors
    /// [`Error::Input`] if it is not TOML.
    pub fn of(case: &Case) -> Result<Base> {
        let document = case.text.parse().map_err(|error| {
            let remedy = "see the example of `twinplate start DIR`";
            Error::Input(Problems::one(&case.file, format!("not TOML: {error}"), remedy))
        })?;
        Ok(Base { file: case.file.clone(), document })
    }

    /// The text of the case with other values under some keys.
    pub fn with<'v>(&self, values: impl IntoIterator<Item = (&'v Key, &'v Literal)>) -> String {
        let mut document = self.document.clone();
        values.into_iter().for_each(|(key, value)| key.put(&mut document, &value.value()));
        document.to_string()
    }

    /// The key under a path.
    ///
    /// # Errors
    /// [`Error::Usage`] if there is none, with the nearest.
    pub fn key(&self, path: &str) -> Result<Key> {
        Key::find(&self.document, path).map_err(|lost| Error::argument(lost.message, lost.remedy))
    }

    /// The value that the case has under a key, as it is written there.
    pub fn value(&self, key: &Key) -> Option<Literal> {
        key.value(&self.document).map(|value| {
            let mut value = value.clone();
            value.decor_mut().clear();
            let toml = value.to_string();
            Literal { shown: value.as_str().map_or_else(|| toml.clone(), str::to_owned), toml }
        })
    }
}

/// Makes sure that the tolerances of a case are those of its quantities.
///
/// # Errors
/// [`Error::Input`] with every mistake.
pub fn check_uncertainty(case: &Case) -> Result<()> {
    if case.uncertainty.is_empty() {
        return Ok(());
    }
    uncertain(case, &Base::of(case)?).map(drop).map_err(Error::Input)
}

/// What a plan asks for.
#[derive(Debug, Clone)]
pub enum Planned {
    /// Runs that it tells one by one.
    Runs(Campaign),
    /// A search, whose runs follow from one another.
    Seek(Box<Seek>),
}

/// The plan of a campaign.
#[derive(Debug, Clone)]
pub struct Campaign {
    /// The plan's file.
    pub file: PathBuf,
    /// Its text.
    pub text: String,
    /// Its title.
    pub title: String,
    /// The case.
    pub base: Base,
    /// What is done with it.
    pub work: Work,
    /// The mesh.
    pub mesh: MeshWish,
    /// Its runs.
    pub runs: Runs,
    /// Rows of the report that are measured, by their paths as they were typed.
    pub measures: Vec<String>,
    /// What is kept of every run.
    pub keep: Keep,
    /// Hash over the plan, the case as it stands with its files, and the table of runs.
    pub sha256: String,
}

impl Campaign {
    /// The folder for its results where none is named: `results/STEM`.
    pub fn usual_dir(&self) -> PathBuf {
        Path::new("results").join(self.file.file_stem().unwrap_or_default())
    }

    /// The text of the case of a run.
    pub fn case_text(&self, run: usize) -> String {
        self.base.with(self.runs.keys.iter().zip(self.runs.of(run)))
    }
}
