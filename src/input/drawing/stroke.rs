//! What the readers hand over: chains of curves as they stand in a file, and mistakes and notes about it.

use super::names::Names;
use crate::base::Point;
use crate::base::plane::{Rect, Segment};
use crate::base::text::printable;
use crate::geometry::Curve;
use std::collections::BTreeMap;
use std::ops::Range;

/// Most curves (of a list: points) a file may have.
pub const MOST_CURVES: usize = 1_000_000;

/// What of a stroke a file shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Painted {
    /// The line, if anything.
    #[default]
    Line,
    /// What it goes round.
    Inside,
}

/// A chain of curves as it stands in a file, y upwards.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Stroke {
    pub curves: Vec<Curve>,
    /// Byte range of each curve; empty if the file is no text.
    pub places: Vec<Range<usize>>,
    /// Whether the file says that it closes.
    pub closed: bool,
    /// Whether its inside is painted, which closes it by a straight line (SVG 2, 13.4).
    pub painted: Painted,
    /// Number of the element of the file it belongs to; painted outlines of one belong together.
    pub element: usize,
    /// Its name in the file, short and without control characters; may be empty.
    pub name: String,
    /// What the key `id` may call it by.
    pub ids: Names,
    /// What the key `layer` may call it by.
    pub layers: Names,
}

/// Where the y axis of a file points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum YAxis {
    #[default]
    Up,
    Down,
}

/// The strokes of a file.
#[derive(Debug, Clone, Default)]
pub(super) struct Sheet {
    pub strokes: Vec<Stroke>,
    /// Metres per unit of the coordinates, if the file states it.
    pub unit: Option<f64>,
    pub notes: Vec<String>,
    /// Where the file's own y axis points, for messages.
    pub y: YAxis,
    /// The lower left corner of the page, y upwards, if the file tells where it is.
    pub page: Option<Point>,
    /// The text, for messages; empty if the file is none.
    pub text: String,
    /// SHA-256 of the bytes of the file.
    pub sha256: String,
}

impl Stroke {
    /// Where it starts and ends.
    pub fn ends(&self) -> Option<Segment> {
        Some([self.curves.first()?.point(0.0), self.curves.last()?.point(1.0)])
    }

    /// Walks it the other way.
    pub fn reverse(&mut self) {
        self.curves.reverse();
        self.places.reverse();
        for curve in &mut self.curves {
            *curve = curve.reversed();
        }
    }
}

/// Largest extent of the ends and middles of curves.
pub(super) fn size_of<'a>(curves: impl IntoIterator<Item = &'a Curve>) -> f64 {
    Rect::of(curves.into_iter().flat_map(|curve| [0.0, 0.5, 1.0].map(|t| curve.point(t)))).extent().max(0.0)
}

/// How text is named among what is passed over.
pub(super) const TEXT: &str = "text, which is no outline until the drawing program has converted it to paths";

/// What a reader passed over, counted and named, as a note.
pub(super) fn not_used(ignored: &BTreeMap<String, usize>) -> Option<String> {
    const MOST: usize = 20;
    let named: Vec<String> = ignored
        .iter()
        .take(MOST)
        .map(|(what, count)| format!("{count} {}", printable(what).chars().take(80).collect::<String>()))
        .collect();
    let more = ignored.len().saturating_sub(MOST);
    let more = if more > 0 { format!(", and {more} other kinds") } else { String::new() };
    (!named.is_empty()).then(|| format!("not used: {}{more}", named.join(", ")))
}
