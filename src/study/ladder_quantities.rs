//! Which numbers of a report a convergence study follows, and how it finds them.

use super::ladder::{LadderSettings, Quantity};
use crate::base::{Error, Result};
use crate::theory::convergence::{Kind, judge};
use serde_json::Value;

/// The quantities of a report that are studied.
pub(super) fn quantities(report: &Value, wish: &LadderSettings) -> Result<Vec<Quantity>> {
    let mut list = Vec::new();
    let mut add = |name: String, key: String, kind: Kind| {
        if number_at(report, &key).is_some() {
            let unit = unit_of(&key);
            let judgement = judge(&[], &[], 2.0, 0.0);
            list.push(Quantity { name, unit, expected: 2.0, judgement, key, kind });
        }
    };
    add("shape_factor".into(), "shape_factor.value".into(), Kind::Pattern);
    for bound in ["lower", "upper"] {
        add(format!("shape_factor.{bound}"), format!("shape_factor.{bound}"), Kind::Pattern);
    }
    let names = |of: &Value| -> Vec<String> {
        let list = of.as_array().map(Vec::as_slice).unwrap_or_default();
        list.iter().filter_map(|entry| entry["name"].as_str().map(str::to_owned)).collect()
    };
    for name in names(&report["probes"]) {
        add(format!("probe.{name}.pressure"), format!("probes.{name}.pressure_pa"), Kind::Pattern);
        add(format!("probe.{name}.speed_ratio"), format!("probes.{name}.speed_ratio"), Kind::Pattern);
    }
    add("edge_layer.shape_factor".into(), "edge_layer.shape_factor".into(), Kind::EdgeLayer);
    for name in names(&report["edge_layer"]["probes"]) {
        let own = format!("edge_layer.probe.{name}.speed_ratio");
        add(own, format!("edge_layer.probes.{name}.speed_ratio"), Kind::EdgeLayer);
    }
    for name in names(&report["inertia"]["probes"]) {
        for (short, long) in [("pressure", "pressure_pa"), ("midplane_speed_ratio", "midplane_speed_ratio")] {
            add(format!("inertia.probe.{name}.{short}"), format!("inertia.probes.{name}.{long}"), Kind::Pattern);
        }
    }
    for name in names(&report["departure"]["contributions"]) {
        for measure in ["speed_rms", "speed_max", "direction_max_deg", "shift_max_m", "pressure_coefficient_max"] {
            let key = format!("departure.contributions.{name}.{measure}");
            add(format!("departure.{name}.{measure}"), key, Kind::Region);
        }
    }
    for key in &wish.also {
        if number_at(report, key).is_none() {
            return Err(Error::Usage(format!(
                "the report has no number under the key \"{key}\"\nremedy: join the keys of report.json by dots and name entries of lists, say \
                 drive.pressure_drop_pa or probes.NAME.angle_deg; keys of corrections need --inertia, --edge-layer or --departure"
            )));
        }
        let kind = match key.split('.').next() {
            Some("departure" | "sweep") => Kind::Region,
            Some("edge_layer") => Kind::EdgeLayer,
            _ => Kind::Pattern,
        };
        add(key.clone(), key.clone(), kind);
    }
    Ok(list)
}

/// A number in JSON by keys joined by dots; an entry of a list goes by its `name`, its `obstacle` or its position. Names may hold dots.
pub(super) fn number_at(value: &Value, path: &str) -> Option<f64> {
    let below = |key: &str, inner: &Value| {
        if path == key {
            return inner.as_f64();
        }
        path.strip_prefix(key).and_then(|rest| rest.strip_prefix('.')).and_then(|rest| number_at(inner, rest))
    };
    match value {
        Value::Object(map) => map.iter().find_map(|(key, inner)| below(key, inner)),
        Value::Array(list) => list.iter().enumerate().find_map(|(k, inner)| {
            let name = ["name", "obstacle"].into_iter().find_map(|key| inner[key].as_str());
            name.and_then(|name| below(name, inner)).or_else(|| below(&k.to_string(), inner))
        }),
        _ => None,
    }
}

/// The unit at the end of a key of the report.
fn unit_of(key: &str) -> String {
    const UNITS: [(&str, &str); 10] = [
        ("_m2_per_s", "m2/s"),
        ("_m3_per_s", "m3/s"),
        ("_n_per_m", "N/m"),
        ("_kg_per_m3", "kg/m3"),
        ("_m_per_s", "m/s"),
        ("_pa_s", "Pa s"),
        ("_pa", "Pa"),
        ("_deg", "deg"),
        ("_s", "s"),
        ("_m", "m"),
    ];
    UNITS.iter().find(|(end, _)| key.ends_with(end)).map_or("1", |(_, unit)| unit).to_owned()
}
