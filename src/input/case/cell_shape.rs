//! The keys of the cell's boundary in the table `[cell]`.

use super::Ends;
use super::ends::{Marked, ends};
use super::limits::Limits;
use super::reader::{Reader, Table};
use super::shape;
use super::{CellShape, OutlinedCell};
use crate::base::units::{Dimension, LengthUnit, significant};
use crate::geometry::{Bend, Contraction, Taper, Turn};

/// Sides of a cell, m: far beyond any that is built, and such that no number made from them overflows.
const SIDES: Limits = Limits::Within(1e-6, 1e4);
/// Lengths that may be zero.
const FROM_ZERO: Limits = Limits::Within(0.0, 1e4);

/// Largest ratio of the two sides of the box round a cell, and of the longer one to the width of an end: what triangulates the cell takes the
/// square of it.
const SLENDEREST: f64 = 2000.0;

/// The keys of a rectangle.
const RECTANGLE: [&str; 2] = ["length", "width"];
/// Those of other shapes.
const OTHERS: [&str; 3] = ["contraction", "bend", "outline"];

/// All keys that give a cell its boundary.
pub(super) const KEYS: [&str; 5] = ["length", "width", "contraction", "bend", "outline"];

/// The boundary, the unit that its first length is given in, and the kind of ends if those marked on an outline say it; none if it could
/// not be read.
pub(super) fn cell_shape(
    reader: &mut Reader<'_>,
    root: &Table<'_>,
    table: &Table<'_>,
) -> Option<(CellShape, LengthUnit, Option<Ends>)> {
    RECTANGLE.iter().for_each(|key| reader.note_one_of(table, &[&[*key], &OTHERS[..]].concat()));
    let other = OTHERS.into_iter().find(|key| table.get(key).is_some());
    let Marked { list, kind, unit } = ends(reader, root, other == Some("outline"));
    let (shape, unit, place) = match other {
        Some(key) => {
            for more in RECTANGLE.into_iter().chain(OTHERS).filter(|more| *more != key) {
                if let Some(place) = table.key_span(more) {
                    let message = format!("[cell] has both \"{key}\" and \"{more}\"");
                    let remedy = "keep one: length and width of a rectangle, a contraction, a bend or an outline";
                    reader.fail(Some(place), message, remedy);
                }
            }
            let value = table.get(key)?;
            if key == "outline" {
                let shape = shape::shape(reader, key, value)?;
                let gap_place = table.get("gap").map_or(value.span(), |gap| gap.span());
                let cell = OutlinedCell { shape, ends: list, boundary: Vec::new(), place: value.span(), gap_place };
                return Some((CellShape::Outlined(Box::new(cell)), unit.unwrap_or_else(LengthUnit::metre), kind));
            }
            let (shape, own) = if key == "contraction" {
                let own = reader.table(value, key, &CONTRACTION)?;
                (contraction(reader, &own).map(CellShape::Contraction), own)
            } else {
                let own = reader.table(value, key, &BEND)?;
                (bend(reader, &own).map(CellShape::Bend), own)
            };
            (shape?, unit_of(&own, "width_in"), table.key_span(key))
        }
        None => {
            let length = reader.needed_quantity(table, "length", Dimension::Length, SIDES);
            let width = reader.needed_quantity(table, "width", Dimension::Length, SIDES);
            let shape = CellShape::Rectangle { length: length?, width: width? };
            (shape, unit_of(table, "length"), table.key_span("width"))
        }
    };
    if let Some(message) = slenderness(shape.bounds().size(), [shape.inlet_width(), shape.outlet_width()]) {
        reader.fail(place, message, "was a unit forgotten? Plain numbers are metres");
        return None;
    }
    Some((shape, unit, None))
}

/// What is wrong with the sides of the box round a cell and the widths of its ends, m, if they are too unlike.
pub(crate) fn slenderness([length, width]: [f64; 2], ends: [f64; 2]) -> Option<String> {
    let ratio = (length / width).max(width / length);
    let narrowest = length.max(width) / ends[0].min(ends[1]);
    if ratio <= SLENDEREST && narrowest <= SLENDEREST {
        return None;
    }
    let what = if ratio > SLENDEREST { "one side of the cell is" } else { "the longer side of the cell is" };
    let of = if ratio > SLENDEREST { "the other" } else { "the width of its narrower end" };
    let ratio = if ratio > SLENDEREST { ratio } else { narrowest };
    Some(format!("{what} {} times {of}, of at most {SLENDEREST}", significant(ratio, 3)))
}

