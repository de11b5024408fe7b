//! The key `gap`: a length, or a table with a slope, with bowing or with a file of measured gaps.

use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use super::{Bow, Case, CellShape, Drive, Fluid, Gap, GapTable, InputFile, RigSettings, estimated_drop};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::{Rect, inside};
use crate::base::units::Dimension;
use crate::base::units::GRAVITY;
use std::sync::Arc;
use toml::de::DeValue;

/// Places along each side at which the gap is looked at.
const LOOKS: usize = 256;

/// What bowing depends on.
pub(super) struct Bowing<'a> {
    pub drive: &'a Drive,
    /// None if it could not be read.
    pub fluid: Option<&'a Fluid>,
    pub rig: &'a RigSettings,
    pub has_obstacles: bool,
}

/// The gap of a cell of the given boundary, above zero all over it.
pub(super) fn gap(reader: &mut Reader<'_>, value: &Value<'_>, shape: &CellShape, bowing: &Bowing<'_>) -> Option<Gap> {
    let DeValue::Table(_) = value.get_ref() else {
        return reader.quantity(value, "gap", Dimension::Length, Limits::Positive).map(Gap::Uniform);
    };
    let table = reader.table(value, "gap", &["at", "slope", "bowed", "table"])?;
    let forms: Vec<&str> = ["slope", "bowed", "table"].into_iter().filter(|key| table.get(key).is_some()).collect();
    if let [first, others @ ..] = forms.as_slice() {
        for other in others {
            let message = format!("gap has both \"{first}\" and \"{other}\"");
            reader.fail(table.key_span(other), message, "keep one of slope, bowed and table");
        }
        if !others.is_empty() {
            return None;
        }
    }
    let read = match table.get("table") {
        Some(file) => from_file(reader, &table, file, shape)?,
        None => {
            let at = reader.needed_quantity(&table, "at", Dimension::Length, Limits::Positive);
            let slope = match table.get("slope") {
                Some(value) => reader.pair(value, "slope", Dimension::Fraction, Limits::Any)?,
                None => [0.0, 0.0],
            };
            if reader.switch(&table, "bowed") == Some(true) {
                bowed(reader, &table, at?, shape, bowing)?
            } else {
                Gap::Linear { at: at?, slope, middle: shape.bounds().middle() }
            }
        }
    };
    positive(reader, value, &read, shape).then_some(read)
}

fn bowed(reader: &mut Reader<'_>, table: &Table<'_>, at: f64, shape: &CellShape, bowing: &Bowing<'_>) -> Option<Gap> {
    let place = table.key_span("bowed");
    let Some(sides) = shape.rectangle() else {
        let message = "bowing is computed for plates over a rectangular cell, and this one is none";
        reader.fail(place, message, "give one gap, a slope, or a table of measured gaps");
        return None;
    };
    // what else is wrong with the case stands for itself; the geometry can be checked with even plates
    let (Some(fluid), true) = (bowing.fluid, reader.problems.is_empty()) else { return Some(Gap::Uniform(at)) };
    let reference = bowing.drive.reference_length.or((!bowing.has_obstacles).then_some(sides[1]));
    let Some(drop) = estimated_drop(bowing.drive, fluid, sides, at, reference) else {
        let message =
            "bowing needs the pressure, and the drive is a Reynolds number whose reference length is not stated";
        reader.fail(
            place,
            message,
            "add reference_length to [drive], or give a pressure_drop, head, flow_rate or mean_speed",
        );
        return None;
    };
    let load = 0.5 * drop + fluid.density * GRAVITY * bowing.rig.outlet_level.value;
    let bow = Bow::new(at, load, shape.bounds(), bowing.rig);
    if !(bow.edge() > 0.0 && bow.deflection().is_finite()) {
        let show = |value| Dimension::Length.show(value);
        let message = format!(
            "each plate bows by {} under the mean gauge pressure of {}: with a gap of {} in the middle the plates would meet at the \
             edges",
            show(bow.deflection()),
            Dimension::Pressure.show(bow.load()),
            show(at)
        );
        reader.fail(place, message, "use thicker or stiffer plates in [rig], a larger \"at\" or a lower pressure");
        return None;
    }
    Some(Gap::Bowed(bow))
}

