//! The numbers of a report by their paths.

use super::super::measure::error_beside;
use crate::base::row::{Section, Value, walk};
use std::collections::BTreeMap;

/// Parts of a report that are no results.
const SETTINGS: [&str; 8] = ["program.", "case.", "mesh.", "solver.", "warnings.", "tolerance.", "cell.", "fluid."];

/// A number of a report.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Number {
    pub path: String,
    pub unit: &'static str,
    pub value: f64,
    pub error: Option<f64>,
    /// Whether it is one of those that matter most: what drives the cell, the pattern at the probes,
    /// and what is judged.
    pub is_main: bool,
}

/// The numbers of a report.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Numbers {
    pub list: Vec<Number>,
    by_path: BTreeMap<String, f64>,
}

impl Numbers {
    /// The value at a path.
    pub fn get(&self, path: &str) -> Option<f64> {
        self.by_path.get(path).copied()
    }
}

/// The real numbers of a report that are results.
pub(super) fn numbers_of(report: &[Section]) -> Numbers {
    let mut numbers = Numbers::default();
    walk(report, &mut |path, row| {
        let Value::Number(value) = row.value else { return };
        if !value.is_finite() || SETTINGS.iter().any(|start| path.starts_with(start)) || path.starts_with("sweep.") {
            return;
        }
        let judged = path.starts_with("departure.verdict.measures.") && path.contains(".value");
        let of_pattern = path == "shape_factor.value" || path.starts_with("probes.") && row.followed.is_some();
        let is_main = of_pattern || path.starts_with("drive.") || path.starts_with("reynolds.") || judged;
        numbers.by_path.insert(path.to_owned(), value);
        numbers.list.push(Number { path: path.to_owned(), unit: row.kind.unit(), value, error: row.error, is_main });
    });
    for number in &mut numbers.list {
        let beside = error_beside(&number.path).and_then(|path| numbers.by_path.get(&path));
        number.error = number.error.or(beside.copied());
    }
    numbers
}
