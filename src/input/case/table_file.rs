//! Reading of tables of lengths that a case names: of gaps, of needles.

use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::units::{Dimension, likely_unit};
use crate::input::columns::{Columns, Fault, Title};
use crate::input::near::check_name;
use crate::input::plain::{self, Unread};
use crate::input::rows::{Row, rows};
use std::ops::Range;
use std::path::Path;

/// Bad rows reported before giving up.
pub(super) const MOST_REPORTED: usize = 10;

/// What a table is to hold.
pub(super) struct Format<const N: usize> {
    /// How messages call it: "the table of gaps".
    pub what: &'static str,
    /// Its columns.
    pub columns: [&'static str; N],
    /// Whether a first line may be a title.
    pub title: Title,
    /// Most rows.
    pub most_rows: usize,
    /// Largest file, bytes.
    pub largest: u64,
    /// What to do about one with more.
    pub thin_out: &'static str,
}

/// A table that was read.
pub(super) struct TableFile<const N: usize> {
    /// Its rows, m, with their places in the text.
    pub rows: Vec<([f64; N], Range<usize>)>,
    /// Metres per unit of each column, where the header states it.
    pub units: [Option<f64>; N],
    /// Its text.
    pub text: String,
    /// The SHA-256 of its bytes.
    pub sha256: String,
}

impl<const N: usize> TableFile<N> {
    /// A mistake of the table, at a place of it.
    pub fn mistake(&self, file: &Path, place: Option<Range<usize>>, message: String, remedy: String) -> Problems {
        let mut problems = Problems::default();
        problems.add_text(file, &self.text);
        problems.add(file, place, message, remedy);
        problems
    }
}

impl<const N: usize> TableFile<N> {
    /// What is wrong where x or y has no unit and reaches beyond so many sides of the cell in metres, but in a smaller unit within so many.
    pub fn forgotten(&self, format: &Format<N>, sides: [f64; 2], beyond: f64, within: f64) -> Option<Fault> {
        let far = |k: usize| self.rows.iter().map(|(row, _)| row[k].abs()).fold(0.0, f64::max);
        let k = (0..2).find(|&k| self.units[k].is_none() && far(k) > beyond * sides[k])?;
        let unit = likely_unit(&["cm", "mm", "um"], far(k), within * sides[k])?;
        let [reach, side] = [far(k), sides[k]].map(|x| Dimension::Length.show(x));
        let message =
            format!("{} has no unit and is read in metres: it reaches {reach}, and the cell {side}", format.columns[k]);
        Some((message, format!("if {unit} are meant, name the columns x_{unit} and y_{unit} in the header")))
    }
}

/// Reads a table whose numbers are in metres where its header states no unit.
///
/// # Errors
/// Every bad row with its place, or what else is wrong with the file.
pub(super) fn read<const N: usize>(file: &Path, format: &Format<N>) -> Result<TableFile<N>, Problems> {
    let mut problems = Problems::default();
    let text = match text(file, format, &mut problems) {
        Ok(text) => text,
        Err((message, remedy)) => {
            problems.add(file, None, message, remedy);
            return Err(problems);
        }
    };
    let mut list = Vec::new();
    let mut columns = Columns::new(format.columns, format.title);
    for Row { fields, place, is_header } in rows(&text) {
        let read = if is_header {
            columns.header(&fields)
        } else {
            in_metres(&columns, format, &fields).map(|row| list.push((row, place.clone())))
        };
        if let Err((message, remedy)) = read {
            problems.add(file, Some(place), message, remedy);
        }
        if list.len() > format.most_rows {
            let message = format!("{} has more than {} rows", format.what, format.most_rows);
            problems.add(file, None, message, format.thin_out);
            return Err(problems);
        }
        if problems.list.len() >= MOST_REPORTED {
            break;
        }
    }
    if problems.is_empty() {
        return Ok(TableFile { rows: list, units: columns.units(), sha256: sha256(text.as_bytes()), text });
    }
    problems.add_text(file, &text);
    Err(problems)
}

fn text<const N: usize>(file: &Path, format: &Format<N>, problems: &mut Problems) -> Result<String, Fault> {
    let (what, names) = (format.what, format.columns.join(", "));
    plain::text(file, format.largest).map_err(|unread| match unread {
        Unread::Folder => (format!("{what} is a folder"), format!("name a file with the columns {names}")),
        Unread::NotPlain => (format!("{what} is not a plain file"), "name a plain file".into()),
        Unread::Large => (format!("{what} is larger than {} MiB", format.largest >> 20), format.thin_out.into()),
        Unread::NotText(text, place) => {
            problems.add_text(file, &text);
            (format!("{what} is not UTF-8 text: see byte {}", place + 1), "save it as UTF-8".into())
        }
        Unread::Failed(error) => (format!("{what} cannot be read: {error}"), check_name(file, &error)),
    })
}

/// A row in metres.
fn in_metres<const N: usize>(columns: &Columns<N>, format: &Format<N>, fields: &[&str]) -> Result<[f64; N], Fault> {
    let row = columns.numbers(fields)?;
    let units = columns.units();
    let metres: [f64; N] = std::array::from_fn(|which| row[which] * units[which].unwrap_or(1.0));
    match (0..N).find(|&which| !metres[which].is_finite()) {
        None => Ok(metres),
        Some(which) => {
            let message =
                format!("{} is {} of its unit, which is not finite in metres", format.columns[which], row[which]);
            Err((message, "correct or remove the row".into()))
        }
    }
}
