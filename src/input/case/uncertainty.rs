//! The table `[uncertainty]`: how well values of the case are known.

use super::asked::Form;
use super::reader::{Reader, Table, Value};
use crate::base::text::shortened;
use crate::base::units::split_number;
use std::ops::Range;
use toml::de::DeValue;

/// How values spread about the one that the case states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// Normally; the tolerance is the standard uncertainty.
    Normal,
    /// Evenly within the tolerance on both sides.
    Uniform,
}

impl Spread {
    /// Its word in files.
    pub fn word(self) -> &'static str {
        match self {
            Spread::Normal => "normal",
            Spread::Uniform => "uniform",
        }
    }
}

/// How large a tolerance is, as it was typed.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// A part of the value itself.
    Relative(f64),
    /// A number in SI (an angle: in degrees).
    Plain(f64),
    /// A number with a unit.
    WithUnit(String),
}

/// How well the value of a key is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertainty {
    /// The key's path in the case.
    pub key: String,
    /// How large it is.
    pub amount: Amount,
    /// How values spread.
    pub spread: Spread,
    /// Places of the key and of the amount in the text of the case.
    pub places: [Range<usize>; 2],
}

/// The tolerances of a case: `"cell.gap" = "20 um"`, `"drive.flow_rate" = "3 %"`, or `{ tolerance = "0.5 deg", spread = "uniform" }`.
pub(super) fn uncertainty(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<Uncertainty> {
    reader.note_key(root, "uncertainty", Form::Tolerances);
    let Some(value) = root.get("uncertainty") else { return Vec::new() };
    let Some(entries) = value.get_ref().as_table() else {
        let remedy = "write [uncertainty], then \"cell.gap\" = \"20 um\"";
        reader.wrong_type(value, "uncertainty", "a table of keys with their tolerances", remedy);
        return Vec::new();
    };
    let mut entries: Vec<_> = entries.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    let read = entries.into_iter().filter_map(|(key, value)| {
        let name: &str = key.get_ref();
        let (amount, spread, place) = tolerance(reader, name, value)?;
        Some(Uncertainty { key: name.to_owned(), amount, spread, places: [key.span(), place] })
    });
    read.collect()
}

fn tolerance(reader: &mut Reader<'_>, key: &str, value: &Value<'_>) -> Option<(Amount, Spread, Range<usize>)> {
    if value.get_ref().as_table().is_none() {
        return Some((amount(reader, key, value)?, Spread::Normal, value.span()));
    }
    // a key without quotes makes a table of its first word
    let table = reader.table(value, &format!("the tolerance of \"{}\"", shortened(key)), &["tolerance", "spread"])?;
    let spread = reader.choice(&table, "spread", &[("normal", Spread::Normal), ("uniform", Spread::Uniform)]);
    let value = reader.needed(&table, "tolerance", "\"20 um\"")?;
    Some((amount(reader, key, value)?, spread.unwrap_or(Spread::Normal), value.span()))
}

fn amount(reader: &mut Reader<'_>, key: &str, value: &Value<'_>) -> Option<Amount> {
    const EXAMPLE: &str = "write a tolerance above zero such as \"20 um\", or a part of the value such as \"3 %\"";
    let read = match value.get_ref() {
        DeValue::String(text) => {
            let (number, unit) = split_number(text.trim());
            let number: Option<f64> = number.parse().ok();
            number.map(|number| {
                (
                    number,
                    match unit.trim() {
                        "%" => Amount::Relative(0.01 * number),
                        "" => Amount::Plain(number),
                        _ => Amount::WithUnit(text.trim().to_owned()),
                    },
                )
            })
        }
        DeValue::Integer(number) => number.as_str().parse().ok().map(|number| (number, Amount::Plain(number))),
        DeValue::Float(number) => number.as_str().parse().ok().map(|number| (number, Amount::Plain(number))),
        _ => None,
    };
    match read {
        Some((number, amount)) if number > 0.0 && number.is_finite() => Some(amount),
        Some((number, _)) => {
            reader.fail(Some(value.span()), format!("the tolerance of {} is {number}", shortened(key)), EXAMPLE);
            None
        }
        None => {
            reader.wrong_type(value, key, "a tolerance", EXAMPLE);
            None
        }
    }
}
