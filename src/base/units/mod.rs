//! Quantities with units, and fluid properties.

mod dimension;
pub mod fluid;
mod iapws95;
mod number;
mod quantity;
mod symbols;

pub use dimension::Dimension;
pub use number::{rounded, significant};
pub use quantity::{QuantityError, parse};
