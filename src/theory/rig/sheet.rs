//! The sheet as plain data: sections of rows that a terminal table, a page and a script show alike.

use crate::base::units::{Dimension, significant};
use serde_json::{Map, Value, json};

/// Pressure of 1 mm of water by convention, Pa.
const MILLIMETRE_OF_WATER: f64 = 9.806_65;

/// What kind of quantity a row holds: its SI unit and the unit on the bench.
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
    /// Angle, degrees.
    Degrees,
    /// A fraction, in per cent.
    Percent,
    /// A plain number.
    Number,
    /// Pixels.
    Pixels,
    /// A quantity in an SI unit of its own, and its size and name in another one.
    Unit(&'static str, f64, &'static str),
}

impl Kind {
    fn unit(self) -> &'static str {
        match self {
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

    fn bench(self, value: f64) -> String {
        let digits = |x: f64| significant(x, 3);
        match self {
            Kind::Of(dimension) => Shown(dimension).text(value),
            Kind::Pressure => format!("{} mm of water", digits(value / MILLIMETRE_OF_WATER)),
            Kind::Volume => format!("{} mL", digits(1e6 * value)),
            Kind::Force => format!("weight of {} kg", digits(value / MILLIMETRE_OF_WATER)),
            Kind::Percent => format!("{} %", digits(100.0 * value)),
            Kind::Degrees | Kind::Number | Kind::Pixels => String::new(),
            Kind::Unit(_, size, name) => format!("{} {name}", digits(value / size)),
        }
    }
}

/// A dimension whose values are shown with three digits.
struct Shown(Dimension);

impl Shown {
    fn text(&self, value: f64) -> String {
        // the convenient unit of the full value, with fewer digits
        let shown = self.0.show(value);
        match shown.split_once(' ') {
            Some((number, unit)) => match number.parse::<f64>() {
                Ok(number) => format!("{} {unit}", significant(number, 3)),
                Err(_) => shown,
            },
            None => shown,
        }
    }
}

/// One quantity of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its key in `rig.json`, with the unit at the end.
    pub key: &'static str,
    /// Its name for reading.
    pub name: &'static str,
    /// Its value in `unit`.
    pub value: f64,
    /// SI unit (degrees for angles); empty for fractions and numbers.
    pub unit: &'static str,
    /// The same in the unit used on the bench; empty where that says no more.
    pub bench: String,
    /// What it is: formula and meaning.
    pub definition: String,
    /// Where the formula or the value comes from.
    pub source: &'static str,
    /// Where it is valid.
    pub range: String,
}

impl Row {
    /// A row without its explanation.
    pub fn new(key: &'static str, name: &'static str, value: f64, kind: Kind) -> Row {
        let empty = String::new;
        let (unit, bench) = (kind.unit(), kind.bench(value));
        Row { key, name, value, unit, bench, definition: empty(), source: "", range: empty() }
    }

    /// The same with definition, source and range of validity.
    pub fn means(self, definition: impl Into<String>, source: &'static str, range: impl Into<String>) -> Row {
        Row { definition: definition.into(), source, range: range.into(), ..self }
    }

    /// The value with its SI unit, four significant digits.
    pub fn si(&self) -> String {
        format!("{} {}", significant(self.value, 4), self.unit).trim_end().to_owned()
    }
}

/// Rows that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Heading.
    pub title: &'static str,
    /// The rows.
    pub rows: Vec<Row>,
    /// Plain sentences that follow from them.
    pub notes: Vec<String>,
    /// What can hurt people or things.
    pub cautions: Vec<&'static str>,
}

impl Section {
    /// Rows without notes and cautions; rows whose value is not finite are left out.
    pub fn new(title: &'static str, rows: Vec<Row>) -> Section {
        let rows = rows.into_iter().filter(|row| row.value.is_finite()).collect();
        Section { title, rows, notes: Vec::new(), cautions: Vec::new() }
    }

    /// The value of a key.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.rows.iter().find(|row| row.key == key).map(|row| row.value)
    }
}

/// A setting of the rig as the sheet takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// Its key in `[rig]`.
    pub key: &'static str,
    /// The value for reading.
    pub shown: String,
    /// The value for scripts: SI, angles in degrees.
    pub value: Value,
    /// Whether the case left it to its default.
    pub defaulted: bool,
}

/// The whole sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Title of the case.
    pub title: String,
    /// What the rig is taken to be.
    pub settings: Vec<Given>,
    /// The sections, in the order of the work at the bench.
    pub sections: Vec<Section>,
}

impl Sheet {
    /// The value of a key.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.sections.iter().find_map(|section| section.value(key))
    }

    /// The sheet for scripts: every key with its value, the settings, the notes and cautions by section.
    pub fn keys(&self) -> Map<String, Value> {
        let mut map = Map::new();
        for row in self.sections.iter().flat_map(|section| &section.rows) {
            map.insert(row.key.into(), json!(row.value));
        }
        let settings = self.settings.iter().map(|given| {
            (given.key.to_owned(), json!({"value": given.value, "shown": given.shown, "default": given.defaulted}))
        });
        map.insert("settings".into(), Value::Object(settings.collect()));
        let texts = |of: &dyn Fn(&Section) -> Vec<String>| -> Value {
            let some = self.sections.iter().filter(|section| !of(section).is_empty());
            Value::Object(some.map(|section| (section.title.to_owned(), json!(of(section)))).collect())
        };
        map.insert("notes".into(), texts(&|section| section.notes.clone()));
        map.insert("cautions".into(), texts(&|section| section.cautions.iter().map(|c| (*c).to_owned()).collect()));
        map
    }
}
