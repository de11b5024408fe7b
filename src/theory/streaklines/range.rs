//! How far lines can be followed: by the reduced Reynolds number, and by the height of the dye.

use super::follow::HIGHEST;
use crate::theory::inertia::Inertia;

/// Reduced Reynolds number above which first order no longer tells where lines go, so that those of the ideal pattern are followed.
pub const FIRST_ORDER: f64 = 1.0;

/// Whether a reduced Reynolds number is above [`FIRST_ORDER`], rounding aside.
///
/// ```
/// use twinplate::theory::streaklines::is_beyond_first_order;
/// assert!(!is_beyond_first_order(1.0 + 1e-12) && is_beyond_first_order(1.0 + 1e-6));
/// ```
pub fn is_beyond_first_order(reduced: f64) -> bool {
    reduced.abs() > FIRST_ORDER * (1.0 + 1e-9)
}

/// The inertia departure that lines follow at a reduced Reynolds number: none above [`FIRST_ORDER`].
pub fn followed(inertia: Option<&Inertia>, reduced: f64) -> Option<&Inertia> {
    inertia.filter(|_| !is_beyond_first_order(reduced))
}

/// The height that is followed in place of one that lies at a plate.
pub fn shown_height(height: f64) -> f64 {
    height.clamp(-HIGHEST, HIGHEST)
}
