//! Coordinate lists: two columns of numbers.

use super::load;
use super::stroke::{MOST_CURVES, Sheet, Stroke, only};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::units::{self, Dimension};
use crate::geometry::Curve;
use crate::input::rows::{Row, rows};
use std::ops::Range;
use std::path::Path;

/// Largest file read, bytes: room for the largest outline with long comments.
const MAX_BYTES: u64 = 256 << 20;

/// Bad rows reported before giving up.
const MAX_REPORTED: usize = 10;

/// Reads the points of an outline: one point a line, x and y separated by a comma, a semicolon or white space, `#` starts a
/// comment, one header line may stand first and state a unit, as in `x [mm], y [mm]`.
///
/// # Errors
/// Every bad row with its place, or what else is wrong with the file.
pub(super) fn read(file: &Path) -> Result<Sheet, Problems> {
    let text = load::text(file, MAX_BYTES)?;
    let mut problems = Problems::default();
    let mut points: Vec<Placed> = Vec::new();
    let mut unit = None;
    for Row { fields, place, is_header } in rows(&text) {
        let read = if is_header {
            header_unit(&fields).map(|found| unit = found)
        } else {
            point(&fields).map(|point| points.push((point, place.clone())))
        };
        if let Err((message, remedy)) = read {
            problems.add(file, Some(place), message, remedy);
        }
        if points.len() > MOST_CURVES + 1 {
            let remedy = "thin the points out, or join fewer of them by `smooth = true`";
            return Err(only(file, format!("the outline has more than {MOST_CURVES} points"), remedy));
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
    Ok(Sheet { strokes: vec![stroke(&points)], unit, text, sha256, ..Sheet::default() })
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

type Fault = (String, &'static str);

/// Metres per unit from the units in brackets that a header states, such as `x [mm]`, `y (mm)`; none if it states none.
fn header_unit(fields: &[&str]) -> Result<Option<f64>, Fault> {
    let bracketed = |field: &&str| {
        let inner = field.split_once(['[', '('])?.1;
        Some(inner.split([']', ')']).next().unwrap_or("").trim().to_owned())
    };
    let stated: Vec<String> = fields.iter().filter_map(bracketed).collect();
    let Some(first) = stated.first() else { return Ok(None) };
    if let Some(other) = stated.iter().find(|other| *other != first) {
        return Err((format!("the header states two units, {first} and {other}"), "give both columns in one unit"));
    }
    match units::parse(&format!("1 {first}"), Dimension::Length) {
        Ok(metres) => Ok(Some(metres)),
        Err(error) => Err((format!("the header's unit: {error}"), "write a unit of length, such as x [mm], y [mm]")),
    }
}

fn point(fields: &[&str]) -> Result<Point, Fault> {
    let [x, y] = fields else {
        return Err((
            format!(
                "expected two numbers, found {} {}",
                fields.len(),
                if fields.len() == 1 { "entry" } else { "entries" }
            ),
            "write x and y of one point, separated by a comma or a space",
        ));
    };
    let number = |field: &str| match field.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) => Err((format!("`{field}` is not a finite number"), "write a finite coordinate or remove the row")),
        Err(_) => Err((format!("`{field}` is not a number"), "write a plain number such as 12.5 or 1.25e1")),
    };
    Ok([number(x)?, number(y)?])
}
