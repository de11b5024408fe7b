//! The tables `[filling]` and `[[bubble]]`.

use super::asked::Form;
use super::limits::Limits;
use super::obstacle::unique;
use super::reader::{Reader, Table, Value};
use super::{CutOff, FillDrive, FillFrom, FillModel, FillingSettings, FreeBubble, RigSettings, Snapshots};
use crate::base::units::Dimension;
use std::collections::BTreeSet;
use std::f64::consts::PI;

/// Moments kept where the case does not say.
const USUAL_MOMENTS: usize = 40;
/// Most moments that are kept.
const MOST_MOMENTS: usize = 10_000;

/// How the dry cell is filled; what the case leaves out comes from `[rig]`.
pub(super) fn filling(reader: &mut Reader<'_>, root: &Table<'_>, rig: &RigSettings) -> FillingSettings {
    let allowed = [
        "drive",
        "from",
        "advancing_angle",
        "receding_angle",
        "side_angle",
        "seal_angle",
        "surface_tension",
        "tilt",
        "tilt_towards",
        "model",
        "snapshots",
        "pockets",
    ];
    let table = reader.section(root, "filling", &allowed);
    let drive = reader.choice(&table, "drive", &[("flow", FillDrive::Flow), ("head", FillDrive::Head)]);
    let mut angle = |key| reader.optional_quantity(&table, key, Dimension::Angle, Limits::Within(0.0, PI));
    let (advancing, receding) = (angle("advancing_angle"), angle("receding_angle"));
    let (side, seal) = (angle("side_angle"), angle("seal_angle"));
    let hysteresis = rig.contact_hysteresis.value;
    let advancing_angle = advancing.unwrap_or((rig.contact_angle.value + 0.5 * hysteresis).min(PI));
    let receding_angle = receding.unwrap_or((advancing_angle - hysteresis).max(0.0));
    if let (Some(receding), true) = (receding, receding_angle > advancing_angle) {
        let show = |x| Dimension::Angle.show(x);
        let message =
            format!("receding_angle is {}, above the advancing angle of {}", show(receding), show(advancing_angle));
        let remedy = "a contact line recedes at a smaller angle than it advances at: give both, the smaller one as receding_angle";
        reader.fail(table.get("receding_angle").map(|value| value.span()), message, remedy);
    }
    let tension = reader.optional_quantity(&table, "surface_tension", Dimension::SurfaceTension, Limits::Positive);
    let tilt = reader.optional_quantity(&table, "tilt", Dimension::Angle, Limits::Within(0.0, 0.5 * PI));
    let models = [("auto", FillModel::Auto), ("viscous", FillModel::Viscous), ("capillary", FillModel::Capillary)];
    let side_angle = side.unwrap_or(advancing_angle);
    FillingSettings {
        drive,
        from: table.get("from").and_then(|value| from(reader, value)).unwrap_or(FillFrom::Inlet),
        advancing_angle,
        receding_angle: receding_angle.min(advancing_angle),
        side_angle,
        seal_angle: seal.unwrap_or(side_angle),
        surface_tension: tension.unwrap_or(rig.surface_tension.value),
        tilt: tilt.unwrap_or(0.0),
        uphill: table.get("tilt_towards").and_then(|value| uphill(reader, value)).unwrap_or([1.0, 0.0]),
        model: reader.choice(&table, "model", &models).unwrap_or(FillModel::Auto),
        snapshots: table
            .get("snapshots")
            .and_then(|value| snapshots(reader, &table, value))
            .unwrap_or(Snapshots::Count(USUAL_MOMENTS)),
        pockets: reader
            .choice(&table, "pockets", &[("pinned", CutOff::Pinned), ("vented", CutOff::Vented)])
            .unwrap_or(CutOff::Pinned),
        place: table.span.clone().unwrap_or_default(),
    }
}

