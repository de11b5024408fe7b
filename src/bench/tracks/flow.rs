//! What the tracks are held against: the ideal pattern at any place, at the speed of the case.

use crate::base::plane::{Point, Vector};

/// The ideal pattern at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Local {
    /// Gap-averaged velocity V, m/s.
    pub velocity: Vector,
    /// Stream function over the mean speed at the inlet, m: its gradient is V turned left over U.
    pub level: f64,
    /// By what the fluid is faster there than that pattern, along it: the edge layer leaves it less room. 1 for none.
    pub faster: f64,
}

/// The ideal pattern of a case.
#[derive(Clone, Copy)]
pub struct Flow<'a> {
    /// The pattern at a place; none outside the fluid.
    pub at: &'a (dyn Fn(Point) -> Option<Local> + Sync),
    /// Mean speed U at the inlet, m/s.
    pub mean_speed: f64,
}
