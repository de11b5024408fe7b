//! Are the files of an output folder those that its record tells of?

use super::record::{RECORD, Record, Run, Written};
use super::staging::{Unfinished, is_inside, unfinished};
use crate::base::error::Problems;
use crate::base::hash::sha256_of;
use crate::base::row::{Kind, Row, Section};
use crate::base::{Error, Result};
use crate::study::program;
use rayon::prelude::*;
use std::fs::File;
use std::io;
use std::path::Path;

/// Compares every file of an output folder with the hash in its record, and returns what the folder holds.
///
/// # Errors
/// [`Error::Input`] with every file that is missing or another one, if a run was killed while its files were put in place, or if there is
/// no record; [`Error::Failed`] while a run is writing; [`Error::File`] if a file cannot be read.
pub fn verify(dir: &Path) -> Result<Vec<Section>> {
    let standing = idle(dir)?;
    let record_file = dir.join(RECORD);
    let mut problems = Problems::default();
    let again = "run the command again; any command that writes into the folder first puts in place what was complete";
    let Some(record) = Record::of(dir)?.filter(|_| record_file.is_file()) else {
        problems.add(dir, None, format!("there is no {RECORD}: no run came to its end here"), again);
        return Err(Error::Input(problems));
    };
    if standing == Unfinished::Complete {
        problems.add(
            dir,
            None,
            "a run was killed while its files were put in place: old and new ones are mixed",
            again,
        );
    }
    let Record { title, case, combined_sha256, .. } = record.clone();
    let runs: Vec<Run> = record.runs().filter(|run| !run.files.is_empty()).collect();
    if runs.is_empty() || combined_sha256.is_empty() {
        problems.add(&record_file, None, "the record lists no files of this program", "name a folder of results");
    }
    for run in &runs {
        let compared: Vec<Result<Option<String>>> = run.files.par_iter().map(|file| difference(dir, file)).collect();
        for (file, difference) in run.files.iter().zip(compared) {
            if let Some(what) = difference? {
                let path = dir.join(&file.name);
                problems.add(&path, None, what, format!("run `{}` again", run.command));
            }
        }
    }
    // a run that began meanwhile explains every difference
    idle(dir)?;
    problems.into_result()?;
    let text = |key, name, value: &str| Row::new(key, name, value.to_owned(), Kind::Number);
    let rows = vec![
        text("title", "results of", &title),
        text("case", "case", &case),
        text("combined_sha256", "SHA-256 with its files", &combined_sha256),
    ];
    let run = |run: &Run| {
        vec![
            text("command", "command", &run.command),
            text("settings", "settings", &run.settings),
            Row::new("files", "files", run.files.len(), Kind::Number),
        ]
    };
    let mut results = Section::new("results", "Results", rows);
    if standing == Unfinished::Abandoned {
        results = results.noted(vec![
            "a later run was killed before its files were complete; these are the ones from before".into(),
        ]);
    }
    Ok(vec![program(), results, Section::table("runs", "Commands", runs.iter().map(run))])
}

/// What stands beside the set, if nobody is writing.
fn idle(dir: &Path) -> Result<Unfinished> {
    match unfinished(dir) {
        Unfinished::AtWork => {
            Err(Error::failed(format!("a run is writing into {}", dir.display()), "look again when it has ended"))
        }
        other => Ok(other),
    }
}

/// What is wrong with a file; nothing if it is the one that was written.
fn difference(dir: &Path, file: &Written) -> Result<Option<String>> {
    if !is_inside(&file.name) {
        return Ok(Some("the record names a file outside of its folder".into()));
    }
    let path = dir.join(&file.name);
    match File::open(&path).and_then(sha256_of) {
        Ok(hash) if hash == file.sha256 => Ok(None),
        Ok(_) => Ok(Some("the file is not the one that was written".into())),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(Some("the file is missing".into())),
        Err(source) => Err(Error::File { action: "read", path, source }),
    }
}
