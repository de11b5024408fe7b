//! A cell whose boundary the user draws: the outline, and the ends marked on it.

use super::Shape;
use crate::base::Point;
use crate::geometry::{Piece, Side};
use std::ops::Range;

/// A cell of any outline. Its boundary is drawn once the outline has been read, see [`crate::input::read`].
#[derive(Debug, Clone, PartialEq)]
pub struct OutlinedCell {
    /// The outline as the case gives it.
    pub shape: Shape,
    /// The ends that stand on it, in the order of the file.
    pub ends: Vec<EndMark>,
    /// The boundary, empty until it is drawn: the lower wall from the inlet on, the outlet, the upper wall back, the inlet.
    pub boundary: Vec<Piece>,
    /// Where the outline stands in the case file.
    pub place: Range<usize>,
    /// Where its gap stands there.
    pub gap_place: Range<usize>,
}

/// An end marked on the outline of a cell: what lies between two of its places, counter-clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct EndMark {
    /// Its name; left out, what it is.
    pub name: String,
    /// What it is to the flow; none of a closed one, which is wall.
    pub role: Option<EndRole>,
    /// Where it starts, m.
    pub from: Point,
    /// Where it ends, m.
    pub to: Point,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}

/// What an open end is to the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndRole {
    /// Fluid enters.
    Inlet,
    /// Fluid leaves.
    Outlet,
}

impl OutlinedCell {
    /// Length of a side of the boundary, m.
    pub(super) fn length_of(&self, side: Side) -> f64 {
        self.boundary.iter().filter(|piece| piece.side == side).map(Piece::length).sum()
    }
}
