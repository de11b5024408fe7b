//! The gap between the plates, wherever it is asked for.

use super::{Bow, GapTable};
use crate::base::Point;
use std::sync::Arc;

/// The gap b(x, y) between the inner faces of the plates.
///
/// The finite elements take b at the vertices and linear between them; the guaranteed bounds hold for that gap, which differs
/// from this one by the square of the triangles' size (not at all if it is uniform or linear).
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// The same everywhere, m.
    Uniform(f64),
    /// b = at + slope . (place - middle).
    Linear {
        /// Gap at the middle of the cell, m.
        at: f64,
        /// Change per length along x and y, dimensionless.
        slope: [f64; 2],
        /// The middle of the cell, m.
        middle: Point,
    },
    /// Plates bowed apart by the pressure between them.
    Bowed(Bow),
    /// A smooth surface through measured gaps.
    Table(Arc<GapTable>),
}

impl Gap {
    /// The gap at a place, m; not a number outside the places of a table, which a cell never is.
    pub fn at(&self, place: Point) -> f64 {
        match self {
            Gap::Uniform(b) => *b,
            Gap::Linear { at, slope, middle } => {
                at + slope[0] * (place[0] - middle[0]) + slope[1] * (place[1] - middle[1])
            }
            Gap::Bowed(bow) => bow.gap(place).0,
            Gap::Table(table) => table.gap(place).map_or(f64::NAN, |(b, _)| b),
        }
    }

    /// The gradient of the gap at a place, dimensionless; not a number where the gap is not.
    pub fn gradient(&self, place: Point) -> [f64; 2] {
        match self {
            Gap::Uniform(_) => [0.0, 0.0],
            Gap::Linear { slope, .. } => *slope,
            Gap::Bowed(bow) => bow.gap(place).1,
            Gap::Table(table) => table.gap(place).map_or([f64::NAN; 2], |(_, slope)| slope),
        }
    }

    /// Whether the gap is the same everywhere.
    pub fn is_uniform(&self) -> bool {
        match self {
            Gap::Uniform(_) => true,
            Gap::Linear { slope, .. } => *slope == [0.0, 0.0],
            Gap::Bowed(bow) => bow.deflection() == 0.0,
            Gap::Table(table) => {
                let [least, largest] = table.range();
                least == largest
            }
        }
    }
}
