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

/// Compares one figure. twinplate's error: half its bracket and the outline allowance; at probes the change, as a vector, from
/// a bracket ten times as wide.
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
    let (fine, coarse) = (probe(&fine, name)?, probe(&coarse, name)?);
    let value = number(fine, &format!("/{key}"))?;
    let [a, b] = [velocity(fine)?, velocity(coarse)?];
    let moved = (a[0] - b[0]).hypot(a[1] - b[1]);
    let error = match key {
        "speed_ratio" => moved,
        "angle_deg" => (moved / a[0].hypot(a[1])).to_degrees(),
        _ => (value - number(coarse, &format!("/{key}"))?).abs(),
    };
    Ok(Figure { value, error })
}

fn probe<'a>(report: &'a Value, name: &str) -> Result<&'a Value, String> {
    let probes = report.pointer("/probes").and_then(Value::as_array);
    let found = probes.and_then(|list| list.iter().find(|p| p.pointer("/name").and_then(Value::as_str) == Some(name)));
    found.ok_or_else(|| format!("the report has no probe '{name}'"))
}

fn velocity(probe: &Value) -> Result<[f64; 2], String> {
    let (speed, angle) = (number(probe, "/speed_ratio")?, number(probe, "/angle_deg")?.to_radians());
    Ok([speed * angle.cos(), speed * angle.sin()])
}
