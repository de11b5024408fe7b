//! The schema of the case file, from what its reader asks.

use super::{headed, meaning};
use crate::base::units::Dimension;
use crate::input::case::{Asked, Form, Limits, Question, questions};
use serde_json::{Map, Value, json};

/// How a text with a unit begins and goes on; a fraction may stand alone in quotes.
const WITH_UNIT: &str = r"^\s*[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?\s*[^\s\d].*$";
const FRACTION: &str = r"^\s*[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?.*$";

/// The schema of a case as the JSON that its TOML stands for.
pub fn case_schema() -> Value {
    headed("A case of twinplate", Schema { asked: questions() }.at("", ""))
}

struct Schema {
    asked: Vec<Asked>,
}

/// What one table was asked for.
#[derive(Default)]
struct Visit {
    needed: Vec<String>,
    one_of: Vec<Vec<String>>,
}

/// A kind of table at a path, over all that were read.
struct Kind {
    name: String,
    keys: Vec<String>,
    visits: Vec<Visit>,
}

impl Schema {
    /// What may stand at a path, with its meaning; `key` is the key that leads there.
    fn at(&self, path: &str, key: &str) -> Value {
        let mut forms: Vec<Value> = Vec::new();
        let mut add = |form: Value| {
            if !forms.contains(&form) {
                forms.push(form);
            }
        };
        let asked = || self.asked.iter().filter(|(at, _)| at == path).map(|(_, question)| question);
        let is_pair = asked().any(|question| *question == Question::Value(Form::Pair));
        for question in asked() {
            if let Question::Value(form) = question
                && let Some(form) = scalar(form)
            {
                add(form);
            }
        }
        self.kinds(path).iter().for_each(|kind| add(self.table(kind, path)));
        let entry = format!("{path}[]");
        if self.asked.iter().any(|(at, _)| at.starts_with(&entry)) {
            let item = self.at(&entry, "");
            if asked().any(|question| *question == Question::Value(Form::Tables)) {
                add(item.clone());
            }
            add(if is_pair {
                json!({"type": "array", "items": item, "minItems": 2, "maxItems": 2})
            } else {
                json!({"type": "array", "items": item})
            });
        }
        let mut schema = match forms.len() {
            1 => forms.swap_remove(0),
            _ => json!({ "anyOf": forms }),
        };
        if let (Some(text), Value::Object(map)) = (meaning(path, key), &mut schema) {
            let limits = map.get("description").and_then(Value::as_str).map(|limits| format!(": {limits}"));
            map.insert("description".into(), format!("{text}{}", limits.unwrap_or_default()).into());
        }
        schema
    }

    /// The kinds of tables that were read at a path.
    fn kinds(&self, path: &str) -> Vec<Kind> {
        let mut kinds: Vec<Kind> = Vec::new();
        let mut now = None;
        for (_, question) in self.asked.iter().filter(|(at, _)| at == path) {
            match question {
                Question::Table(name, keys) => {
                    let known = kinds.iter().position(|kind| kind.name == *name);
                    let k = known.unwrap_or_else(|| {
                        kinds.push(Kind { name: name.clone(), keys: keys.clone(), visits: Vec::new() });
                        kinds.len() - 1
                    });
                    kinds[k].visits.push(Visit::default());
                    now = Some(k);
                }
                Question::Needed(key) => visit(&mut kinds, now, |visit| visit.needed.push(key.clone())),
                Question::OneOf(keys) => visit(&mut kinds, now, |visit| visit.one_of.push(keys.clone())),
                Question::Value(_) => {}
            }
        }
        kinds
    }

    fn table(&self, kind: &Kind, path: &str) -> Value {
        let below = |key: &String| if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        let properties: Map<String, Value> =
            kind.keys.iter().map(|key| (key.clone(), self.at(&below(key), key))).collect();
        let mut table = json!({"type": "object", "properties": properties, "additionalProperties": false});
        // what every table of the kind was asked for
        let always = |test: &dyn Fn(&Visit) -> bool| kind.visits.iter().all(test);
        let Some(first) = kind.visits.first() else { return table };
        let needed: Vec<&String> = first.needed.iter().filter(|key| always(&|v| v.needed.contains(key))).collect();
        let one_of = first.one_of.iter().filter(|keys| always(&|v| v.one_of.contains(keys)));
        let one = |keys: &Vec<String>| {
            let each: Vec<Value> = keys.iter().map(|key| json!({"required": [key]})).collect();
            json!({ "oneOf": each })
        };
        let one_of: Vec<Value> = one_of.map(one).collect();
        if !needed.is_empty() {
            table["required"] = json!(needed);
        }
        if !one_of.is_empty() {
            table["allOf"] = json!(one_of);
        }
        table
    }
}

fn visit(kinds: &mut [Kind], now: Option<usize>, note: impl FnOnce(&mut Visit)) {
    if let Some(visit) = now.and_then(|k| kinds[k].visits.last_mut()) {
        note(visit);
    }
}

/// The schema of a single value; none for a form that says how several stand together.
fn scalar(form: &Form) -> Option<Value> {
    Some(match form {
        Form::Quantity(dimension, limits) => quantity(*dimension, *limits),
        Form::Text => json!({"type": "string"}),
        Form::Word(words) => json!({ "enum": words }),
        Form::Switch => json!({"type": "boolean"}),
        Form::Whole(lowest, highest) => json!({"type": "integer", "minimum": lowest, "maximum": highest}),
        Form::Tolerances => {
            let amount = json!([{"type": "number", "exclusiveMinimum": 0}, {"type": "string", "pattern": FRACTION}]);
            let spread = json!({ "enum": ["normal", "uniform"] });
            let table = json!({
                "type": "object",
                "additionalProperties": false,
                "required": ["tolerance"],
                "properties": { "tolerance": { "anyOf": amount }, "spread": spread },
            });
            json!({"type": "object", "additionalProperties": { "anyOf": [amount[0], amount[1], table] }})
        }
        Form::Pair | Form::Tables => return None,
    })
}

fn quantity(dimension: Dimension, limits: Limits) -> Value {
    let plain = |value: f64| if dimension == Dimension::Angle { value.to_degrees() } else { value };
    let mut number = json!({"type": "number"});
    let mut limit = |key: &str, value: f64| number[key] = json!(plain(value));
    match limits {
        Limits::Any => {}
        Limits::Positive => limit("exclusiveMinimum", 0.0),
        Limits::NotNegative => limit("minimum", 0.0),
        Limits::Within(low, high) => {
            limit("minimum", low);
            limit("maximum", high);
        }
        Limits::Between(low, high) => {
            limit("exclusiveMinimum", low);
            limit("exclusiveMaximum", high);
        }
    }
    let is_fraction = dimension == Dimension::Fraction;
    let text = json!({"type": "string", "pattern": if is_fraction { FRACTION } else { WITH_UNIT }});
    let unit =
        if is_fraction { String::new() } else { format!("; a number without a unit is in {}", dimension.plain_unit()) };
    let said = format!("{} such as {}, {}{unit}", dimension.name(), dimension.example(), limits.said(dimension));
    json!({"description": said, "anyOf": [number, text]})
}
