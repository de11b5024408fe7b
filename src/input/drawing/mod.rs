//! Outlines from files: coordinate lists, SVG and DXF drawings, pictures.
//!
//! A reader turns a file into strokes; one place for all of them chains these to closed loops, repairs what is within the
//! tolerance, and chooses those that are wanted.

mod about;
pub(super) mod affine;
mod chain;
mod choose;
mod drawn;
mod dxf;
mod effort;
mod finish;
mod list;
mod load;
mod names;
mod painted;
mod picture;
mod repair;
mod stroke;
mod svg;
mod vtp;

pub use crate::input::case::ReadOptions;
pub use drawn::{Drawing, Found, Loop, MOST_FOUND};
pub use stroke::MOST_CURVES;

use crate::base::error::Problems;
use std::path::Path;

/// Reads the outlines of a file: `.svg`, `.dxf`, `.vtp`, `.png` and `.jpg` by their extension, anything else as a list of coordinates.
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
        "vtp" => vtp::read(file)?,
        _ => list::read(file)?,
    };
    finish::finish(sheet, file, options)
}

/// Whether a file is read as a picture, by its extension; its unit is then the pixel until a scale is known.
pub fn is_picture(file: &Path) -> bool {
    file.extension().is_some_and(|e| ["png", "jpg", "jpeg"].iter().any(|known| e.eq_ignore_ascii_case(known)))
}
