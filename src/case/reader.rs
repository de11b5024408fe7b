//! Reading of tables and values, every mistake kept with its place.

use crate::Point;
use crate::error::Problems;
use crate::units::{self, Dimension};
use std::ops::Range;
use std::path::Path;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place.
pub(super) type Value<'d> = Spanned<DeValue<'d>>;

/// The values a number may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Limits {
    /// Any finite one.
    Any,
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// From the first to the second, both allowed.
    Within(f64, f64),
    /// Between the first and the second, neither allowed.
    Between(f64, f64),
}

impl Limits {
    fn admits(self, value: f64) -> bool {
        match self {
            Limits::Any => true,
            Limits::Positive => value > 0.0,
            Limits::NotNegative => value >= 0.0,
            Limits::Within(lowest, highest) => (lowest..=highest).contains(&value),
            Limits::Between(lowest, highest) => lowest < value && value < highest,
        }
    }

    fn text(self, dimension: Dimension) -> String {
        match self {
            Limits::Any => "finite".into(),
            Limits::Positive => "above zero".into(),
            Limits::NotNegative => "zero or above".into(),
            Limits::Within(a, b) => format!("from {} to {}", dimension.show(a), dimension.show(b)),
            Limits::Between(a, b) => format!("above {} and below {}", dimension.show(a), dimension.show(b)),
        }
    }
}

/// Collects the mistakes of one file.
pub(super) struct Reader<'a> {
    file: &'a Path,
    /// The mistakes so far.
    pub problems: Problems,
}

/// A table whose keys have been checked against those it may have.
#[derive(Clone)]
pub(super) struct Table<'d> {
    /// How messages call it.
    pub name: String,
    /// Its header, or the whole of an inline table; none for the file itself.
    pub span: Option<Range<usize>>,
    entries: Option<&'d DeTable<'d>>,
}

impl<'d> Table<'d> {
    /// A table that is not there: every key is missing.
    pub fn absent(name: &str) -> Self {
        Table { name: name.to_owned(), span: None, entries: None }
    }

    /// The value of a key.
    pub fn get(&self, key: &str) -> Option<&'d Value<'d>> {
        self.entries?.get(key)
    }

    /// The place of a key.
    pub fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.entries?.get_key_value(key).map(|(key, _)| key.span())
    }
}

impl<'a> Reader<'a> {
    pub fn new(file: &'a Path) -> Self {
        Reader { file, problems: Problems::default() }
    }

    /// Adds a mistake.
    pub fn fail(&mut self, span: Option<Range<usize>>, message: impl Into<String>, remedy: impl Into<String>) {
        self.problems.add(self.file, span, message, remedy);
    }

    /// The file itself as a table.
    pub fn root<'d>(&mut self, entries: &'d DeTable<'d>, allowed: &[&str]) -> Table<'d> {
        let table = Table { name: "the case".into(), span: None, entries: Some(entries) };
        self.check_keys(&table, allowed);
        table
    }

    /// A value that must be a table with no other keys than the allowed ones.
    pub fn table<'d>(&mut self, value: &'d Value<'d>, name: &str, allowed: &[&str]) -> Option<Table<'d>> {
        let Some(entries) = value.get_ref().as_table() else {
            let remedy = format!("write a table with the keys {}", allowed.join(", "));
            self.wrong_type(value, name, "a table", &remedy);
            return None;
        };
        let table = Table { name: name.to_owned(), span: Some(value.span()), entries: Some(entries) };
        self.check_keys(&table, allowed);
        Some(table)
    }

