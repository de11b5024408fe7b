//! What the case says of air: how the dry cell fills, and bubbles that drift with the flow.

use crate::base::Point;
use std::ops::Range;

/// How the dry cell is filled.
#[derive(Debug, Clone, PartialEq)]
pub struct FillingSettings {
    /// What is held while it fills; none: the flow, or the head, as the case's own drive has it.
    pub drive: Option<FillDrive>,
    /// Where the fluid comes in.
    pub from: FillFrom,
    /// Advancing contact angle on the plates, rad.
    pub advancing_angle: f64,
    /// Receding contact angle on the plates, rad.
    pub receding_angle: f64,
    /// Advancing contact angle at the sides of obstacles, rad.
    pub side_angle: f64,
    /// Advancing contact angle at the side walls, rad.
    pub seal_angle: f64,
    /// Surface tension, N/m.
    pub surface_tension: f64,
    /// Slope of the cell while it fills, rad.
    pub tilt: f64,
    /// Unit vector in the plane of the plates towards which the cell rises.
    pub uphill: [f64; 2],
    /// Which picture of the front is computed.
    pub model: FillModel,
    /// The moments that are kept.
    pub snapshots: Snapshots,
    /// What becomes of air that is cut off.
    pub pockets: CutOff,
    /// Where the table stands in the case file.
    pub place: Range<usize>,
}

/// What is held while the cell fills.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FillDrive {
    /// The flow of the full cell.
    Flow,
    /// The head of the full cell.
    Head,
}

/// Where the fluid comes in.
#[derive(Debug, Clone, PartialEq)]
pub enum FillFrom {
    /// Over the whole inlet.
    Inlet,
    /// Through a round hole in a plate.
    Port {
        /// Its centre, m.
        at: Point,
        /// Its diameter, m.
        diameter: f64,
        /// Where it stands in the case file.
        place: Range<usize>,
    },
}

/// Which picture of the front is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FillModel {
    /// The one that applies, or both between them.
    Auto,
    /// A front of one pressure, or one of tilt and taper.
    Viscous,
    /// A front under in-plane tension, with its contact angle at sides.
    Capillary,
}

/// The moments that are kept of a filling.
#[derive(Debug, Clone, PartialEq)]
pub enum Snapshots {
    /// So many, at even steps of the square root of the impulse.
    Count(usize),
    /// At times, s.
    Times(Vec<f64>),
    /// At impulses `(b²/12 μ) ∫ (p_in − p_front) dt`, m2.
    Impulses(Vec<f64>),
}

/// What becomes of air that is cut off from the outlet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutOff {
    /// Its contact line holds it where it is.
    Pinned,
    /// It leaves through the seal, or dissolves.
    Vented,
}

/// A bubble that drifts with the flow.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeBubble {
    /// Its name.
    pub name: String,
    /// Where it is let go, m.
    pub centre: Point,
    /// Its diameter seen from above, m.
    pub diameter: f64,
    /// Whether it leaves films on the plates, as on plates that the fluid wets wholly.
    pub films: bool,
    /// Whether the pattern is solved with the bubble in it, as it is at the moment at which it is let go.
    pub patch: bool,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}