fn from_file(reader: &mut Reader<'_>, table: &Table<'_>, value: &Value<'_>, shape: &CellShape) -> Option<Gap> {
    if table.get("at").is_some() {
        reader.fail(table.key_span("at"), "gap has both \"at\" and \"table\"", "remove \"at\": the table says the gap");
        return None;
    }
    let name = reader.text(value, "table")?;
    let file = reader.folder().join(name);
    let read = match GapTable::read_hashed(&file, shape.is_known().then(|| shape.bounds().size())) {
        Ok((read, sha256)) => {
            reader.inputs.push(InputFile { file: name.into(), sha256 });
            read
        }
        Err(problems) => {
            reader.problems.merge(problems);
            return None;
        }
    };
    if let Some(message) = uncovered(&read, shape) {
        reader.fail(Some(value.span()), message, COVER);
        return None;
    }
    Some(Gap::Table(Arc::new(read)))
}

/// What to do where a table of gaps leaves a part of the cell out.
const COVER: &str = "add places so that the cell lies between them; the table is not extended";

/// A place of the edge of the cell that a table leaves out, in words.
fn uncovered(table: &GapTable, shape: &CellShape) -> Option<String> {
    let place = shape.outline().into_iter().find(|&place| table.gap(place).is_none())?;
    let what = if shape.rectangle().is_some() { "corner" } else { "place" };
    let on = if shape.rectangle().is_some() { "of" } else { "on the edge of" };
    let [x, y] = place.map(|x| Dimension::Length.show(x));
    Some(format!("the {what} ({x}, {y}) {on} the cell lies outside the places of the table of gaps"))
}

impl Case {
    /// Makes the gap of a cell that has just been drawn that of its box and checks it; mistakes are added at its place.
    pub(crate) fn settle_gap(&mut self, problems: &mut Problems) {
        let CellShape::Outlined(cell) = &self.cell.shape else { return };
        let place = cell.gap_place.clone();
        let middle = self.cell.middle();
        match &mut self.cell.gap {
            Gap::Linear { middle: about, .. } => *about = middle,
            Gap::Table(table) => {
                if let Some(message) = uncovered(table, &self.cell.shape) {
                    problems.add(&self.file, Some(place), message, COVER);
                    return;
                }
            }
            Gap::Uniform(_) | Gap::Bowed(_) => return,
        }
        if let Some((message, remedy)) = least(&self.cell.gap, &self.cell.shape) {
            problems.add(&self.file, Some(place), message, remedy);
        }
    }
}

/// Whether the gap is above zero on the edge of the cell and on a fine grid; notes the place where it is least if not.
fn positive(reader: &mut Reader<'_>, value: &Value<'_>, gap: &Gap, shape: &CellShape) -> bool {
    let found = least(gap, shape);
    let is_positive = found.is_none();
    if let Some((message, remedy)) = found {
        reader.fail(Some(value.span()), message, remedy);
    }
    is_positive
}

/// What is wrong with the gap where it is least, and the remedy; none if it is above zero.
fn least(gap: &Gap, shape: &CellShape) -> Option<(String, &'static str)> {
    let (outline, Rect { low, high }) = (shape.outline(), shape.bounds());
    // a plane has its least value on the edge
    let looks = if matches!(gap, Gap::Table(_)) { LOOKS } else { 0 };
    let at = |k: usize, axis: usize| low[axis] + k as f64 / looks as f64 * (high[axis] - low[axis]);
    let grid = (0..=looks).flat_map(|i| (0..=looks).map(move |j| (i, j))).filter(|_| looks > 0);
    let grid = grid.map(|(i, j)| [at(i, 0), at(j, 1)]);
    let within = |place: &Point| shape.rectangle().is_some() || inside(&outline, *place);
    let places = outline.iter().copied().chain(grid.filter(within));
    let worst = places.map(|place| (place, gap.at(place)));
    let rank = |b: f64| if b.is_finite() { b } else { f64::NEG_INFINITY };
    let (place, there) = worst.min_by(|a, b| rank(a.1).total_cmp(&rank(b.1)))?;
    if rank(there) > 0.0 {
        return None;
    }
    let show = |value| Dimension::Length.show(value);
    let message = format!("the gap is {} at ({}, {})", show(there), show(place[0]), show(place[1]));
    let remedy = match gap {
        Gap::Table(_) => "the surface through the table dips between its places: add places there",
        _ => "make it positive all over the cell: a larger \"at\" or a smaller \"slope\"",
    };
    Some((message, remedy))
}
