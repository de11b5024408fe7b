//! The schema of reports, from the rows that they are written from.

use super::headed;
use crate::base::row::{Layout, Row, Section, Text, Value as Held};
use serde_json::{Map, Value, json};

/// Joined from the reports of all commands on all demos; `tests/schema` holds it against them, and writes it.
const KEPT: &str = include_str!("report.json");

/// Sections that every report has that is about a solved pattern, with all their rows. Others leave out rows that have no value for some
/// case, so that of them no key is needed.
const PROMISED: [&str; 10] =
    ["program", "case", "cell", "fluid", "mesh", "reynolds", "drive", "shape_factor", "probes", "warnings"];

/// The schema of `report.json` and `rig.json`, as what `--json` prints. What only some cases have is described and not asked for.
pub fn report_schema() -> Value {
    let kept: Value = serde_json::from_str(KEPT).unwrap_or_default();
    headed("A report of twinplate", kept)
}

/// The schema that one report fulfils, made from its sections: of those that are promised every key is needed.
pub fn of_sections(sections: &[Section]) -> Value {
    let mut properties = Map::new();
    entries(&[], sections, &mut properties);
    let is_promised = |key: &String| PROMISED.contains(&key.as_str());
    properties.iter_mut().filter(|(key, _)| !is_promised(key)).for_each(|(_, schema)| not_needed(schema));
    let mut schema = object(properties);
    if let Some(Value::Array(needed)) = schema.get_mut("required") {
        needed.retain(|key| key.as_str().is_some_and(|key| PROMISED.contains(&key)));
    }
    schema
}

/// Takes away what a schema needs, here and below.
fn not_needed(schema: &mut Value) {
    let Value::Object(map) = schema else { return };
    map.remove("required");
    if let Some(items) = map.get_mut("items") {
        not_needed(items);
    }
    if let Some(Value::Object(properties)) = map.get_mut("properties") {
        properties.values_mut().for_each(not_needed);
    }
}

fn object(properties: Map<String, Value>) -> Value {
    let keys: Vec<&String> = properties.keys().collect();
    json!({"type": ["object"], "required": keys, "properties": properties})
}

/// As the writer of JSON puts rows and sections into an object.
fn entries(rows: &[Row], sections: &[Section], properties: &mut Map<String, Value>) {
    for row in rows {
        properties.insert(row.key.clone().into_owned(), of_row(row));
    }
    for section in sections {
        let mut below = match section.layout {
            Layout::Record if section.key.is_empty() => {
                entries(&section.rows, &section.parts, properties);
                continue;
            }
            Layout::Record => record(&section.rows, &section.parts),
            Layout::Table => {
                let parts = section.parts.iter().map(|part| record(&part.rows, &part.parts));
                parts
                    .reduce(joined)
                    .map_or_else(|| json!({"type": ["array"]}), |items| json!({"type": ["array"], "items": items}))
            }
        };
        describe(&mut below, fixed(&section.title).to_owned());
        properties.insert(section.key.clone().into_owned(), below);
    }
}

fn record(rows: &[Row], parts: &[Section]) -> Value {
    let mut properties = Map::new();
    entries(rows, parts, &mut properties);
    object(properties)
}

fn of_row(row: &Row) -> Value {
    let mut schema = of_value(&row.value);
    let (name, meaning) = (fixed(&row.name), fixed(&row.meaning));
    let joint = if name.is_empty() || meaning.is_empty() { "" } else { ": " };
    describe(&mut schema, format!("{name}{joint}{meaning}"));
    if !row.kind.unit().is_empty() {
        schema["unit"] = json!(row.kind.unit());
    }
    schema
}

/// A text that is the same in every report; others tell of one case.
fn fixed(text: &Text) -> &str {
    match text {
        Text::Borrowed(text) => text,
        Text::Owned(_) => "",
    }
}

fn describe(schema: &mut Value, text: String) {
    if !text.is_empty() {
        schema["description"] = json!(text);
    }
}

fn of_value(value: &Held) -> Value {
    match value {
        Held::Number(_) => json!({"type": ["number"]}),
        Held::Count(_) => json!({"type": ["integer"]}),
        Held::Flag(_) => json!({"type": ["boolean"]}),
        Held::Text(_) | Held::Word(_) => json!({"type": ["string"]}),
        Held::List(list) => list
            .iter()
            .map(of_value)
            .reduce(joined)
            .map_or_else(|| json!({"type": ["array"]}), |items| json!({"type": ["array"], "items": items})),
    }
}

/// The schema of what fulfils one of two of this kind: the keys of both, needed where both need them. Of two texts the first stays.
pub fn joined(first: Value, second: Value) -> Value {
    let (Value::Object(mut first), Value::Object(second)) = (first, second) else { return Value::Null };
    let is_object = |map: &Map<String, Value>| types(map).iter().any(|kind| kind == "object");
    let needed = match (is_object(&first), is_object(&second)) {
        (true, true) => {
            let other = list(&second, "required");
            list(&first, "required").into_iter().filter(|key| other.contains(key)).collect()
        }
        (true, false) => list(&first, "required"),
        (false, _) => list(&second, "required"),
    };
    let mut kinds = types(&first);
    kinds.extend(types(&second).into_iter().filter(|kind| !types(&first).contains(kind)));
    if kinds.iter().any(|kind| kind == "number") {
        kinds.retain(|kind| kind != "integer");
    }
    for (key, value) in second {
        match first.get_mut(&key) {
            None => {
                first.insert(key, value);
            }
            Some(own) if key == "items" => *own = joined(own.take(), value),
            Some(Value::Object(own)) if key == "properties" => join_each(own, value),
            Some(_) => {}
        }
    }
    first.insert("type".into(), kinds.into());
    first.remove("required");
    if !needed.is_empty() {
        first.insert("required".into(), needed.into());
    }
    first.into()
}

fn join_each(own: &mut Map<String, Value>, others: Value) {
    let Value::Object(others) = others else { return };
    for (key, value) in others {
        match own.get_mut(&key) {
            Some(known) => *known = joined(known.take(), value),
            None => {
                own.insert(key, value);
            }
        }
    }
}

fn list(map: &Map<String, Value>, key: &str) -> Vec<Value> {
    map.get(key).and_then(Value::as_array).cloned().unwrap_or_default()
}

fn types(map: &Map<String, Value>) -> Vec<Value> {
    list(map, "type")
}
