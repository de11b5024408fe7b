//! Outlines from files: coordinate lists, SVG and DXF drawings, pictures.
//!
//! A reader turns a file into strokes; one place for all of them chains these to closed loops, repairs what is within the
//! tolerance, and chooses those that are wanted.

pub(super) mod affine;
mod chain;
mod choose;
mod dxf;
mod finish;
mod list;
mod load;
mod picture;
mod repair;
mod svg;

pub use crate::input::case::ReadOptions;

use crate::base::error::Problems;
use crate::geometry::Curve;
use crate::input::case::OutlineSize;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;

/// Most curves (of a list: points) a file may have.
pub const MOST_CURVES: usize = 1_000_000;

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
        let (_, [width, height]) = repair::box_of(self.loops.iter().flat_map(|l| &l.curves))?;
        let factor = match size {
            OutlineSize::Width(wanted) => wanted / width,
            OutlineSize::Height(wanted) => wanted / height,
            OutlineSize::AsDrawn => return Some(self),
        };
        if !(factor.is_finite() && factor > 0.0) {
            return None;
        }
        let map = affine::Affine::scale(factor, factor);
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

/// A chain of curves as it stands in a file, y upwards.
#[derive(Debug, Clone, PartialEq, Default)]
struct Stroke {
    curves: Vec<Curve>,
    /// Byte range of each curve; empty if the file is no text.
    places: Vec<Range<usize>>,
    /// Whether the file says that it closes.
    closed: bool,
    /// Its name in the file; may be empty.
    name: String,
    /// What the key `id` may call it by.
    ids: Vec<String>,
    /// What the key `layer` may call it by, innermost first.
    layers: Vec<String>,
}

/// The strokes of a file.
#[derive(Debug, Clone, Default)]
struct Sheet {
    strokes: Vec<Stroke>,
    /// Metres per unit of the coordinates, if the file states it.
    unit: Option<f64>,
    notes: Vec<String>,
    /// Whether the file's own y axis points down, for messages.
    y_down: bool,
    /// The text, for messages; empty if the file is none.
    text: String,
}

/// Reads the outlines of a file: `.svg`, `.dxf`, `.png` and `.jpg` by their extension, anything else as a list of coordinates.
///
/// Every outline is closed, counter-clockwise and free of repeated points and self-crossings. What a file has wrong is
/// repaired only within [`ReadOptions::tolerance`] of its size, and said in the notes; a valid outline is never moved.
///
/// ```
/// use twinplate::input::drawing::{ReadOptions, read_drawing};
///
/// let folder = tempfile::tempdir()?;
/// let file = folder.path().join("caisson.svg");
/// std::fs::write(&file, r#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
///     <rect x="10" y="10" width="30" height="20" rx="5"/></svg>"#)?;
/// let drawing = read_drawing(&file, &ReadOptions::default()).map_err(|problems| problems.to_string())?;
/// assert!(drawing.scaled);
/// assert_eq!(drawing.loops[0].curves.len(), 8);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Every mistake with the value, the limit and the remedy, and with its place if the file is a text.
pub fn read_drawing(file: &Path, options: &ReadOptions) -> Result<Drawing, Problems> {
    let extension = file.extension().map_or(String::new(), |e| e.to_string_lossy().to_lowercase());
    let sheet = match extension.as_str() {
        "png" | "jpg" | "jpeg" => picture::read(file, options)?,
        "svg" => svg::read(file)?,
        "dxf" => dxf::read(file)?,
        _ => list::read(file)?,
    };
    finish::finish(sheet, file, options)
}

/// Whether a file is read as a picture, by its extension; its unit is then the pixel until a scale is known.
pub fn is_picture(file: &Path) -> bool {
    file.extension().is_some_and(|e| ["png", "jpg", "jpeg"].iter().any(|known| e.eq_ignore_ascii_case(known)))
}

/// A single mistake without a place.
fn only(file: &Path, message: impl Into<String>, remedy: &str) -> Problems {
    let mut problems = Problems::default();
    problems.add(file, None, message, remedy);
    problems
}

/// What a reader passed over, counted and named, as a note.
fn not_used(ignored: &BTreeMap<String, usize>) -> Option<String> {
    const MOST: usize = 20;
    let named: Vec<String> = ignored
        .iter()
        .take(MOST)
        .map(|(what, count)| format!("{count} {}", what.chars().take(60).collect::<String>()))
        .collect();
    let more = ignored.len().saturating_sub(MOST);
    let more = if more > 0 { format!(", and {more} other kinds") } else { String::new() };
    (!named.is_empty()).then(|| format!("not used: {}{more}", named.join(", ")))
}
