//! What is taken from a file: closed outlines.

use super::affine::Affine;
use crate::geometry::Curve;
use crate::geometry::span::Extent;
use crate::input::case::OutlineSize;
use std::ops::Range;

/// The outlines taken from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// The chosen outlines: one, or with `every` as many as there are side by side.
    pub loops: Vec<Loop>,
    /// Whether a length unit is known, from the file or the options: coordinates are then in metres, else in the file's units
    /// (pictures: pixels). The y axis points up.
    pub scaled: bool,
    /// Repairs, choices made and what was left out.
    pub notes: Vec<String>,
    /// SHA-256 of the bytes of the file, in hexadecimal.
    pub sha256: String,
}

/// A closed outline of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    /// Its id in the file, else a number.
    pub name: String,
    /// The layer it stands on, if the file has layers.
    pub layer: Option<String>,
    /// Lines, arcs and cubics, counter-clockwise, each starting where the last ends to within 1e-9 of the loop's size.
    pub curves: Vec<Curve>,
    /// Byte range in the file, if it is a text.
    pub place: Option<Range<usize>>,
}

impl Drawing {
    /// The drawing scaled to a width or height of all it holds, in metres; none if it has none. As drawn, it stays as it is.
    pub fn sized(mut self, size: OutlineSize) -> Option<Drawing> {
        let [width, height] = Extent::whole(self.loops.iter().flat_map(|l| &l.curves))?.size();
        let factor = match size {
            OutlineSize::Width(wanted) => wanted / width,
            OutlineSize::Height(wanted) => wanted / height,
            OutlineSize::AsDrawn => return Some(self),
        };
        if !(factor.is_finite() && factor > 0.0) {
            return None;
        }
        let map = Affine::scale(factor, factor);
        for l in &mut self.loops {
            l.curves = l.curves.iter().map(|curve| map.curve(curve)).collect();
        }
        if !self.scaled {
            self.notes.push(format!("one unit of the file (of a picture: one pixel) is {:.5} mm", 1e3 * factor));
        }
        self.scaled = true;
        Some(self)
    }
}
