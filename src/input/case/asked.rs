//! What the reader asks of a case: every table with its keys, every value with its form and limits, noted while it reads.
//!
//! The schema of the case file is made from these notes, so that there is no second list of keys, units and limits that could part from
//! what is read.

use super::limits::Limits;
use crate::base::units::Dimension;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A form that a value may have.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// A number in SI (an angle: in degrees) or a text with a unit.
    Quantity(Dimension, Limits),
    /// Any text.
    Text,
    /// One of these words.
    Word(Vec<String>),
    /// True or false.
    Switch,
    /// A whole number from the first to the second.
    Whole(usize, usize),
    /// Two values in brackets.
    Pair,
    /// A list of tables, or one of them by itself.
    Tables,
    /// A table of any keys of the case with their tolerances.
    Tolerances,
}

/// What is asked at a path.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// A table with no other keys than these, under the name that messages have for it; asked anew for every table.
    Table(String, Vec<String>),
    /// A key that the table asked for last must have.
    Needed(String),
    /// Keys of which it must have exactly one.
    OneOf(Vec<String>),
    /// A value.
    Value(Form),
}

/// A question with its path: keys joined by dots, `[]` for the entries of a list, empty for the case itself.
pub type Asked = (String, Question);

/// The questions asked of one file so far.
pub(super) struct Notes {
    paths: BTreeMap<(usize, usize), String>,
    asked: Vec<Asked>,
}

impl Notes {
    /// None yet, for a file.
    pub fn new(root: &DeTable<'_>) -> Notes {
        let mut paths = BTreeMap::new();
        entries(root, "", &mut paths);
        Notes { paths, asked: Vec::new() }
    }

    /// Notes what is asked of the value or table at a place, none for the file itself, or of a key in it.
    pub fn add(&mut self, place: Option<Range<usize>>, key: Option<&str>, question: Question) {
        let above = match place {
            None => Some(String::new()),
            Some(place) => self.paths.get(&(place.start, place.end)).cloned(),
        };
        if let Some(above) = above {
            let path = key.map_or_else(|| above.clone(), |key| joined(&above, key));
            self.asked.push((path, question));
        }
    }

    /// The questions in the order asked.
    pub fn into_asked(self) -> Vec<Asked> {
        self.asked
    }
}

/// The path of a key in a table.
fn joined(above: &str, key: &str) -> String {
    if above.is_empty() { key.to_owned() } else { format!("{above}.{key}") }
}

fn entries(table: &DeTable<'_>, path: &str, paths: &mut BTreeMap<(usize, usize), String>) {
    for (key, value) in table.iter() {
        let key: &str = key.get_ref();
        below(value, joined(path, key), paths);
    }
}

/// The paths of a value and of all it holds; a list and its first entry can stand at one place, which is then the entry's.
fn below(value: &Spanned<DeValue<'_>>, path: String, paths: &mut BTreeMap<(usize, usize), String>) {
    let place = value.span();
    paths.insert((place.start, place.end), path.clone());
    match value.get_ref() {
        DeValue::Table(table) => entries(table, &path, paths),
        DeValue::Array(list) => list.iter().for_each(|entry| below(entry, format!("{path}[]"), paths)),
        _ => {}
    }
}
