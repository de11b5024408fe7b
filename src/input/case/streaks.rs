//! The table `[streaklines]`.

use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use super::table_file::{self, Format};
use super::{Cell, InputFile, Needle, Seeding, Starts, StreaklineSettings, Times};
use crate::base::Point;
use crate::base::plane::{self, Rect};
use crate::base::units::Dimension;
use crate::geometry::boxes::Boxes;
use crate::input::columns::Title;
use std::ops::Range;
use toml::de::DeValue;

/// Most streaklines.
const MOST_LINES: usize = 10_000;
/// Most times that a list of them may name.
const MOST_TIMES: usize = 1_000;
/// Lines where the case does not say.
const USUAL_LINES: usize = 24;

/// A file of needles.
const NEEDLES: Format<2> = Format {
    what: "the list of needles",
    columns: ["x", "y"],
    title: Title::Mistake,
    most_rows: MOST_LINES,
    largest: 8 << 20,
    thin_out: "name no more needles than that",
};

/// The streaklines of a cell, which, where it could be read, limits their number and tells of units that were forgotten.
pub(super) fn streaklines(reader: &mut Reader<'_>, root: &Table<'_>, cell: Option<&Cell>) -> StreaklineSettings {
    let allowed = ["count", "spacing", "starts", "height", "needle_diameter", "times"];
    let table = reader.section(root, "streaklines", &allowed);
    let height = reader.optional_quantity(&table, "height", Dimension::Fraction, Limits::Within(-1.0, 1.0));
    let seeding = seeding(reader, &table, cell);
    let diameter = reader.optional_quantity(&table, "needle_diameter", Dimension::Length, Limits::Positive);
    let needle = diameter.zip(table.get("needle_diameter")).map(|(diameter, value)| {
        let needle = Needle { diameter, place: value.span() };
        check_room(reader, &needle, &seeding, cell);
        needle
    });
    let times = table.get("times").and_then(|value| times(reader, value));
    StreaklineSettings { seeding, height: height.unwrap_or(0.0), needle, times }
}

fn seeding(reader: &mut Reader<'_>, table: &Table<'_>, cell: Option<&Cell>) -> Seeding {
    let count = reader.whole(table, "count", 1, MOST_LINES);
    let spacing = reader.optional_quantity(table, "spacing", Dimension::Length, Limits::Positive);
    let least = cell.filter(|cell| cell.shape.is_known()).map(|cell| cell.inlet_width() / MOST_LINES as f64);
    if let (Some(spacing), Some(least)) = (spacing, least)
        && spacing < least
    {
        let show = |x| Dimension::Length.show(x);
        let message = format!("spacing is {}, which makes more than {MOST_LINES} streaklines", show(spacing));
        let place = table.get("spacing").map(|value| value.span());
        reader.fail(place, message, format!("write at least \"{}\"", show(least)));
    }
    if let (Some(_), Some(place)) = (table.get("count"), table.key_span("spacing")) {
        reader.fail(Some(place), "[streaklines] has both \"count\" and \"spacing\"", "keep one of them");
    }
    let starts = table.get("starts").and_then(|value| starts(reader, value, cell));
    for key in ["count", "spacing"] {
        if let (Some(_), Some(place)) = (table.get("starts"), table.key_span(key)) {
            let message = format!("[streaklines] has both \"{key}\" and \"starts\"");
            reader.fail(Some(place), message, "keep one of them: lines start where the needles are");
        }
    }
    match (starts, count, spacing) {
        (Some(starts), ..) => Seeding::At(starts),
        (None, None, Some(spacing)) => Seeding::Spacing(spacing),
        (None, count, _) => Seeding::Count(count.unwrap_or(USUAL_LINES)),
    }
}

