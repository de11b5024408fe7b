//! DXF drawings in their text form, by an own reader of the open group codes: it knows the line of every mistake, names
//! what it does not use, and stops at no unknown entity.
//!
//! Used are LINE, ARC, CIRCLE, ELLIPSE, LWPOLYLINE and POLYLINE with bulges, SPLINE with control points, and INSERT of blocks
//! with scale, rotation and arrays. Non-rational splines up to degree three are kept exactly; others become cubics within 1e-7
//! of their size. `$INSUNITS` gives the unit. Everything else is counted and named.

mod curves;
mod pairs;
mod spline;
mod walk;

use super::load;
use super::stroke::{Sheet, Stroke};
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::text::shortened;
use pairs::{Entity, Fault, entities, pairs};
use std::collections::BTreeMap;
use std::path::Path;
use walk::{Block, Walk};

/// Largest file read, bytes.
const MAX_BYTES: u64 = 64 << 20;

/// Reads the strokes of a DXF file.
///
/// # Errors
/// Binary files, broken pairs, values that are no numbers, blocks nested too deeply; with the place.
pub(super) fn read(file: &Path) -> Result<Sheet, Problems> {
    let bytes = load::bytes(file, MAX_BYTES)?;
    let sha256 = sha256(&bytes);
    let head = bytes.get(..40).unwrap_or(&bytes);
    if head.windows(10).any(|window| window == b"Binary DXF") {
        return Err(Problems::one(file, "the file is a binary DXF, which is not read", "save it as text (ASCII) DXF"));
    }
    let mut notes = Vec::new();
    // Older files are in a code page; only names have other letters than ASCII.
    let text = String::from_utf8(bytes).unwrap_or_else(|error| {
        notes.push("the file is not UTF-8: letters outside ASCII in its names are taken as Latin-1".into());
        error.as_bytes().iter().map(|byte| char::from(*byte)).collect()
    });
    match strokes(&text, file, &mut notes) {
        Ok((strokes, unit)) => {
            Ok(Sheet { strokes, unit, page: Some([0.0; 2]), notes, text, sha256, ..Sheet::default() })
        }
        Err((message, place)) => {
            let mut problems = Problems::default();
            problems.add_text(file, &text);
            problems.add(file, Some(place), message, "save it as text (ASCII) DXF again, with the outline only");
            Err(problems)
        }
    }
}

fn strokes(text: &str, file: &Path, notes: &mut Vec<String>) -> Result<(Vec<Stroke>, Option<f64>), Fault> {
    let pairs = pairs(text)?;
    let all = entities(&pairs);
    let header = section(&all, "HEADER").and_then(|found| found.first());
    let unit = header.map_or(Ok(None), |header| unit(header, notes))?;
    let hidden = section(&all, "TABLES").map_or(Ok(Vec::new()), hidden_layers)?;
    let mut drawing = sections(&all, "ENTITIES").peekable();
    if drawing.peek().is_none() {
        let name = file.display();
        return Err((format!("{name} has no section ENTITIES: it is no DXF drawing, or an empty one"), 0..1));
    }
    let blocks = section(&all, "BLOCKS").map_or(Ok(BTreeMap::new()), blocks)?;
    let mut walk = Walk::new(&blocks, &hidden);
    for part in drawing {
        walk.all(part.get(1..).unwrap_or(&[]))?;
    }
    Ok((walk.finish(notes), unit))
}

/// The entities of every section of a name: first the one that opens it.
fn sections<'s, 't, 'p>(all: &'s [Entity<'t, 'p>], name: &str) -> impl Iterator<Item = &'s [Entity<'t, 'p>]> {
    let starts = all.iter().enumerate().filter(move |(_, e)| e.kind == "SECTION" && e.text(2) == Some(name));
    starts.map(|(start, _)| {
        let length = all[start..].iter().position(|e| e.kind == "ENDSEC").unwrap_or(all.len() - start);
        &all[start..start + length]
    })
}

/// The first section of a name.
fn section<'s, 't, 'p>(all: &'s [Entity<'t, 'p>], name: &str) -> Option<&'s [Entity<'t, 'p>]> {
    sections(all, name).next()
}

/// Metres per unit by `$INSUNITS` (DXF reference, header variables); none for drawings without a unit.
fn unit(header: &Entity<'_, '_>, notes: &mut Vec<String>) -> Result<Option<f64>, Fault> {
    let Some(at) = header.pairs.iter().position(|pair| pair.code == 9 && pair.value == "$INSUNITS") else {
        return Ok(None);
    };
    let Some(pair) = header.pairs.get(at + 1) else { return Ok(None) };
    let metres = match pair.value {
        "0" => return Ok(None),
        "1" => 0.0254,
        "2" => 0.3048,
        "3" => 1609.344,
        "4" => 1e-3,
        "5" => 1e-2,
        "6" => 1.0,
        "7" => 1e3,
        "8" => 0.0254e-6,
        "9" => 0.0254e-3,
        "10" => 0.9144,
        "11" => 1e-10,
        "12" => 1e-9,
        "13" => 1e-6,
        "14" => 0.1,
        "15" => 10.0,
        "16" => 100.0,
        other => {
            let other = shortened(other);
            notes.push(format!("$INSUNITS {other} is no usual unit of length and is not used"));
            return Ok(None);
        }
    };
    Ok(Some(metres))
}

/// Names of layers that are off or frozen.
fn hidden_layers<'t>(tables: &[Entity<'t, '_>]) -> Result<Vec<&'t str>, Fault> {
    let mut hidden = Vec::new();
    for layer in tables.iter().filter(|entity| entity.kind == "LAYER") {
        if layer.whole(62)? < 0 || layer.whole(70)? & 1 != 0 {
            hidden.extend(layer.text(2));
        }
    }
    Ok(hidden)
}

/// The blocks by their names.
fn blocks<'s, 't, 'p>(section: &'s [Entity<'t, 'p>]) -> Result<BTreeMap<&'t str, Block<'s, 't, 'p>>, Fault> {
    let mut blocks = BTreeMap::new();
    let mut start = None;
    for (k, entity) in section.iter().enumerate() {
        match (entity.kind, start) {
            ("BLOCK", _) => start = Some(k),
            ("ENDBLK", Some(from)) => {
                let head: &Entity<'t, 'p> = &section[from];
                if let Some(name) = head.text(2) {
                    blocks.insert(name, Block { base: head.point(10)?, entities: &section[from + 1..k] });
                }
                start = None;
            }
            _ => {}
        }
    }
    Ok(blocks)
}
