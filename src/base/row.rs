//! Results as plain data: rows in sections, one record for each quantity, from which every writer takes what it shows.
//!
//! A module of the theory hands out a [`Section`] of [`Row`]s; JSON, text, CSV and page each have one writer over sections, and a
//! convergence study follows rows by their path ([`row_at`]). Nothing else spells a key, a unit or a number of digits.

use super::units::{Dimension, GRAVITY, significant};
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

/// What kind of quantity a row holds: its unit in files and the one on the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A quantity with a convenient unit of its own.
    Of(Dimension),
    /// Pressure, beside it millimetres of water.
    Pressure,
    /// Volume, m3 and mL.
    Volume,
    /// Force, N, beside it the mass that weighs as much.
    Force,
    /// Angle in degrees.
    Degrees,
    /// A fraction, read in per cent.
    Percent,
    /// A plain number, a word, a flag.
    Number,
    /// Pixels.
    Pixels,
    /// A quantity in an SI unit of its own, and its size and name in another one.
    Unit(&'static str, f64, &'static str),
}

impl Kind {
    /// The unit in files; empty for fractions, numbers and words.
    pub fn unit(self) -> &'static str {
        match self {
            Kind::Of(Dimension::Fraction) => "",
            Kind::Of(Dimension::Angle) => "rad",
            Kind::Of(dimension) => dimension.plain_unit(),
            Kind::Pressure => "Pa",
            Kind::Volume => "m3",
            Kind::Force => "N",
            Kind::Degrees => "deg",
            Kind::Percent | Kind::Number => "",
            Kind::Pixels => "px",
            Kind::Unit(unit, ..) => unit,
        }
    }

    /// The unit for reading a column of values whose largest size is given, and what values are divided by.
    pub fn reading(self, largest: f64) -> (&'static str, f64) {
        match self {
            Kind::Of(Dimension::Temperature) => ("K", 1.0),
            Kind::Of(dimension) => dimension.unit_for(largest),
            Kind::Percent => ("%", 0.01),
            Kind::Unit(_, size, name) => (name, size),
            Kind::Volume => ("mL", 1e-6),
            other => (other.unit(), 1.0),
        }
    }

    /// The value as said on the bench; empty where that says no more than the unit in files.
    fn bench(self, value: f64, digits: usize) -> String {
        match self {
            Kind::Pressure => format!("{} mm of water", significant(value / GRAVITY, digits)),
            Kind::Force => format!("weight of {} kg", significant(value / GRAVITY, digits)),
            Kind::Degrees | Kind::Number | Kind::Pixels | Kind::Of(Dimension::Fraction) => String::new(),
            Kind::Of(Dimension::Temperature) => Dimension::Temperature.show(value),
            other => {
                let (unit, size) = other.reading(value.abs());
                format!("{} {unit}", significant(value / size, digits))
            }
        }
    }
}

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
        shown(&self.value, 1.0, self.digits)
    }

    /// The value over `size`, with the digits of the row.
    pub fn shown_over(&self, size: f64) -> String {
        shown(&self.value, size, self.digits)
    }
}

fn shown(value: &Value, size: f64, digits: usize) -> String {
    match value {
        Value::Number(x) => significant(x / size, digits),
        Value::Count(n) => n.to_string(),
        Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        Value::Text(text) => text.clone().into_owned(),
        Value::Word(word) => word.replace('_', " "),
        Value::List(list) => {
            let parts: Vec<String> = list.iter().map(|inner| shown(inner, size, digits)).collect();
            format!("({})", parts.join(", "))
        }
    }
}

/// Whether a section is one record or a list of records of one shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Rows and parts by their keys.
    Record,
    /// The parts are the entries of a list; their rows are the columns of a table. An entry's first row names it.
    Table,
}

/// Rows that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Key in files; empty if its rows stand on the level above.
    pub key: Text,
    /// Heading; empty for none.
    pub title: Text,
    /// Record or table.
    pub layout: Layout,
    /// The rows.
    pub rows: Vec<Row>,
    /// Sections below.
    pub parts: Vec<Section>,
    /// Plain sentences that follow from them.
    pub notes: Vec<String>,
    /// What can hurt people or things.
    pub cautions: Vec<&'static str>,
    /// Lines of a drawing in letters, for reading alone.
    pub sketch: Vec<String>,
    /// Who wants to see it.
    pub detail: Detail,
}

impl Section {
    /// A record whose rows all exist: a number that is not finite is an error when it is written.
    pub fn new(key: impl Into<Text>, title: impl Into<Text>, rows: Vec<Row>) -> Section {
        Section {
            key: key.into(),
            title: title.into(),
            layout: Layout::Record,
            rows,
            parts: Vec::new(),
            notes: Vec::new(),
            cautions: Vec::new(),
            sketch: Vec::new(),
            detail: Detail::Main,
        }
    }

    /// A record without the rows whose number is not finite, for formulas that have no value for some settings.
    pub fn finite(key: impl Into<Text>, title: impl Into<Text>, rows: Vec<Row>) -> Section {
        Section::new(key, title, rows.into_iter().filter(|row| row.value.is_finite()).collect())
    }

    /// A table with one list of rows for each entry.
    pub fn table(key: impl Into<Text>, title: impl Into<Text>, entries: impl IntoIterator<Item = Vec<Row>>) -> Section {
        let parts = entries.into_iter().map(|rows| Section::new("", "", rows)).collect();
        Section { layout: Layout::Table, parts, ..Section::new(key, title, Vec::new()) }
    }

    /// The same with sections below.
    pub fn with(self, parts: Vec<Section>) -> Section {
        Section { parts, ..self }
    }

