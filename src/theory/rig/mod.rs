//! The cell's design sheet: what the practitioner sizes before cutting plates, and fights after filling them.
//!
//! Each file holds the formulas of one subject, with source and range, and turns them into a [`Section`] of the [`Sheet`]. All of them
//! read one [`State`]: the solved cell in numbers. [`Outlook`] answers the inverse question, at which speeds and gaps the
//! departures stay within their tolerances, by scaling the solved contributions.

mod bubbles;
mod calibrate;
mod dye;
mod feasible;
mod filling;
mod flow;
mod plates;
mod rows;
mod settings;
mod sheet;
mod state;
mod suggest;
#[cfg(test)]
mod tests;
mod times;
mod tolerance;
mod tracers;
mod tubing;

pub use crate::base::row::{Kind, Row, Section};
pub use calibrate::Calibrated;
pub use dye::{dye_spread, slope_drift, slowest_for_lines, taylor_dispersion};
pub use feasible::{AtGap, DyeLines, Judge, LAMINAR, Limit, Map, NARROWEST, Outlook, Ratios, WIDEST};
pub use filling::pinning_pressure;
pub use flow::{DUCT, duct_factor};
pub use settings::settings;
pub use sheet::{Given, Sheet};
pub use state::State;
pub use suggest::suggestions;
pub use times::{development_length, settling_time};
pub use tolerance::{Cause, Changes, Imperfection, PatternEffect, imperfections};
pub use tubing::{ENTRANCE, Losses};