/// `"inlet"` or `{ at = [x, y], diameter = "4 mm" }`.
fn from(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<FillFrom> {
    reader.note(value, Form::Word(vec!["inlet".into()]));
    if let Some(text) = value.get_ref().as_str() {
        if text == "inlet" {
            return Some(FillFrom::Inlet);
        }
        let message = format!("from is \"{}\", which is not known", crate::base::text::shortened(text));
        let remedy = "write \"inlet\", or { at = [x, y], diameter = \"4 mm\" } for a hole in a plate";
        reader.fail(Some(value.span()), message, remedy);
        return None;
    }
    let table = reader.table(value, "from", &["at", "diameter"])?;
    let at = reader.needed_point(&table, "at");
    let diameter = reader.needed_quantity(&table, "diameter", Dimension::Length, Limits::Positive);
    Some(FillFrom::Port { at: at?, diameter: diameter?, place: value.span() })
}

/// The direction in which the cell rises: the name of an end or a side wall, or an angle from x.
fn uphill(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<[f64; 2]> {
    const NAMED: [(&str, [f64; 2]); 4] =
        [("outlet", [1.0, 0.0]), ("inlet", [-1.0, 0.0]), ("upper", [0.0, 1.0]), ("lower", [0.0, -1.0])];
    reader.note(value, Form::Word(NAMED.iter().map(|(name, _)| (*name).to_owned()).collect()));
    if let Some(text) = value.get_ref().as_str()
        && let Some((_, to)) = NAMED.iter().find(|(name, _)| *name == text)
    {
        return Some(*to);
    }
    let names: Vec<&str> = NAMED.iter().map(|(name, _)| *name).collect();
    if let Some(text) = value.get_ref().as_str().filter(|text| text.chars().all(char::is_alphabetic)) {
        let message = format!("tilt_towards is \"{}\", which is not known", crate::base::text::shortened(text));
        let remedy = format!("write the side that is raised, one of \"{}\", or an angle from x", names.join("\", \""));
        reader.fail(Some(value.span()), message, remedy);
        return None;
    }
    let angle = reader.quantity(value, "tilt_towards", Dimension::Angle, Limits::Any)?;
    Some([angle.cos(), angle.sin()])
}

/// A number, `{ time = [...] }` or `{ impulse = [...] }`.
fn snapshots(reader: &mut Reader<'_>, filling: &Table<'_>, value: &Value<'_>) -> Option<Snapshots> {
    if value.get_ref().as_table().is_none() {
        return reader.whole(filling, "snapshots", 1, MOST_MOMENTS).map(Snapshots::Count);
    }
    let table = reader.table(value, "snapshots", &["time", "impulse"])?;
    let (key, list) = reader.exactly_one(&table, &["time", "impulse"])?;
    let dimension = if key == "time" { Dimension::Time } else { Dimension::Area };
    let values = reader.growing(list, key, dimension, MOST_MOMENTS)?;
    Some(if key == "time" { Snapshots::Times(values) } else { Snapshots::Impulses(values) })
}

/// The free bubbles without mistakes.
pub(super) fn bubbles(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<FreeBubble> {
    let mut names = BTreeSet::new();
    let mut bubbles = Vec::new();
    for (index, value) in reader.list(root, "bubble").into_iter().enumerate() {
        bubbles.extend(bubble(reader, value, index, &mut names));
    }
    bubbles
}

fn bubble(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    index: usize,
    names: &mut BTreeSet<String>,
) -> Option<FreeBubble> {
    let table = reader.table(value, "[[bubble]]", &["name", "centre", "diameter", "films", "patch"])?;
    let name = reader.name(&table, "name").unwrap_or_else(|| format!("bubble {}", index + 1));
    unique(reader, &table, "bubble", &name, names);
    let centre = reader.needed_point(&table, "centre");
    let diameter = reader.needed_quantity(&table, "diameter", Dimension::Length, Limits::Positive);
    let films = reader.switch(&table, "films").unwrap_or(true);
    let patch = reader.switch(&table, "patch").unwrap_or(false);
    let place = table.get("centre").map_or(value.span(), |value| value.span());
    Some(FreeBubble { name, centre: centre?, diameter: diameter?, films, patch, place })
}
