//! Cases solved for their rows, each once.

use super::{Effort, Figure};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use twinplate::base::error::Problems;
use twinplate::geometry::Plan;
use twinplate::report::json::json;
use twinplate::study::{Settings, Study};
use twinplate::theory::ideal::Goal;

/// What a row wants of a case.
pub struct Wanted<'a> {
    /// Case file.
    pub case: &'a str,
    /// Replaced values.
    pub set: &'a BTreeMap<String, toml::Value>,
    /// What is taken from the report.
    pub at: &'a str,
}

/// Reports of solved cases, by case, replaced values and bracket.
pub struct Cases {
    folder: PathBuf,
    effort: Effort,
    reports: BTreeMap<String, Value>,
}

impl Cases {
    /// No case solved yet.
    pub fn new(folder: &Path, effort: Effort) -> Cases {
        Cases { folder: folder.to_owned(), effort, reports: BTreeMap::new() }
    }

    /// A quantity of a case with its error: from the shape factor half the bracket and the outline allowance; from any other
    /// number its change from a bracket ten times as wide.
    pub fn figure(&mut self, wanted: &Wanted) -> Result<Figure, String> {
        let fine = self.report(wanted.case, wanted.set, self.effort.bracket)?;
        let [value, lower, upper, allowance] =
            ["value", "lower", "upper", "outline_allowance"].map(|key| number(&fine, &format!("/shape_factor/{key}")));
        let (value, error) = (value?, 0.5 * (upper? - lower?) + allowance?);
        match wanted.at {
            "/shape_factor/value" => Ok(Figure { value, error }),
            "resistance" => Ok(Figure { value: 1.0 / value, error: error / (value * value) }),
            "added length" => {
                let cell = number(&fine, "/cell/length_m")? / number(&fine, "/cell/width_m")?;
                Ok(Figure { value: 1.0 / value - cell, error: error / (value * value) })
            }
            "added squares" => {
                let cell = number(&fine, "/cell/squares")?;
                Ok(Figure { value: 1.0 / value - cell, error: error / (value * value) })
            }
            pointer => {
                let value = number(&fine, pointer)?;
                let coarse = self.report(wanted.case, wanted.set, 10.0 * self.effort.bracket)?;
                Ok(Figure { value, error: (value - number(&coarse, pointer)?).abs() })
            }
        }
    }

    /// The report of a case solved to a bracket, both corrections included.
    pub fn report(&mut self, case: &str, set: &BTreeMap<String, toml::Value>, bracket: f64) -> Result<Value, String> {
        let key = format!("{case} {set:?} {bracket}");
        if let Some(report) = self.reports.get(&key) {
            return Ok(report.clone());
        }
        let report = solve(&self.folder.join(case), set, bracket)?;
        self.reports.insert(key, report.clone());
        Ok(report)
    }
}

/// A number of a report.
pub fn number(report: &Value, pointer: &str) -> Result<f64, String> {
    report.pointer(pointer).and_then(Value::as_f64).ok_or_else(|| format!("the report has no number at {pointer}"))
}

fn solve(path: &Path, set: &BTreeMap<String, toml::Value>, bracket: f64) -> Result<Value, String> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let text = if set.is_empty() { text } else { replaced(&text, set)? };
    let case = twinplate::input::case::parse(&text, path).into_result().map_err(|e| e.to_string())?;
    let mut problems = Problems::default();
    let plan = Plan::new(&case, &mut problems).ok_or_else(|| problems.render(false))?;
    let goal = Goal::Error { relative: bracket, most_triangles: 8_000_000 };
    let settings = Settings { goal: Some(goal), ..Settings::default() };
    let study = Study::solve(case, Arc::new(plan), settings, &|_| {}).map_err(|e| e.to_string())?;
    let report = json(&study.sections()).map_err(|e| e.to_string())?;
    serde_json::from_str(&report).map_err(|e| e.to_string())
}

/// The text of a case with other values.
fn replaced(text: &str, set: &BTreeMap<String, toml::Value>) -> Result<String, String> {
    let mut case: Value = toml::from_str(text).map_err(|e| e.to_string())?;
    for (pointer, new) in set {
        let old = case.pointer_mut(pointer).ok_or_else(|| format!("the case has nothing at {pointer}"))?;
        *old = serde_json::to_value(new).map_err(|e| e.to_string())?;
    }
    toml::to_string(&case).map_err(|e| e.to_string())
}
