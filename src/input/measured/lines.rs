//! Traced dye lines from a table of places: `line,x,y`, the number of the line and its places in order along it.
//!
//! Heads may state units as every table of the program may (`x_mm`, `x [mm]`, a line of units below), pixels as well (`x_px`, or `u` and
//! `v`); without them numbers are metres.

use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::{self, Rect};
use crate::base::units::likely_unit;
use crate::input::columns::{Columns, Holds, Title, Unit};
use crate::input::rows::rows;
use std::ops::Range;
use std::path::Path;

/// Fewest places of a line: fewer show no course.
pub const LEAST_PLACES: usize = 5;

/// Part of the cell by which places may lie outside it.
const OUTSIDE: f64 = 0.1;

/// Length of the way through the places of a line, over the extent of the line, above which they are out of order.
const WANDERING: f64 = 3.0;

/// Mistakes reported before giving up.
const MOST_REPORTED: usize = 10;

/// Units that numbers without one may have been meant in.
const UNITS: [&str; 2] = ["cm", "mm"];

/// A line as it was traced.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Its number in the table.
    pub number: i64,
    /// Its places in their order, m, or pixels before a map is applied.
    pub places: Vec<Point>,
}

/// The lines of a table, in the order of their numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Traces {
    /// The lines.
    pub list: Vec<Trace>,
    /// Whether places are in pixels of the picture.
    pub in_pixels: bool,
}

/// A row: number of the line, place, bytes in the text.
type Placed = (i64, Point, Range<usize>);

/// Reads lines from a table; `cell` is length and width, m.
///
/// # Errors
/// Every mistake with its place: numbers, heads and units; lines of fewer than [`LEAST_PLACES`] places or out of order; places
/// outside the cell by more than a tenth of it.
pub(super) fn read(file: &Path, text: &str, cell: [f64; 2]) -> Result<Traces, Problems> {
    let mut problems = Problems::default();
    problems.add_text(file, text);
    let mut columns = Columns::of([("line", Holds::Name), ("x", Holds::Place), ("y", Holds::Place)], Title::Mistake);
    let mut found: Vec<Placed> = Vec::new();
    for row in rows(text) {
        if row.is_header {
            if let Err((message, remedy)) = columns.header(&row.fields) {
                // heads that are not understood make every number doubtful
                problems.add(file, Some(row.place), message, remedy);
                return Err(problems);
            }
            continue;
        }
        match columns.numbers(&row.fields) {
            Ok([line, ..]) if line.fract() != 0.0 || line.abs() > 1e9 => {
                let message = format!("the number of a line is {line}, which is not a whole number");
                problems.add(file, Some(row.place), message, "number the lines 1, 2, 3");
            }
            Ok([line, x, y]) => found.push((line as i64, [x, y], row.place)),
            Err((message, remedy)) => problems.add(file, Some(row.place), message, remedy),
        }
        if problems.list.len() >= MOST_REPORTED {
            return Err(problems);
        }
    }
    let unit = columns.place_unit().unwrap_or_else(|(message, remedy)| {
        problems.add(file, None, message, remedy);
        Unit::Of(1.0)
    });
    for (_, place, _) in &mut found {
        *place = place.map(|x| unit.size() * x);
    }
    if problems.is_empty() && unit != Unit::Pixels {
        check_places(&found, columns.units()[1].is_some(), cell, file, &mut problems);
    }
    found.sort_by_key(|(line, ..)| *line);
    let lines = found.chunk_by(|a, b| a.0 == b.0).map(|rows| {
        let trace = Trace { number: rows[0].0, places: rows.iter().map(|row| row.1).collect() };
        if problems.is_empty() {
            check_line(&trace, rows[0].2.clone(), file, &mut problems);
        }
        trace
    });
    let list: Vec<Trace> = lines.collect();
    if list.is_empty() && problems.is_empty() {
        problems.add(file, None, "there are no places of lines", "write a row line, x, y for each place of a line");
    }
    if problems.is_empty() { Ok(Traces { list, in_pixels: unit == Unit::Pixels }) } else { Err(problems) }
}

