//! The rows of `expected.toml`.

use super::cases::{Cases, Wanted};
use super::{Effort, Figure, Outcome, closed_form, evaluate};
use serde::Deserialize;
use std::collections::BTreeMap;

/// A file of rows. What holds for most rows stands once at its head.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Title of the table.
    pub title: String,
    /// Source of the references.
    pub source: String,
    /// exact, published, derived, computed, memory or practice.
    pub kind: String,
    /// Where the error estimate comes from.
    pub estimate: String,
    /// Estimates must be below this fraction of the reference.
    #[serde(default = "one_per_cent")]
    pub sharp: f64,
    /// The rows.
    #[serde(default)]
    pub row: Vec<Row>,
    /// Rows of a second solution by another library.
    #[serde(default)]
    pub expected: Vec<super::cross::Frozen>,
}

fn one_per_cent() -> f64 {
    0.01
}

/// One comparison: a quantity of a solved case, or a named evaluation, against a reference.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// What is compared.
    pub quantity: String,
    /// The reference as printed in its source: its digits tell its error.
    pub reference: String,
    /// Case file of the folder, solved; `at` says what is taken.
    pub case: Option<String>,
    /// Values of the case to replace, by JSON pointer.
    #[serde(default)]
    pub set: BTreeMap<String, toml::Value>,
    /// JSON pointer into the report, or "resistance" (1/shape factor), or "added length" (over the width).
    pub at: Option<String>,
    /// Named evaluation of the library, in place of a case.
    pub evaluate: Option<String>,
    /// Arguments of the evaluation and of the closed form.
    #[serde(default)]
    pub with: Vec<f64>,
    /// Named closed form or series that must give the reference's digits.
    pub closed_form: Option<String>,
    /// What the setting leaves out, by a formula that `estimate` states; part of the error estimate.
    #[serde(default)]
    pub beyond: f64,
    /// Where they differ from the head of the file.
    pub source: Option<String>,
    pub kind: Option<String>,
    pub estimate: Option<String>,
    pub sharp: Option<f64>,
}

/// Half a unit of the last digit of a printed number.
pub fn half_digit(text: &str) -> f64 {
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let digits = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
    // a thousandth more for the rounding of the digits to binary
    0.5005 * 10f64.powi(exponent.parse::<i32>().unwrap_or(0) - digits)
}

/// Runs one row; what goes wrong is a row that fails.
pub fn outcome(row: &Row, sheet: &Sheet, cases: &mut Cases, effort: Effort) -> Outcome {
    let exact: Result<f64, _> = row.reference.parse();
    let exact_error = half_digit(&row.reference);
    let obtained = match (&row.case, &row.at, &row.evaluate) {
        (Some(case), Some(at), None) => cases.figure(&Wanted { case, set: &row.set, at }),
        (None, None, Some(name)) => evaluate::figure(name, &row.with, effort),
        _ => Err("a row needs either case and at, or evaluate".into()),
    };
    let mut outcome = Outcome {
        quantity: row.quantity.clone(),
        reference: row.reference.clone(),
        exact: exact.as_ref().copied().unwrap_or(f64::NAN),
        exact_error,
        obtained: Figure { value: f64::NAN, error: f64::NAN },
        kind: row.kind.as_ref().unwrap_or(&sheet.kind).clone(),
        fault: None,
    };
    match obtained {
        Ok(figure) => outcome.obtained = Figure { error: figure.error + row.beyond, ..figure },
        Err(fault) => outcome.fault = Some(fault),
    }
    if outcome.fault.is_none() {
        outcome.fault = blunt(row, sheet, &outcome, effort).or_else(|| misprint(row, &outcome));
    }
    outcome
}

/// An estimate so large that the row would say little.
fn blunt(row: &Row, sheet: &Sheet, outcome: &Outcome, effort: Effort) -> Option<String> {
    let limit = row.sharp.unwrap_or(sheet.sharp) * if outcome.exact == 0.0 { 1.0 } else { outcome.exact.abs() };
    (effort.sharp && outcome.obtained.error > limit)
        .then(|| format!("the error estimate {:.1e} is above {limit:.1e}: too blunt", outcome.obtained.error))
}

/// A closed form that does not give the digits printed.
fn misprint(row: &Row, outcome: &Outcome) -> Option<String> {
    let name = row.closed_form.as_ref()?;
    match closed_form::value(name, &row.with) {
        // a series has its own rounding, some 1e-12
        Some(value) if (value - outcome.exact).abs() <= outcome.exact_error + 1e-12 * value.abs() => None,
        Some(value) => Some(format!("the closed form gives {value}, not {}", row.reference)),
        None => Some(format!("no closed form is called '{name}'")),
    }
}
