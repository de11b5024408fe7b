//! The values that a key takes: listed, in even steps, or the files of a folder.

use crate::base::text::shortened;
use crate::base::units::split_number;
use crate::input::case::{Reader, Table, Value};
use std::path::Path;
use toml::de::DeValue;

/// Most values of one key.
pub const MOST_VALUES: usize = 1_000_000;

/// A value as it stands in a case file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Literal {
    /// In the language of the case file.
    pub toml: String,
    /// For reading: without quotes.
    pub shown: String,
}

impl Literal {
    /// A value as it was written.
    pub(super) fn written(text: &str, value: &Value<'_>) -> Literal {
        let toml = text.get(value.span()).unwrap_or_default().to_owned();
        let shown = value.get_ref().as_str().map_or_else(|| toml.clone(), str::to_owned);
        Literal { toml, shown }
    }

    /// A text.
    pub(super) fn text(text: &str) -> Literal {
        Literal { toml: toml::Value::String(text.to_owned()).to_string(), shown: text.to_owned() }
    }

    /// A number.
    pub fn number(number: f64) -> Literal {
        let toml = toml::Value::Float(number).to_string();
        Literal { shown: toml.strip_suffix(".0").unwrap_or(&toml).to_owned(), toml }
    }

    /// What a reader typed on a command line or in a table: a number, true or false, a list or table of them, or else a text.
    pub fn typed(word: &str) -> Literal {
        let word = word.trim();
        match word.parse::<toml_edit::Value>() {
            Ok(value) if value.as_str().is_none() => Literal { toml: word.to_owned(), shown: word.to_owned() },
            Ok(value) => Literal::text(value.as_str().unwrap_or(word)),
            Err(_) => Literal::text(word),
        }
    }

    /// As a value of a document.
    pub(super) fn value(&self) -> toml_edit::Value {
        self.toml.parse().unwrap_or_else(|_| self.shown.clone().into())
    }
}

/// The values of a key: `[..]`, `{ from, to, steps }`, `{ from, to, step }` or `{ files = "outlines/*.svg" }`, which is relative to the
/// case.
pub(super) fn values(
    reader: &mut Reader<'_>,
    text: &str,
    key: &str,
    value: &Value<'_>,
    case_folder: &Path,
) -> Option<Vec<Literal>> {
    if let Some(list) = value.get_ref().as_array() {
        if list.is_empty() || list.len() > MOST_VALUES {
            let message = format!("{key} has {} values and must have 1 to {MOST_VALUES}", list.len());
            reader.fail(Some(value.span()), message, "list the values it takes, one after the other");
            return None;
        }
        return Some(list.iter().map(|value| Literal::written(text, value)).collect());
    }
    let table = value.get_ref().as_table();
    if !table.is_some_and(|table| ["from", "to", "files"].iter().any(|key| table.contains_key(*key))) {
        let remedy = "write a list, { from = .., to = .., steps = 5 }, or { files = \"outlines/*.svg\" }";
        reader.wrong_type(value, key, "a list of values, a range or files", remedy);
        return None;
    }
    let table = reader.table(value, key, &["from", "to", "steps", "step", "spacing", "files"])?;
    match table.get("files") {
        Some(files) => matching(reader, files, case_folder),
        None => range(reader, &table, key),
    }
}

/// An end of a range: a number, and its unit if it has one.
pub(super) fn end<'d>(reader: &mut Reader<'_>, table: &Table<'d>, name: &str) -> Option<(f64, &'d str)> {
    let value = reader.needed(table, name, "\"1 mm\"")?;
    let read = match value.get_ref() {
        DeValue::String(text) => {
            let (number, unit) = split_number(text.trim());
            number.parse::<f64>().ok().map(|number| (number, unit))
        }
        DeValue::Integer(number) => number.as_str().parse().ok().map(|number| (number, "")),
        DeValue::Float(number) => number.as_str().parse().ok().map(|number| (number, "")),
        _ => None,
    };
    let read = read.filter(|(number, _)| number.is_finite());
    if read.is_none() {
        reader.fail(Some(value.span()), format!("{name} is no number"), "write a number, or one with a unit in quotes");
    }
    read
}

