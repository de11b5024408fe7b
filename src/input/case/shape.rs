//! The shapes an obstacle may have.

use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use super::{OutlineSize, PictureOptions, Placing, ReadOptions, Shape, Tone};
use crate::base::Point;
use crate::base::text::shortened;
use crate::base::units::{self, Dimension};
use std::path::PathBuf;

/// The keys of an obstacle that say what shape it has.
pub(super) const SHAPES: [&str; 7] = ["circle", "ellipse", "polygon", "outline", "four_digit", "joukowski", "teardrop"];

/// A shape from the parameters of its key; none, with the mistakes noted, if one is wrong.
pub(super) fn shape(reader: &mut Reader<'_>, kind: &str, value: &Value<'_>) -> Option<Shape> {
    match kind {
        "circle" => {
            let table = reader.table(value, kind, &["centre", "diameter"])?;
            let centre = reader.needed_point(&table, "centre");
            let diameter = length(reader, &table, "diameter");
            Some(Shape::Circle { centre: centre?, diameter: diameter? })
        }
        "ellipse" => {
            let table = reader.table(value, kind, &["centre", "semi_axes", "angle"])?;
            let centre = reader.needed_point(&table, "centre");
            let axes = reader.needed(&table, "semi_axes", "[0.1, 0.05]");
            let axes = axes.and_then(|axes| reader.pair(axes, "semi_axes", Dimension::Length, Limits::Positive));
            let angle = angle(reader, &table)?;
            Some(Shape::Ellipse { centre: centre?, semi_axes: axes?, angle })
        }
        "polygon" => {
            let regular = value.get_ref().as_table().is_some_and(|t| t.contains_key("sides"));
            if regular {
                let table = reader.table(value, "polygon with sides", &["sides", "centre", "width", "angle"])?;
                let sides = reader.whole(&table, "sides", 3, 1000);
                let centre = reader.needed_point(&table, "centre");
                let width = length(reader, &table, "width");
                let angle = angle(reader, &table)?;
                return Some(Shape::RegularPolygon { sides: sides?, centre: centre?, width: width?, angle });
            }
            let table = reader.table(value, kind, &["points", "sides"])?;
            let _ = reader.exactly_one(&table, &["points", "sides"])?;
            Some(Shape::Polygon { points: points(reader, &table)? })
        }
        "outline" => outline(reader, value),
        "four_digit" => four_digit(reader, value),
        "joukowski" => {
            let table = reader.table(value, kind, &["chord", "thickness", "camber", "nose", "angle"])?;
            let chord = length(reader, &table, "chord");
            let thickness = reader.needed_quantity(&table, "thickness", Dimension::Fraction, Limits::Between(0.0, 1.0));
            let camber = given_or(reader, &table, "camber", Dimension::Fraction, Limits::Within(-0.5, 0.5), 0.0);
            let nose = reader.needed_point(&table, "nose");
            let angle = angle(reader, &table)?;
            Some(Shape::Joukowski { chord: chord?, thickness: thickness?, camber: camber?, nose: nose?, angle })
        }
        _ => {
            let table = reader.table(value, kind, &["length", "diameter", "nose", "angle"])?;
            let length = self::length(reader, &table, "length");
            let diameter = self::length(reader, &table, "diameter");
            let nose = reader.needed_point(&table, "nose");
            let angle = angle(reader, &table)?;
            let (length, diameter) = (length?, diameter?);
            if diameter >= length {
                let show = |value| Dimension::Length.show(value);
                let message = format!("the diameter {} is not below the length {}", show(diameter), show(length));
                let place = table.get("diameter").map(|value| value.span());
                reader.fail(place, message, "make the teardrop longer than it is thick, or write a circle");
                return None;
            }
            Some(Shape::Teardrop { length, diameter, nose: nose?, angle })
        }
    }
}

