//! A measured gap: a table of places and gaps, interpolated smoothly between them.
//!
//! Places that fill a grid of rows and columns are joined by bicubic pieces, any others by cubic pieces on their Delaunay
//! triangles. Both pass through the table's values, have a continuous gradient and reproduce quadratics; nothing is smoothed.

use super::gap_file;
use super::lattice::Lattice;
use super::scatter::{OUTSIDE, Scatter};
use crate::base::error::Problems;
use crate::base::plane::Rect;
use crate::base::{Error, Point, Result};
use std::path::Path;

/// The gap as a smooth surface through given values.
#[derive(Debug, Clone)]
pub struct GapTable {
    points: Vec<[f64; 3]>,
    corner: Point,
    size: f64,
    surface: Surface,
}

#[derive(Debug, Clone)]
enum Surface {
    Lattice(Lattice, Point),
    Scatter(Box<Scatter>),
}

impl PartialEq for GapTable {
    fn eq(&self, other: &Self) -> bool {
        self.points == other.points
    }
}

impl GapTable {
    /// The surface through the points (x, y, gap), m.
    ///
    /// # Errors
    /// [`Error::Usage`] if a number is not finite, a gap is not above zero, a place occurs with two gaps, or there are not three
    /// places off a line.
    pub fn new(mut points: Vec<[f64; 3]>) -> Result<GapTable> {
        let remedy = "give places and gaps in metres, at least three places that do not lie on a line";
        if let Some(p) = points.iter().find(|p| p.iter().any(|c| !c.is_finite()) || p[2] <= 0.0) {
            return Err(Error::argument(format!("the gap {} at ({}, {}) is not above zero", p[2], p[0], p[1]), remedy));
        }
        points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).then(a[2].total_cmp(&b[2])));
        points.dedup();
        if let Some([p, q]) = points.windows(2).map(|w| [w[0], w[1]]).find(|[p, q]| p[..2] == q[..2]) {
            let message = format!("the place ({}, {}) has the gaps {} and {}", p[0], p[1], p[2], q[2]);
            return Err(Error::argument(message, "keep one of them"));
        }
        let rect = Rect::of(points.iter().map(|p| [p[0], p[1]]));
        let (corner, extent, size) = (rect.low, rect.size(), rect.extent());
        let line = || Error::argument(format!("the {} places of the gap lie on a line", points.len()), remedy);
        if points.len() < 3 || !size.is_normal() {
            return Err(line());
        }
        let scaled: Vec<[f64; 3]> =
            points.iter().map(|p| [(p[0] - corner[0]) / size, (p[1] - corner[1]) / size, p[2]]).collect();
        let surface = match Lattice::of(&scaled) {
            Some(lattice) => Surface::Lattice(lattice, extent.map(|e| e / size)),
            None => Surface::Scatter(Box::new(Scatter::of(&scaled).ok_or_else(line)?)),
        };
        Ok(GapTable { points, corner, size, surface })
    }

    /// Reads a table: three columns x, y and gap, separated by a comma, a semicolon or white space; `#` starts a comment. A header
    /// may name the columns and their units (`x_mm,y_mm,gap_um`); without a unit they are metres.
    ///
    /// # Errors
    /// Every bad row with its place, or what else is wrong with the file.
    pub fn read(file: &Path) -> std::result::Result<GapTable, Problems> {
        GapTable::read_hashed(file, None).map(|(table, _)| table)
    }

    /// The same with the SHA-256 of the bytes it was read from; the sides of its cell, m, tell of forgotten units.
    pub(super) fn read_hashed(
        file: &Path,
        sides: Option<[f64; 2]>,
    ) -> std::result::Result<(GapTable, String), Problems> {
        let (points, sha256) = gap_file::read(file, sides)?;
        let table = GapTable::new(points).map_err(|error| {
            let mut problems = Problems::default();
            problems.add(file, None, error.what(), error.remedy().unwrap_or_default());
            problems
        })?;
        Ok((table, sha256))
    }

    /// Gap, m, and its gradient at a place; none outside the convex hull of the table's places.
    pub fn gap(&self, place: Point) -> Option<(f64, [f64; 2])> {
        let at = [0, 1].map(|k| (place[k] - self.corner[k]) / self.size);
        let (value, slope) = match &self.surface {
            Surface::Lattice(lattice, end) => {
                let inside = (0..2).all(|k| at[k] >= -OUTSIDE && at[k] <= end[k] + OUTSIDE);
                inside.then(|| lattice.value(at))?
            }
            Surface::Scatter(scatter) => scatter.value(at)?,
        };
        Some((value, slope.map(|s| s / self.size)))
    }

    /// Number of places in the table.
    pub fn len(&self) -> usize {
        self.points.len()
    }

    /// Whether the table is empty; it never is.
    pub fn is_empty(&self) -> bool {
        self.points.is_empty()
    }

    /// Least and largest gap of the table, m.
    pub fn range(&self) -> [f64; 2] {
        let gaps = || self.points.iter().map(|p| p[2]);
        [gaps().fold(f64::INFINITY, f64::min), gaps().fold(0.0, f64::max)]
    }
}
