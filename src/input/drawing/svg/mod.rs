//! SVG drawings (SVG 2, with the units of CSS).
//!
//! Read are paths with all commands, basic shapes, nested transforms, `use`, `symbol` and nested `svg`, view boxes and
//! units. Not applied are style sheets, clipping and masks; texts, images and the like are counted and named. Coordinates come out
//! in the units of the outermost view box with y upwards.

mod path;
mod shapes;
mod view;
mod walk;

use super::affine::Affine;
use super::load;
use super::stroke::{Sheet, YAxis};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use roxmltree::{Document, Node, ParsingOptions};
use std::path::Path;
use std::str::FromStr;
use svgtypes::{Align, AspectRatio};
use view::{Misread, PX, fit, is_px, metres, px, view_box};
use walk::{Setting, Walk};

/// Largest file read, bytes.
const MAX_BYTES: u64 = 64 << 20;

/// Most elements, texts and comments of a file.
const MOST_NODES: u32 = 4_000_000;

/// Reads the strokes of an SVG file.
///
/// # Errors
/// A file that is no SVG, declares entities that blow it up, nests too deeply, or has numbers that are none; each with its place.
pub(super) fn read(file: &Path) -> Result<Sheet, Problems> {
    let text = load::text(file, MAX_BYTES)?;
    let fail = |place: Option<std::ops::Range<usize>>, message: String, remedy: &str| {
        let mut problems = Problems::default();
        problems.add_text(file, &text);
        problems.add(file, place, message, remedy);
        problems
    };
    if let Some((message, place)) = blown_up(&text) {
        return Err(fail(Some(place), message, "save it as plain SVG, without a document type"));
    }
    let options = ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    let document = Document::parse_with_options(&text, options).map_err(|error| {
        let place = byte_of(&text, error.pos());
        fail(Some(place..place + 1), format!("not XML: {error}"), "save the drawing as plain SVG again")
    })?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        let place = root.range().start;
        let message = format!("the file is XML but no SVG: it starts with <{}>", root.tag_name().name());
        return Err(fail(Some(place..place + 1), message, "save the drawing as SVG"));
    }
    let mut notes = Vec::new();
    let View { map, unit, size, page } = root_view(root, &mut notes).map_err(|(message, place)| {
        fail(Some(place), message, "write a size such as width=\"80mm\" and a box such as viewBox=\"0 0 80 60\"")
    })?;
    let mut walk = Walk::new(file, &document);
    walk.children(root, &Setting::root(map, size));
    let (strokes, mut problems) = walk.finish(&mut notes);
    if !problems.is_empty() {
        problems.add_text(file, &text);
        return Err(problems);
    }
    drop(document);
    let sha256 = sha256(text.as_bytes());
    Ok(Sheet { strokes, unit, page, notes, y: YAxis::Down, text, sha256 })
}

/// What is wrong with the entities that a file declares, some editors for the names of their own attributes: one that refers to others, or
/// so many references that the whole would be larger than a file may be.
fn blown_up(text: &str) -> Option<Misread> {
    let mut longest = 0;
    for (at, start) in text.match_indices("<!ENTITY") {
        let rest = &text[at + start.len()..];
        let quote = rest.find(['"', '\'']).unwrap_or(rest.len());
        let value = rest[quote..].chars().next().and_then(|mark| rest[quote + 1..].split(mark).next()).unwrap_or("");
        if value.contains('&') {
            return Some(("the file declares entities that refer to others".into(), at..at + start.len()));
        }
        longest = longest.max(value.len());
    }
    let references = || text.bytes().filter(|byte| *byte == b'&').count();
    let whole = if longest == 0 { 0 } else { references().saturating_mul(longest) };
    let at = text.find("<!ENTITY").unwrap_or(0);
    let message = || format!("the file's entities come to more than {} MiB when they are written out", MAX_BYTES >> 20);
    (whole as u64 > MAX_BYTES).then(|| (message(), at..at + 8))
}

/// What the outermost element says of the coordinates.
struct View {
    /// From its user space to the sheet.
    map: Affine,
    /// Metres per unit, if it states a size.
    unit: Option<f64>,
    /// What percentages refer to.
    size: [f64; 2],
    /// The lower left corner of the page in the sheet, if its height is known.
    page: Option<Point>,
}

/// The view of the outermost element; a view box without a size is the page itself.
///
/// # Errors
/// A size or a view box that is none, with its place.
fn root_view(root: Node<'_, '_>, notes: &mut Vec<String>) -> Result<View, Misread> {
    let upwards = |ratio: f64| Affine::scale(1.0, -ratio);
    let attributes = ["width", "height"].map(|key| root.attribute_node(key));
    for attribute in attributes.iter().flatten().filter(|attribute| attribute.value().trim() != "auto") {
        px(attribute.value(), 1.0).map_err(|message| (message, attribute.range_value()))?;
    }
    let stated = attributes.map(|attribute| attribute.map(|attribute| attribute.value()));
    let size = stated.map(|text| text.and_then(metres));
    if stated.iter().flatten().any(|text| metres(text).is_some() && is_px(text)) {
        notes.push("the file gives its size in px, which are taken as 1/96 inch: check the size".into());
    }
    let Some(view) = view_box(root)? else {
        let px = size.map(|metres| metres.map_or(0.0, |m| m / PX));
        let unit = size.iter().any(Option::is_some).then_some(PX);
        return Ok(View { map: upwards(1.0), unit, size: px, page: size[1].map(|_| [0.0, -px[1]]) });
    };
    // One of the two follows from the other and the view box.
    let both = match size {
        [Some(width), Some(height)] => [width, height],
        [Some(width), None] => [width, width * view.h / view.w],
        [None, Some(height)] => [height * view.w / view.h, height],
        [None, None] => {
            let page = Some([view.x, -(view.y + view.h)]);
            return Ok(View { map: upwards(1.0), unit: None, size: [view.w, view.h], page });
        }
    };
    let aspect =
        root.attribute("preserveAspectRatio").and_then(|text| AspectRatio::from_str(text).ok()).unwrap_or_default();
    let Affine([sx, _, _, sy, x, y]) = fit(&view, both, aspect);
    let ratio = if aspect.align == Align::None { sy / sx } else { 1.0 };
    let map = upwards(ratio);
    // the place in user space that goes to the lower left corner
    let page = Some(map.point([-x / sx, (both[1] - y) / sy]));
    Ok(View { map, unit: Some(sx), size: [view.w, view.h], page })
}

/// Byte position of a row and column, both from 1, columns in characters.
fn byte_of(text: &str, place: roxmltree::TextPos) -> usize {
    let (row, column) = (place.row.max(1) as usize - 1, place.col.max(1) as usize - 1);
    let start: usize = text.split_inclusive('\n').take(row).map(str::len).sum();
    let line = text.get(start..).unwrap_or("");
    start + line.char_indices().nth(column).map_or(0, |(k, _)| k)
}
