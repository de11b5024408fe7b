//! Quantities with units, and fluid properties.

mod dimension;
pub mod fluid;
mod iapws95;
mod length;
mod likely;
mod number;
mod quantity;
mod symbols;

/// Standard acceleration of free fall, m/s2, by convention (3rd CGPM, 1901); it also turns pascals into millimetres of water.
pub const GRAVITY: f64 = 9.806_65;

pub use dimension::Dimension;
pub use length::LengthUnit;
pub use likely::likely_unit;
pub use number::{rounded, significant, with_error};
pub(crate) use quantity::split_number;
pub use quantity::{QuantityError, parse};
