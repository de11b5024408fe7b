//! `campaign.csv` and `campaign.json`: all runs, whatever process has done them.

use super::store::{Status, Stored};
use crate::base::row::{Kind, Row, Section};
use crate::base::{Error, Result};
use crate::input::campaign::Campaign;
use crate::report::{FigureSettings, Folder, write_figures};
use crate::study::program;
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// The word for a run that nobody has done.
const MISSING: &str = "missing";

/// Most reasons of failures that are told.
const MOST_TOLD: usize = 5;

/// The runs of a campaign that are known.
#[derive(Debug)]
pub struct Collected<'a> {
    /// The plan.
    pub campaign: &'a Campaign,
    /// What is known, by the number of the run from 1.
    pub known: &'a BTreeMap<usize, Stored>,
}

/// A run in `campaign.json`.
#[derive(Serialize)]
struct Entry<'a> {
    run: usize,
    combined_sha256: &'a str,
    status: &'a str,
    #[serde(skip_serializing_if = "str::is_empty")]
    message: &'a str,
    values: BTreeMap<&'a str, &'a str>,
    measures: BTreeMap<&'a str, f64>,
    errors: BTreeMap<&'a str, f64>,
}

impl Collected<'_> {
    /// How many runs ended in a way.
    pub fn count(&self, status: Status) -> usize {
        self.known.values().filter(|stored| stored.status == status).count()
    }

    /// How many runs nobody has done.
    pub fn missing(&self) -> usize {
        self.campaign.runs.count() - self.known.len()
    }

    /// Whether every run was done and reached its accuracy.
    pub fn is_whole(&self) -> bool {
        self.count(Status::Done) == self.campaign.runs.count()
    }

    /// Runs that have the hash of another one, by pairs of their numbers.
    pub fn same(&self) -> Vec<[usize; 2]> {
        let mut first: BTreeMap<&str, usize> = BTreeMap::new();
        let mut pairs = Vec::new();
        for (&run, stored) in self.known.iter().filter(|(_, stored)| !stored.combined_sha256.is_empty()) {
            match first.get(stored.combined_sha256.as_str()) {
                Some(&other) => pairs.push([other, run]),
                None => {
                    first.insert(&stored.combined_sha256, run);
                }
            }
        }
        pairs
    }

    /// Whether any run has an estimated error of a measure.
    fn has_error(&self, measure: usize) -> bool {
        self.known.values().any(|stored| stored.measures.get(measure).is_some_and(|number| number.error.is_some()))
    }

    /// Path and unit of a measure, from the first run that has it.
    pub fn path_and_unit(&self, measure: usize) -> (&str, &str) {
        let found = self.known.values().filter_map(|stored| stored.measures.get(measure));
        let found = found.filter(|number| !number.path.is_empty()).map(|number| (&*number.path, &*number.unit));
        found.into_iter().next().unwrap_or(("", ""))
    }

    /// Writes both tables, the figures and the page.
    ///
    /// # Errors
    /// [`Error::File`] if one cannot be written, [`Error::Failed`] if a figure cannot be drawn, [`Error::Input`] if the case of the plan is
    /// no longer one.
    pub fn write(&self, folder: &mut Folder, figures: &FigureSettings) -> Result<()> {
        folder.write("campaign.csv", |out| self.csv(out))?;
        let head = crate::report::json::json(&self.sections())?;
        folder.write("campaign.json", |out| self.json(out, &head))?;
        write_figures(self.figures(figures)?, folder, figures)?;
        self.write_page(folder, figures)
    }

    fn csv(&self, out: &mut dyn Write) -> io::Result<()> {
        let (runs, measures) = (&self.campaign.runs, &self.campaign.measures);
        let with_error: Vec<usize> = (0..measures.len()).filter(|&k| self.has_error(k)).collect();
        let mut table = ::csv::Writer::from_writer(out);
        let mut head: Vec<String> = ["run", "combined_sha256", "status", "message"].map(str::to_owned).into();
        head.extend(runs.keys.iter().map(|key| key.typed.clone()));
        head.extend(measures.iter().cloned());
        head.extend(with_error.iter().map(|&k| format!("error of {}", measures[k])));
        table.write_record(&head).map_err(of_disk)?;
        for run in 0..runs.count() {
            let stored = self.known.get(&(run + 1));
            let of = |take: fn(&super::Number) -> Option<f64>, k: usize| {
                let number = stored.and_then(|stored| stored.measures.get(k)).and_then(take);
                number.map_or_else(String::new, |x| x.to_string())
            };
            let mut row = vec![
                (run + 1).to_string(),
                stored.map_or_else(String::new, |stored| stored.combined_sha256.clone()),
                stored.map_or(MISSING, |stored| stored.status.word()).to_owned(),
                stored.map_or_else(String::new, |stored| stored.message.clone()),
            ];
            row.extend(runs.of(run).into_iter().map(|value| value.shown.clone()));
            row.extend((0..measures.len()).map(|k| of(|number| number.value, k)));
            row.extend(with_error.iter().map(|&k| of(|number| number.error, k)));
            table.write_record(&row).map_err(of_disk)?;
        }
        table.flush()
    }

    /// The head of the report, then the runs one a line.
    fn json(&self, out: &mut dyn Write, head: &str) -> io::Result<()> {
        let (runs, measures) = (&self.campaign.runs, &self.campaign.measures);
        let head = head.trim_end().strip_suffix('}').unwrap_or(head).trim_end();
        write!(out, "{head},\n  \"runs\": [")?;
        for run in 0..runs.count() {
            let stored = self.known.get(&(run + 1));
            let numbers = |take: fn(&super::Number) -> Option<f64>| {
                let of = measures.iter().zip(stored.into_iter().flat_map(|stored| &stored.measures));
                of.filter_map(|(name, number)| Some((name.as_str(), take(number)?))).collect()
            };
            let entry = Entry {
                run: run + 1,
                combined_sha256: stored.map_or("", |stored| &stored.combined_sha256),
                status: stored.map_or(MISSING, |stored| stored.status.word()),
                message: stored.map_or("", |stored| &stored.message),
                values: runs
                    .keys
                    .iter()
                    .zip(runs.of(run))
                    .map(|(key, value)| (key.typed.as_str(), value.shown.as_str()))
                    .collect(),
                measures: numbers(|number| number.value),
                errors: numbers(|number| number.error),
            };
            write!(out, "{}\n    {}", if run > 0 { "," } else { "" }, serde_json::to_string(&entry)?)?;
        }
        writeln!(out, "\n  ]\n}}")
    }

    /// What is printed: counts, the measures with their ranges.
    pub fn sections(&self) -> Vec<Section> {
        let campaign = self.campaign;
        let counts = vec![
            Row::new("title", "campaign", campaign.title.clone(), Kind::Number),
            Row::new("case", "case", campaign.base.file.display().to_string(), Kind::Number),
            Row::new("command", "done for each", campaign.work.word(), Kind::Number),
            Row::script("campaign_sha256", campaign.sha256.clone()),
            Row::new("count", "runs", campaign.runs.count(), Kind::Number),
            Row::new("done", "done", self.count(Status::Done), Kind::Number),
            Row::new("target_missed", "done, accuracy not reached", self.count(Status::TargetMissed), Kind::Number),
            Row::new("failed", "failed", self.count(Status::Failed), Kind::Number),
            Row::new(MISSING, "not done yet", self.missing(), Kind::Number),
            Row::new("repeated", "repeat another run", self.same().len(), Kind::Number).full(),
        ];
        let keys = campaign.runs.keys.iter().enumerate().map(|(k, key)| {
            let values = campaign.runs.values(k);
            let ends = [values.first(), values.last()].map(|value| value.map_or("", |value| &value.shown).to_owned());
            vec![
                Row::new("key", "key", key.typed.clone(), Kind::Number),
                Row::new("values", "values", values.len(), Kind::Number),
                Row::new("first", "first", ends[0].clone(), Kind::Number),
                Row::new("last", "last", ends[1].clone(), Kind::Number),
            ]
        });
        let measures = campaign.measures.iter().enumerate().map(|(k, name)| self.range(k, name));
        let mut notes = Vec::new();
        let same = self.same();
        if let Some([first, second]) = same.first() {
            let more = if same.len() > 1 { format!(", and {} more pairs", same.len() - 1) } else { String::new() };
            notes.push(format!("Runs {first} and {second} are the same case{more}: their values say the same."));
        }
        notes.extend(self.failures().into_iter().take(MOST_TOLD).map(|(message, runs)| match runs.as_slice() {
            [run] => format!("Run {run} failed: {message}"),
            [first, .., last] => format!("{} runs from {first} to {last} failed: {message}", runs.len()),
            [] => message.to_owned(),
        }));
        vec![
            program(),
            Section::new("campaign", "Campaign", counts).noted(notes),
            Section::table("keys", "Varied", keys),
            Section::table("measures", "Measured over all runs that were done", measures),
        ]
    }

    /// Why runs failed, the most frequent reason first, with their numbers.
    fn failures(&self) -> Vec<(&str, Vec<usize>)> {
        let mut reasons: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for stored in self.known.values().filter(|stored| stored.status == Status::Failed) {
            reasons.entry(&stored.message).or_default().push(stored.run);
        }
        let mut reasons: Vec<_> = reasons.into_iter().collect();
        reasons.sort_by_key(|(_, runs)| (std::cmp::Reverse(runs.len()), runs.first().copied()));
        reasons
    }

    fn range(&self, measure: usize, name: &str) -> Vec<Row> {
        let (path, unit) = self.path_and_unit(measure);
        let values = |run: &Stored| run.measures.get(measure).and_then(|number| number.value);
        let found = || self.known.values().filter_map(|stored| Some((values(stored)?, stored.run)));
        let least = found().min_by(|a, b| a.0.total_cmp(&b.0));
        let largest = found().max_by(|a, b| a.0.total_cmp(&b.0));
        let mut rows = vec![
            Row::new("measure", "measure", name.to_owned(), Kind::Number),
            Row::new("path", "row of the report", path.to_owned(), Kind::Number).full(),
            Row::new("unit", "unit", if unit.is_empty() { "1".to_owned() } else { unit.to_owned() }, Kind::Number),
        ];
        if let (Some(least), Some(largest)) = (least, largest) {
            rows.extend([
                Row::new("least", "least", least.0, Kind::Number),
                Row::new("least_run", "in run", least.1, Kind::Number),
                Row::new("largest", "largest", largest.0, Kind::Number),
                Row::new("largest_run", "in run", largest.1, Kind::Number),
            ]);
        }
        rows
    }
}

/// What the disk said, of a kind for which there is a remedy.
fn of_disk(error: ::csv::Error) -> io::Error {
    match error.into_kind() {
        ::csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}

/// What is known of a campaign whose folder holds nothing of it.
pub fn nothing_known(dir: &std::path::Path) -> Error {
    Error::argument(format!("{} holds no run of this plan", dir.display()), "do its parts first")
}
