//! What is known of the runs of a campaign, in `runs/` of its folder.
//!
//! Each process writes a file of its own, one line of JSON a run, and never one of another: parts may run anywhere on a shared folder, and
//! two that were given the same share only do the work twice. A line that was cut off is no run. The first line of each file bears the
//! hash of the plan.

use crate::base::error::Usage;
use crate::base::{Error, Result};
use crate::input::campaign::Campaign;
use crate::report::create_folder;
use crate::study::campaign::Part;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

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
    pub path: Arc<str>,
    /// Its unit.
    pub unit: Arc<str>,
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
    file: Mutex<Option<(PathBuf, Arc<File>)>>,
    part: String,
}

/// Which runs a process wants to know of.
#[derive(Debug, Clone, Copy)]
pub enum Wanted {
    /// Those of every file.
    All,
    /// Those of a share among so many runs: files of shares that have none of them are left unread.
    Of(Part, usize),
}

impl Wanted {
    /// Whether a file by its name may have a wanted run.
    fn reads(self, path: &Path) -> bool {
        let Wanted::Of(own, runs) = self else { return true };
        let other = path.file_name().and_then(|name| name.to_str()).and_then(part_of);
        let (own, other) = (own.share(runs), other.map(|other| other.share(runs)));
        other.is_none_or(|other| own.start.max(other.start) < own.end.min(other.end))
    }
}

/// How the name of a file begins.
fn named(part: Part) -> String {
    format!("part-{}-of-{}-", part.number, part.of)
}

/// The share in the name of a file.
fn part_of(name: &str) -> Option<Part> {
    let mut words = name.strip_prefix("part-")?.splitn(4, '-');
    let (number, between, of) = (words.next()?.parse().ok()?, words.next()?, words.next()?.parse().ok()?);
    (between == "of" && (1..=of).contains(&number)).then_some(Part { number, of })
}

impl Store {
    /// Reads what is known of a campaign; a share that is wanted stands in the name of the file that takes its runs.
    ///
    /// # Errors
    /// [`Error::Usage`] if runs of another plan stand there and may not be removed; [`Error::File`] if a file cannot be read.
    pub fn open(dir: &Path, campaign: &Campaign, wanted: Wanted, replace: bool) -> Result<Store> {
        let dir = dir.join(RUNS);
        create_folder(&dir)?;
        let part = match wanted {
            Wanted::All => Part::WHOLE,
            Wanted::Of(part, _) => part,
        };
        let head = Head {
            campaign_sha256: campaign.sha256.clone(),
            plan: campaign.file.display().to_string(),
            part: format!("{}-of-{}", part.number, part.of),
        };
        let head = serde_json::to_string(&head).map_err(unwritten)?;
        let store = Store { dir, known: BTreeMap::new(), head, file: Mutex::new(None), part: named(part) };
        store.read(&campaign.sha256, wanted, replace)
    }

    fn read(mut self, campaign_sha256: &str, wanted: Wanted, replace: bool) -> Result<Store> {
        let mut words = Words::default();
        for path in files(&self.dir)? {
            let mut lines = Lines::open(&path)?;
            // none of a process that has just begun
            let Some(head) = lines.next()? else { continue };
            let Ok(head) = serde_json::from_slice::<Head>(head) else { continue };
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
            if !wanted.reads(&path) {
                continue;
            }
            while let Some(line) = lines.next()? {
                if let Ok(mut stored) = serde_json::from_slice::<Stored>(line) {
                    for number in &mut stored.measures {
                        (number.path, number.unit) = (words.one(&number.path), words.one(&number.unit));
                    }
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
        let (path, file) = self.written(line.as_bytes())?;
        // other threads write meanwhile, and what they wrote is on the disk with this
        file.sync_data().map_err(|source| Error::File { action: "write", path, source })
    }

    /// Writes a line, and gives the file it stands in.
    fn written(&self, line: &[u8]) -> Result<(PathBuf, Arc<File>)> {
        let mut held =
            self.file.lock().map_err(|_| Error::failed("a run ended in a fault", "report this as a fault"))?;
        let (path, file) = match held.take() {
            Some(begun) => begun,
            None => self.begin()?,
        };
        // where this fails the file is not held again: a line that was cut off stays the last of its file
        (&*file).write_all(line).map_err(|source| Error::File { action: "write", path: path.clone(), source })?;
        *held = Some((path.clone(), file.clone()));
        Ok((path, file))
    }

    /// A file of this process alone.
    fn begin(&self) -> Result<(PathBuf, Arc<File>)> {
        let failed = |source| Error::File { action: "write into", path: self.dir.clone(), source };
        let new = tempfile::Builder::new().prefix(&self.part).suffix(".jsonl").rand_bytes(10).tempfile_in(&self.dir);
        let mut new = new.map_err(failed)?;
        // goes away again if its head finds no room
        writeln!(new, "{}", self.head).map_err(failed)?;
        let (file, path) = new.keep().map_err(|error| failed(error.error))?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // whoever collects may be another user of the shared folder
            file.set_permissions(std::fs::Permissions::from_mode(0o644)).map_err(failed)?;
        }
        Ok((path, Arc::new(file)))
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
            let mut lines = Lines::open(&path)?;
            while let Some(line) = lines.next()? {
                if !line.starts_with(start.as_bytes()) {
                    continue;
                }
                if let Ok(WithReport { run: own, report: Some(report) }) = serde_json::from_slice(line)
                    && own == run
                {
                    return Ok(Some(report.get().to_owned()));
                }
            }
        }
        Ok(None)
    }
}

/// The lines of a file. A process that was killed may have cut its last one off within a character.
struct Lines<'a> {
    path: &'a Path,
    file: BufReader<File>,
    line: Vec<u8>,
}

