//! What a user gives: the case file, the drawings, pictures and tables it names, and the plan of the fluid made from them.

pub mod campaign;
pub mod case;
mod columns;
pub mod drawing;
pub mod fields;
pub mod measured;
mod near;
mod picture;
mod plain;
mod plan;
pub mod points;
mod rows;
mod vtk;

pub use plan::Outline;

use crate::base::{Error, Result};
use crate::geometry::Plan;
use case::Case;
use std::path::Path;

/// Reads a case file and builds its plan; all mistakes of both are reported together.
///
/// # Errors
/// [`Error::Input`] with every mistake found in the case file, in the files it names, and in the plan.
pub fn read(path: &Path) -> Result<(Case, Plan)> {
    planned(case::load(path))
}

/// The same from the text of a case; `file` is the name that messages show and that the files it names are relative to.
///
/// # Errors
/// As [`read`].
pub fn read_text(text: &str, file: &Path) -> Result<(Case, Plan)> {
    planned(case::parse(text, file))
}

fn planned(loaded: case::Loaded) -> Result<(Case, Plan)> {
    let case::Loaded { mut case, mut problems } = loaded;
    let drawn = case.as_mut().and_then(|case| plan::draw_cell(case, &mut problems));
    let plan = drawn.as_ref().and_then(|_| Plan::read(case.as_ref()?, &mut problems));
    match (case, drawn, plan) {
        (Some(mut case), Some((own, notes)), Some((mut plan, inputs))) if problems.is_empty() => {
            own.into_iter().chain(inputs).for_each(|input| case.add_input(input));
            plan.notes.splice(0..0, notes);
            Ok((case, plan))
        }
        _ => Err(Error::Input(problems)),
    }
}
