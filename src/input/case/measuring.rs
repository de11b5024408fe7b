//! What a case says of a photograph of the cell and of its comparison with theory.

use super::Setting;
use crate::base::Point;
use std::ops::Range;
use std::path::PathBuf;

/// Usual spacing of stations along a line, m.
pub const STATION: f64 = 2e-3;

/// A photograph of the cell, and what is known of how it was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoSettings {
    /// The picture, relative to the folder of the case file, if the case names one.
    pub file: Option<PathBuf>,
    /// The face of the plate that the marks are on.
    pub marks_on: Face,
    /// Thickness of the plate that the picture is taken through, m.
    pub plate_thickness: f64,
    /// Its refractive index.
    pub plate_index: f64,
    /// Standard deviation of the places of marks, m, each coordinate.
    pub placed_within: Setting<f64>,
    /// Width of a cross or diameter of a dot, m; found in the picture if not given.
    pub mark_size: Option<f64>,
    /// What is known of the lens.
    pub lens: LensPrior,
    /// The dye.
    pub dye: Dye,
    /// Whether the picture is written as seen from above.
    pub rectify: bool,
    /// The marks.
    pub marks: Vec<Mark>,
    /// Where all this stands in the case file.
    pub place: Range<usize>,
}

/// The face of the plate that the marks are on; of the plate that the picture is taken through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Towards the fluid.
    Inner,
    /// Towards the camera.
    Outer,
}

/// A mark of known place.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// Its place in the cell, m.
    pub at: Point,
    /// A rough click at it, pixels of the upright picture from its upper left corner.
    pub click: Point,
}

/// What is known of a lens beforehand: standard deviations of k1 and k2 (of half the longer side).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LensPrior {
    /// Of k1.
    pub k1: f64,
    /// Of k2.
    pub k2: f64,
}

impl LensPrior {
    /// Pictures of phones, which straighten them.
    pub const CORRECTED: LensPrior = LensPrior { k1: 0.015, k2: 0.006 };
    /// Pictures as the lens drew them.
    pub const UNCORRECTED: LensPrior = LensPrior { k1: 0.05, k2: 0.02 };
}

/// What dye does to the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dye {
    /// It takes light away.
    Dark,
    /// It glows.
    Bright,
}

/// How measurements are compared with theory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CompareSettings {
    /// Whether the map of the picture may be off within what is known of it.
    pub map: bool,
    /// Whether obstacles may stand elsewhere than drawn.
    pub obstacles: bool,
    /// Whether the gap may taper along the cell.
    pub taper: bool,
    /// Fluid nearer than this to a solid edge is left out, m; `departure.edge_band` if not given.
    pub edge_band: Option<f64>,
    /// Spacing of stations along a line, m.
    pub station: f64,
}

impl Default for CompareSettings {
    fn default() -> Self {
        CompareSettings { map: true, obstacles: false, taper: false, edge_band: None, station: STATION }
    }
}
