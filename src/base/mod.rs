//! What every room needs and that needs none of them: errors, units, the plane.

pub mod error;
pub mod row;
pub mod units;
pub mod warning;

pub use error::{Error, Result};

/// A place in the plane of the cell, in metres: x along the flow from the inlet, y from the lower side wall.
pub type Point = [f64; 2];