fn outline(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Shape> {
    const FROM_FILE: [&str; 18] = [
        "file",
        "as_drawn",
        "centre",
        "width",
        "height",
        "angle",
        "mirror",
        "smooth",
        "id",
        "layer",
        "every",
        "tolerance",
        "unit",
        "threshold",
        "tone",
        "marks",
        "marks_apart",
        "deviation",
    ];
    let drawn = value.get_ref().as_table().is_some_and(|t| t.contains_key("points") && !t.contains_key("file"));
    if drawn {
        let table = reader.table(value, "outline with points", &["points", "smooth"])?;
        let points = points(reader, &table);
        let smooth = reader.switch(&table, "smooth").unwrap_or(false);
        return Some(Shape::OutlinePoints { points: points?, smooth });
    }
    let allowed: Vec<&str> = FROM_FILE.into_iter().chain(["points"]).collect();
    let table = reader.table(value, "outline", &allowed)?;
    let (_, file) = reader.exactly_one(&table, &["file", "points"])?;
    let file = reader.text(file, "file").map(PathBuf::from);
    if file.as_ref().is_some_and(|file| file.as_os_str().is_empty()) {
        let place = table.get("file").map(|value| value.span());
        reader.fail(place, "file is empty", "name the outline file, such as \"seal.csv\"");
        return None;
    }
    let in_cell = file.as_ref().is_some_and(|file| file.extension().is_some_and(|e| e.eq_ignore_ascii_case("vtp")));
    let placing = placing(reader, &table, in_cell);
    let reading = reading(reader, &table);
    Some(Shape::OutlineFile { file: file?, placing: placing?, reading: reading? })
}

/// Where the outline of a file goes; one in coordinates of the cell stays where it is unless the case says where it goes.
fn placing(reader: &mut Reader<'_>, table: &Table<'_>, in_cell: bool) -> Option<Placing> {
    const PLACES: [&str; 5] = ["centre", "width", "height", "angle", "mirror"];
    let placed = PLACES.into_iter().filter_map(|key| Some((key, table.get(key)?))).next();
    if reader.switch(table, "as_drawn").unwrap_or(in_cell && placed.is_none()) {
        if let Some((key, value)) = placed {
            let message = format!("{key} stands beside as_drawn = true, which takes place and size from the drawing");
            reader.fail(Some(value.span()), message, format!("leave {key} out, or as_drawn"));
            return None;
        }
        return Some(Placing::AsDrawn);
    }
    let centre = reader.needed_point(table, "centre");
    let size = match (table.get("width"), table.get("height")) {
        (None, None) => Some(OutlineSize::Stated),
        _ => reader.exactly_one(table, &["width", "height"]).and_then(|(key, value)| {
            let size = reader.quantity(value, key, Dimension::Length, Limits::Positive)?;
            Some(if key == "width" { OutlineSize::Width(size) } else { OutlineSize::Height(size) })
        }),
    };
    let angle = angle(reader, table);
    let mirror = reader.switch(table, "mirror").unwrap_or(false);
    Some(Placing::Centred { centre: centre?, size: size?, angle: angle?, mirror })
}

/// What to take from an outline file.
fn reading(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<ReadOptions> {
    let usual = ReadOptions::default();
    let limits = Limits::Within(0.0, 0.01);
    let tolerance = given_or(reader, table, "tolerance", Dimension::Fraction, limits, usual.tolerance);
    let unit = match table.get("unit") {
        None => Some(None),
        Some(value) => {
            reader.text(value, "unit").and_then(|text| match units::parse(&format!("1 {text}"), Dimension::Length) {
                Ok(metres) => Some(Some(metres)),
                Err(error) => {
                    reader.fail(Some(value.span()), format!("unit: {error}"), "write a unit of length such as \"mm\"");
                    None
                }
            })
        }
    };
    Some(ReadOptions {
        id: reader.name(table, "id"),
        layer: reader.name(table, "layer"),
        every: reader.switch(table, "every").unwrap_or(false),
        smooth: reader.switch(table, "smooth").unwrap_or(false),
        tolerance: tolerance?,
        unit: unit?,
        picture: picture(reader, table),
    })
}

/// How a silhouette is found in a picture; what is wrong is noted and left out.
fn picture(reader: &mut Reader<'_>, table: &Table<'_>) -> PictureOptions {
    let fraction = Limits::Between(0.0, 1.0);
    let example = "write [[10, 20], [410, 20]], in pixels";
    let marks = table.get("marks").and_then(|value| {
        match value.get_ref().as_array().map(|list| list.iter().collect::<Vec<_>>()).as_deref() {
            Some(&[p, q]) => {
                let [p, q] = [p, q].map(|p| reader.pair(p, "a mark", Dimension::Fraction, Limits::Any));
                Some([p?, q?])
            }
            _ => {
                reader.wrong_type(value, "marks", "a list of two places", example);
                None
            }
        }
    });
    PictureOptions {
        threshold: reader.optional_quantity(table, "threshold", Dimension::Fraction, fraction),
        tone: reader.choice(table, "tone", &[("dark", Tone::Dark), ("light", Tone::Light)]),
        marks,
        marks_apart: reader.optional_quantity(table, "marks_apart", Dimension::Length, Limits::Positive),
        deviation: reader.optional_quantity(table, "deviation", Dimension::Fraction, Limits::Within(0.01, 5.0)),
    }
}

fn four_digit(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Shape> {
    let table = reader.table(value, "four_digit", &["section", "chord", "nose", "angle", "closed_tail"])?;
    let section = reader.needed(&table, "section", "\"2412\"").and_then(|value| section(reader, value));
    let chord = length(reader, &table, "chord");
    let nose = reader.needed_point(&table, "nose");
    let angle = angle(reader, &table)?;
    let closed_tail = reader.switch(&table, "closed_tail").unwrap_or(true);
    let [camber, camber_place, thickness] = section?;
    Some(Shape::FourDigit { camber, camber_place, thickness, chord: chord?, nose: nose?, angle, closed_tail })
}

/// Camber, its place and the thickness from the four digits.
fn section(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<[f64; 3]> {
    let text = reader.text(value, "section")?;
    let digits: Option<Vec<u32>> = text.chars().map(|c| c.to_digit(10)).collect();
    let Some(&[camber, place, tens, ones]) = digits.as_deref() else {
        let message = format!("section is \"{}\" and must be exactly four digits", shortened(text));
        reader.fail(Some(value.span()), message, "write a section such as \"2412\" or \"0012\"");
        return None;
    };
    if tens + ones == 0 {
        let message = format!("section \"{text}\" has no thickness: its last two digits are 00");
        reader.fail(Some(value.span()), message, "write the thickness in per cent, such as \"2412\"");
        return None;
    }
    if camber > 0 && place == 0 {
        let message = format!("section \"{text}\" has camber but no place for it: its second digit is 0");
        reader.fail(Some(value.span()), message, "write the place in tenths of the chord, such as \"2412\"");
        return None;
    }
    Some([f64::from(camber) / 100.0, f64::from(place) / 10.0, f64::from(10 * tens + ones) / 100.0])
}

/// The points of the key `points`, at least three of them distinct.
fn points(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Vec<Point>> {
    let example = "[[0.1, 0.0], [0.2, 0.0], [0.1, 0.1]]";
    let value = reader.needed(table, "points", example)?;
    let Some(elements) = value.get_ref().as_array() else {
        reader.wrong_type(value, "points", "a list of points", &format!("write {example}"));
        return None;
    };
    let read: Vec<Option<Point>> =
        elements.iter().map(|p| reader.pair(p, "point", Dimension::Length, Limits::Any)).collect();
    let points: Vec<Point> = read.into_iter().collect::<Option<_>>()?;
    let mut distinct: Vec<Point> = points.iter().map(|p| [p[0] + 0.0, p[1] + 0.0]).collect();
    distinct.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    distinct.dedup();
    if distinct.len() < 3 {
        let message = format!("there are {} distinct points; an outline needs at least 3", distinct.len());
        reader.fail(Some(value.span()), message, format!("write {example}"));
        return None;
    }
    Some(points)
}

fn length(reader: &mut Reader<'_>, table: &Table<'_>, key: &str) -> Option<f64> {
    reader.needed_quantity(table, key, Dimension::Length, Limits::Positive)
}

fn angle(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<f64> {
    given_or(reader, table, "angle", Dimension::Angle, Limits::Any, 0.0)
}

/// The default where the key is left out, none where its value is wrong.
fn given_or(
    reader: &mut Reader<'_>,
    table: &Table<'_>,
    key: &str,
    dimension: Dimension,
    limits: Limits,
    default: f64,
) -> Option<f64> {
    match table.get(key) {
        Some(value) => reader.quantity(value, key, dimension, limits),
        None => Some(default),
    }
}
