//! Keys of a case by their path, `obstacle.seal.angle`, and a case with other values under them.
//!
//! Tables of a list go by their `name` or by their position from 0; a key that stands in the shape of an obstacle may be named as if it
//! stood in the obstacle itself. Keys that the case leaves out are put where they belong. All else of the text stays as it is.

use crate::input::case::{Question, nearest, questions};
use std::collections::BTreeMap;
use std::sync::OnceLock;
use toml_edit::{DocumentMut, Item, Value};

/// The keys that each table of a case may have, by its path: `obstacle[].circle`, empty for the case itself.
fn allowed(path: &str) -> &'static [String] {
    static TABLES: OnceLock<BTreeMap<String, Vec<String>>> = OnceLock::new();
    let tables = TABLES.get_or_init(|| {
        let mut tables: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (path, question) in questions() {
            if let Question::Table(_, keys) = question {
                let known = tables.entry(path).or_default();
                keys.into_iter().for_each(|key| {
                    if !known.contains(&key) {
                        known.push(key)
                    }
                });
            }
        }
        tables
    });
    // a single table stands for a list of one
    let known = tables.get(path).or_else(|| tables.get(&path.replacen("obstacle", "obstacle[]", 1)));
    known.map_or(&[], |keys| keys.as_slice())
}

/// A step into a case.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Step {
    Key(String),
    Index(usize),
}

/// A key of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// As it was typed.
    pub typed: String,
    /// Its path for the reader of cases: keys joined by dots, `[]` for the entries of a list.
    pub path: String,
    steps: Vec<Step>,
}

/// A path that leads to no key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Lost {
    /// What is missing where.
    pub message: String,
    /// What was meant, or what there is.
    pub remedy: String,
}

impl Key {
    /// The key under a path of a case.
    pub(super) fn find(case: &DocumentMut, typed: &str) -> Result<Key, Lost> {
        let segments = segments(typed);
        let mut key = Key { typed: typed.to_owned(), path: String::new(), steps: Vec::new() };
        let mut item = Some(case.as_item());
        for (k, segment) in segments.iter().enumerate() {
            let last = k + 1 == segments.len();
            item = key.step(item, segment, last).map_err(|known| lost(typed, &segments, k, &known))?;
        }
        if item.is_some_and(|item| item.is_table() || item.is_array_of_tables()) || segments.is_empty() {
            let known = item.map(|item| keys_in(item, &key.path)).unwrap_or_default();
            let message = format!("\"{typed}\" is a table of the case, not one of its keys");
            return Err(Lost { message, remedy: format!("name a key in it: {}", known.join(", ")) });
        }
        Ok(key)
    }

