//! A report: sections of rows with the times they took and the files beside it, as `report.json` and `report.txt`.

use super::Folder;
use super::json::json;
use super::text::{WIDTH, text};
use crate::base::Result;
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::{Dimension, significant};
use std::io::Write;
use std::time::Duration;

/// The report itself and the record of the folder, written after all others.
const REPORT: [&str; 3] = ["report.txt", "report.json", "results.json"];

/// The results of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Its sections.
    pub sections: Vec<Section>,
}

/// Wall-clock times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Times {
    /// Making meshes.
    pub mesh: Duration,
    /// Solving.
    pub solve: Duration,
    /// Writing and drawing.
    pub write: Duration,
    /// All of it.
    pub total: Duration,
}

impl Times {
    fn section(&self) -> Section {
        let row =
            |key, name, time: Duration| Row::new(key, name, time.as_secs_f64(), Kind::Of(Dimension::Time)).digits(2);
        let rows = vec![
            row("mesh", "meshing", self.mesh),
            row("solve", "solving", self.solve),
            row("write", "writing", self.write),
            row("total", "in all", self.total),
        ];
        Section::new("timings_s", "Time", rows)
    }
}

impl Report {
    /// The report for scripts.
    ///
    /// # Errors
    /// As [`json`].
    pub fn json(&self) -> Result<String> {
        json(&self.sections)
    }

    /// The report for reading.
    pub fn text(&self, detail: Detail, width: usize) -> String {
        text(&self.sections, detail, width)
    }

    /// Adds the times and the files written so far, writes the report beside them as `report.json` and `report.txt`, and closes the folder.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if a number is not finite, before anything is written; [`crate::base::Error::File`] if a file
    /// cannot be written.
    pub fn close(mut self, times: Times, mut folder: Folder) -> Result<Report> {
        self.sections.extend([folder.run_section(), times.section(), file_section(&folder)]);
        let json = self.json()?;
        let text = self.text(Detail::Full, WIDTH);
        folder.write("report.txt", |out| out.write_all(text.trim_start().as_bytes()))?;
        folder.write("report.json", |out| out.write_all(json.as_bytes()))?;
        folder.finish()?;
        Ok(self)
    }
}

/// The files of a folder with their sizes, the report itself among them.
fn file_section(folder: &Folder) -> Section {
    let (mut names, sizes): (Vec<String>, Vec<u64>) =
        folder.written().map(|(name, size)| (name.to_owned(), size)).unzip();
    let said = names.iter().zip(&sizes).map(|(name, &n)| format!("{name} ({} MB)", significant(n as f64 / 1e6, 3)));
    let said: Vec<String> = said.chain(REPORT.map(str::to_owned)).collect();
    names.extend(REPORT.map(str::to_owned));
    let rows = vec![
        Row::script("files", Value::texts(names)),
        Row::script("file_sizes_bytes", Value::List(sizes.into_iter().map(Value::Count).collect())),
    ];
    Section::new("", "Files written", rows).noted(vec![said.join(", ")])
}