    /// The same with plain sentences.
    pub fn noted(self, notes: Vec<String>) -> Section {
        Section { notes, ..self }
    }

    /// The same, shown at a level of detail.
    pub fn at(self, detail: Detail) -> Section {
        Section { detail, ..self }
    }

    /// The number under a path of keys joined by dots; entries of tables go by their name or position.
    pub fn number(&self, path: &str) -> Option<f64> {
        self.row(path)?.value.number()
    }

    /// The row under such a path.
    pub fn row(&self, path: &str) -> Option<&Row> {
        let below = |key: &str| {
            if key.is_empty() { Some(path) } else { path.strip_prefix(key)?.strip_prefix('.') }
        };
        if let Some(row) = self.rows.iter().find(|row| row.key == path) {
            return Some(row);
        }
        self.parts.iter().enumerate().find_map(|(k, part)| match self.layout {
            Layout::Record => part.row(below(&part.key)?),
            Layout::Table => {
                let named = part.name().and_then(below).and_then(|rest| part.row(rest));
                named.or_else(|| below(&k.to_string()).and_then(|rest| part.row(rest)))
            }
        })
    }

    /// What an entry of a table is called: its first row, where that is a word.
    pub fn name(&self) -> Option<&str> {
        match &self.rows.first()?.value {
            Value::Text(text) => Some(text),
            Value::Word(word) => Some(word),
            _ => None,
        }
    }
}

/// The row under a path of keys joined by dots, in a report of several sections.
pub fn row_at<'a>(sections: &'a [Section], path: &str) -> Option<&'a Row> {
    sections.iter().find_map(|section| {
        let rest = if section.key.is_empty() { path } else { path.strip_prefix(&*section.key)?.strip_prefix('.')? };
        section.row(rest)
    })
}

/// Calls `visit` with the path of every row of a report, in order.
pub fn walk<'a>(sections: &'a [Section], visit: &mut dyn FnMut(&str, &'a Row)) {
    sections.iter().for_each(|section| step(section, &section.key, visit));
}

fn joined(above: &str, key: &str) -> String {
    if above.is_empty() || key.is_empty() { format!("{above}{key}") } else { format!("{above}.{key}") }
}

fn step<'a>(section: &'a Section, path: &str, visit: &mut dyn FnMut(&str, &'a Row)) {
    section.rows.iter().for_each(|row| visit(&joined(path, &row.key), row));
    for (k, part) in section.parts.iter().enumerate() {
        let own = match section.layout {
            Layout::Record => part.key.clone().into_owned(),
            Layout::Table => part.name().map_or(k.to_string(), str::to_owned),
        };
        step(part, &joined(path, &own), visit);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn report() -> Vec<Section> {
        let probe = |name: &'static str, speed: f64| {
            vec![
                Row::new("name", "probe", name, Kind::Number),
                Row::new("speed_m_per_s", "speed", speed, Kind::Of(Dimension::Speed)),
            ]
        };
        vec![
            Section::new("", "", vec![Row::new("title", "case", "piers", Kind::Number)]),
            Section::table("probes", "Probes", [probe("a.b", 0.5), probe("c", 0.25)]),
            Section::finite("none", "", vec![Row::script("x", f64::NAN)]),
            Section::new("drive", "Drive", vec![Row::new("head_m", "head", 0.02, Kind::Of(Dimension::Length))])
                .with(vec![Section::new("inner", "", vec![Row::new("n", "n", 3usize, Kind::Number)])]),
        ]
    }

    #[test]
    fn rows_are_found_by_path() {
        let report = report();
        let number = |path| row_at(&report, path).and_then(|row| row.value.number());
        assert_eq!(number("drive.head_m"), Some(0.02));
        assert_eq!(number("drive.inner.n"), Some(3.0));
        // names may hold dots, and positions serve as well
        assert_eq!(number("probes.a.b.speed_m_per_s"), Some(0.5));
        assert_eq!(number("probes.0.speed_m_per_s"), Some(0.5));
        assert_eq!(number("none.x"), None);
        assert_eq!(number("drive.head"), None);
        assert!(row_at(&report, "title").is_some());
    }

    #[test]
    fn every_row_has_its_path() {
        let report = report();
        let mut paths = Vec::new();
        walk(&report, &mut |path, _| paths.push(path.to_owned()));
        assert_eq!(
            paths,
            [
                "title",
                "probes.a.b.name",
                "probes.a.b.speed_m_per_s",
                "probes.c.name",
                "probes.c.speed_m_per_s",
                "drive.head_m",
                "drive.inner.n"
            ]
        );
        for path in &paths {
            assert!(row_at(&report, path).is_some(), "{path}");
        }
    }

    #[test]
    fn values_are_read_in_the_units_of_the_bench() {
        let row = |value: f64, kind| Row::new("k", "n", value, kind).digits(3);
        assert_eq!(row(1.5e-3, Kind::Of(Dimension::Length)).bench(), "1.50 mm");
        assert_eq!(row(0.0123, Kind::Percent).bench(), "1.23 %");
        assert_eq!(row(98.0665, Kind::Pressure).bench(), "10.0 mm of water");
        assert_eq!(row(98.0665, Kind::Pressure).si(), "98.1 Pa");
        assert_eq!(row(2e-6, Kind::Volume).bench(), "2.00 mL");
        assert_eq!(row(0.5, Kind::Number).bench(), "");
        assert_eq!(row(1e-6, Kind::Unit("m2", 1e-6, "mm2")).bench(), "1.00 mm2");
    }
}
