//! Quantities with units, and fluid properties.
