//! The validation suite: folders with `expected.toml`, their rows, and what each row compares.
//!
//! A row passes if |obtained - reference| is at most the error estimate plus half a unit of the reference's last digit. Estimates are
//! derived (bracket, change under refinement, or a formula that the row states), so they hold at any effort; a coarse run
//! is as valid a check as a fine one, only less sharp.
#![allow(dead_code)]

mod bubbles;
mod cases;
mod closed_form;
mod closure;
mod compare;
mod corners;
mod cross;
mod edges;
mod evaluate;
mod filling;
mod inertia;
mod linear;
mod meniscus;
mod pattern;
mod procedures;
mod properties;
mod rows;
pub mod table;
pub mod unbounded;
mod wetting;

use std::path::Path;

/// How much work a run may be.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Relative half-width of the bracket in solved cases.
    pub bracket: f64,
    /// Triangles of the coarsest mesh of a ladder, and of single graded meshes.
    pub triangles: usize,
    /// Whether an estimate must be as small as the row wants it.
    pub sharp: bool,
}

impl Effort {
    /// What the program of this folder does.
    pub const FULL: Effort = Effort { bracket: 1e-5, triangles: 8000, sharp: true };
    /// What tests do.
    pub const QUICK: Effort = Effort { bracket: 1e-3, triangles: 1500, sharp: false };
}

/// A figure with its error estimate.
#[derive(Debug, Clone, Copy)]
pub struct Figure {
    /// The figure.
    pub value: f64,
    /// How far it may be from the exact one.
    pub error: f64,
}

/// One row of the table.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// What is compared.
    pub quantity: String,
    /// The reference, with the digits it is known to.
    pub reference: String,
    /// Its value.
    pub exact: f64,
    /// Error of the reference: half a unit of its last digit, or its own estimate.
    pub exact_error: f64,
    /// What was obtained.
    pub obtained: Figure,
    /// Exact, published, derived, computed, memory or practice.
    pub kind: String,
    /// What is wrong with the row itself, if anything.
    pub fault: Option<String>,
}

impl Outcome {
    /// Obtained minus reference.
    pub fn error(&self) -> f64 {
        self.obtained.value - self.exact
    }

    /// The error that is allowed.
    pub fn estimate(&self) -> f64 {
        self.obtained.error + self.exact_error
    }

    /// Whether the row passes.
    pub fn pass(&self) -> bool {
        self.fault.is_none() && self.error().abs() <= self.estimate()
    }
}

/// A folder that was run.
#[derive(Debug, Clone)]
pub struct Folder {
    /// Its title.
    pub title: String,
    /// Its rows.
    pub outcomes: Vec<Outcome>,
}

/// Names of all folders that hold an `expected.toml`, in order.
pub fn folders(root: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(root).into_iter().flatten().flatten();
    let with_rows = entries.filter(|entry| entry.path().join("expected.toml").is_file());
    let mut names: Vec<String> = with_rows.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// Runs the rows of a folder.
pub fn run(folder: &Path, effort: Effort) -> Result<Folder, String> {
    let path = folder.join("expected.toml");
    let text = std::fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
    let sheet: rows::Sheet = toml::from_str(&text).map_err(|e| format!("{}: {e}", path.display()))?;
    let mut cases = cases::Cases::new(folder, effort);
    let mut outcomes: Vec<Outcome> =
        sheet.row.iter().map(|row| rows::outcome(row, &sheet, &mut cases, effort)).collect();
    outcomes.extend(sheet.expected.iter().map(|row| cross::outcome(row, effort, &mut cases)));
    Ok(Folder { title: sheet.title.clone(), outcomes })
}
