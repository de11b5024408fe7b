//! Cases of the museum against the frozen figures of a second solution by another library.

use super::cases::{Cases, number};
use super::{Effort, Figure, Outcome};
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// A figure of the second solution.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Frozen {
    /// Stem of the case file in `meshes/`.
    pub case: String,
    /// "shape_factor" or "probe.NAME.KEY".
    pub quantity: String,
    /// Its value.
    pub value: f64,
    /// Its own error estimate.
    pub error: f64,
    /// How and when it was computed.
    pub computed: String,
}

/// Compares one figure. twinplate's error: half its bracket and the outline allowance; at probes the largest change,
/// among all probes of the case, from a bracket ten times as wide: at a single one it can be small by chance.
pub fn outcome(row: &Frozen, effort: Effort, cases: &mut Cases) -> Outcome {
    let obtained = figure(row, effort, cases);
    let (obtained, fault) = match obtained {
        Ok(figure) => (figure, None),
        Err(fault) => (Figure { value: f64::NAN, error: f64::NAN }, Some(fault)),
    };
    Outcome {
        quantity: format!("{} {}", row.case, row.quantity),
        reference: format!("{}", row.value),
        exact: row.value,
        exact_error: row.error,
        obtained,
        kind: "computed".into(),
        fault,
    }
}

fn figure(row: &Frozen, effort: Effort, cases: &mut Cases) -> Result<Figure, String> {
    let file = format!("../../meshes/{}.toml", row.case);
    let none = BTreeMap::new();
    let fine = cases.report(&file, &none, effort.bracket)?;
    if row.quantity == "shape_factor" {
        let [value, lower, upper, allowance] =
            ["value", "lower", "upper", "outline_allowance"].map(|key| number(&fine, &format!("/shape_factor/{key}")));
        return Ok(Figure { value: value?, error: 0.5 * (upper? - lower?) + allowance? });
    }
    let coarse = cases.report(&file, &none, 10.0 * effort.bracket)?;
    let (name, key) = row
        .quantity
        .strip_prefix("probe.")
        .and_then(|rest| rest.rsplit_once('.'))
        .ok_or_else(|| format!("unknown quantity {}", row.quantity))?;
    let here = probe(&fine, name)?;
    let value = number(here, &format!("/{key}"))?;
    let (mut moved, mut changed) = (0.0f64, 0.0f64);
    for (a, b) in probes(&fine).iter().zip(probes(&coarse)) {
        let ([u, v], [x, y]) = (velocity(a)?, velocity(b)?);
        moved = moved.max((u - x).hypot(v - y));
        changed = changed.max((number(a, &format!("/{key}"))? - number(b, &format!("/{key}"))?).abs());
    }
    let error = match key {
        "speed_ratio" => moved,
        "angle_deg" => (moved / velocity(here)?.map(|v| v * v).iter().sum::<f64>().sqrt()).to_degrees(),
        _ => changed,
    };
    Ok(Figure { value, error })
}

fn probes(report: &Value) -> &[Value] {
    report.pointer("/probes").and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn probe<'a>(report: &'a Value, name: &str) -> Result<&'a Value, String> {
    let found = probes(report).iter().find(|p| p.pointer("/name").and_then(Value::as_str) == Some(name));
    found.ok_or_else(|| format!("the report has no probe '{name}'"))
}

fn velocity(probe: &Value) -> Result<[f64; 2], String> {
    let (speed, angle) = (number(probe, "/speed_ratio")?, number(probe, "/angle_deg")?.to_radians());
    Ok([speed * angle.cos(), speed * angle.sin()])
}
