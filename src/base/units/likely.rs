//! The unit that was meant by numbers that stand without one.

use super::{Dimension, parse};

/// The first of some units, the largest first, in which a number is no longer than it may be, m.
///
/// ```
/// use twinplate::base::units::likely_unit;
/// assert_eq!(likely_unit(&["cm", "mm", "um"], 400.0, 0.5), Some("mm"));
/// assert_eq!(likely_unit(&["cm", "mm", "um"], 40.0, 0.5), Some("cm"));
/// assert_eq!(likely_unit(&["mm"], 400.0, 0.1), None);
/// ```
pub fn likely_unit(units: &[&'static str], number: f64, longest: f64) -> Option<&'static str> {
    let fits = |unit: &&&'static str| {
        parse(&format!("1 {unit}"), Dimension::Length).is_ok_and(|metres| number.abs() * metres <= longest)
    };
    units.iter().find(fits).copied()
}
