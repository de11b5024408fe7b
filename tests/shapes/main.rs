//! Cells that are no rectangle, from the case file to what is computed in them.

#[path = "../cells/mod.rs"]
mod cells;
mod mistakes;
mod outlines;
mod solved;

use std::path::Path;
use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::Case;
use twinplate::study::read_text;

/// A step from 1 down to 0.5, two widths before and after it.
pub const STEP: &str = "contraction = { length_in = 2, width_in = 1, length = 0, length_out = 1, width_out = 0.5 }";
/// Two arms of a square each at a right angle.
pub const BEND: &str = "bend = { length_in = 1, width_in = 1, length_out = 1, width_out = 1 }";

/// The text of a case of water at 1 mm/s in a cell of gap 1 mm.
pub fn text(cell: &str, more: &str) -> String {
    format!(
        "title = \"test\"\n[cell]\n{cell}\ngap = 0.001\n[fluid]\ndensity = 1000.0\nviscosity = 0.001\n[drive]\nmean_speed = 0.001\n{more}\n"
    )
}

/// The case with its plan.
pub fn case(cell: &str, more: &str) -> (Case, Arc<Plan>) {
    read_text(&text(cell, more), Path::new("case.toml")).unwrap_or_else(|e| panic!("{e}"))
}

/// The mistakes of a case, as they are shown.
pub fn mistakes(cell: &str, more: &str) -> String {
    match read_text(&text(cell, more), Path::new("case.toml")) {
        Ok(_) => String::new(),
        Err(error) => error.to_string(),
    }
}
