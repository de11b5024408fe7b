//! A campaign: what is done with which runs of a case.

use super::base::Base;
use super::runs::Runs;
use std::path::{Path, PathBuf};

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
