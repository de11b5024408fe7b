//! Values of a case that are known within tolerances, as numbers.

use super::base::Base;
use super::key::Key;
use super::values::Literal;
use crate::base::error::Problems;
use crate::base::units::{self, Dimension};
use crate::base::{Error, Result};
use crate::input::case::{Amount, Case, Form, Limits, Question, Spread, Uncertainty, questions};
use toml_edit::Value;

/// A value that is known within a tolerance.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertain {
    /// Its key.
    pub key: Key,
    /// Its kind.
    pub dimension: Dimension,
    /// What the case states, SI.
    pub nominal: f64,
    /// The tolerance, SI: the standard uncertainty of a normal spread, the half-width of a uniform one.
    pub tolerance: f64,
    /// How values spread.
    pub spread: Spread,
}

impl Uncertain {
    /// Standard uncertainty, SI: of a uniform spread its half-width over the root of three (JCGM 100:2008, 4.3.7).
    pub fn standard(&self) -> f64 {
        match self.spread {
            Spread::Normal => self.tolerance,
            Spread::Uniform => self.tolerance / 3f64.sqrt(),
        }
    }

    /// A value as the case would have it.
    pub fn literal(&self, value: f64) -> Literal {
        Literal::number(if self.dimension == Dimension::Angle { value.to_degrees() } else { value })
    }
}

/// What a number under a path of the case may be.
pub(super) fn quantities(path: &str) -> Vec<(Dimension, Limits)> {
    let listed = path.replacen("obstacle.", "obstacle[].", 1);
    let is_pair = |at: &str| path.strip_suffix("[]") == Some(at) || listed.strip_suffix("[]") == Some(at);
    let mut found = Vec::new();
    for (at, question) in questions() {
        let quantity = match question {
            Question::Value(Form::Quantity(dimension, limits)) if at == path || at == listed => (dimension, limits),
            // places are lengths
            Question::Value(Form::Pair) if is_pair(&at) => (Dimension::Length, Limits::Any),
            _ => continue,
        };
        if !found.contains(&quantity) {
            found.push(quantity);
        }
    }
    found
}

/// The number that a value stands for.
fn number(value: &Value, dimension: Dimension) -> Option<f64> {
    match value {
        Value::String(text) => units::parse(text.value(), dimension).ok(),
        Value::Integer(number) => Some(dimension.from_plain(*number.value() as f64)),
        Value::Float(number) => Some(dimension.from_plain(*number.value())),
        _ => None,
    }
}

/// The tolerances of a case as numbers.
///
/// # Errors
/// Every key that is not there or holds no number, and every tolerance of the wrong kind, with its place.
pub fn uncertain(case: &Case, base: &Base) -> std::result::Result<Vec<Uncertain>, Problems> {
    let mut problems = Problems::default();
    problems.add_text(&case.file, &case.text);
    let mut list: Vec<Uncertain> = Vec::new();
    for tolerance in &case.uncertainty {
        match one(base, tolerance) {
            Ok(found) if list.iter().any(|other| other.key == found.key) => {
                let message = format!("\"{}\" has two tolerances", tolerance.key);
                problems.add(&case.file, Some(tolerance.places[0].clone()), message, "keep one of them");
            }
            Ok(found) => list.push(found),
            Err((place, message, remedy)) => {
                problems.add(&case.file, Some(tolerance.places[place].clone()), message, remedy);
            }
        }
    }
    if problems.is_empty() { Ok(list) } else { Err(problems) }
}

/// A mistake: of the key (0) or of the amount (1), what is wrong, and the remedy.
type Fault = (usize, String, String);

fn one(base: &Base, tolerance: &Uncertainty) -> std::result::Result<Uncertain, Fault> {
    let key = Key::find(&base.document, &tolerance.key).map_err(|lost| (0, lost.message, lost.remedy))?;
    let Some(value) = key.value(&base.document) else {
        let message = format!("the case does not state \"{}\"", tolerance.key);
        return Err((0, message, "write its value there: a tolerance is about a value that is stated".into()));
    };
    let kinds = quantities(&key.path);
    let read = kinds.iter().find_map(|(dimension, limits)| Some((number(value, *dimension)?, *dimension, *limits)));
    let Some((nominal, dimension, limits)) = read else {
        let message = format!("\"{}\" is no quantity: {}", tolerance.key, value.to_string().trim());
        return Err((0, message, "give tolerances of quantities: lengths, angles, speeds, temperatures".into()));
    };
    let size = match &tolerance.amount {
        Amount::Relative(part) if nominal == 0.0 => {
            let message = format!("{} % of \"{}\", which is zero, is nothing", 100.0 * part, tolerance.key);
            return Err((1, message, format!("write {} such as {}", dimension.name(), dimension.example())));
        }
        Amount::Relative(_) if dimension == Dimension::Temperature => {
            let message = "a part of a temperature depends on where its scale begins".to_owned();
            return Err((1, message, "write a difference in kelvin: \"1 K\"".into()));
        }
        Amount::Relative(part) => part * nominal.abs(),
        Amount::Plain(number) => dimension.from_plain(*number),
        Amount::WithUnit(text) if dimension == Dimension::Temperature && !text.ends_with('K') => {
            let message = format!("the tolerance \"{text}\" of a temperature is on a scale");
            return Err((1, message, "write a difference in kelvin: \"1 K\"".into()));
        }
        Amount::WithUnit(text) => {
            units::parse(text, dimension).map_err(|error| (1, error.to_string(), error.remedy(dimension)))?
        }
    };
    let found = Uncertain { key, dimension, nominal, tolerance: size, spread: tolerance.spread };
    // so far values are tried on both sides
    let reach = found.standard().max(size);
    if let Some(outside) = [nominal - reach, nominal + reach].into_iter().find(|&x| !limits.admits(x)) {
        let message = format!(
            "\"{}\" is {} within {}, which reaches {}; it must be {}",
            tolerance.key,
            dimension.show(nominal),
            shown(dimension, size),
            dimension.show(outside),
            limits.said(dimension)
        );
        return Err((1, message, "give a smaller tolerance".into()));
    }
    Ok(found)
}

/// A difference for reading.
pub fn shown(dimension: Dimension, difference: f64) -> String {
    if dimension == Dimension::Temperature { format!("{difference} K") } else { dimension.show(difference) }
}

/// Makes sure that the tolerances of a case are those of its quantities.
///
/// # Errors
/// [`Error::Input`] with every mistake.
pub fn check_uncertainty(case: &Case) -> Result<()> {
    if case.uncertainty.is_empty() {
        return Ok(());
    }
    uncertain(case, &Base::of(case)?).map(drop).map_err(Error::Input)
}
