//! The tables `[[obstacle]]`.

use super::Obstacle;
use super::asked::Form;
use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use super::shape::{self, SHAPES};
use crate::base::text::shortened;
use crate::base::units::Dimension;
use crate::geometry::{Rim, TailChoice, Wall};
use std::collections::BTreeSet;

/// The obstacles without mistakes.
pub(super) fn obstacles(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<Obstacle> {
    let mut names = BTreeSet::new();
    let mut obstacles = Vec::new();
    for (index, value) in reader.list(root, "obstacle").into_iter().enumerate() {
        if let Some(obstacle) = obstacle(reader, value, index, &mut names) {
            obstacles.push(obstacle);
        }
    }
    obstacles
}

fn obstacle(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    index: usize,
    names: &mut BTreeSet<String>,
) -> Option<Obstacle> {
    let allowed: Vec<&str> = ["name", "on_wall", "tail", "bubble", "edge"].into_iter().chain(SHAPES).collect();
    let table = reader.table(value, "[[obstacle]]", &allowed)?;
    let name = reader.name(&table, "name").unwrap_or_else(|| format!("obstacle {}", index + 1));
    unique(reader, &table, "obstacle", &name, names);
    let on_wall = reader.choice(&table, "on_wall", &[("lower", Wall::Lower), ("upper", Wall::Upper)]);
    let bubble = bubble(reader, &table);
    let tail = if bubble.is_some() { TailChoice::None } else { tail(reader, &table) };
    let (kind, parameters) = reader.exactly_one(&table, &SHAPES)?;
    let shape = shape::shape(reader, kind, parameters)?;
    Some(Obstacle { name, shape, on_wall, tail, bubble, place: table.key_span(kind).unwrap_or(value.span()) })
}

/// `bubble = true`, and then `edge = "free"` or `"solid"`; a bubble has no tail.
fn bubble(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Rim> {
    let is_bubble = reader.switch(table, "bubble").unwrap_or(false);
    let rim = reader.choice(table, "edge", &[("free", Rim::Free), ("solid", Rim::Solid)]);
    if !is_bubble {
        if let Some(place) = table.key_span("edge") {
            let message = "edge tells how the rim of a bubble acts, and this obstacle is none";
            reader.fail(Some(place), message, "add bubble = true, or leave edge out: solids hold the fluid back");
        }
        return None;
    }
    if let Some(place) = table.key_span("tail") {
        let message = "tail stands beside bubble = true, but no flow leaves a bubble at a sharp tail";
        reader.fail(Some(place), message, "leave tail out, or bubble");
    }
    Some(rim.unwrap_or_default())
}

/// `tail = [x, y]` or `tail = false`.
fn tail(reader: &mut Reader<'_>, table: &Table<'_>) -> TailChoice {
    reader.note_key(table, "tail", Form::Switch);
    let Some(value) = table.get("tail") else { return TailChoice::Clear };
    match value.get_ref().as_bool() {
        Some(false) => TailChoice::None,
        Some(true) => {
            let message = "tail = true does not say which corner".to_owned();
            reader.fail(Some(value.span()), message, "give its place, tail = [x, y], or leave the key out".to_owned());
            TailChoice::Clear
        }
        None => reader.pair(value, "tail", Dimension::Length, Limits::Any).map_or(TailChoice::Clear, TailChoice::At),
    }
}

/// Notes a name that stands already in the list of names of its kind.
pub(super) fn unique(reader: &mut Reader<'_>, table: &Table<'_>, kind: &str, name: &str, names: &mut BTreeSet<String>) {
    if !names.insert(name.to_owned()) {
        let place = table.get("name").map(|value| value.span()).or(table.span.clone());
        let message = format!("there is another {kind} called \"{}\"", shortened(name));
        reader.fail(place, message, format!("give every {kind} a name of its own"));
    }
}
