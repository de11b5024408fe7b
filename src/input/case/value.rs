//! Reading of values: quantities, texts, choices, points.

use super::asked::Form;
use super::limits::Limits;
use super::reader::{Reader, Table, Value, nearest};
use crate::base::Point;
use crate::base::text::{printable, shortened};
use crate::base::units::{self, Dimension};
use toml::de::DeValue;

impl Reader<'_> {
    /// A number in SI (angles: degrees) or a text with a unit.
    pub fn quantity(&mut self, value: &Value<'_>, what: &str, dimension: Dimension, limits: Limits) -> Option<f64> {
        self.note(value, Form::Quantity(dimension, limits));
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
            let message = format!("{what} is {} and must be {}", dimension.show(read), limits.said(dimension));
            let signed = value.get_ref().as_str().is_some_and(|text| text.contains('%'));
            let remedy = if dimension == Dimension::Fraction && !signed && limits.means_percent(read) {
                format!("write {} or \"{} %\"", dimension.show(0.01 * read), dimension.show(read))
            } else {
                example
            };
            self.fail(Some(value.span()), message, remedy);
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
        self.note_key(table, key, Form::Quantity(dimension, limits));
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
        self.note_key(table, key, Form::Quantity(dimension, limits));
        self.quantity(table.get(key)?, key, dimension, limits)
    }

    /// A text.
    pub fn text<'d>(&mut self, value: &'d Value<'d>, what: &str) -> Option<&'d str> {
        self.note(value, Form::Text);
        self.quoted(value, what)
    }

    fn quoted<'d>(&mut self, value: &'d Value<'d>, what: &str) -> Option<&'d str> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong_type(value, what, "a text", "write it in quotes");
        }
        text
    }

    /// A text that is not blank, of a key that may be left out.
    pub fn name(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        self.note_key(table, key, Form::Text);
        let value = table.get(key)?;
        let text = self.text(value, key)?;
        if text.trim().is_empty() {
            self.fail(Some(value.span()), format!("{key} is empty"), "write a name or leave the key out");
            return None;
        }
        Some(printable(text).into_owned())
    }

    /// One of several words, of a key that may be left out.
    pub fn choice<T: Copy>(&mut self, table: &Table<'_>, key: &str, choices: &[(&str, T)]) -> Option<T> {
        self.note_key(table, key, Form::Word(choices.iter().map(|(word, _)| (*word).to_owned()).collect()));
        let value = table.get(key)?;
        let text = self.quoted(value, key)?;
        if let Some((_, choice)) = choices.iter().find(|(word, _)| *word == text) {
            return Some(*choice);
        }
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        let near = nearest(text, &words).map_or(String::new(), |known| format!("did you mean \"{known}\"? "));
        let message = format!("{key} is \"{}\", which is not known", shortened(text));
        self.fail(Some(value.span()), message, format!("{near}write one of \"{}\"", words.join("\", \"")));
        None
    }

    /// True or false, of a key that may be left out.
    pub fn switch(&mut self, table: &Table<'_>, key: &str) -> Option<bool> {
        self.note_key(table, key, Form::Switch);
        let value = table.get(key)?;
        let read = value.get_ref().as_bool();
        if read.is_none() {
            self.wrong_type(value, key, "true or false", "write true or false without quotes");
        }
        read
    }

    /// A whole number in a range, of a key that may be left out.
    pub fn whole(&mut self, table: &Table<'_>, key: &str, lowest: usize, highest: usize) -> Option<usize> {
        self.note_key(table, key, Form::Whole(lowest, highest));
        let value = table.get(key)?;
        let remedy = format!("write a whole number from {lowest} to {highest}");
        let DeValue::Integer(integer) = value.get_ref() else {
            self.wrong_type(value, key, "a whole number", &remedy);
            return None;
        };
        let read = i128::from_str_radix(integer.as_str(), integer.radix()).ok();
        let fits = read.and_then(|n| usize::try_from(n).ok()).filter(|n| (lowest..=highest).contains(n));
        if fits.is_none() {
            let message = format!("{key} is {} and must be from {lowest} to {highest}", shortened(integer.as_str()));
            self.fail(Some(value.span()), message, remedy);
        }
        fits
    }

    /// Two lengths in brackets.
    pub fn pair(&mut self, value: &Value<'_>, what: &str, dimension: Dimension, limits: Limits) -> Option<[f64; 2]> {
        self.note(value, Form::Pair);
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

    /// A list of values above zero, each above the one before it.
    pub fn growing(&mut self, list: &Value<'_>, what: &str, dimension: Dimension, most: usize) -> Option<Vec<f64>> {
        let elements: Vec<_> = list.get_ref().as_array().map(|list| list.iter().collect()).unwrap_or_default();
        if elements.is_empty() || elements.len() > most {
            let example = dimension.example();
            let wanted = format!("a list of 1 to {most} values");
            self.wrong_type(list, what, &wanted, &format!("write values that grow, each such as {example}"));
            return None;
        }
        let mut values = Vec::new();
        for element in elements {
            let read = self.quantity(element, what, dimension, Limits::Positive)?;
            if values.last().is_some_and(|&last| read <= last) {
                let message =
                    format!("{what} does not grow: {} follows a larger or an equal value", dimension.show(read));
                self.fail(Some(element.span()), message, "write every value once, in ascending order");
                return None;
            }
            values.push(read);
        }
        Some(values)
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
