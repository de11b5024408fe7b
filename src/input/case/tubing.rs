//! The tables `[rig.tubing]` and `[rig.calibrate]`.

use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use crate::base::units::{Dimension, GRAVITY};
use std::ops::Range;

/// The tubes that join the cell to its reservoirs.
#[derive(Debug, Clone, PartialEq)]
pub struct Tubing {
    /// Length of the way through tubes, from the supply to the cell and from the cell to the drain together, m.
    pub length: f64,
    /// Inner diameter, m.
    pub bore: f64,
    /// Equal tubes side by side.
    pub number: usize,
    /// Loss factors of fittings along one tube, over ρ v²/2 of the mean speed in it.
    pub losses: Vec<f64>,
    /// Free surface of the supply above the plates, m, where reservoirs drive the flow.
    pub supply_level: Option<f64>,
}

/// What a measured flow and pressure drop are to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sought {
    /// The mean gap, at the viscosity of the case.
    Gap,
    /// The viscosity, at the gap of the case.
    Viscosity,
}

/// A measured flow and pressure drop.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// What they are to tell.
    pub find: Sought,
    /// Flow rate, m3/s.
    pub flow_rate: f64,
    /// Pressure drop, Pa; a head is one of the fluid of the case.
    pub pressure_drop: f64,
    /// What the flow rate may be wrong by, fraction.
    pub flow_error: f64,
    /// What the drop may be wrong by, fraction.
    pub drop_error: f64,
    /// Whether the cell was empty of obstacles.
    pub empty: bool,
    /// Whether the drop was taken between the reservoirs, tubes included.
    pub with_tubes: bool,
}

/// What a flow or a drop may be wrong by where the case is silent.
const USUAL_ERROR: f64 = 0.02;

/// `[rig.tubing]`, if it is there and without mistakes.
pub(super) fn tubing(reader: &mut Reader<'_>, rig: &Table<'_>) -> Option<Tubing> {
    let keys = ["length", "bore", "number", "loss_factors", "supply_level"];
    let table = reader.table(rig.get("tubing")?, "[rig.tubing]", &keys)?;
    let length = reader.needed_quantity(&table, "length", Dimension::Length, Limits::Positive);
    let bore = reader.needed_quantity(&table, "bore", Dimension::Length, Limits::Positive);
    let number = reader.whole(&table, "number", 1, 1000).unwrap_or(1);
    let losses = table.get("loss_factors").map_or(Some(Vec::new()), |value| losses(reader, value));
    let supply_level = reader.optional_quantity(&table, "supply_level", Dimension::Length, Limits::Any);
    Some(Tubing { length: length?, bore: bore?, number, losses: losses?, supply_level })
}

fn losses(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Vec<f64>> {
    let key = "loss_factors";
    let Some(list) = value.get_ref().as_array() else {
        reader.wrong_type(value, key, "a list of numbers", "write one factor for each fitting, such as [0.5, 1.1]");
        return None;
    };
    list.iter().map(|factor| reader.quantity(factor, key, Dimension::Fraction, Limits::NotNegative)).collect()
}

/// `[rig.calibrate]`, if it is there and without mistakes; `density` is that of the fluid, kg/m3, which a head is one of.
pub(super) fn calibration(
    reader: &mut Reader<'_>,
    rig: &Table<'_>,
    tubing: Option<&Tubing>,
    density: Option<f64>,
) -> Option<Calibration> {
    let keys = ["find", "flow_rate", "head", "pressure_drop", "flow_error", "drop_error", "empty", "across"];
    let table = reader.table(rig.get("calibrate")?, "[rig.calibrate]", &keys)?;
    let find = reader.choice(&table, "find", &[("gap", Sought::Gap), ("viscosity", Sought::Viscosity)]);
    let flow_rate = reader.needed_quantity(&table, "flow_rate", Dimension::FlowRate, Limits::Positive);
    let drop = reader.exactly_one(&table, &["head", "pressure_drop"]).and_then(|(key, value)| match key {
        "head" => Some(reader.quantity(value, key, Dimension::Length, Limits::Positive)? * density? * GRAVITY),
        _ => reader.quantity(value, key, Dimension::Pressure, Limits::Positive),
    });
    let mut error = |key| {
        let given = reader.optional_quantity(&table, key, Dimension::Fraction, Limits::Within(0.0, 0.5));
        given.unwrap_or(USUAL_ERROR)
    };
    let (flow_error, drop_error) = (error("flow_error"), error("drop_error"));
    let empty = reader.switch(&table, "empty").unwrap_or(false);
    let with_tubes = reader.choice(&table, "across", &[("cell", false), ("rig", true)]).unwrap_or(false);
    if with_tubes && tubing.is_none() {
        without_tubes(reader, table.key_span("across"));
        return None;
    }
    let find = find.unwrap_or(Sought::Gap);
    Some(Calibration { find, flow_rate: flow_rate?, pressure_drop: drop?, flow_error, drop_error, empty, with_tubes })
}

fn without_tubes(reader: &mut Reader<'_>, place: Option<Range<usize>>) {
    let message = "across = \"rig\" takes the drop over tubes and cell, and the case has no tubes";
    reader.fail(place, message, "add [rig.tubing] with length and bore, or measure across the cell");
}
