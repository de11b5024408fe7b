//! The tables `[[line]]`: lines along which numbers are wanted.

use super::limits::Limits;
use super::obstacle::unique;
use super::reader::{Reader, Table, Value};
use crate::base::Point;
use crate::base::units::Dimension;
use std::collections::BTreeSet;
use std::ops::Range;

/// Most points of a line.
const MOST_POINTS: usize = 100_000;
/// Points of a line that does not say.
const USUAL_POINTS: usize = 200;
/// Most letters of a name that go into that of its file.
const MOST_LETTERS: usize = 60;

/// A line along which the user wants numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// Where it runs.
    pub course: Course,
    /// Points on it, both ends among them.
    pub points: usize,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}

/// Where a line runs.
#[derive(Debug, Clone, PartialEq)]
pub enum Course {
    /// Straight.
    Straight {
        /// Its start, m.
        from: Point,
        /// Its end, m.
        to: Point,
    },
    /// Beside the outline of an obstacle.
    Along {
        /// The name of the obstacle.
        obstacle: String,
        /// How far off it, square to it into the fluid, m.
        distance: f64,
    },
}

impl Line {
    /// The name as part of the name of a file: what is neither letter nor digit is an underscore.
    pub fn stem(&self) -> String {
        let plain = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '_' };
        self.name.chars().take(MOST_LETTERS).map(plain).collect()
    }
}

/// The lines without mistakes.
pub(super) fn lines(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<Line> {
    let (mut names, mut stems) = (BTreeSet::new(), BTreeSet::new());
    let mut lines = Vec::new();
    for (index, value) in reader.list(root, "line").into_iter().enumerate() {
        let before = names.len();
        let Some(line) = line(reader, value, index, &mut names) else { continue };
        // names that differ, in files that do not tell small from capital letters
        if !stems.insert(line.stem().to_lowercase()) && names.len() > before {
            let message = format!("the line \"{}\" would be written into the file of another line", line.name);
            reader.fail(Some(value.span()), message, "give it a name that differs in letters or digits");
        }
        lines.push(line);
    }
    lines
}

fn line(reader: &mut Reader<'_>, value: &Value<'_>, index: usize, names: &mut BTreeSet<String>) -> Option<Line> {
    let table = reader.table(value, "[[line]]", &["name", "from", "to", "along", "distance", "points"])?;
    let name = reader.name(&table, "name").unwrap_or_else(|| format!("line {}", index + 1));
    unique(reader, &table, "line", &name, names);
    let points = reader.whole(&table, "points", 2, MOST_POINTS).unwrap_or(USUAL_POINTS);
    let (kind, chosen) = reader.exactly_one(&table, &["from", "along"])?;
    let other = if kind == "from" { "distance" } else { "to" };
    if let Some(place) = table.key_span(other) {
        let message = format!("[[line]] has both \"{kind}\" and \"{other}\"");
        reader.fail(Some(place), message, "write from and to of a straight line, or along and distance");
    }
    let course = if kind == "from" {
        let (from, to) = (reader.needed_point(&table, "from"), reader.needed_point(&table, "to"));
        let (from, to) = (from?, to?);
        if from == to {
            let message = format!("the line \"{name}\" ends where it starts");
            reader.fail(table.key_span("to"), message, "give it another end, or make it a probe");
            return None;
        }
        Course::Straight { from, to }
    } else {
        let obstacle = reader.text(chosen, "along")?.to_owned();
        let distance = match table.get("distance") {
            Some(_) => reader.needed_quantity(&table, "distance", Dimension::Length, Limits::NotNegative)?,
            None => 0.0,
        };
        Course::Along { obstacle, distance }
    };
    let place = table.get(kind).map_or(value.span(), |value| value.span());
    Some(Line { name, course, points, place })
}
