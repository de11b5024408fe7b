//! Places from a table at which numbers are wanted; its columns are kept.

use super::columns::{Columns, Fault, Title};
use super::near::check_name;
use super::plain::{self, Unread};
use super::rows::{Row, fields, rows, separator};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::text::shortened;
use std::borrow::Cow;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// Largest file read, bytes: some ten million places.
const LARGEST: u64 = 1 << 30;
/// Mistakes reported before giving up.
const MOST_REPORTED: usize = 10;

/// A table of places.
#[derive(Debug, Clone)]
pub struct Points {
    /// Where it was read from.
    pub file: PathBuf,
    /// The places, m, row by row.
    pub places: Vec<Point>,
    text: String,
    /// Bytes of each row of the header in the text, then of each row of numbers.
    header: Vec<Range<usize>>,
    rows: Vec<Range<usize>>,
    /// Fields of a row, and what stands between them.
    fields: usize,
    separator: char,
}

impl Points {
    /// Reads a table with the columns x and y, in metres unless its header says otherwise, and any others. Without a header the first two
    /// columns are x and y. `taken` are names that no column may have.
    ///
    /// # Errors
    /// Every mistake with its line: columns that are missing or there twice, units that are none of length, rows that are no numbers or of
    /// another length, a table without places.
    pub fn read(file: &Path, taken: &[&str]) -> Result<Points, Problems> {
        let text = plain::text(file, LARGEST).map_err(|unread| unreadable(file, unread))?;
        let mut columns = Columns::new(["x", "y"], Title::Others);
        let mut problems = Problems::default();
        let (header, list) = (Vec::new(), Vec::new());
        let mut points = Points {
            file: file.to_owned(),
            places: list,
            text: String::new(),
            header,
            rows: Vec::new(),
            fields: 0,
            separator: ',',
        };
        for row in rows(&text) {
            if let Err((message, remedy)) = points.take(&row, &mut columns, taken) {
                problems.add(file, Some(row.place.clone()), message, remedy);
            }
            // behind a header that misleads every row would be a mistake
            if row.is_header && !problems.is_empty() || problems.list.len() >= MOST_REPORTED {
                break;
            }
        }
        if points.places.is_empty() && problems.is_empty() {
            problems.add(
                file,
                None,
                "the table holds no places",
                "write a header x, y and a row of two numbers for each place",
            );
        }
        if problems.is_empty() {
            points.text = text;
            let first = points.header.first().or(points.rows.first()).cloned().unwrap_or_default();
            points.separator = separator(&points.text[first]).unwrap_or(',');
            return Ok(points);
        }
        problems.add_text(file, &text);
        Err(problems)
    }

    fn take(&mut self, row: &Row<'_>, columns: &mut Columns<2>, taken: &[&str]) -> Result<(), Fault> {
        let Row { fields, place, is_header } = row;
        if self.fields == 0 {
            self.fields = fields.len();
        } else if self.fields != fields.len() {
            let message = format!("the row has {} entries, and the first row {}", fields.len(), self.fields);
            return Err((
                message,
                "give every row the same columns; an empty entry stands between two separators".into(),
            ));
        }
        if *is_header {
            columns.header(fields)?;
            if let Some(field) = fields.iter().find(|field| taken.contains(field)) {
                let message = format!("a column is called \"{}\", as one of those that are added", shortened(field));
                return Err((message, "leave it out, or call it otherwise".into()));
            }
            self.header.push(place.clone());
            return Ok(());
        }
        let (numbers, units) = (columns.numbers(fields)?, columns.units());
        self.places.push([0, 1].map(|k| numbers[k] * units[k].unwrap_or(1.0)));
        self.rows.push(place.clone());
        Ok(())
    }

    /// The rows of its header, as text that columns can be added to; `x_m` and `y_m`, then numbers of columns, where it has none.
    pub fn header(&self) -> Vec<Cow<'_, str>> {
        if self.header.is_empty() {
            let name = |k: usize| match k {
                0 => "x_m".to_owned(),
                1 => "y_m".to_owned(),
                _ => format!("column_{}", k + 1),
            };
            return vec![Cow::Owned((0..self.fields).map(name).collect::<Vec<_>>().join(&self.between()))];
        }
        self.header.iter().map(|row| self.separated(row)).collect()
    }

    /// A row as text that columns can be added to: as it stands in the table, if its separator is that of the others.
    pub fn row(&self, k: usize) -> Cow<'_, str> {
        self.separated(&self.rows[k])
    }

    /// What stands between two columns.
    pub fn between(&self) -> String {
        self.separator.to_string()
    }

    fn separated(&self, row: &Range<usize>) -> Cow<'_, str> {
        let text = &self.text[row.clone()];
        if separator(text) == Some(self.separator) {
            return Cow::Borrowed(text);
        }
        let quoted = |field: &str| match field.contains(self.separator) {
            true => format!("\"{field}\""),
            false => field.to_owned(),
        };
        Cow::Owned(fields(text).into_iter().map(quoted).collect::<Vec<_>>().join(&self.between()))
    }

    /// Places that lie in no fluid, as mistakes with their lines.
    pub fn outside(&self, places: impl IntoIterator<Item = usize>) -> Problems {
        let mut problems = Problems::default();
        problems.add_text(&self.file, &self.text);
        for k in places.into_iter().take(MOST_REPORTED) {
            let [x, y] = self.places[k];
            let message = format!("the place x = {x} m, y = {y} m lies in a solid or outside the cell");
            problems.add(&self.file, Some(self.rows[k].clone()), message, "move it into the fluid, or remove the row");
        }
        problems
    }
}

fn unreadable(file: &Path, unread: Unread) -> Problems {
    let mut problems = Problems::default();
    let (place, message, remedy) = match unread {
        Unread::Folder => (None, "this is a folder".to_owned(), "name a table of places in it".to_owned()),
        Unread::NotPlain => (None, "this is no plain file".into(), "save the places in a file and name that".into()),
        Unread::Large => {
            (None, format!("the table is larger than {} MiB", LARGEST >> 20), "cut it into several".into())
        }
        Unread::NotText(text, place) => {
            problems.add_text(file, &text);
            let message = format!("the table is not UTF-8 text: see byte {}", place + 1);
            (Some(place..place + 1), message, "save it as UTF-8".into())
        }
        Unread::Failed(error) => (None, format!("the table cannot be read: {error}"), check_name(file, &error)),
    };
    problems.add(file, place, message, remedy);
    problems
}
