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
