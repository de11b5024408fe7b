//! Rows that belong together, and the way to a row by its path.

use super::{Detail, Row, Text, Value};

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
    use crate::base::row::Kind;
    use crate::base::units::Dimension;

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
}
