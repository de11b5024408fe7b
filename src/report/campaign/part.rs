//! A share of a campaign: each of its runs computed, measured and stored at once.

use super::kept::keep;
use super::store::{Number, Status, Store, Stored, Wanted};
use crate::base::{Error, Result};
use crate::input::campaign::Campaign;
use crate::report::json::json;
use crate::study::Shared;
use crate::study::campaign::{Measured, Order, Part, Unfound, measure, on_all_cores, scaling_keys, work};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// How far a share has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progressed {
    /// Runs that are known now.
    pub known: usize,
    /// Those of them that failed.
    pub failed: usize,
    /// Runs of the share.
    pub of: usize,
}

/// How a share is done.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    /// Which share.
    pub part: Part,
    /// Runs at once.
    pub threads: usize,
    /// Whether runs of another plan that stand in the folder are thrown away.
    pub replace: bool,
}

/// Does what is left of a share. `watch` is told after every run.
///
/// # Errors
/// [`Error::Usage`] if runs of another plan stand in the folder, or if the first run that was done has no row under a measure;
/// [`Error::File`] if a run cannot be stored: what was stored before stays. A run that cannot be computed is stored with its message.
pub fn run_part(campaign: &Campaign, dir: &Path, way: Way, watch: &(dyn Fn(Progressed) + Sync)) -> Result<Progressed> {
    let store = Store::open(dir, campaign, Wanted::Of(way.part, campaign.runs.count()), way.replace)?;
    let order = Order::new(campaign, &scaling_keys(campaign)?);
    let groups = order.groups(way.part, way.threads);
    let of = way.part.share(campaign.runs.count()).len();
    let is_checked = AtomicBool::new(store.known.values().any(|stored| stored.status != Status::Failed));
    let (known, failed) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let at_work = AtWork { campaign, store: &store, dir, is_checked };
    let progressed = || Progressed { known: known.load(Ordering::Relaxed), failed: failed.load(Ordering::Relaxed), of };
    on_all_cores(&groups, way.threads, &|run, shared| {
        let status = at_work.one(run, shared)?;
        known.fetch_add(1, Ordering::Relaxed);
        failed.fetch_add(usize::from(status == Status::Failed), Ordering::Relaxed);
        watch(progressed());
        Ok(())
    })?;
    Ok(progressed())
}

struct AtWork<'a> {
    campaign: &'a Campaign,
    store: &'a Store,
    dir: &'a Path,
    /// Whether some run has shown that the measures exist.
    is_checked: AtomicBool,
}

impl AtWork<'_> {
    /// Does a run unless it is known, and stores it.
    fn one(&self, run: usize, shared: &Shared) -> Result<Status> {
        let campaign = self.campaign;
        let known = self.store.known.get(&(run + 1));
        let failed = |combined_sha256: String, error: &Error| {
            let stored = Stored {
                run: run + 1,
                combined_sha256,
                status: Status::Failed,
                message: crate::study::campaign::in_one_line(error),
                measures: Vec::new(),
            };
            if known != Some(&stored) {
                self.store.add(&stored, None)?;
            }
            Ok(Status::Failed)
        };
        let (case, plan) = match campaign.read_run(run) {
            Ok(read) => read,
            Err(error) => return failed(String::new(), &error),
        };
        let combined_sha256 = case.combined_sha256();
        if let Some(known) = known.filter(|known| known.combined_sha256 == combined_sha256)
            && (known.status == Status::Failed || super::kept::is_kept(campaign, self.dir, &case))
        {
            return Ok(known.status);
        }
        let found = match work(campaign, case, plan, shared) {
            Ok(found) => found,
            Err(Error::Stopped) => return Err(Error::Stopped),
            Err(error) => return failed(combined_sha256, &error),
        };
        let report = found.sections();
        let text = match json(&report) {
            Ok(text) => text,
            Err(error) => return failed(combined_sha256, &error),
        };
        let measured: Vec<std::result::Result<Measured, Unfound>> =
            campaign.measures.iter().map(|words| measure(&report, words)).collect();
        if !self.is_checked.load(Ordering::Relaxed) {
            let mut all = campaign.measures.iter().zip(&measured);
            if let Some((words, unfound)) = all.find_map(|(words, found)| Some((words, found.as_ref().err()?))) {
                return Err(unknown(words, unfound));
            }
            // only now: runs that end meanwhile on other threads are checked too
            self.is_checked.store(true, Ordering::Relaxed);
        }
        keep(campaign, self.dir, &found)?;
        let stored = Stored {
            run: run + 1,
            combined_sha256,
            status: if found.reached() { Status::Done } else { Status::TargetMissed },
            message: lacks(campaign, &measured),
            measures: measured.into_iter().map(number).collect(),
        };
        self.store.add(&stored, Some(&text))?;
        Ok(stored.status)
    }
}

fn number(found: std::result::Result<Measured, Unfound>) -> Number {
    match found {
        Ok(Measured { path, unit, value, error }) => {
            Number { path: path.into(), unit: unit.into(), value: Some(value), error }
        }
        Err(_) => Number { path: "".into(), unit: "".into(), value: None, error: None },
    }
}

/// Which measures a report has no row for.
fn lacks(campaign: &Campaign, measured: &[std::result::Result<Measured, Unfound>]) -> String {
    let lacking = campaign.measures.iter().zip(measured).filter(|(_, found)| found.is_err());
    let lacking: Vec<&str> = lacking.map(|(words, _)| words.as_str()).collect();
    if lacking.is_empty() { String::new() } else { format!("the report has no {}", lacking.join(", ")) }
}

/// A measure that the report has no number for.
pub(super) fn unknown(words: &str, unfound: &Unfound) -> Error {
    match unfound {
        Unfound::Unknown(near) => {
            let near = near.as_ref().map_or(String::new(), |near| format!("did you mean \"{near}\"? "));
            let remedy = format!("{near}keys of the report are joined by dots, entries of lists go by their name");
            Error::argument(format!("the report has no number under \"{words}\""), remedy)
        }
        Unfound::Several(paths) => Error::argument(
            format!("\"{words}\" fits several rows of the report"),
            format!("write one of {}", paths.join(", ")),
        ),
    }
}
