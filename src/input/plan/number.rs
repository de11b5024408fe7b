//! Numbers that make a shape.

/// What is wrong with a shape, and what to do about it.
pub(super) type Fault = (String, String);

pub(super) fn positive(what: &str, value: f64) -> Result<f64, Fault> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err((format!("the {what} is {value}, but must be a positive number"), "give a size above zero".into()))
    }
}

pub(super) fn finite(values: &[f64]) -> Result<(), Fault> {
    match values.iter().find(|value| !value.is_finite()) {
        None => Ok(()),
        Some(value) => Err((format!("{value} is not a finite number"), "give finite numbers".into())),
    }
}