/// `steps` values with both ends, or steps of so much.
fn range(reader: &mut Reader<'_>, table: &Table<'_>, key: &str) -> Option<Vec<Literal>> {
    let (from, to) = (end(reader, table, "from"), end(reader, table, "to"));
    let ((from, unit), (to, unit_to)) = (from?, to?);
    let place = table.get("to").map(|value| value.span());
    if unit != unit_to {
        let message = format!("the range of {key} goes from \"{unit}\" to \"{unit_to}\"");
        reader.fail(place, message, "give both ends in the same unit");
        return None;
    }
    let spacing = reader.choice(table, "spacing", &[("linear", false), ("log", true)]).unwrap_or(false);
    if spacing && (from <= 0.0 || to <= 0.0) {
        reader.fail(
            place,
            format!("the range of {key} from {from} to {to} has no logarithm"),
            "keep both ends above zero",
        );
        return None;
    }
    if let Some(both) = table.key_span("step").filter(|_| table.get("steps").is_some()) {
        reader.fail(Some(both), format!("{key} has both \"steps\" and \"step\""), "keep one of them");
        return None;
    }
    let steps = if table.get("step").is_some() {
        let (step, step_unit) = end(reader, table, "step")?;
        let place = table.get("step").map(|value| value.span());
        let count = (to - from) / step;
        if step_unit != unit || spacing {
            let remedy = "give the step in the unit of the ends; steps of equal ratio are told by steps and spacing";
            reader.fail(place, format!("the step of {key} is in \"{step_unit}\""), remedy);
            return None;
        }
        if !(count.is_finite() && count >= 0.0 && count < MOST_VALUES as f64) {
            let message = format!("steps of {step} lead from {from} to {to} in {count:.3e} steps");
            reader.fail(place, message, format!("choose a step that takes 1 to {MOST_VALUES}"));
            return None;
        }
        // the last value is the end itself where rounding alone parts them
        let whole = (count + 1e-9).floor();
        return Some((0..=whole as usize).map(|k| said(from + k as f64 * step, unit)).collect());
    } else {
        reader.needed(table, "steps", "5, the number of values with both ends")?;
        reader.whole(table, "steps", 2, MOST_VALUES)?
    };
    let at = |k: usize| {
        let t = k as f64 / (steps - 1) as f64;
        match (k, spacing) {
            (0, _) => from,
            (k, _) if k + 1 == steps => to,
            (_, false) => from + t * (to - from),
            (_, true) => from * (to / from).powf(t),
        }
    };
    Some((0..steps).map(|k| said(at(k), unit)).collect())
}

/// A number to twelve digits, which take the rounding of the steps away.
fn said(number: f64, unit: &str) -> Literal {
    let number = format!("{number:.11e}").parse().unwrap_or(number);
    if unit.is_empty() { Literal::number(number) } else { Literal::text(&format!("{number} {unit}")) }
}

/// The files of a folder whose names fit, in order of name.
fn matching(reader: &mut Reader<'_>, value: &Value<'_>, case_folder: &Path) -> Option<Vec<Literal>> {
    let pattern = reader.text(value, "files")?;
    let (folder, name) = pattern.rsplit_once('/').map_or(("", pattern), |(folder, name)| (folder, name));
    let Some((start, end)) = name.split_once('*').filter(|(_, end)| !end.contains('*') && !folder.contains('*')) else {
        let message = format!("files is \"{}\"", shortened(pattern));
        reader.fail(Some(value.span()), message, "write one * in the name of the files: \"outlines/*.svg\"");
        return None;
    };
    let place = case_folder.join(folder);
    let entries = match std::fs::read_dir(if place.as_os_str().is_empty() { Path::new(".") } else { &place }) {
        Ok(entries) => entries,
        Err(error) => {
            let message = format!("the folder {} cannot be read: {error}", place.display());
            reader.fail(Some(value.span()), message, "check the name; it is relative to the folder of the case");
            return None;
        }
    };
    let fits = |name: &String| {
        name.len() >= start.len() + end.len()
            && name.starts_with(start)
            && name.ends_with(end)
            && !name.starts_with('.')
    };
    let names = entries.flatten().filter(|entry| entry.path().is_file());
    let mut names: Vec<String> = names.filter_map(|entry| entry.file_name().into_string().ok()).filter(fits).collect();
    names.sort();
    if names.is_empty() {
        let message = format!("no file fits \"{}\" in {}", shortened(pattern), place.display());
        reader.fail(Some(value.span()), message, "check the pattern; it is relative to the folder of the case");
        return None;
    }
    let within = |name: String| if folder.is_empty() { name } else { format!("{folder}/{name}") };
    Some(names.into_iter().map(|name| Literal::text(&within(name))).collect())
}
