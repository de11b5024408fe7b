//! Results as plain data: rows in sections, one record for each quantity, from which every writer takes what it shows.
//!
//! A module of the theory hands out a [`Section`] of [`Row`]s; JSON, text, CSV and page each have one writer over sections, and a
//! convergence study follows rows by their path ([`row_at`]). Nothing else spells a key, a unit or a number of digits.

mod kind;
mod section;
mod value;

pub use kind::Kind;
pub use section::{Layout, Section, row_at, walk};
pub use value::{Text, Value};

/// How the error of a quantity falls with the size of the mesh; the orders themselves stand in [`crate::theory::convergence`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Like the ideal pattern: energies and what is recovered from it.
    Pattern,
    /// Like a quantity with the edge layer in it, which knife edges slow further.
    EdgeLayer,
    /// Like a measure over the observed region, whose rim follows the mesh.
    Region,
}

/// How a convergence study follows a row without being asked to.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    /// What the study calls it.
    pub name: String,
    /// Differences that iteration and rounding can make, in the row's unit; none for 1e-8 of the value.
    pub noise: Option<f64>,
}

/// How much of a report a reader wants; a script always has all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// Shown always.
    Main,
    /// Shown when everything is asked for.
    Full,
    /// For scripts alone.
    Script,
}

/// One quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its key in files, with the unit at the end.
    pub key: Text,
    /// Its name for reading.
    pub name: Text,
    /// Its value in the unit of its kind.
    pub value: Value,
    /// Unit in files and on the bench.
    pub kind: Kind,
    /// Significant digits for reading.
    pub digits: usize,
    /// What it is: formula and meaning.
    pub meaning: Text,
    /// Where the formula or the value comes from.
    pub source: Text,
    /// Where it is valid.
    pub range: Text,
    /// Estimated error, in the unit of the value.
    pub error: Option<f64>,
    /// How the error falls with the size of the mesh.
    pub order: Order,
    /// Whether a convergence study follows it without being asked.
    pub followed: Option<Followed>,
    /// Who wants to see it.
    pub detail: Detail,
}

impl Row {
    /// A row without its explanation, four significant digits.
    pub fn new(key: impl Into<Text>, name: impl Into<Text>, value: impl Into<Value>, kind: Kind) -> Row {
        Row {
            key: key.into(),
            name: name.into(),
            value: value.into(),
            kind,
            digits: 4,
            meaning: Text::Borrowed(""),
            source: Text::Borrowed(""),
            range: Text::Borrowed(""),
            error: None,
            order: Order::Pattern,
            followed: None,
            detail: Detail::Main,
        }
    }

    /// A row that only scripts see.
    pub fn script(key: impl Into<Text>, value: impl Into<Value>) -> Row {
        Row { detail: Detail::Script, ..Row::new(key, "", value, Kind::Number) }
    }

    /// The same with definition, source and range of validity.
    pub fn means(self, meaning: impl Into<Text>, source: impl Into<Text>, range: impl Into<Text>) -> Row {
        Row { meaning: meaning.into(), source: source.into(), range: range.into(), ..self }
    }

    /// The same with so many significant digits.
    pub fn digits(self, digits: usize) -> Row {
        Row { digits, ..self }
    }

    /// The same with its estimated error.
    pub fn error(self, error: f64) -> Row {
        Row { error: Some(error), ..self }
    }

    /// The same with the way its error falls.
    pub fn order(self, order: Order) -> Row {
        Row { order, ..self }
    }

    /// The same, followed by a convergence study under a name; `noise` as in [`Followed`].
    pub fn followed(self, name: impl Into<String>, noise: Option<f64>) -> Row {
        Row { followed: Some(Followed { name: name.into(), noise }), ..self }
    }

    /// The same for those who want everything.
    pub fn full(self) -> Row {
        Row { detail: Detail::Full, ..self }
    }

    /// The value with its unit in files.
    pub fn si(&self) -> String {
        format!("{} {}", self.shown(), self.kind.unit()).trim_end().to_owned()
    }

    /// The value in the unit of the bench; empty where that says no more.
    pub fn bench(&self) -> String {
        match self.value {
            Value::Number(x) => self.kind.bench(x, self.digits.min(6)),
            _ => String::new(),
        }
    }

    /// The value alone, with the digits of the row.
    pub fn shown(&self) -> String {
        self.value.shown(1.0, self.digits)
    }

    /// The value over `size`, with the digits of the row.
    pub fn shown_over(&self, size: f64) -> String {
        self.value.shown(size, self.digits)
    }
}
