//! What a row holds.

use crate::base::text::printable;
use crate::base::units::significant;
use std::borrow::Cow;

/// Text that is mostly fixed.
pub type Text = Cow<'static, str>;

/// What a row holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A real number.
    Number(f64),
    /// A count.
    Count(u64),
    /// Yes or no.
    Flag(bool),
    /// A sentence, or a name the user gave.
    Text(Text),
    /// A word of the program's own, with underscores for blanks in files: `edge_layer`.
    Word(&'static str),
    /// Several of them: a place, the values of a ladder.
    List(Vec<Value>),
}

impl Value {
    /// A list of numbers.
    pub fn numbers(values: impl IntoIterator<Item = f64>) -> Value {
        Value::List(values.into_iter().map(Value::Number).collect())
    }

    /// A list of words.
    pub fn texts(values: impl IntoIterator<Item = impl Into<Text>>) -> Value {
        Value::List(values.into_iter().map(|text| Value::Text(text.into())).collect())
    }

    /// Whether every number in it is finite.
    pub fn is_finite(&self) -> bool {
        match self {
            Value::Number(x) => x.is_finite(),
            Value::List(list) => list.iter().all(Value::is_finite),
            Value::Count(_) | Value::Flag(_) | Value::Text(_) | Value::Word(_) => true,
        }
    }

    /// It for reading, numbers over `size` and with so many significant digits.
    pub fn shown(&self, size: f64, digits: usize) -> String {
        match self {
            Value::Number(x) => significant(x / size, digits),
            Value::Count(n) => n.to_string(),
            Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
            Value::Text(text) => printable(text).into_owned(),
            Value::Word(word) => word.replace('_', " "),
            Value::List(list) if list.is_empty() => "none".to_owned(),
            Value::List(list) => {
                let parts: Vec<String> = list.iter().map(|inner| inner.shown(size, digits)).collect();
                format!("({})", parts.join(", "))
            }
        }
    }

    /// It as a real number, if it is one or a count.
    pub fn number(&self) -> Option<f64> {
        match self {
            Value::Number(x) => Some(*x),
            Value::Count(n) => Some(*n as f64),
            _ => None,
        }
    }
}

impl From<f64> for Value {
    fn from(x: f64) -> Value {
        Value::Number(x)
    }
}

impl From<usize> for Value {
    fn from(n: usize) -> Value {
        Value::Count(n as u64)
    }
}

impl From<bool> for Value {
    fn from(flag: bool) -> Value {
        Value::Flag(flag)
    }
}

impl From<&'static str> for Value {
    fn from(word: &'static str) -> Value {
        Value::Word(word)
    }
}

impl From<String> for Value {
    fn from(text: String) -> Value {
        Value::Text(text.into())
    }
}

impl From<[f64; 2]> for Value {
    fn from(place: [f64; 2]) -> Value {
        Value::numbers(place)
    }
}
