//! Sections of rows as JSON: every number with its unit at the end of its key, in a fixed order, the digits that give it back exactly.
//!
//! A number that does not exist is left out, never null; one that is not finite is an error with its path.

use crate::base::row::{Layout, Section, Value, walk};
use crate::base::{Error, Result};
use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};

/// A report as indented JSON with a line break at the end.
///
/// # Errors
/// [`Error::Failed`] with the path of the first number that is not finite.
pub fn json(sections: &[Section]) -> Result<String> {
    let mut wrong = None;
    walk(sections, &mut |path, row| {
        if wrong.is_none() && !row.value.is_finite() {
            wrong = Some(path.to_owned());
        }
    });
    if let Some(path) = wrong {
        return Err(Error::failed(
            format!("the report cannot be written: {path} is not a finite number"),
            "check the case for extreme lengths, speeds or viscosities; twinplate check prints them in SI",
        ));
    }
    let text = serde_json::to_string_pretty(&Record(&[], sections));
    text.map(|text| text + "\n")
        .map_err(|e| Error::failed(format!("the report cannot be written: {e}"), "report this as a fault"))
}

/// An object of rows and of sections by their keys; what a section without a key holds stands on this level.
struct Record<'a>(&'a [crate::base::row::Row], &'a [Section]);

impl Serialize for Record<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        entries(&mut map, self.0, self.1)?;
        map.end()
    }
}

fn entries<M: SerializeMap>(
    map: &mut M,
    rows: &[crate::base::row::Row],
    sections: &[Section],
) -> std::result::Result<(), M::Error> {
    for row in rows {
        map.serialize_entry(&*row.key, &Plain(&row.value))?;
    }
    for section in sections {
        match (section.layout, &*section.key) {
            (Layout::Record, "") => entries(map, &section.rows, &section.parts)?,
            (Layout::Record, key) => map.serialize_entry(key, &Record(&section.rows, &section.parts))?,
            (Layout::Table, key) => map.serialize_entry(key, &Entries(&section.parts))?,
        }
    }
    Ok(())
}

/// The entries of a table.
pub(super) struct Entries<'a>(pub &'a [Section]);

impl Serialize for Entries<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let mut list = serializer.serialize_seq(Some(self.0.len()))?;
        for entry in self.0 {
            list.serialize_element(&Record(&entry.rows, &entry.parts))?;
        }
        list.end()
    }
}

/// A value by itself.
struct Plain<'a>(&'a Value);

impl Serialize for Plain<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        match self.0 {
            Value::Number(x) => serializer.serialize_f64(*x),
            Value::Count(n) => serializer.serialize_u64(*n),
            Value::Flag(flag) => serializer.serialize_bool(*flag),
            Value::Text(text) => serializer.serialize_str(text),
            Value::Word(word) => serializer.serialize_str(word),
            Value::List(list) => serializer.collect_seq(list.iter().map(Plain)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::row::{Kind, Row};

    #[test]
    fn sections_become_objects_and_lists() {
        let probe =
            |x: f64| vec![Row::new("name", "", "a", Kind::Number), Row::new("at_m", "", [x, 0.5], Kind::Number)];
        let report = [
            Section::new("", "", vec![Row::script("n", 3usize)]),
            Section::table("probes", "", [probe(0.25)]),
            Section::new("drive", "", vec![Row::script("ok", true)]).with(vec![Section::new(
                "inner",
                "",
                vec![Row::script("words", Value::texts(["x", "y"]))],
            )]),
        ];
        let text = json(&report).unwrap();
        let back: serde_json::Value = serde_json::from_str(&text).unwrap();
        let expected = serde_json::json!({"n": 3, "probes": [{"name": "a", "at_m": [0.25, 0.5]}],
            "drive": {"ok": true, "inner": {"words": ["x", "y"]}}});
        assert_eq!(back, expected);
        assert!(text.ends_with("}\n"));
    }

    #[test]
    fn what_is_not_finite_is_named() {
        let mut section = Section::new("drive", "", Vec::new());
        section.rows.push(Row::script("head_m", f64::INFINITY));
        let message = json(&[section]).unwrap_err().to_string();
        assert!(message.contains("drive.head_m is not a finite number"), "{message}");
    }
}