/// The unit of a length, metres if it has none.
fn unit_of(table: &Table<'_>, key: &str) -> LengthUnit {
    let given = table.get(key).and_then(|value| LengthUnit::of(value.get_ref().as_str()?));
    given.unwrap_or_else(LengthUnit::metre)
}

const CONTRACTION: [&str; 6] = ["length_in", "width_in", "length", "length_out", "width_out", "shape"];

fn contraction(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Contraction> {
    let mut given = |key, limits| reader.needed_quantity(table, key, Dimension::Length, limits);
    let (length_in, width_in) = (given("length_in", SIDES), given("width_in", SIDES));
    let length = given("length", FROM_ZERO);
    let (length_out, width_out) = (given("length_out", SIDES), given("width_out", SIDES));
    let shapes = [("straight", Taper::Straight), ("cosine", Taper::Cosine), ("arc", Taper::Arc)];
    let shape = match (reader.choice(table, "shape", &shapes), table.get("shape")) {
        (Some(shape), _) => shape,
        (None, None) => Taper::Straight,
        (None, Some(_)) => return None,
    };
    let cell = Contraction {
        length_in: length_in?,
        width_in: width_in?,
        length: length?,
        length_out: length_out?,
        width_out: width_out?,
        shape,
    };
    let show = |x: f64| Dimension::Length.show(x);
    let least = match shape {
        Taper::Straight => None,
        Taper::Cosine => Some(0.01 * cell.least_arc()).filter(|least| cell.length < *least),
        Taper::Arc => Some(cell.least_arc()).filter(|least| cell.length < *least * (1.0 - 1e-12)),
    };
    if let Some(least) = least {
        let (place, word) = (table.key_span("length"), if shape == Taper::Arc { "arc" } else { "cosine" });
        let message = format!(
            "the contraction is {} long, and as \"{word}\" from {} to {} wide it needs {}",
            show(cell.length),
            show(cell.width_in),
            show(cell.width_out),
            show(least)
        );
        let why = match shape {
            Taper::Arc => "two arcs that join the widths are quarters of circles then",
            _ => "shorter it is a step",
        };
        let remedy = format!("make it longer ({why}), or write shape = \"straight\", which may be as short as 0");
        reader.fail(place, message, remedy);
        return None;
    }
    Some(cell)
}

const BEND: [&str; 6] = ["length_in", "width_in", "length_out", "width_out", "inner_radius", "towards"];

fn bend(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Bend> {
    let mut given = |key| reader.needed_quantity(table, key, Dimension::Length, SIDES);
    let (length_in, width_in) = (given("length_in"), given("width_in"));
    let (length_out, width_out) = (given("length_out"), given("width_out"));
    let radius = reader.optional_quantity(table, "inner_radius", Dimension::Length, FROM_ZERO);
    let turns = [("left", Turn::Left), ("right", Turn::Right)];
    let towards = reader.choice(table, "towards", &turns);
    let wrong = radius.is_none() && table.get("inner_radius").is_some();
    if wrong || towards.is_none() && table.get("towards").is_some() {
        return None;
    }
    let (radius, towards) = (radius.unwrap_or(0.0), towards.unwrap_or(Turn::Left));
    let (length_in, length_out) = (length_in?, length_out?);
    let longest = length_in.min(length_out);
    if radius > longest {
        let [radius, longest] = [radius, longest].map(|x| Dimension::Length.show(x));
        let message = format!("inner_radius is {radius}, longer than an inner wall of the bend, {longest}");
        reader.fail(table.key_span("inner_radius"), message, format!("write at most \"{longest}\", or longer arms"));
        return None;
    }
    Some(Bend { length_in, width_in: width_in?, length_out, width_out: width_out?, inner_radius: radius, towards })
}
