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

/// A value with its error to the digits the error leaves: "1.23 +- 0.05". The error is rounded up to one digit; a value below its error
/// keeps its place.
pub fn with_error(value: f64, error: f64) -> String {
    if error.is_nan() || error <= 0.0 || !value.is_finite() || !error.is_finite() {
        return significant(value, 6);
    }
    let mut place = error.log10().floor() as i32;
    // a hair above a digit is not rounded up
    let mut rounded = (error / 10f64.powi(place) - 1e-9).ceil() * 10f64.powi(place);
    if rounded >= 9.5 * 10f64.powi(place) {
        place += 1;
        rounded = 10f64.powi(place);
    }
    if (-9..=0).contains(&place) {
        let decimals = (-place) as usize;
        format!("{value:.decimals$} +- {rounded:.decimals$}")
    } else {
        let unit = 10f64.powi(place);
        let shown = significant((value / unit).round() * unit, (value.abs() / unit).log10().max(0.0) as usize + 1);
        format!("{shown} +- {}", significant(rounded, 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_sets_the_digits() {
        for (value, error, shown) in [
            (1.2345, 0.042, "1.23 +- 0.05"),
            (1.2345, 0.05, "1.23 +- 0.05"),
            (1.2345, 0.011, "1.23 +- 0.02"),
            (1.2345, 0.096, "1.2 +- 0.1"),
            (0.432_289_9, 5.2e-5, "0.43229 +- 0.00006"),
            (-0.5, 0.7, "-0.5 +- 0.7"),
            (0.0003, 0.7, "0.0 +- 0.7"),
            (1234.5, 31.0, "1230 +- 40"),
            (12.0, 1.0, "12 +- 1"),
            (2.5, 0.0, "2.50000"),
            (2.5, f64::NAN, "2.50000"),
        ] {
            assert_eq!(with_error(value, error), shown, "{value} {error}");
        }
    }
}