    /// A table of the file that may be left out.
    pub fn section<'d>(&mut self, root: &Table<'d>, key: &str, allowed: &[&str]) -> Table<'d> {
        let name = format!("[{key}]");
        let read = root.get(key).and_then(|value| self.table(value, &name, allowed));
        read.unwrap_or_else(|| Table::absent(&name))
    }

    /// A table of the file that must be there; none, with the mistake noted, if it is not.
    pub fn needed_section<'d>(&mut self, root: &Table<'d>, key: &str, allowed: &[&str]) -> Option<Table<'d>> {
        let name = format!("[{key}]");
        match root.get(key) {
            Some(value) => self.table(value, &name, allowed),
            None => {
                let remedy = format!("add a table {name} with keys out of {}", allowed.join(", "));
                self.fail(None, format!("the table {name} is missing"), remedy);
                None
            }
        }
    }

    /// The elements of an array of tables of the file; a single table counts as one.
    pub fn list<'d>(&mut self, root: &Table<'d>, key: &str) -> Vec<&'d Value<'d>> {
        match root.get(key) {
            None => Vec::new(),
            Some(value) => match value.get_ref() {
                DeValue::Array(elements) => elements.iter().collect(),
                DeValue::Table(_) => vec![value],
                _ => {
                    self.wrong_type(value, key, "an array of tables", &format!("write [[{key}]] above its keys"));
                    Vec::new()
                }
            },
        }
    }

    fn check_keys(&mut self, table: &Table<'_>, allowed: &[&str]) {
        let Some(entries) = table.entries else { return };
        for (key, _) in entries.iter() {
            let word: &str = key.get_ref();
            if !allowed.contains(&word) {
                let near = nearest(word, allowed).map_or(String::new(), |known| format!("did you mean \"{known}\"? "));
                let message = format!("unknown key \"{}\" in {}", shorten(word), table.name);
                self.fail(Some(key.span()), message, format!("{near}allowed here: {}", allowed.join(", ")));
            }
        }
    }

    /// The value of a key that must be there.
    pub fn needed<'d>(&mut self, table: &Table<'d>, key: &str, example: &str) -> Option<&'d Value<'d>> {
        let value = table.get(key);
        if value.is_none() {
            let message = format!("{} lacks the key \"{key}\"", table.name);
            self.fail(table.span.clone(), message, format!("add {key} = {example}"));
        }
        value
    }

    /// The one of several keys that must be there exactly once.
    pub fn exactly_one<'d, 'k>(&mut self, table: &Table<'d>, keys: &[&'k str]) -> Option<(&'k str, &'d Value<'d>)> {
        let mut found: Vec<_> = keys.iter().filter_map(|key| Some((*key, table.get(key)?))).collect();
        found.sort_by_key(|(_, value)| value.span().start);
        match found.as_slice() {
            [one] => Some(*one),
            [] => {
                let message = format!("{} has none of {}", table.name, keys.join(", "));
                self.fail(table.span.clone(), message, "give exactly one of them");
                None
            }
            [(first, _), others @ ..] => {
                for (key, _) in others {
                    let message = format!("{} has both \"{first}\" and \"{key}\"", table.name);
                    let remedy = format!("keep exactly one of {}", keys.join(", "));
                    self.fail(table.key_span(key), message, remedy);
                }
                None
            }
        }
    }

    /// A number in SI (angles: degrees) or a text with a unit.
    pub fn quantity(&mut self, value: &Value<'_>, what: &str, dimension: Dimension, limits: Limits) -> Option<f64> {
        let example = format!("write {} such as {}", dimension.name(), dimension.example());
        let read = match value.get_ref() {
            DeValue::String(text) => match units::parse(text, dimension) {
                Ok(read) => read,
                Err(error) => {
                    let remedy = error.remedy(dimension);
                    self.fail(Some(value.span()), format!("{what}: {error}"), remedy);
                    return None;
                }
            },
            other => match number(other) {
                Some(number) => dimension.from_plain(number),
                None => {
                    self.wrong_type(value, what, "a number or a text with a unit", &example);
                    return None;
                }
            },
        };
        if !read.is_finite() {
            self.fail(Some(value.span()), format!("{what} is {read}, which is not finite"), example);
            return None;
        }
        if !limits.admits(read) {
            let message = format!("{what} is {} and must be {}", dimension.show(read), limits.text(dimension));
            self.fail(Some(value.span()), message, example);
            return None;
        }
        Some(read)
    }

    /// The quantity of a key that must be there.
    pub fn needed_quantity(
        &mut self,
        table: &Table<'_>,
        key: &str,
        dimension: Dimension,
        limits: Limits,
    ) -> Option<f64> {
        let value = self.needed(table, key, dimension.example())?;
        self.quantity(value, key, dimension, limits)
    }

    /// The quantity of a key that may be left out.
    pub fn optional_quantity(
        &mut self,
        table: &Table<'_>,
        key: &str,
        dimension: Dimension,
        limits: Limits,
    ) -> Option<f64> {
        self.quantity(table.get(key)?, key, dimension, limits)
    }

    /// A text.
    pub fn text<'d>(&mut self, value: &'d Value<'d>, what: &str) -> Option<&'d str> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong_type(value, what, "a text", "write it in quotes");
        }
        text
    }

    /// A text that is not blank, of a key that may be left out.
    pub fn name(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let value = table.get(key)?;
        let text = self.text(value, key)?;
        if text.trim().is_empty() {
            self.fail(Some(value.span()), format!("{key} is empty"), "write a name or leave the key out");
            return None;
        }
        Some(text.to_owned())
    }

    /// One of several words, of a key that may be left out.
    pub fn choice<T: Copy>(&mut self, table: &Table<'_>, key: &str, choices: &[(&str, T)]) -> Option<T> {
        let value = table.get(key)?;
        let text = self.text(value, key)?;
        if let Some((_, choice)) = choices.iter().find(|(word, _)| *word == text) {
            return Some(*choice);
        }
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        let near = nearest(text, &words).map_or(String::new(), |known| format!("did you mean \"{known}\"? "));
        let message = format!("{key} is \"{}\", which is not known", shorten(text));
        self.fail(Some(value.span()), message, format!("{near}write one of \"{}\"", words.join("\", \"")));
        None
    }

    /// True or false, of a key that may be left out.
    pub fn switch(&mut self, table: &Table<'_>, key: &str) -> Option<bool> {
        let value = table.get(key)?;
        let read = value.get_ref().as_bool();
        if read.is_none() {
            self.wrong_type(value, key, "true or false", "write true or false without quotes");
        }
        read
    }

    /// A whole number in a range, of a key that may be left out.
    pub fn whole(&mut self, table: &Table<'_>, key: &str, lowest: usize, highest: usize) -> Option<usize> {
        let value = table.get(key)?;
        let remedy = format!("write a whole number from {lowest} to {highest}");
        let DeValue::Integer(integer) = value.get_ref() else {
            self.wrong_type(value, key, "a whole number", &remedy);
            return None;
        };
        let read = i128::from_str_radix(integer.as_str(), integer.radix()).ok();
        let fits = read.and_then(|n| usize::try_from(n).ok()).filter(|n| (lowest..=highest).contains(n));
        if fits.is_none() {
            let message = format!("{key} is {} and must be from {lowest} to {highest}", shorten(integer.as_str()));
            self.fail(Some(value.span()), message, remedy);
        }
        fits
    }

    /// Two lengths in brackets.
    pub fn pair(&mut self, value: &Value<'_>, what: &str, dimension: Dimension, limits: Limits) -> Option<[f64; 2]> {
        let elements = value.get_ref().as_array().map(|a| a.iter().collect::<Vec<_>>());
        match elements.as_deref() {
            Some([x, y]) => {
                let x = self.quantity(x, &format!("{what}, first value"), dimension, limits);
                let y = self.quantity(y, &format!("{what}, second value"), dimension, limits);
                Some([x?, y?])
            }
            other => {
                let found = other.map_or(kind(value.get_ref()).to_owned(), |e| format!("a list of {}", e.len()));
                let remedy = format!("write two values in brackets, [{0}, {0}]", dimension.example());
                self.fail(Some(value.span()), format!("{what} must be two values and is {found}"), remedy);
                None
            }
        }
    }

    /// The point of a key that must be there.
    pub fn needed_point(&mut self, table: &Table<'_>, key: &str) -> Option<Point> {
        let value = self.needed(table, key, "[0.1, 0.05]")?;
        self.pair(value, key, Dimension::Length, Limits::Any)
    }

    pub fn wrong_type(&mut self, value: &Value<'_>, what: &str, wanted: &str, remedy: &str) {
        let message = format!("{what} must be {wanted} and is {}", kind(value.get_ref()));
        self.fail(Some(value.span()), message, remedy);
    }
}

/// The value of an integer or float.
fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(n) if n.radix() == 10 => n.as_str().parse().ok(),
        // Too large for the type: called not finite.
        DeValue::Integer(n) => Some(i128::from_str_radix(n.as_str(), n.radix()).map_or(f64::INFINITY, |n| n as f64)),
        DeValue::Float(n) => n.as_str().parse().ok(),
        _ => None,
    }
}

fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// The known word most like a mistyped one, if it differs in no more than a third of its letters.
fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let length = word.chars().count();
    if length > 40 {
        return None;
    }
    let distance = |candidate: &str| strsim::damerau_levenshtein(&word.to_lowercase(), candidate);
    let best = known.iter().copied().min_by_key(|candidate| distance(candidate))?;
    (distance(best) <= (length.max(best.len()) / 3).max(1)).then_some(best)
}

/// At most forty characters, for messages.
pub(super) fn shorten(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.to_owned(),
    }
}
