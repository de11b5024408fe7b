//! Coordinate lists: two columns of numbers.

use super::load;
use super::stroke::{MOST_CURVES, Sheet, Stroke};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::units::Dimension;
use crate::geometry::Curve;
use crate::input::columns::{Columns, Fault, Title};
use crate::input::rows::{Row, rows};
use std::ops::Range;
use std::path::Path;

/// Largest file read, bytes: room for the largest outline with long comments.
const MAX_BYTES: u64 = 256 << 20;

/// Bad rows reported before giving up.
const MAX_REPORTED: usize = 10;

/// Reads the points of an outline: one point a line, x and y separated by a comma, a semicolon or white space, `#` starts a
/// comment; a header may name the columns and state their unit, as in `x [mm], y [mm]`.
///
/// # Errors
/// Every bad row with its place, or what else is wrong with the file.
pub(super) fn read(file: &Path) -> Result<Sheet, Problems> {
    let text = load::text(file, MAX_BYTES)?;
    let mut problems = Problems::default();
    let mut points: Vec<Placed> = Vec::new();
    let mut columns = Columns::new(["x", "y"], Title::Allowed);
    for Row { fields, place, is_header } in rows(&text) {
        let read = if is_header {
            columns.header(&fields).and_then(|()| common(columns.units()).map(drop))
        } else {
            columns.numbers(&fields).map(|point| points.push((point, place.clone())))
        };
        if let Err((message, remedy)) = read {
            problems.add(file, Some(place), message, remedy);
        }
        if points.len() > MOST_CURVES + 1 {
            let remedy = "thin the points out, or join fewer of them by `smooth = true`";
            return Err(Problems::one(file, format!("the outline has more than {MOST_CURVES} points"), remedy));
        }
        if problems.list.len() >= MAX_REPORTED {
            break;
        }
    }
    if !problems.is_empty() {
        problems.add_text(file, &text);
        return Err(problems);
    }
    let sha256 = sha256(text.as_bytes());
    let unit = common(columns.units()).unwrap_or_default();
    Ok(Sheet { strokes: vec![stroke(&points)], unit, page: Some([0.0; 2]), text, sha256, ..Sheet::default() })
}

/// The unit of both columns, if any is stated.
///
/// # Errors
/// Two that differ: what is drawn in two scales is hardly meant.
fn common(units: [Option<f64>; 2]) -> Result<Option<f64>, Fault> {
    match units {
        [Some(x), Some(y)] if x != y => {
            let [x, y] = units.map(|unit| Dimension::Length.show(unit.unwrap_or_default()));
            Err((
                format!("the header states two units, {x} for x and {y} for y"),
                "give both columns in one unit".into(),
            ))
        }
        [x, y] => Ok(x.or(y)),
    }
}

/// A point with its place in the file.
type Placed = (Point, Range<usize>);

/// Lines from each point to the next, the last to the first unless it repeats it.
fn stroke(points: &[Placed]) -> Stroke {
    let closes = points.len() > 1 && points.first().map(|p| p.0) == points.last().map(|p| p.0);
    let open = if closes { &points[..points.len() - 1] } else { points };
    let next = open.iter().skip(1).chain(open.first());
    let line = |(from, to): (&Placed, &Placed)| Curve::Line { from: from.0, to: to.0 };
    Stroke {
        curves: open.iter().zip(next).map(line).collect(),
        places: open.iter().map(|(_, place)| place.clone()).collect(),
        closed: true,
        ..Stroke::default()
    }
}
