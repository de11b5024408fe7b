//! The tables `[[probe]]`, `[mesh]`, `[inertia]`, `[tolerance]` and `[departure]`.

use super::obstacle::unique;
use super::reader::{Reader, Table, Value};
use super::value::Limits;
use super::{EdgeTerm, InertiaSettings, MeshSettings, Order, Probe, Tolerance, UsualTolerances};
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