    /// Goes one step further; where there is no such way, the names that there are.
    fn step<'d>(&mut self, item: Option<&'d Item>, segment: &str, last: bool) -> Result<Option<&'d Item>, Vec<String>> {
        let Some(item) = item else {
            // a table that the case leaves out
            return if allowed(&self.path).iter().any(|key| key == segment) {
                self.push(segment);
                Ok(None)
            } else {
                Err(allowed(&self.path).to_vec())
            };
        };
        if let Some(length) = length(item) {
            let named = (0..length).find(|&k| name_of(item.get(k)) == Some(segment));
            let found = named.or_else(|| segment.parse().ok().filter(|&k| k < length));
            let Some(index) = found else { return Err(names(item, length)) };
            self.steps.push(Step::Index(index));
            self.path += "[]";
            return Ok(item.get(index));
        }
        let Some(table) = item.as_table_like() else { return Err(Vec::new()) };
        if let Some(below) = table.get(segment) {
            self.push(segment);
            return Ok(Some(below));
        }
        // a single table in place of a list of one
        if !last && name_of(Some(item)) == Some(segment) {
            return Ok(Some(item));
        }
        if allowed(&self.path).iter().any(|key| key == segment) {
            self.push(segment);
            return Ok(None);
        }
        let tables = table.iter().filter(|(_, below)| below.is_table_like());
        let holds = |(key, below): &(&str, &Item)| {
            let path = joined(&self.path, key);
            below.get(segment).is_some() || allowed(&path).iter().any(|known| known == segment)
        };
        let mut with = tables.filter(holds);
        match (with.next(), with.next()) {
            (Some((key, below)), None) => {
                let key = key.to_owned();
                self.push(&key);
                self.step(Some(below), segment, last)
            }
            _ => {
                let mut known = keys_in(item, &self.path);
                for (key, below) in table.iter().filter(|(_, below)| below.is_table_like()) {
                    known.extend(keys_in(below, &joined(&self.path, key)));
                }
                Err(known)
            }
        }
    }

    fn push(&mut self, key: &str) {
        self.path = joined(&self.path, key);
        self.steps.push(Step::Key(key.to_owned()));
    }

    /// The value that a case has under this key, as it is written there.
    pub(super) fn value<'d>(&self, case: &'d DocumentMut) -> Option<&'d Value> {
        let mut item = case.as_item();
        for step in &self.steps {
            item = match step {
                Step::Key(key) => item.get(key.as_str())?,
                Step::Index(index) => item.get(*index)?,
            };
        }
        item.as_value()
    }

    /// Puts another value in its place; what stands around the old one stays.
    pub(super) fn put(&self, case: &mut DocumentMut, value: &Value) {
        let mut item = case.as_item_mut();
        for step in &self.steps {
            item = match step {
                Step::Key(key) => {
                    if item.is_none() {
                        *item = toml_edit::table();
                    }
                    &mut item[key.as_str()]
                }
                Step::Index(index) => &mut item[*index],
            };
        }
        let mut value = value.clone();
        if let Some(old) = item.as_value() {
            *value.decor_mut() = old.decor().clone();
        }
        *item = Item::Value(value);
    }
}

fn joined(above: &str, key: &str) -> String {
    if above.is_empty() { key.to_owned() } else { format!("{above}.{key}") }
}

/// The entries of a list.
fn length(item: &Item) -> Option<usize> {
    match item {
        Item::ArrayOfTables(list) => Some(list.len()),
        Item::Value(Value::Array(list)) => Some(list.len()),
        _ => None,
    }
}

fn name_of(item: Option<&Item>) -> Option<&str> {
    item?.get("name")?.as_str()
}

/// The names of the entries of a list, or their positions.
fn names(item: &Item, length: usize) -> Vec<String> {
    (0..length).map(|k| name_of(item.get(k)).map_or_else(|| k.to_string(), str::to_owned)).collect()
}

/// What a table has and may have.
fn keys_in(item: &Item, path: &str) -> Vec<String> {
    let there = item.as_table_like().into_iter().flat_map(|table| table.iter()).map(|(key, _)| key.to_owned());
    let mut keys: Vec<String> = there.collect();
    let more = allowed(path).iter().filter(|key| !keys.contains(key)).cloned().collect::<Vec<_>>();
    keys.extend(more);
    keys
}

fn lost(typed: &str, segments: &[String], at: usize, known: &[String]) -> Lost {
    let (before, segment) = (&segments[..at], &segments[at]);
    let place = if at == 0 { "the case".to_owned() } else { format!("\"{}\"", before.join(".")) };
    let message = format!("the case has no key \"{typed}\": there is no \"{segment}\" in {place}");
    let words: Vec<&str> = known.iter().map(String::as_str).collect();
    let near = nearest(segment, &words).map(|near| {
        let mut meant = segments.to_vec();
        meant[at] = near.to_owned();
        format!("did you mean \"{}\"? ", meant.join("."))
    });
    let there = match known {
        [] => "nothing stands below that".to_owned(),
        known => format!("known here: {}", known.join(", ")),
    };
    Lost { message, remedy: near.unwrap_or_default() + &there }
}

