//! The runs of a search.

use super::super::{KEPT, Unfound, measure, on_all_cores, work};
use crate::base::row::{Section, walk};
use crate::base::{Error, Result};
use crate::input::campaign::Seek;
use crate::study::{Shared, read_text};
use std::cell::RefCell;
use std::sync::{Mutex, PoisonError};

/// A run of a search.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Where, each key between 0 and 1 of its range.
    pub place: Vec<f64>,
    /// The row, if the run was done and has it.
    pub row: Option<f64>,
    /// Its estimated error.
    pub error: Option<f64>,
    /// Its unit.
    pub unit: &'static str,
    /// By how much the limit that is nearest, or passed furthest, is passed, over its size; below zero within all limits. None without
    /// limits.
    pub beyond: Option<f64>,
    /// Estimated error of that.
    pub beyond_error: Option<f64>,
    /// Which limit that is.
    pub limit: String,
    /// Why there is no row.
    pub message: String,
}

impl Tried {
    /// Whether it was done and keeps all limits.
    pub fn is_within(&self) -> bool {
        self.row.is_some() && self.beyond.is_none_or(|beyond| beyond <= 0.0)
    }
}

/// All runs of a search so far, and solutions for the next.
pub(super) struct Trials<'a> {
    pub seek: &'a Seek,
    threads: usize,
    shared: Shared,
    tried: RefCell<Vec<Tried>>,
    watch: &'a (dyn Fn(usize) + Sync),
}

impl<'a> Trials<'a> {
    pub fn new(seek: &'a Seek, threads: usize, watch: &'a (dyn Fn(usize) + Sync)) -> Trials<'a> {
        Trials { seek, threads, shared: Shared::new(KEPT), tried: RefCell::default(), watch }
    }

    pub fn into_tried(self) -> Vec<Tried> {
        self.tried.into_inner()
    }

    /// All so far.
    pub fn all(&self) -> Vec<Tried> {
        self.tried.borrow().clone()
    }

    /// The run at a place, which is done once.
    pub fn at(&self, place: &[f64]) -> Result<Tried> {
        if let Some(known) = self.tried.borrow().iter().find(|tried| tried.place == place) {
            return Ok(known.clone());
        }
        let tried = self.one(place, &self.shared)?;
        self.add([tried.clone()]);
        Ok(tried)
    }

    /// The runs at several places, several at once.
    pub fn at_all(&self, places: &[Vec<f64>]) -> Result<Vec<Tried>> {
        let found = Mutex::new(vec![None; places.len()]);
        let indices: Vec<usize> = (0..places.len()).collect();
        let groups: Vec<&[usize]> = indices.chunks(places.len().div_ceil(self.threads.max(1)).max(1)).collect();
        let seek = Alone { seek: self.seek };
        on_all_cores(&groups, self.threads, &|k, shared| {
            let tried = seek.one(&places[k], shared)?;
            found.lock().unwrap_or_else(PoisonError::into_inner)[k] = Some(tried);
            Ok(())
        })?;
        let found: Vec<Tried> =
            found.into_inner().unwrap_or_else(PoisonError::into_inner).into_iter().flatten().collect();
        self.add(found.iter().cloned());
        Ok(found)
    }

    fn add(&self, tried: impl IntoIterator<Item = Tried>) {
        let mut all = self.tried.borrow_mut();
        all.extend(tried);
        (self.watch)(all.len());
    }

    fn one(&self, place: &[f64], shared: &Shared) -> Result<Tried> {
        Alone { seek: self.seek }.one(place, shared)
    }
}

/// What a run needs to know.
#[derive(Clone, Copy)]
struct Alone<'a> {
    seek: &'a Seek,
}

impl Alone<'_> {
    fn one(self, place: &[f64], shared: &Shared) -> Result<Tried> {
        let seek = self.seek;
        let mut tried = Tried {
            place: place.to_vec(),
            row: None,
            error: None,
            unit: "",
            beyond: None,
            beyond_error: None,
            limit: String::new(),
            message: String::new(),
        };
        let values: Vec<_> = seek.ranges.iter().zip(place).map(|(range, t)| (&range.key, range.at(*t))).collect();
        let text = seek.campaign.base.with(values.iter().map(|(key, value)| (*key, value)));
        let found = match read_text(&text, &seek.campaign.base.file)
            .and_then(|(case, plan)| work(&seek.campaign, case, plan, shared))
        {
            Ok(found) => found,
            Err(error @ (Error::Stopped | Error::File { .. })) => return Err(error),
            Err(error) => {
                tried.message = super::super::in_one_line(&error);
                return Ok(tried);
            }
        };
        let report = found.sections();
        match measure(&report, &seek.row) {
            Ok(found) => (tried.row, tried.error, tried.unit) = (Some(found.value), found.error, found.unit),
            Err(Unfound::Unknown(near)) => {
                let near = near.map_or(String::new(), |near| format!("; the nearest is {near}"));
                tried.message = format!("the report has no number under \"{}\"{near}", seek.row);
            }
            Err(Unfound::Several(paths)) => {
                tried.message = format!("\"{}\" fits several rows: {}", seek.row, paths.join(", "));
            }
        }
        for (limit, beyond, error) in limits(seek, &report)? {
            if tried.beyond.is_none_or(|worst| beyond > worst) {
                (tried.beyond, tried.beyond_error, tried.limit) = (Some(beyond), error, limit);
            }
        }
        Ok(tried)
    }
}

/// Every limit with how far it is passed over its size, and the error of that.
fn limits(seek: &Seek, report: &[Section]) -> Result<Vec<(String, f64, Option<f64>)>> {
    let mut list = Vec::new();
    for bound in &seek.bounds {
        let found = measure(report, &bound.row).map_err(|_| {
            let what = format!("the report has no number under \"{}\"", bound.row);
            Error::argument(what, "name a row of the report by its keys joined by dots")
        })?;
        let mut add = |limit: f64, beyond: f64| {
            let size = if limit == 0.0 { 1.0 } else { limit.abs() };
            list.push((bound.row.clone(), beyond / size, found.error.map(|error| error / size)));
        };
        if let Some(most) = bound.most {
            add(most, found.value - most);
        }
        if let Some(least) = bound.least {
            add(least, least - found.value);
        }
    }
    if seek.within_tolerance {
        let mut rows: Vec<(String, f64)> = Vec::new();
        walk(report, &mut |path, row| {
            if let (Some(rest), Some(x)) = (path.strip_prefix("departure.verdict.measures."), row.value.number()) {
                rows.push((rest.to_owned(), x));
            }
        });
        let of = |measure: &str, key: &str| {
            let start = format!("{measure}.{key}");
            let is =
                |path: &str| path.strip_prefix(&start).is_some_and(|unit| unit.is_empty() || unit.starts_with('_'));
            rows.iter().find(|(path, _)| is(path)).map(|(_, x)| *x)
        };
        for measure in ["speed", "direction", "shift"] {
            if let (Some(value), Some(limit)) = (of(measure, "value"), of(measure, "limit")) {
                let error = of(measure, "error").map(|error| error / limit);
                list.push((format!("the tolerance of {measure}"), value / limit - 1.0, error));
            }
        }
    }
    Ok(list)
}
