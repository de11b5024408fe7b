//! Reading of a table of gaps.

use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::units::{Dimension, likely_unit};
use crate::input::columns::{Columns, Fault, Title};
use crate::input::near::check_name;
use crate::input::plain::{self, Unread};
use crate::input::rows::{Row, rows};
use std::ops::Range;
use std::path::Path;

/// Most rows a table of gaps may have.
pub const MOST_ROWS: usize = 1_000_000;

/// Largest file read, bytes: room for the largest table.
const LARGEST: u64 = 256 << 20;

/// Bad rows reported before giving up.
const MOST_REPORTED: usize = 10;

const COLUMNS: [&str; 3] = ["x", "y", "gap"];

/// Places beyond this multiple of the cell's sides tell of a forgotten unit.
const FAR: f64 = 10.0;

/// The rows of a table, in metres, and the SHA-256 of its bytes. Beside the sides of its cell, m, numbers without a unit that cannot
/// be metres, but would fit in a smaller unit, are a mistake.
pub(super) fn read(file: &Path, sides: Option<[f64; 2]>) -> Result<(Vec<[f64; 3]>, String), Problems> {
    let mut problems = Problems::default();
    let text = match text(file, &mut problems) {
        Ok(text) => text,
        Err((message, remedy)) => {
            problems.add(file, None, message, remedy);
            return Err(problems);
        }
    };
    let (mut values, mut places): (Vec<[f64; 3]>, Vec<Range<usize>>) = Default::default();
    let mut columns = Columns::new(COLUMNS, Title::Mistake);
    for Row { fields, place, is_header } in rows(&text) {
        let read = if is_header {
            columns.header(&fields)
        } else {
            in_metres(&columns, &fields).map(|read| {
                values.push(read);
                places.push(place.clone());
            })
        };
        if let Err((message, remedy)) = read {
            problems.add(file, Some(place), message, remedy);
        }
        if values.len() > MOST_ROWS {
            let message = format!("the table of gaps has more than {MOST_ROWS} rows");
            problems.add(file, None, message, "thin it out");
            return Err(problems);
        }
        if problems.list.len() >= MOST_REPORTED {
            break;
        }
    }
    if let (Some(sides), true) = (sides, problems.is_empty()) {
        for (message, remedy) in forgotten(columns.units(), &values, sides) {
            problems.add(file, places.first().cloned(), message, remedy);
        }
    }
    report_repeated(file, &text, &values, &places, &mut problems);
    if !problems.is_empty() {
        problems.add_text(file, &text);
        return Err(problems);
    }
    Ok((values, sha256(text.as_bytes())))
}

fn text(file: &Path, problems: &mut Problems) -> Result<String, Fault> {
    plain::text(file, LARGEST).map_err(|unread| match unread {
        Unread::Folder => ("the table of gaps is a folder".into(), "name a file with the columns x, y and gap".into()),
        Unread::NotPlain => ("the table of gaps is not a plain file".into(), "name a plain file".into()),
        Unread::Large => (format!("the table of gaps is larger than {} MiB", LARGEST >> 20), "thin it out".into()),
        Unread::NotText(text, place) => {
            problems.add_text(file, &text);
            (format!("the table of gaps is not UTF-8 text: see byte {}", place + 1), "save it as UTF-8".into())
        }
        Unread::Failed(error) => (format!("the table of gaps cannot be read: {error}"), check_name(file, &error)),
    })
}

/// A row in metres.
fn in_metres(columns: &Columns<3>, fields: &[&str]) -> Result<[f64; 3], Fault> {
    let row = columns.numbers(fields)?;
    let units = columns.units();
    let metres = [0, 1, 2].map(|which| row[which] * units[which].unwrap_or(1.0));
    if let Some(which) = (0..3).find(|&which| !metres[which].is_finite()) {
        let message = format!("{} is {} of its unit, which is not finite in metres", COLUMNS[which], row[which]);
        return Err((message, "correct or remove the row".into()));
    }
    if row[2] <= 0.0 {
        let message = format!("the gap is {} and must be above zero", row[2]);
        return Err((message, "correct or remove the row".into()));
    }
    Ok(metres)
}

/// Columns without a unit whose numbers cannot be metres in a cell of these sides.
fn forgotten(units: [Option<f64>; 3], values: &[[f64; 3]], sides: [f64; 2]) -> Vec<Fault> {
    let bare = |which: usize| units[which].is_none();
    let show = |value| Dimension::Length.show(value);
    let mut faults = Vec::new();
    let far = |which: usize| values.iter().map(|row| row[which].abs()).fold(0.0, f64::max);
    let beyond = |which: &usize| bare(*which) && far(*which) > FAR * sides[*which];
    if let Some(which) = (0..2).find(beyond) {
        let (name, far, side) = (COLUMNS[which], far(which), sides[which]);
        let message =
            format!("{name} has no unit and is read in metres: it reaches {}, and the cell {}", show(far), show(side));
        // a table may go beyond its cell, but hardly three times as far
        if let Some(unit) = likely_unit(&["cm", "mm", "um"], far, 3.0 * side) {
            faults
                .push((message, format!("if {unit} are meant, name the columns x_{unit} and y_{unit} in the header")));
        }
    }
    let least = values.iter().map(|row| row[2]).fold(f64::INFINITY, f64::min);
    let most = 0.2 * sides[0].min(sides[1]);
    if bare(2) && least.is_finite() && least > most {
        let message = format!(
            "the gap has no unit and is read in metres: its least value is {}, more than a fifth of the cell's smaller side, {}",
            show(least),
            show(5.0 * most)
        );
        if let Some(unit) = likely_unit(&["mm", "um"], least, most) {
            faults.push((message, format!("if {unit} are meant, name the column gap_{unit} in the header")));
        }
    }
    faults
}

/// Notes rows that give a place of an earlier row another gap.
fn report_repeated(file: &Path, text: &str, rows: &[[f64; 3]], spans: &[Range<usize>], problems: &mut Problems) {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    // -0 and 0 are the same place
    let key = |k: usize| [rows[k][0] + 0.0, rows[k][1] + 0.0];
    order.sort_by(|&a, &b| {
        let (p, q) = (key(a), key(b));
        p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1])).then(a.cmp(&b))
    });
    let mut first = 0;
    for k in 1..order.len() {
        let (a, b) = (order[first], order[k]);
        if key(a) != key(b) {
            first = k;
        } else if rows[a][2] != rows[b][2] && problems.list.len() < MOST_REPORTED {
            let line = 1 + text[..spans[a].start].matches('\n').count();
            let message = format!(
                "the gap at ({}, {}) m is {} m here and {} m in line {line}",
                rows[b][0], rows[b][1], rows[b][2], rows[a][2]
            );
            problems.add(file, Some(spans[b].clone()), message, "keep one of the two rows");
        }
    }
}
