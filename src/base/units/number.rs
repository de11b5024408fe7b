//! Numbers for reading.

/// The nearest number of so many significant digits.
pub fn rounded(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits.max(1) - 1).parse().unwrap_or(value)
}

/// A number with so many significant digits, as a decimal fraction where that is short, trailing zeros kept.
pub fn significant(value: f64, digits: usize) -> String {
    let digits = digits.max(1);
    if value == 0.0 {
        return "0".to_owned();
    }
    let scientific = format!("{value:.*e}", digits - 1);
    let exponent: i32 = scientific.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0);
    if (-4..digits.max(6) as i32).contains(&exponent) {
        format!("{value:.*}", (digits as i32 - 1 - exponent).max(0) as usize)
    } else {
        scientific
    }
}

/// A value with its error to the digits the error leaves: "1.23 +- 0.05". The error is rounded up to one digit, two where the first
/// is a one; a value below its error keeps its place.
pub fn with_error(value: f64, error: f64) -> String {
    if error.is_nan() || error <= 0.0 || !value.is_finite() || !error.is_finite() {
        return significant(value, 6);
    }
    // what rounding to twelve digits lifted above a digit is not rounded up
    let up = |digits: i32, exponent: i32| -> f64 {
        let unit = 10f64.powi(exponent + 1 - digits);
        (error / unit - 1e-9).ceil() * unit
    };
    let exponent = error.log10().floor() as i32;
    let digits = if error < 2.0 * 10f64.powi(exponent) { 2 } else { 1 };
    let rounded = up(digits, exponent);
    let place = exponent + 1 - digits;
    if (-6..=0).contains(&place) {
        let decimals = (-place) as usize;
        format!("{value:.decimals$} +- {rounded:.decimals$}")
    } else {
        let unit = 10f64.powi(place);
        let shown = significant((value / unit).round() * unit, (value.abs() / unit).log10().max(0.0) as usize + 1);
        format!("{shown} +- {}", significant(rounded, digits as usize))
    }
}
