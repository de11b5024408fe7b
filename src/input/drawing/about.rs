//! How messages about a file name its places and lengths.

use super::stroke::YAxis;
use crate::base::Point;
use crate::base::units::significant;
use crate::input::case::ReadOptions;
use std::path::Path;

/// What messages need to know.
pub(super) struct About<'a> {
    pub file: &'a Path,
    pub options: &'a ReadOptions,
    /// Metres per unit, if known.
    pub unit: Option<f64>,
    /// Where the file's own y axis points.
    pub y: YAxis,
}

impl About<'_> {
    /// A place, in mm if the unit is known, else in the file's units, y as in the file.
    pub fn place(&self, p: Point) -> String {
        let (p, said) = match self.y {
            YAxis::Up => (p, ""),
            YAxis::Down => ([p[0], 0.0 - p[1]], "; y down"),
        };
        let (scale, unit) = self.scale();
        let [x, y] = p.map(|v| significant(scale * v, 7));
        format!("({x}{unit}, {y}{unit}{said})")
    }

    /// A length, in the same unit.
    pub fn length(&self, length: f64) -> String {
        let (scale, unit) = self.scale();
        let unit = if unit.is_empty() { " units" } else { unit };
        format!("{}{unit}", significant(scale * length, 4))
    }

    fn scale(&self) -> (f64, &'static str) {
        self.unit.map_or((1.0, ""), |metres| (1e3 * metres, " mm"))
    }
}