impl Lines<'_> {
    fn open(path: &Path) -> Result<Lines<'_>> {
        let file = File::open(path).map_err(|source| Error::File { action: "read", path: path.to_owned(), source })?;
        Ok(Lines { path, file: BufReader::new(file), line: Vec::new() })
    }

    fn next(&mut self) -> Result<Option<&[u8]>> {
        self.line.clear();
        let failed = |source| Error::File { action: "read", path: self.path.to_owned(), source };
        let read = self.file.read_until(b'\n', &mut self.line).map_err(failed)?;
        Ok((read > 0).then_some(&self.line))
    }
}

/// Words that many runs have, each kept once.
#[derive(Default)]
struct Words(BTreeSet<Arc<str>>);

impl Words {
    fn one(&mut self, word: &Arc<str>) -> Arc<str> {
        if let Some(known) = self.0.get(word) {
            return known.clone();
        }
        self.0.insert(word.clone());
        word.clone()
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
    Usage::OtherPlan { file: path.to_owned(), plan: plan.to_owned() }.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::campaign::Campaign;

    fn campaign(folder: &Path) -> Campaign {
        let case = "[cell]\nlength = 2\nwidth = 1\ngap = 1e-3\n[fluid]\nname = 'water'\ntemperature = '20 degC'\n[drive]\n\
                    mean_speed = 1e-3\n";
        std::fs::write(folder.join("pier.toml"), case).unwrap();
        let plan = folder.join("plan.toml");
        std::fs::write(&plan, "case = 'pier.toml'\nmeasure = 'drive.head'\n[vary]\n'drive.mean_speed' = { from = 1, to = 9, steps = 9 }\n")
            .unwrap();
        Campaign::read(&plan).unwrap()
    }

    fn run(run: usize) -> Stored {
        let number = Number { path: "drive.head_m".into(), unit: "m".into(), value: Some(0.1), error: None };
        let message = "30 \u{b0}C".to_owned();
        Stored { run, combined_sha256: "ab".into(), status: Status::Done, message, measures: vec![number] }
    }

    fn open(dir: &Path, campaign: &Campaign, number: usize, of: usize) -> Store {
        Store::open(dir, campaign, Wanted::Of(Part { number, of }, campaign.runs.count()), false).unwrap()
    }

    /// Parts of other divisions are read where they have runs of this share: places 0..3 of 1/3 and 2..4 of 2/4 meet, 2..4 and 6..9 do not.
    #[test]
    fn files_of_other_shares_are_left_unread() {
        let folder = tempfile::tempdir().unwrap();
        let campaign = campaign(folder.path());
        open(folder.path(), &campaign, 2, 4).add(&run(3), None).unwrap();
        for (number, of, known) in [(1, 3, 1), (2, 3, 1), (3, 3, 0), (1, 4, 0), (2, 4, 1), (1, 1, 1)] {
            assert_eq!(open(folder.path(), &campaign, number, of).known.len(), known, "{number}/{of}");
        }
        assert_eq!(Store::open(folder.path(), &campaign, Wanted::All, false).unwrap().known[&3], run(3));
    }

    #[test]
    fn shares_stand_in_names_of_files() {
        assert_eq!(
            part_of(&format!("{}aBc-d.jsonl", named(Part { number: 3, of: 40 }))),
            Some(Part { number: 3, of: 40 })
        );
        for name in
            ["part-0-of-4-a.jsonl", "part-5-of-4-a.jsonl", "part-a-of-4-a.jsonl", "runs.jsonl", "part-1-in-4-a.jsonl"]
        {
            assert_eq!(part_of(name), None, "{name}");
        }
    }

    /// A process that was killed while it wrote, at every byte: what stood before stays, and the line that was cut is no run.
    #[test]
    fn a_line_that_was_cut_off_is_no_run() {
        let folder = tempfile::tempdir().unwrap();
        let campaign = campaign(folder.path());
        let store = open(folder.path(), &campaign, 1, 1);
        store.add(&run(1), Some("{\n  \"a\": \"\u{b5}\"\n}")).unwrap();
        store.add(&run(2), None).unwrap();
        let path = files(&folder.path().join(RUNS)).unwrap().remove(0);
        let whole = std::fs::read(&path).unwrap();
        let ends: Vec<usize> = (0..whole.len()).filter(|&k| whole[k] == b'\n').collect();
        for length in 0..=whole.len() {
            std::fs::write(&path, &whole[..length]).unwrap();
            let store = Store::open(folder.path(), &campaign, Wanted::All, false).unwrap();
            // a line is whole without its end of line
            let known = ends.iter().skip(1).filter(|&&end| length >= end).count();
            assert_eq!(store.known.len(), known, "{length}");
            assert_eq!(store.report(1).unwrap().as_deref(), (known > 0).then_some("{\"a\": \"\u{b5}\"}"), "{length}");
        }
    }
}
