//! Units of rows in files and on the bench.

use crate::base::units::{Dimension, GRAVITY, significant};

/// What kind of quantity a row holds: its unit in files and the one on the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A quantity with a convenient unit of its own.
    Of(Dimension),
    /// Pressure, beside it millimetres of water.
    Pressure,
    /// Volume, m3 and mL.
    Volume,
    /// Force, N, beside it the mass that weighs as much.
    Force,
    /// Angle in degrees.
    Degrees,
    /// A fraction, read in per cent.
    Percent,
    /// A plain number, a word, a flag.
    Number,
    /// Pixels.
    Pixels,
    /// A quantity in an SI unit of its own, and its size and name in another one.
    Unit(&'static str, f64, &'static str),
}

impl Kind {
    /// The unit in files; empty for fractions, numbers and words.
    pub fn unit(self) -> &'static str {
        match self {
            Kind::Of(Dimension::Fraction) => "",
            Kind::Of(Dimension::Angle) => "rad",
            Kind::Of(dimension) => dimension.plain_unit(),
            Kind::Pressure => "Pa",
            Kind::Volume => "m3",
            Kind::Force => "N",
            Kind::Degrees => "deg",
            Kind::Percent | Kind::Number => "",
            Kind::Pixels => "px",
            Kind::Unit(unit, ..) => unit,
        }
    }

    /// The unit for reading a column of values whose largest size is given, and what values are divided by.
    pub fn reading(self, largest: f64) -> (&'static str, f64) {
        match self {
            Kind::Of(Dimension::Temperature) => ("K", 1.0),
            Kind::Of(dimension) => dimension.unit_for(largest),
            Kind::Percent => ("%", 0.01),
            Kind::Unit(_, size, name) => (name, size),
            Kind::Volume => ("mL", 1e-6),
            other => (other.unit(), 1.0),
        }
    }

    /// The value as said on the bench; empty where that says no more than the unit in files.
    pub(super) fn bench(self, value: f64, digits: usize) -> String {
        match self {
            Kind::Pressure => format!("{} mm of water", significant(value / GRAVITY, digits)),
            Kind::Force => format!("weight of {} kg", significant(value / GRAVITY, digits)),
            Kind::Degrees | Kind::Number | Kind::Pixels | Kind::Of(Dimension::Fraction) => String::new(),
            Kind::Of(Dimension::Temperature) => Dimension::Temperature.show(value),
            other => {
                let (unit, size) = other.reading(value.abs());
                format!("{} {unit}", significant(value / size, digits))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::row::Row;

    #[test]
    fn values_are_read_in_the_units_of_the_bench() {
        let row = |value: f64, kind| Row::new("k", "n", value, kind).digits(3);
        assert_eq!(row(1.5e-3, Kind::Of(Dimension::Length)).bench(), "1.50 mm");
        assert_eq!(row(0.0123, Kind::Percent).bench(), "1.23 %");
        assert_eq!(row(98.0665, Kind::Pressure).bench(), "10.0 mm of water");
        assert_eq!(row(98.0665, Kind::Pressure).si(), "98.1 Pa");
        assert_eq!(row(2e-6, Kind::Volume).bench(), "2.00 mL");
        assert_eq!(row(0.5, Kind::Number).bench(), "");
        assert_eq!(row(1e-6, Kind::Unit("m2", 1e-6, "mm2")).bench(), "1.00 mm2");
    }
}