/// Places of needles: `["18 mm", "25 mm"]` across the inlet, `{ x = "4 mm", y = ["18 mm", "25 mm"] }`, `{ file = "needles.csv" }`, or
/// `[[x, y], ...]`.
fn starts(reader: &mut Reader<'_>, value: &Value<'_>, cell: Option<&Cell>) -> Option<Starts> {
    let (x, list) = if value.get_ref().as_table().is_some() {
        let table = reader.table(value, "starts", &["x", "y", "file"])?;
        if let Some(file) = table.get("file") {
            for key in ["x", "y"] {
                if let Some(place) = table.key_span(key) {
                    let message = format!("starts has both \"file\" and \"{key}\"");
                    reader.fail(Some(place), message, "keep one of them: the file says where the needles are");
                }
            }
            return from_file(reader, file, cell);
        }
        let x = reader.needed_quantity(&table, "x", Dimension::Length, Limits::NotNegative);
        let list = reader.needed(&table, "y", "[\"18 mm\", \"25 mm\"]");
        (x?, list?)
    } else {
        (0.0, value)
    };
    let elements: Vec<_> = list.get_ref().as_array().map(|list| list.iter().collect()).unwrap_or_default();
    if elements.is_empty() || elements.len() > MOST_LINES {
        let wanted = format!("a list of 1 to {MOST_LINES} needles");
        reader.wrong_type(list, "starts", &wanted, "write [\"18 mm\", \"25 mm\"] for heights across the inlet");
        return None;
    }
    let is_drawn = cell.is_some_and(|cell| !cell.shape.is_known());
    let mut point = |element: &&Value<'_>| match element.get_ref().as_array() {
        Some(_) => reader.pair(element, "a start", Dimension::Length, Limits::Any),
        None if is_drawn => {
            let message = "a height across the inlet, and the inlet of a cell with an outline stands anywhere";
            reader.fail(Some(element.span()), message, "give the place of each needle, [x, y]");
            None
        }
        None => reader.quantity(element, "a start", Dimension::Length, Limits::Any).map(|y| [x, y]),
    };
    let places: Vec<Option<Point>> = elements.iter().map(&mut point).collect();
    let spans = elements.iter().map(|element| element.span()).collect();
    Some(Starts { places: places.into_iter().collect::<Option<_>>()?, spans, file: None })
}

fn from_file(reader: &mut Reader<'_>, value: &Value<'_>, cell: Option<&Cell>) -> Option<Starts> {
    let name = reader.text(value, "file")?;
    let path = reader.folder().join(name);
    let read = table_file::read(&path, &NEEDLES).and_then(|table| {
        let places: Vec<Point> = table.rows.iter().map(|(place, _)| *place).collect();
        let bare = table.units.iter().all(Option::is_none);
        match cell
            .filter(|cell| bare && cell.shape.is_known())
            .and_then(|cell| table.forgotten(&NEEDLES, cell.size(), 1.0, 1.0))
        {
            Some((message, remedy)) => {
                Err(table.mistake(&path, table.rows.first().map(|row| row.1.clone()), message, remedy))
            }
            None if places.is_empty() => {
                let remedy = "write x and y of a needle in each row, with a header such as x [mm], y [mm]";
                Err(table.mistake(&path, None, "the list of needles names none".into(), remedy.into()))
            }
            None => Ok((table, places)),
        }
    });
    match read {
        Ok((table, places)) => {
            reader.inputs.push(InputFile { file: name.into(), sha256: table.sha256 });
            let spans: Vec<Range<usize>> = table.rows.into_iter().map(|row| row.1).collect();
            Some(Starts { places, spans, file: Some((path, table.text)) })
        }
        Err(problems) => {
            reader.problems.merge(problems);
            None
        }
    }
}

/// Needles stand beside one another.
fn check_room(reader: &mut Reader<'_>, needle: &Needle, seeding: &Seeding, cell: Option<&Cell>) {
    let diameter = needle.diameter;
    let (apart, which) = match seeding {
        Seeding::Spacing(spacing) => (*spacing, "neighbours stand".to_owned()),
        Seeding::Count(count) => match cell.filter(|cell| cell.shape.is_known()) {
            Some(cell) => (cell.inlet_width() / *count as f64, format!("{count} of them across the inlet stand")),
            None => return,
        },
        Seeding::At(starts) => match closest(&starts.places, diameter) {
            Some((apart, [a, b])) => (apart, format!("needles {} and {} stand", a + 1, b + 1)),
            None => return,
        },
    };
    if diameter > apart {
        let show = |x| Dimension::Length.show(x);
        let message = format!("needle_diameter is {}, and {which} {} apart", show(diameter), show(apart));
        reader.fail(Some(needle.place.clone()), message, "take thinner needles, or put them further apart");
    }
}

/// The two places nearest to one another of those nearer than so much, and their distance.
fn closest(places: &[Point], within: f64) -> Option<(f64, [usize; 2])> {
    let boxes = Boxes::new(places.iter().map(|&p| Rect::of([p]).grown(0.5 * within)));
    let mut found: Option<(f64, [usize; 2])> = None;
    boxes.pairs(|i, j| {
        let apart = plane::distance(places[i], places[j]);
        if apart < found.map_or(within, |(least, _)| least) {
            found = Some((apart, [i, j]));
        }
        // nothing is nearer than the same place
        found.is_none_or(|(least, _)| least > 0.0)
    });
    found
}

/// `"10 s"`, an interval, or a list of times.
fn times(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Times> {
    match value.get_ref() {
        DeValue::Array(_) => reader.growing(value, "times", Dimension::Time, MOST_TIMES).map(Times::At),
        _ => reader.quantity(value, "times", Dimension::Time, Limits::Positive).map(Times::Every),
    }
}
