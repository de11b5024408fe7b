//! The table `[sweep]`.

use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use super::{Fluid, Sweep, SweepQuantity};
use crate::base::units::Dimension;
use toml::de::DeValue;

/// Most values a sweep may have.
const MOST: usize = 10_000;

/// The sweep, if the case asks for one that can be read.
pub(super) fn sweep(reader: &mut Reader<'_>, root: &Table<'_>, fluid: Option<&Fluid>) -> Option<Sweep> {
    const QUANTITIES: [&str; 4] = ["reduced_reynolds", "mean_speed", "gap", "glycerol_mass_fraction"];
    root.get("sweep")?;
    let table = reader.needed_section(root, "sweep", &QUANTITIES)?;
    let (key, value) = reader.exactly_one(&table, &QUANTITIES)?;
    let (quantity, dimension, limits) = match key {
        "reduced_reynolds" => (SweepQuantity::ReducedReynolds, Dimension::Fraction, Limits::Positive),
        "mean_speed" => (SweepQuantity::MeanSpeed, Dimension::Speed, Limits::Positive),
        "gap" => (SweepQuantity::Gap, Dimension::Length, Limits::Positive),
        _ => (SweepQuantity::GlycerolMassFraction, Dimension::Fraction, Limits::Within(0.0, 1.0)),
    };
    if quantity == SweepQuantity::GlycerolMassFraction && fluid.is_some_and(|f| f.temperature().is_none()) {
        let message = "a sweep of glycerol_mass_fraction needs a fluid with a temperature";
        let remedy = "write name = \"glycerol-water\" and a temperature in [fluid]";
        reader.fail(table.key_span(key), message, remedy);
        return None;
    }
    let values = match value.get_ref() {
        DeValue::Array(_) => listed(reader, value, key, dimension, limits),
        DeValue::Table(_) => ranged(reader, value, key, dimension, limits),
        _ => {
            let remedy = "write a list, or { from = .., to = .., steps = 10, spacing = \"linear\" }";
            reader.wrong_type(value, key, "a list or a table with from, to and steps", remedy);
            None
        }
    }?;
    Some(Sweep { quantity, values })
}

fn listed(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    key: &str,
    dimension: Dimension,
    limits: Limits,
) -> Option<Vec<f64>> {
    let elements = value.get_ref().as_array()?;
    if elements.is_empty() || elements.len() > MOST {
        let message = format!("the sweep of {key} has {} values and must have 1 to {MOST}", elements.len());
        let remedy = if elements.is_empty() { "write a list of increasing values" } else { "thin the list out" };
        reader.fail(Some(value.span()), message, remedy);
        return None;
    }
    let read: Vec<Option<f64>> = elements.iter().map(|v| reader.quantity(v, key, dimension, limits)).collect();
    let values: Vec<f64> = read.into_iter().collect::<Option<_>>()?;
    let falling = values.windows(2).position(|pair| pair[1] <= pair[0]);
    if let Some(index) = falling {
        let (before, after) = (dimension.show(values[index]), dimension.show(values[index + 1]));
        let place = elements.get(index + 1).map(|v| v.span());
        let message = format!("the sweep of {key} does not increase: {after} comes after {before}");
        reader.fail(place, message, "sort the values and keep each once");
        return None;
    }
    Some(values)
}

/// `steps` values from `from` to `to`, both included.
fn ranged(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    key: &str,
    dimension: Dimension,
    limits: Limits,
) -> Option<Vec<f64>> {
    let table = reader.table(value, key, &["from", "to", "steps", "spacing"])?;
    let from = reader.needed_quantity(&table, "from", dimension, limits);
    let to = reader.needed_quantity(&table, "to", dimension, limits);
    reader.needed(&table, "steps", "10, the number of values with both ends");
    let steps = reader.whole(&table, "steps", 2, MOST);
    let spacing = reader.choice(&table, "spacing", &[("linear", false), ("log", true)]);
    let log = match table.get("spacing") {
        Some(_) => spacing?,
        None => false,
    };
    let (from, to, steps) = (from?, to?, steps?);
    if to <= from {
        let message = format!("the sweep of {key} goes from {} to {}", dimension.show(from), dimension.show(to));
        reader.fail(table.get("to").map(|v| v.span()), message, "make \"to\" larger than \"from\"");
        return None;
    }
    if log && from <= 0.0 {
        let message = format!("the sweep of {key} has log spacing from {}", dimension.show(from));
        reader.fail(table.get("from").map(|v| v.span()), message, "start above zero or write spacing = \"linear\"");
        return None;
    }
    let last = steps - 1;
    let between = |k: usize| {
        let share = k as f64 / last as f64;
        if log { from * (to / from).powf(share) } else { from + share * (to - from) }
    };
    let values: Vec<f64> = (0..steps).map(|k| if k == last { to } else { between(k) }).collect();
    if values.windows(2).any(|pair| pair[1] <= pair[0] || !pair[0].is_finite()) {
        let message = format!("the sweep of {key} has {steps} values too close together to tell apart");
        reader.fail(Some(value.span()), message, "take fewer steps or a wider range");
        return None;
    }
    Some(values)
}
