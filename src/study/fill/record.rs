//! What a filling found, whichever picture of the front it was computed by.

use crate::base::Point;

/// Which picture of the front was computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picture {
    /// A front of one pressure, or one of tilt and taper.
    Viscous,
    /// A front under in-plane tension, with its contact angle at sides.
    Capillary,
}

impl Picture {
    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Picture::Viscous => "viscous",
            Picture::Capillary => "capillary",
        }
    }
}

/// A moment that is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Time since the fluid came in, s.
    pub time: f64,
    /// `(b²/12 μ) ∫ (p_in − p_front) dt`, m2.
    pub impulse: f64,
    /// Wet area, m2.
    pub wet_area: f64,
    /// Q/(K (p_in − p_front)) of the wet region, K at the middle of the cell.
    pub conductance: f64,
    /// Pressure at the source above that of the air, Pa.
    pub inlet_pressure: f64,
    /// Part of the volume of each vertex that is wet, if the picture has one.
    pub fill: Option<Vec<f64>>,
    /// Pressure above that of the air at the vertices, Pa, if the picture has one.
    pub pressure: Option<Vec<f64>>,
    /// The front, m.
    pub front: Vec<Vec<Point>>,
}

/// Air that stays in the cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// The obstacle it stays at, if it touches one.
    pub obstacle: Option<String>,
    /// Its middle, m.
    pub at: Point,
    /// Its area, m2.
    pub area: f64,
    /// Its volume, m3.
    pub volume: f64,
    /// When it was cut off, s.
    pub time: f64,
    /// Its outlines, m.
    pub outlines: Vec<Vec<Point>>,
    /// Mean speed over the inlet above which the flow takes it along, m/s; not a number where no speed of a display does.
    pub leaves_above: f64,
}

/// A place that fills late.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastPlace {
    /// Where, m.
    pub at: Point,
    /// When the front comes there, s.
    pub time: f64,
}

/// The front from the first drop to the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Which picture it is of.
    pub picture: Picture,
    /// The moments, in order.
    pub moments: Vec<Moment>,
    /// When the front comes to the vertices of the study's mesh, s; not a number where it never does.
    pub arrival: Vec<f64>,
    /// When the filling ends, s.
    pub end: f64,
    /// Air that stays.
    pub kept: Vec<Kept>,
    /// The latest places to fill, the latest first.
    pub last: Vec<LastPlace>,
    /// Places along which two parts of the front met, m, if the picture has them.
    pub welds: Vec<Point>,
    /// What is missing in the balance of volumes, part of the volume of the cell.
    pub mass_residual: f64,
    /// What is missing in the moment identity, part of its size; none where the identity does not hold.
    pub moment_residual: Option<f64>,
    /// Linear systems solved.
    pub solves: usize,
}
