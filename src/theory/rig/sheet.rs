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

    /// What the rig is taken to be, and what of it the case does not say.
    pub fn settings_section(&self) -> Section {
        let record = |given: &Given| {
            let rows = vec![
                Row::script("value", given.value.clone()),
                Row::script("shown", given.shown.clone()),
                Row::script("default", given.defaulted),
            ];
            Section::new(given.key, "", rows)
        };
        let said = |defaulted: bool, head: &str| {
            let own = self.settings.iter().filter(|given| given.defaulted == defaulted);
            let list: Vec<String> = own.map(|given| format!("{} {}", given.key, given.shown)).collect();
            (!list.is_empty()).then(|| format!("{head}: {}", list.join("; ")))
        };
        let notes = [said(false, "given"), said(true, "by default")].into_iter().flatten().collect();
        let title = "What the rig is taken to be ([rig] in the case changes it)";
        Section::new("settings", title, Vec::new()).with(self.settings.iter().map(record).collect()).noted(notes)
    }

    /// The settings, the sections, and their notes and cautions once more by heading for scripts.
    pub fn all(&self) -> Vec<Section> {
        let texts = |key: &'static str, of: &dyn Fn(&Section) -> Vec<String>| {
            let some = self.sections.iter().filter(|section| !of(section).is_empty());
            let rows = some.map(|section| Row::script(section.title.clone(), Value::texts(of(section))));
            Section::new(key, "", rows.collect())
        };
        let mut list = self.sections.clone();
        list.push(self.settings_section());
        list.push(texts("notes", &|section| section.notes.clone()));
        list.push(texts("cautions", &|section| section.cautions.iter().map(|&c| c.to_owned()).collect()));
        list
    }
}