/// Places far outside the cell, told once for the first: a wrong unit moves them all.
fn check_places(found: &[Placed], has_unit: bool, cell: [f64; 2], file: &Path, problems: &mut Problems) {
    let inside = |p: Point| (0..2).all(|k| p[k] >= -OUTSIDE * cell[k] && p[k] <= (1.0 + OUTSIDE) * cell[k]);
    let outside = found.iter().filter(|(_, p, _)| !inside(*p)).count();
    let Some((line, p, place)) = found.iter().find(|(_, p, _)| !inside(*p)) else { return };
    let largest = found.iter().flat_map(|(_, p, _)| *p).fold(0.0, |a: f64, x| a.max(x.abs()));
    let remedy = match likely_unit(&UNITS, largest, (1.0 + OUTSIDE) * cell[0].max(cell[1])) {
        Some(unit) if !has_unit => format!("state the unit in the header: line, x [{unit}], y [{unit}]"),
        _ => "give places in the cell: x from the inlet along the flow, y from the lower side wall".to_owned(),
    };
    let message = format!(
        "line {line} has a place at x = {} m, y = {} m, outside the cell of {} m by {} m by more than a tenth; so are {} of {} places",
        p[0],
        p[1],
        cell[0],
        cell[1],
        outside,
        found.len()
    );
    problems.add(file, Some(place.clone()), message, remedy);
}

fn check_line(trace: &Trace, place: Range<usize>, file: &Path, problems: &mut Problems) {
    let Trace { number, places } = trace;
    if places.len() < LEAST_PLACES {
        let message = format!("line {number} has {} places, and {LEAST_PLACES} are the fewest", places.len());
        problems.add(file, Some(place), message, "trace more places along the line, or leave it out");
        return;
    }
    let walked: f64 = places.windows(2).map(|pair| plane::distance(pair[0], pair[1])).sum();
    let extent = Rect::of(places.iter().copied()).diagonal();
    if walked > WANDERING * extent {
        let message = format!(
            "the places of line {number} are out of order: the way from each to the next is {:.1} times as long as the line",
            walked / extent
        );
        problems.add(file, Some(place), message, "write the places of a line in their order along it");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CELL: [f64; 2] = [0.4, 0.2];

    fn lines(text: &str) -> Traces {
        read("lines.csv".as_ref(), text, CELL).unwrap()
    }

    fn mistake(text: &str) -> String {
        read("lines.csv".as_ref(), text, CELL).unwrap_err().to_string()
    }

    #[test]
    fn lines_of_every_hand_are_the_same() {
        let rows = "2,10,20\n2,20,21\n1,10,60\n1,20,60\n1,30,60\n1,40,60\n1,50,60\n2,30,22\n2,40,22\n2,50,22\n";
        let same = [
            format!("line,x_mm,y_mm\n{rows}"),
            format!("line; x [mm]; y [mm]\n{}", rows.replace(',', ";")),
            format!("line,x,y\nmm\n{rows}"),
        ];
        for text in same {
            let found = lines(&text).list;
            assert_eq!(found.iter().map(|trace| trace.number).collect::<Vec<_>>(), [1, 2]);
            assert!((found[0].places[0][0] - 0.01).abs() < 1e-15 && (found[0].places[4][0] - 0.05).abs() < 1e-15);
            assert!((found[1].places[1][1] - 0.021).abs() < 1e-15);
        }
    }

    #[test]
    fn places_may_be_in_pixels() {
        let rows = "1,10,20\n1,20,21\n1,30,21\n1,40,21\n1,5000,21\n";
        for head in ["line,u,v", "line,x_px,y_px", "line,u [px],v [px]", "line, x, y\npx"] {
            let found = lines(&format!("{head}\n{rows}"));
            assert!(found.in_pixels && found.list[0].places[4] == [5000.0, 21.0], "{head}");
        }
        assert!(mistake(&format!("line,x_px,y_mm\n{rows}")).contains("x and y have mixed units"));
    }

    #[test]
    fn mistakes_have_their_line_and_a_remedy() {
        let five = "1,0.01,0.1\n1,0.02,0.1\n1,0.03,0.1\n1,0.04,0.1\n1,0.05,0.1\n";
        let cases = [
            ("line,x,y\n1,0.01,0.1\n1,wide,0.1\n".to_owned(), "csv:3", "x is `wide`"),
            ("track,x,y\n1,0.01,0.1\n".to_owned(), "csv:1", "no column is called \"line\""),
            (format!("line,x,y\n{five}1.5,0.06,0.1\n"), "csv:7", "not a whole number"),
            (format!("line,x,y\n{five}2,0.06,0.1\n"), "csv:7", "line 2 has 1 places"),
            (format!("line,x,y\n{}", five.replace("0.0", "11").replace("0.1\n", "100\n")), "csv:2", "x [mm]"),
            ("line,x,y\n1,.1,.1\n1,.3,.1\n1,.1,.1\n1,.3,.1\n1,.11,.1\n".to_owned(), "csv:2", "out of order"),
            ("line,x,y\n".to_owned(), "csv", "no places"),
        ];
        for (text, place, words) in cases {
            let told = mistake(&text);
            let said = told.contains(words) || words.starts_with("no column") && told.contains("\"track\"");
            assert!(said && told.contains(place) && told.contains("help"), "{words}: {told}");
        }
    }
}
