//! What is taken from a file: closed outlines.

use super::affine::Affine;
use crate::base::Point;
use crate::base::plane::Segment;
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
    /// The lower left corner of the page (of a picture; in DXF and lists the origin), if the file tells where it is.
    pub page: Option<Point>,
    /// Every outline that was found among those asked for, the largest first; at most [`MOST_FOUND`].
    pub found: Vec<Found>,
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

/// An outline found in a file, taken or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Its id in the file, else its number.
    pub name: String,
    /// The layer it stands on, if the file has layers.
    pub layer: Option<String>,
    /// Least and largest x and y, in the drawing's coordinates.
    pub bounds: Segment,
    /// Outlines directly inside it.
    pub holes: usize,
    /// Whether it is one of those taken.
    pub is_taken: bool,
}

/// Most outlines listed as found.
pub const MOST_FOUND: usize = 10_000;

impl Drawing {
    /// The drawing with the lower left corner of its page as the origin, if the file tells where that is.
    pub fn from_page(mut self) -> Drawing {
        if let Some(map) = self.to_page().filter(|_| self.page != Some([0.0; 2])) {
            self.moved(&map);
            self.page = Some([0.0; 2]);
        }
        self
    }

    /// The map that brings the lower left corner of the page to the origin.
    pub(crate) fn to_page(&self) -> Option<Affine> {
        self.page.map(|page| Affine::shift(page.map(|x| -x)))
    }

    fn moved(&mut self, map: &Affine) {
        for l in &mut self.loops {
            l.curves = l.curves.iter().map(|curve| map.curve(curve)).collect();
        }
        for found in &mut self.found {
            found.bounds = found.bounds.map(|p| map.point(p));
        }
    }

    /// The drawing scaled to a width or height of all it holds, in metres; none if it has none. As drawn, it stays as it is.
    pub fn sized(mut self, size: OutlineSize) -> Option<Drawing> {
        let [width, height] = Extent::whole(self.loops.iter().flat_map(|l| &l.curves))?.size();
        let factor = match size {
            OutlineSize::Width(wanted) => wanted / width,
            OutlineSize::Height(wanted) => wanted / height,
            OutlineSize::Stated => return Some(self),
        };
        if !(factor.is_finite() && factor > 0.0) {
            return None;
        }
        let map = Affine::scale(factor, factor);
        self.moved(&map);
        self.page = self.page.map(|page| map.point(page));
        if !self.scaled {
            self.notes.push(format!("one unit of the file (of a picture: one pixel) is {:.5} mm", 1e3 * factor));
        }
        self.scaled = true;
        Some(self)
    }
}