/// The parts of a path: between dots, or slashes if it begins with one; quotes keep together, `[0]` is a part of its own.
fn segments(typed: &str) -> Vec<String> {
    let (text, separator) = match typed.strip_prefix('/') {
        Some(rest) => (rest, '/'),
        None => (typed, '.'),
    };
    let (mut parts, mut part, mut quoted) = (Vec::new(), String::new(), false);
    for c in text.chars() {
        match c {
            '"' => quoted = !quoted,
            c if quoted => part.push(c),
            c if c == separator || c == '[' => parts.push(std::mem::take(&mut part)),
            ']' => {}
            c => part.push(c),
        }
    }
    parts.push(part);
    parts.into_iter().map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const CASE: &str = "title = 'Pier' # kept\n[cell]\nlength = 2\nwidth = 1\ngap = '1 mm' # thin\n[drive]\nmean_speed = 1e-3\n\
                        [[obstacle]]\nname = 'large pier'\ncircle = { centre = [0.5, 0.5], diameter = 0.2 }\n\
                        [[obstacle]]\nname = 'seal'\n[obstacle.outline]\nfile = 'seal.csv'\nwidth = 0.1\n";

    fn put(typed: &str, value: &str) -> Result<String, Lost> {
        let mut case: DocumentMut = CASE.parse().unwrap();
        Key::find(&case, typed)?.put(&mut case, &value.parse().unwrap());
        Ok(case.to_string())
    }

    #[test]
    fn values_change_and_all_else_stays() {
        for (typed, value, old, new) in [
            ("cell.gap", "'2 mm'", "gap = '1 mm' # thin", "gap = '2 mm' # thin"),
            ("/cell/gap", "'2 mm'", "gap = '1 mm' # thin", "gap = '2 mm' # thin"),
            ("obstacle.large pier.diameter", "0.3", "diameter = 0.2", "diameter = 0.3"),
            ("obstacle.\"large pier\".circle.diameter", "0.3", "diameter = 0.2", "diameter = 0.3"),
            ("obstacle.0.circle.centre[1]", "0.4", "[0.5, 0.5]", "[0.5, 0.4]"),
            ("obstacle.1.outline.width", "0.3", "width = 0.1", "width = 0.3"),
            ("title", "'Post'", "'Pier'", "'Post'"),
        ] {
            assert_eq!(put(typed, value).unwrap(), CASE.replace(old, new), "{typed}");
        }
    }

    /// What the case leaves out is put into its table, which is made if need be.
    #[test]
    fn keys_that_are_left_out_are_put_where_they_belong() {
        let read = |typed: &str, value: &str| -> toml::Table { put(typed, value).unwrap().parse().unwrap() };
        let angle = read("obstacle.seal.angle", "5");
        assert_eq!(angle["obstacle"][1]["outline"]["angle"].as_integer(), Some(5));
        let tolerance = read("tolerance.speed", "0.1");
        assert_eq!(tolerance["tolerance"]["speed"].as_float(), Some(0.1));
        assert_eq!(read("drive.ends", "'held-pressure'")["drive"]["ends"].as_str(), Some("held-pressure"));
    }

    #[test]
    fn paths_that_lead_nowhere_are_told_with_the_nearest() {
        for (typed, remedy) in [
            ("obstacle.seel.angle", "did you mean \"obstacle.seal.angle\"? known here: large pier, seal"),
            ("cell.gpa", "did you mean \"cell.gap\"? "),
            ("cel.gap", "did you mean \"cell.gap\"? "),
            ("obstacle.seal.angel", "did you mean \"obstacle.seal.angle\"? "),
            ("obstacle.7.angle", "known here: large pier, seal"),
            ("cell.gap.slope", "nothing stands below that"),
            ("cell", "name a key in it: length, width, gap"),
        ] {
            let lost = put(typed, "1").unwrap_err();
            assert!(lost.remedy.starts_with(remedy), "{typed}: {lost:?}");
        }
    }

    #[test]
    fn a_single_table_counts_as_a_list_of_one() {
        let text = CASE.split("[[obstacle]]\nname = 'seal'").next().unwrap().replace("[[obstacle]]", "[obstacle]");
        let case: DocumentMut = text.parse().unwrap();
        assert!(Key::find(&case, "obstacle.large pier.diameter").is_ok());
    }
}
