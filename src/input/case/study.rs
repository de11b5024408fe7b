//! The tables `[[probe]]`, `[[line]]`, `[mesh]`, `[streaklines]`, `[inertia]`, `[tolerance]` and `[departure]`.

use super::limits::Limits;
use super::obstacle::unique;
use super::reader::{Reader, Table, Value};
use super::{
    Course, EdgeTerm, InertiaSettings, Line, MeshSettings, Order, Probe, Seeding, StreaklineSettings, Tolerance,
    UsualTolerances,
};
use crate::base::units::Dimension;
use std::collections::BTreeSet;

/// The probes without mistakes.
pub(super) fn probes(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<Probe> {
    let mut names = BTreeSet::new();
    let mut probes = Vec::new();
    for (index, value) in reader.list(root, "probe").into_iter().enumerate() {
        if let Some(probe) = probe(reader, value, index, &mut names) {
            probes.push(probe);
        }
    }
    probes
}

fn probe(reader: &mut Reader<'_>, value: &Value<'_>, index: usize, names: &mut BTreeSet<String>) -> Option<Probe> {
    let table = reader.table(value, "[[probe]]", &["name", "at"])?;
    let name = reader.name(&table, "name").unwrap_or_else(|| format!("probe {}", index + 1));
    unique(reader, &table, "probe", &name, names);
    let at = reader.needed_point(&table, "at")?;
    Some(Probe { name, at, place: table.get("at").map_or(value.span(), |value| value.span()) })
}

/// Most points of a line.
const MOST_POINTS: usize = 100_000;
/// Points of a line that does not say.
const USUAL_POINTS: usize = 200;

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

pub(super) fn mesh(reader: &mut Reader<'_>, root: &Table<'_>) -> MeshSettings {
    let table = reader.section(root, "mesh", &["error", "max_triangles", "max_edge", "growth"]);
    let fraction =
        |reader: &mut Reader<'_>, key: &str, limits| reader.optional_quantity(&table, key, Dimension::Fraction, limits);
    MeshSettings {
        error: fraction(reader, "error", Limits::Between(0.0, 1.0)).unwrap_or(1e-3),
        growth: fraction(reader, "growth", Limits::Within(0.05, 1.0)).unwrap_or(0.3),
        max_triangles: reader.whole(&table, "max_triangles", 100, 400_000_000).unwrap_or(4_000_000),
        max_edge: reader.optional_quantity(&table, "max_edge", Dimension::Length, Limits::Positive),
    }
}

/// Most streaklines.
const MOST_LINES: usize = 10_000;

/// The streaklines of a cell; its width, where it could be read, limits their number.
pub(super) fn streaklines(reader: &mut Reader<'_>, root: &Table<'_>, width: Option<f64>) -> StreaklineSettings {
    let table = reader.section(root, "streaklines", &["count", "spacing", "height", "starts"]);
    let height = reader.optional_quantity(&table, "height", Dimension::Fraction, Limits::Within(-1.0, 1.0));
    let count = reader.whole(&table, "count", 1, MOST_LINES);
    let spacing = reader.optional_quantity(&table, "spacing", Dimension::Length, Limits::Positive);
    let least = width.map(|width| width / MOST_LINES as f64);
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
    let starts = table.get("starts").and_then(|value| starts(reader, value));
    for key in ["count", "spacing"] {
        if let (Some(_), Some(place)) = (table.get("starts"), table.key_span(key)) {
            let message = format!("[streaklines] has both \"{key}\" and \"starts\"");
            reader.fail(Some(place), message, "keep one of them: lines start where the needles are");
        }
    }
    let seeding = match (starts, count, spacing) {
        (Some(seeding), ..) => seeding,
        (None, None, Some(spacing)) => Seeding::Spacing(spacing),
        (None, count, _) => Seeding::Count(count.unwrap_or(24)),
    };
    StreaklineSettings { seeding, height: height.unwrap_or(0.0) }
}

/// Places of needles: `["18 mm", "25 mm"]` across the inlet, `{ x = "4 mm", y = ["18 mm", "25 mm"] }`, or `[[x, y], ...]`.
fn starts(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Seeding> {
    let (x, list) = if value.get_ref().as_table().is_some() {
        let table = reader.table(value, "starts", &["x", "y"])?;
        let x = reader.needed_quantity(&table, "x", Dimension::Length, Limits::NotNegative)?;
        (x, reader.needed(&table, "y", "[\"18 mm\", \"25 mm\"]")?)
    } else {
        (0.0, value)
    };
    let elements: Vec<_> = list.get_ref().as_array().map(|list| list.iter().collect()).unwrap_or_default();
    if elements.is_empty() || elements.len() > MOST_LINES {
        let wanted = format!("a list of 1 to {MOST_LINES} needles");
        reader.wrong_type(list, "starts", &wanted, "write [\"18 mm\", \"25 mm\"] for heights across the inlet");
        return None;
    }
    let point = |element: &&Value<'_>| match element.get_ref().as_array() {
        Some(_) => reader.pair(element, "a start", Dimension::Length, Limits::Any),
        None => reader.quantity(element, "a start", Dimension::Length, Limits::Any).map(|y| [x, y]),
    };
    Some(Seeding::At { needles: elements.iter().map(point).collect::<Option<_>>()?, place: value.span() })
}

/// How far the inertia series goes.
pub(super) fn inertia(reader: &mut Reader<'_>, root: &Table<'_>) -> InertiaSettings {
    let table = reader.section(root, "inertia", &["order", "next_edge_term", "curvature_factor"]);
    let usual = InertiaSettings::default();
    let order = match reader.whole(&table, "order", 1, 2) {
        Some(1) => Order::First,
        Some(_) => Order::Second,
        None => usual.order,
    };
    let (next, factor) = (reader.switch(&table, "next_edge_term"), reader.switch(&table, "curvature_factor"));
    if let (Some(true), Some(true)) = (next, factor) {
        let both = "[inertia] has both \"next_edge_term\" and \"curvature_factor\", each in place of the other";
        reader.fail(
            table.key_span("curvature_factor"),
            both,
            "keep one of them; the factor is for lone round posts only",
        );
    }
    let edge_term = match (next, factor) {
        (_, Some(true)) => EdgeTerm::Factor,
        (Some(false), _) => EdgeTerm::Leading,
        _ => usual.edge_term,
    };
    InertiaSettings { order, edge_term }
}

pub(super) fn tolerance(reader: &mut Reader<'_>, root: &Table<'_>) -> Tolerance {
    let table = reader.section(root, "tolerance", &["speed", "direction", "shift", "share"]);
    let mut given = |key, dimension, limits| reader.optional_quantity(&table, key, dimension, limits);
    let speed = given("speed", Dimension::Fraction, Limits::Positive);
    let direction = given("direction", Dimension::Angle, Limits::Positive);
    let shift = given("shift", Dimension::Length, Limits::Positive);
    let share = given("share", Dimension::Fraction, Limits::Between(0.0, 0.5));
    let usual = Tolerance::default();
    Tolerance {
        speed: speed.unwrap_or(usual.speed),
        direction: direction.unwrap_or(usual.direction),
        shift: shift.unwrap_or(usual.shift),
        share: share.unwrap_or(usual.share),
        usual: UsualTolerances { speed: speed.is_none(), direction: direction.is_none(), shift: shift.is_none() },
    }
}

pub(super) fn edge_band(reader: &mut Reader<'_>, root: &Table<'_>) -> Option<f64> {
    let table = reader.section(root, "departure", &["edge_band"]);
    reader.optional_quantity(&table, "edge_band", Dimension::Length, Limits::NotNegative)
}
