//! The design sheet: what the rig is taken to be, and sections of rows in the order of the work at the bench.

use crate::base::row::{Row, Section, Value};

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
    /// The sections.
    pub sections: Vec<Section>,
}

impl Sheet {
    /// The value of a key.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.sections.iter().find_map(|section| section.number(key))
    }

    /// The settings as a section of their own.
    pub fn settings_section(&self) -> Section {
        let record = |given: &Given| {
            let rows = vec![
                Row::script("value", given.value.clone()),
                Row::script("shown", given.shown.clone()),
                Row::script("default", given.defaulted),
            ];
            Section::new(given.key, "", rows)
        };
        Section::new("settings", "", Vec::new()).with(self.settings.iter().map(record).collect())
    }
}
