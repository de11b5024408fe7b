//! The tables `[photo]`, `[[photo.mark]]` and `[compare]`.

use super::limits::Limits;
use super::obstacle::unique;
use super::reader::{Reader, Table, Value};
use super::{CompareSettings, Dye, Face, LensPrior, Mark, PhotoSettings, RigSettings, Setting};
use crate::base::plane::Rect;
use crate::base::units::Dimension;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Deviation of the places of marks where the case gives none, m: a ruler, a drill, an engraving by eye; common practice.
const PLACED_WITHIN: f64 = 0.2e-3;

/// Part of the cell by which a mark may lie outside it.
const OUTSIDE: f64 = 0.1;

/// The photograph, if the case has one; `cell` is the box round the cell.
pub(super) fn photo(
    reader: &mut Reader<'_>,
    root: &Table<'_>,
    rig: &RigSettings,
    cell: Option<Rect>,
) -> Option<PhotoSettings> {
    let allowed = [
        "file",
        "marks_on",
        "plate_thickness",
        "plate_index",
        "mark_placed_within",
        "mark_size",
        "lens",
        "dye",
        "rectify",
        "mark",
    ];
    root.get("photo")?;
    let table = reader.section(root, "photo", &allowed);
    let file = reader.name(&table, "file").map(PathBuf::from);
    let faces = [("inner face", Face::Inner), ("outer face", Face::Outer)];
    reader.needed(&table, "marks_on", "\"inner face\" or \"outer face\": the face of the plate that the marks are on");
    let marks_on = reader.choice(&table, "marks_on", &faces);
    let mut given = |key, dimension, limits| reader.optional_quantity(&table, key, dimension, limits);
    let thickness = given("plate_thickness", Dimension::Length, Limits::Within(0.0, 1.0));
    let index = given("plate_index", Dimension::Fraction, Limits::Within(1.0, 3.0));
    let placed = given("mark_placed_within", Dimension::Length, Limits::NotNegative);
    let mark_size = given("mark_size", Dimension::Length, Limits::Positive);
    let lenses = [("corrected", LensPrior::CORRECTED), ("uncorrected", LensPrior::UNCORRECTED)];
    let lens = reader.choice(&table, "lens", &lenses).unwrap_or(LensPrior::CORRECTED);
    let dye = reader.choice(&table, "dye", &[("dark", Dye::Dark), ("bright", Dye::Bright)]).unwrap_or(Dye::Dark);
    let rectify = reader.switch(&table, "rectify").unwrap_or(true);
    if marks_on == Some(Face::Outer) && thickness.is_none() && rig.plate_thickness.defaulted {
        let message = "the marks are on the outer face of a plate of unknown thickness";
        reader.fail(table.key_span("marks_on"), message, "give plate_thickness under [photo] or [rig]");
    }
    let marks = marks(reader, &table, cell);
    Some(PhotoSettings {
        file,
        marks_on: marks_on.unwrap_or(Face::Inner),
        plate_thickness: thickness.unwrap_or(rig.plate_thickness.value),
        plate_index: index.unwrap_or_else(|| usual_index(&rig.material.value)),
        placed_within: Setting::or(placed, PLACED_WITHIN),
        mark_size,
        lens,
        dye,
        rectify,
        marks,
        place: table.span.clone().unwrap_or_default(),
    })
}

/// Refractive index of a plate material, yellow light; common practice.
fn usual_index(material: &str) -> f64 {
    match material {
        "glass" => 1.52,
        "polycarbonate" => 1.585,
        _ => 1.49,
    }
}

fn marks(reader: &mut Reader<'_>, photo: &Table<'_>, cell: Option<Rect>) -> Vec<Mark> {
    let mut names = BTreeSet::new();
    let mut marks = Vec::new();
    for (index, value) in reader.list(photo, "mark").into_iter().enumerate() {
        marks.extend(mark(reader, value, index, &mut names, cell));
    }
    marks
}

fn mark(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    index: usize,
    names: &mut BTreeSet<String>,
    cell: Option<Rect>,
) -> Option<Mark> {
    let table = reader.table(value, "[[photo.mark]]", &["name", "at", "pixel"])?;
    let name = reader.name(&table, "name").unwrap_or_else(|| format!("{}", index + 1));
    unique(reader, &table, "mark", &name, names);
    let at = reader.needed_point(&table, "at");
    let click = reader
        .needed(&table, "pixel", "[361, 1010], a click at it in the upright picture")
        .and_then(|value| reader.pair(value, "pixel", Dimension::Fraction, Limits::Any));
    let (at, click) = (at?, click?);
    if let Some((cell, sides)) = cell.map(|cell| (cell, cell.size()))
        && (0..2).any(|k| at[k] < cell.low[k] - OUTSIDE * sides[k] || at[k] > cell.high[k] + OUTSIDE * sides[k])
    {
        let show = |x| Dimension::Length.show(x);
        let message = format!(
            "mark {name} at ({}, {}) is outside the cell of {} by {} by more than a tenth",
            show(at[0]),
            show(at[1]),
            show(sides[0]),
            show(sides[1])
        );
        let remedy = "give its place in the cell: x from the inlet along the flow, y from the lower side wall";
        reader.fail(table.get("at").map(|value| value.span()), message, remedy);
        return None;
    }
    Some(Mark { name, at, click })
}

/// How to compare.
pub(super) fn compare(reader: &mut Reader<'_>, root: &Table<'_>) -> CompareSettings {
    let table = reader.section(root, "compare", &["nuisance", "edge_band", "station"]);
    let usual = CompareSettings::default();
    let mut settings = CompareSettings {
        edge_band: reader.optional_quantity(&table, "edge_band", Dimension::Length, Limits::NotNegative),
        station: reader
            .optional_quantity(&table, "station", Dimension::Length, Limits::Within(0.1e-3, 0.1))
            .unwrap_or(usual.station),
        ..usual
    };
    let Some(value) = table.get("nuisance") else { return settings };
    let example = "write a list out of \"map\", \"obstacles\" and \"taper\"";
    let Some(list) = value.get_ref().as_array() else {
        reader.wrong_type(value, "nuisance", "a list", example);
        return settings;
    };
    settings = CompareSettings { map: false, ..settings };
    for element in list.iter() {
        match reader.text(element, "nuisance") {
            Some("map") => settings.map = true,
            Some("obstacles") => settings.obstacles = true,
            Some("taper") => settings.taper = true,
            Some(other) => {
                let message = format!("nuisance \"{}\" is not known", crate::base::text::shortened(other));
                reader.fail(Some(element.span()), message, example);
            }
            None => {}
        }
    }
    settings
}
