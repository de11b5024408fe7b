//! As much of JSON Schema 2020-12 as the two schemas use; any other keyword is a mistake, so that none goes unchecked.

use regex::bytes::Regex;
use serde_json::Value;

/// Every place at which a document is not what its schema says.
pub fn faults(schema: &Value, document: &Value) -> Vec<String> {
    let mut found = Vec::new();
    check(schema, document, "", &mut found);
    found
}

fn holds(schema: &Value, document: &Value) -> bool {
    faults(schema, document).is_empty()
}

fn check(schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    let list = |of: &Value| of.as_array().unwrap().clone();
    for (keyword, said) in schema.as_object().unwrap() {
        let number = || value.as_f64().zip(said.as_f64());
        let fault = match keyword.as_str() {
            "$schema" | "title" | "description" | "unit" => None,
            "type" => {
                let kinds = if said.is_array() { list(said) } else { vec![said.clone()] };
                (!kinds.iter().any(|kind| is(value, kind.as_str().unwrap()))).then(|| format!("is none of {said}"))
            }
            "enum" => (!list(said).contains(value)).then(|| format!("{value} is none of {said}")),
            "pattern" => value.as_str().and_then(|text| {
                let pattern = Regex::new(&format!("(?-u){}", said.as_str().unwrap())).unwrap();
                (!pattern.is_match(text.as_bytes())).then(|| format!("{value} does not match {said}"))
            }),
            "minimum" => number().filter(|(x, least)| x < least).map(|_| format!("{value} is below {said}")),
            "maximum" => number().filter(|(x, most)| x > most).map(|_| format!("{value} is above {said}")),
            "exclusiveMinimum" => number().filter(|(x, low)| x <= low).map(|_| format!("{value} is not above {said}")),
            "exclusiveMaximum" => {
                number().filter(|(x, high)| x >= high).map(|_| format!("{value} is not below {said}"))
            }
            "minItems" => {
                value.as_array().filter(|a| (a.len() as u64) < said.as_u64().unwrap()).map(|_| "is too short".into())
            }
            "maxItems" => {
                value.as_array().filter(|a| a.len() as u64 > said.as_u64().unwrap()).map(|_| "is too long".into())
            }
            "items" => {
                let items = value.as_array().into_iter().flatten().enumerate();
                items.for_each(|(k, item)| check(said, item, &format!("{at}[{k}]"), found));
                None
            }
            "properties" => {
                for (key, schema) in said.as_object().unwrap() {
                    if let Some(inner) = value.as_object().and_then(|map| map.get(key)) {
                        check(schema, inner, &format!("{at}.{key}"), found);
                    }
                }
                None
            }
            "additionalProperties" => {
                assert_eq!(said, &Value::Bool(false));
                let known = schema["properties"].as_object().unwrap();
                let unknown = value.as_object().into_iter().flatten().find(|(key, _)| !known.contains_key(*key));
                unknown.map(|(key, _)| format!("has the unknown key {key}"))
            }
            "required" => {
                let map = value.as_object();
                let lacks = |key: &&Value| map.is_some_and(|map| !map.contains_key(key.as_str().unwrap()));
                list(said).iter().find(lacks).map(|key| format!("lacks {key}"))
            }
            "anyOf" => {
                (!list(said).iter().any(|one| holds(one, value))).then(|| format!("{value} has none of the forms"))
            }
            "oneOf" => (list(said).iter().filter(|one| holds(one, value)).count() != 1)
                .then(|| "does not have exactly one of the forms".into()),
            "allOf" => {
                list(said).iter().for_each(|one| check(one, value, at, found));
                None
            }
            other => panic!("the checker does not know the keyword {other}"),
        };
        found.extend(fault.map(|fault| format!("{at} {fault}")));
    }
}

fn is(value: &Value, kind: &str) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        other => panic!("no kind of value is called {other}"),
    }
}
