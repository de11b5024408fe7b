//! Curves with exact points, tangents and curvature, and the plan of the cell they bound.
//!
//! An obstacle of the case becomes an [`Outline`], a closed counter-clockwise chain of [`Curve`]s. [`Plan::new`] cuts the
//! outlines that stand on a side wall, checks that all fit into the cell, and walks the boundary of the fluid.

mod boxes;
mod build;
mod curve;
mod cut;
pub mod drawing;
mod fit;
mod four_digit;
mod joukowski;
pub mod kerf;
mod measure;
mod meet;
mod neck;
mod part;
mod plan;
mod polygon;
mod shape;
mod span;
mod spline;
pub mod survey;
pub(crate) mod tree;

pub use curve::Curve;
pub use four_digit::FourDigitSurface;
pub use joukowski::JoukowskiMap;
pub use plan::{Corner, Piece, Plan, PlanObstacle, Side, Solid};
pub use shape::Outline;
pub use spline::periodic_spline;

use crate::case::Case;
use crate::{Error, Result};
use std::path::Path;

/// Reads a case file and builds its plan; all mistakes of both are reported together.
///
/// # Errors
/// [`Error::Input`] with every mistake found in the case file, in the files it names, and in the plan.
pub fn read(path: &Path) -> Result<(Case, Plan)> {
    let crate::case::Loaded { case, mut problems } = crate::case::load(path);
    let plan = case.as_ref().and_then(|case| Plan::new(case, &mut problems));
    match (case, plan) {
        (Some(case), Some(plan)) if problems.is_empty() => Ok((case, plan)),
        _ => Err(Error::Input(problems)),
    }
}
