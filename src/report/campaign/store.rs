//! What is known of the runs of a campaign, in `runs/` of its folder.
//!
//! Each process writes a file of its own, one line of JSON a run, and never one of another: parts may run anywhere on a shared folder, and
//! two that were given the same share only do the work twice. A line that was cut off is no run. The first line of each file bears the
//! hash of the plan.

use crate::base::{Error, Result};
use crate::report::create_folder;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The folder of the runs within that of the campaign.
pub const RUNS: &str = "runs";

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// With results.
    Done,
    /// With results whose wanted accuracy was not reached.
    TargetMissed,
    /// Without results.
    Failed,
}

impl Status {
    /// Its word in files.
    pub fn word(self) -> &'static str {
        match self {
            Status::Done => "done",
            Status::TargetMissed => "target_missed",
            Status::Failed => "failed",
        }
    }
}

/// A number that was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Number {
    /// Its path in the report; empty if the report of this run has none.
    pub path: String,
    /// Its unit.
    pub unit: String,
    /// The value.
    pub value: Option<f64>,
    /// Its estimated error.
    pub error: Option<f64>,
}

/// A run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stored {
    /// Its number, from 1.
    pub run: usize,
    /// Hash over its case and all that reads; empty if the case could not be read.
    pub combined_sha256: String,
    /// How it ended.
    pub status: Status,
    /// Why it failed, or what it lacks; else empty.
    pub message: String,
    /// What was measured, in the order of the plan.
    pub measures: Vec<Number>,
}

#[derive(Serialize)]
struct Line<'a> {
    #[serde(flatten)]
    stored: &'a Stored,
    #[serde(skip_serializing_if = "Option::is_none")]
    report: Option<&'a RawValue>,
}

#[derive(Serialize, Deserialize)]
struct Head {
    campaign_sha256: String,
    plan: String,
    part: String,
}

/// What is known of the runs, and the file that takes those of this process.
#[derive(Debug)]
pub struct Store {
    dir: PathBuf,
    /// What is known, by the number of the run.
    pub known: BTreeMap<usize, Stored>,
    head: String,
    file: Mutex<Option<(PathBuf, File)>>,
    part: String,
}

impl Store {
    /// Reads what is known of the campaign with a hash; `part` names this process's share in the name of its file.
    ///
    /// # Errors
    /// [`Error::Usage`] if runs of another plan stand there and may not be removed; [`Error::File`] if a file cannot be read.
    pub fn open(dir: &Path, campaign_sha256: &str, plan: &Path, part: &str, replace: bool) -> Result<Store> {
        let dir = dir.join(RUNS);
        create_folder(&dir)?;
        let head =
            Head { campaign_sha256: campaign_sha256.into(), plan: plan.display().to_string(), part: part.into() };
        let head = serde_json::to_string(&head).map_err(unwritten)?;
        let store = Store { dir, known: BTreeMap::new(), head, file: Mutex::new(None), part: part.to_owned() };
        store.read(campaign_sha256, replace)
    }

    fn read(mut self, campaign_sha256: &str, replace: bool) -> Result<Store> {
        for path in files(&self.dir)? {
            let failed = |source| Error::File { action: "read", path: path.clone(), source };
            let mut lines = BufReader::new(File::open(&path).map_err(failed)?).lines();
            let head = match lines.next() {
                // a process that has just begun
                None => continue,
                Some(line) => line.map_err(failed)?,
            };
            let Ok(head) = serde_json::from_str::<Head>(&head) else { continue };
            if head.campaign_sha256 != campaign_sha256 {
                if !replace {
                    return Err(other_plan(&path, &head.plan));
                }
                std::fs::remove_file(&path).map_err(|source| Error::File {
                    action: "remove",
                    path: path.clone(),
                    source,
                })?;
                continue;
            }
            for line in lines {
                if let Ok(stored) = serde_json::from_str::<Stored>(&line.map_err(failed)?) {
                    self.known.insert(stored.run, stored);
                }
            }
        }
        Ok(self)
    }

    /// Adds a run with its report in one line, which is on the disk when this returns.
    ///
    /// # Errors
    /// [`Error::File`] if it cannot be written.
    pub fn add(&self, stored: &Stored, report: Option<&str>) -> Result<()> {
        let report = report.map(|text| serde_json::from_str::<Box<RawValue>>(&one_line(text)));
        let report = report.transpose().map_err(unwritten)?;
        let mut line = serde_json::to_string(&Line { stored, report: report.as_deref() }).map_err(unwritten)?;
        line.push('\n');
        let mut file =
            self.file.lock().map_err(|_| Error::failed("a run ended in a fault", "report this as a fault"))?;
        if file.is_none() {
            *file = Some(self.begin()?);
        }
        if let Some((path, file)) = file.as_mut() {
            let written = file.write_all(line.as_bytes()).and_then(|()| file.sync_data());
            written.map_err(|source| Error::File { action: "write", path: path.clone(), source })?;
        }
        Ok(())
    }

    /// A file of this process alone.
    fn begin(&self) -> Result<(PathBuf, File)> {
        let failed = |source| Error::File { action: "write into", path: self.dir.clone(), source };
        let prefix = format!("part-{}-", self.part);
        let new = tempfile::Builder::new().prefix(&prefix).suffix(".jsonl").rand_bytes(10).tempfile_in(&self.dir);
        let (mut file, path) = new.and_then(|new| new.keep().map_err(|e| e.error)).map_err(failed)?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // whoever collects may be another user of the shared folder
            file.set_permissions(std::fs::Permissions::from_mode(0o644)).map_err(failed)?;
        }
        writeln!(file, "{}", self.head).map_err(failed)?;
        Ok((path, file))
    }

    /// The report of a run, as JSON in one line; none if it is not there.
    ///
    /// # Errors
    /// [`Error::File`] if a file cannot be read.
    pub fn report(&self, run: usize) -> Result<Option<String>> {
        #[derive(Deserialize)]
        struct WithReport {
            run: usize,
            report: Option<Box<RawValue>>,
        }
        let start = format!("{{\"run\":{run},");
        for path in files(&self.dir)? {
            let failed = |source| Error::File { action: "read", path: path.clone(), source };
            for line in BufReader::new(File::open(&path).map_err(failed)?).lines() {
                let line = line.map_err(failed)?;
                if !line.starts_with(&start) {
                    continue;
                }
                if let Ok(WithReport { run: own, report: Some(report) }) = serde_json::from_str(&line)
                    && own == run
                {
                    return Ok(Some(report.get().to_owned()));
                }
            }
        }
        Ok(None)
    }
}

/// The files of runs, by name.
fn files(dir: &Path) -> Result<Vec<PathBuf>> {
    let entries =
        std::fs::read_dir(dir).map_err(|source| Error::File { action: "read", path: dir.to_owned(), source })?;
    let mut files: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "jsonl"));
    files.sort();
    Ok(files)
}

/// JSON without the line breaks between its parts, which no text in it can hold.
fn one_line(json: &str) -> String {
    json.lines().map(str::trim_start).collect()
}

fn unwritten(error: serde_json::Error) -> Error {
    Error::failed(format!("a run cannot be written: {error}"), "report this as a fault")
}

fn other_plan(path: &Path, plan: &str) -> Error {
    Error::argument(
        format!(
            "{} holds runs of another plan, or of {plan} before it, its case or a file of that was changed",
            path.display()
        ),
        "collect the parts of one plan alone: choose another folder by -o, or give --force to throw these runs away",
    )
}
