//! The kinds of quantity a case knows, and how each is printed.

use super::number::significant;

/// Exponents of metre, kilogram, second, kelvin and radian.
pub(super) type Exponents = [i32; 5];

/// A kind of quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A plain number; "%" is allowed.
    Fraction,
    /// Length, m.
    Length,
    /// Area, m2.
    Area,
    /// Angle, rad inside the program; a number without a unit is in degrees.
    Angle,
    /// Time, s.
    Time,
    /// Speed, m/s.
    Speed,
    /// Volumetric flow rate, m3/s.
    FlowRate,
    /// Pressure or modulus of elasticity, Pa.
    Pressure,
    /// Density, kg/m3.
    Density,
    /// Dynamic viscosity, Pa s.
    Viscosity,
    /// Diffusivity or kinematic viscosity, m2/s.
    Diffusivity,
    /// Surface tension, N/m.
    SurfaceTension,
    /// Temperature, K.
    Temperature,
}

impl Dimension {
    pub(super) fn exponents(self) -> Exponents {
        match self {
            Dimension::Fraction => [0, 0, 0, 0, 0],
            Dimension::Length => [1, 0, 0, 0, 0],
            Dimension::Area => [2, 0, 0, 0, 0],
            Dimension::Angle => [0, 0, 0, 0, 1],
            Dimension::Time => [0, 0, 1, 0, 0],
            Dimension::Speed => [1, 0, -1, 0, 0],
            Dimension::FlowRate => [3, 0, -1, 0, 0],
            Dimension::Pressure => [-1, 1, -2, 0, 0],
            Dimension::Density => [-3, 1, 0, 0, 0],
            Dimension::Viscosity => [-1, 1, -1, 0, 0],
            Dimension::Diffusivity => [2, 0, -1, 0, 0],
            Dimension::SurfaceTension => [0, 1, -2, 0, 0],
            Dimension::Temperature => [0, 0, 0, 1, 0],
        }
    }

    const ALL: [Dimension; 13] = [
        Dimension::Fraction,
        Dimension::Length,
        Dimension::Area,
        Dimension::Angle,
        Dimension::Time,
        Dimension::Speed,
        Dimension::FlowRate,
        Dimension::Pressure,
        Dimension::Density,
        Dimension::Viscosity,
        Dimension::Diffusivity,
        Dimension::SurfaceTension,
        Dimension::Temperature,
    ];

    /// The kind with these exponents, if a case knows one.
    pub(super) fn of(exponents: Exponents) -> Option<Dimension> {
        Self::ALL.into_iter().find(|d| d.exponents() == exponents)
    }

    /// Its name with the article.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Fraction => "a plain number",
            Dimension::Length => "a length",
            Dimension::Area => "an area",
            Dimension::Angle => "an angle",
            Dimension::Time => "a time",
            Dimension::Speed => "a speed",
            Dimension::FlowRate => "a flow rate",
            Dimension::Pressure => "a pressure",
            Dimension::Density => "a density",
            Dimension::Viscosity => "a dynamic viscosity",
            Dimension::Diffusivity => "a diffusivity",
            Dimension::SurfaceTension => "a surface tension",
            Dimension::Temperature => "a temperature",
        }
    }

    /// A value as a case file would have it.
    pub fn example(self) -> &'static str {
        match self {
            Dimension::Fraction => "0.02",
            Dimension::Length => "\"0.5 mm\"",
            Dimension::Area => "\"4 cm2\"",
            Dimension::Angle => "\"4 deg\"",
            Dimension::Time => "\"30 s\"",
            Dimension::Speed => "\"1 mm/s\"",
            Dimension::FlowRate => "\"3 mL/min\"",
            Dimension::Pressure => "\"20 Pa\"",
            Dimension::Density => "\"998 kg/m3\"",
            Dimension::Viscosity => "\"1.0 mPa s\"",
            Dimension::Diffusivity => "\"5e-10 m2/s\"",
            Dimension::SurfaceTension => "\"72 mN/m\"",
            Dimension::Temperature => "\"20 degC\"",
        }
    }

    /// The unit of a number given without one.
    pub fn plain_unit(self) -> &'static str {
        match self {
            Dimension::Fraction => "no unit",
            Dimension::Length => "m",
            Dimension::Area => "m2",
            Dimension::Angle => "degrees",
            Dimension::Time => "s",
            Dimension::Speed => "m/s",
            Dimension::FlowRate => "m3/s",
            Dimension::Pressure => "Pa",
            Dimension::Density => "kg/m3",
            Dimension::Viscosity => "Pa s",
            Dimension::Diffusivity => "m2/s",
            Dimension::SurfaceTension => "N/m",
            Dimension::Temperature => "K",
        }
    }

    /// The kind whose numbers without a unit are in this one, of those whose other units differ from it by a factor alone.
    pub fn of_unit(unit: &str) -> Option<Dimension> {
        let is_scaled = |d: &Dimension| !matches!(d, Dimension::Fraction | Dimension::Angle | Dimension::Temperature);
        Self::ALL.into_iter().filter(is_scaled).find(|d| d.plain_unit() == unit)
    }

    /// The value in the program of a number given without a unit: SI as it stands, angles from degrees to rad.
    pub fn from_plain(self, number: f64) -> f64 {
        if self == Dimension::Angle { number.to_radians() } else { number }
    }

    /// A value with a convenient unit and five significant digits: 0.0005 m as "0.5 mm", 293.15 K as "20 degC".
    pub fn show(self, value: f64) -> String {
        match self {
            Dimension::Fraction => digits(value),
            Dimension::Temperature => format!("{} degC", digits(value - 273.15)),
            _ => {
                let (symbol, factor) = self.unit_for(value.abs());
                format!("{} {symbol}", digits(value / factor))
            }
        }
    }

    /// A value with a convenient unit and so many significant digits, trailing zeros kept: 0.0005 m as "0.500 mm" with three.
    pub fn show_to(self, value: f64, digits: usize) -> String {
        let (symbol, factor) = self.unit_for(value.abs());
        format!("{} {symbol}", significant(value / factor, digits))
    }

    /// The convenient unit for values up to a size, and its size: `("mm", 1e-3)` for 0.0005 m. Temperatures are in K.
    pub fn unit_for(self, size: f64) -> (&'static str, f64) {
        // Units with the size from which each is used, largest first.
        let units: &[(f64, f64, &'static str)] = match self {
            Dimension::Fraction => &[(0.0, 1.0, "")],
            Dimension::Angle => &[(0.0, std::f64::consts::PI / 180.0, "deg")],
            Dimension::Temperature => &[(0.0, 1.0, "K")],
            Dimension::Density => &[(0.0, 1.0, "kg/m3")],
            Dimension::Diffusivity => &[(0.0, 1.0, "m2/s")],
            Dimension::Length => &[(1.0, 1.0, "m"), (1e-4, 1e-3, "mm"), (0.0, 1e-6, "um")],
            Dimension::Area => &[(1.0, 1.0, "m2"), (1e-3, 1e-4, "cm2"), (0.0, 1e-6, "mm2")],
            Dimension::Time => &[(7200.0, 3600.0, "h"), (120.0, 60.0, "min"), (1.0, 1.0, "s"), (0.0, 1e-3, "ms")],
            Dimension::Speed => &[(1.0, 1.0, "m/s"), (1e-4, 1e-3, "mm/s"), (0.0, 1e-6, "um/s")],
            Dimension::FlowRate => &[
                (1e-3 / 60.0, 1e-3 / 60.0, "L/min"),
                (1e-6 / 60.0, 1e-6 / 60.0, "mL/min"),
                (0.0, 1e-9 / 60.0, "uL/min"),
            ],
            Dimension::Pressure => {
                &[(1e9, 1e9, "GPa"), (1e6, 1e6, "MPa"), (1e3, 1e3, "kPa"), (0.1, 1.0, "Pa"), (0.0, 1e-3, "mPa")]
            }
            Dimension::Viscosity => &[(1.0, 1.0, "Pa s"), (0.0, 1e-3, "mPa s")],
            Dimension::SurfaceTension => &[(1.0, 1.0, "N/m"), (0.0, 1e-3, "mN/m")],
        };
        // Zero and what is not a number go to the unit without a prefix.
        let plain = || units.iter().find(|u| u.1 == 1.0).or(units.first());
        let near = size * (1.0 + 1e-9);
        let unit = if size > 0.0 { units.iter().find(|u| near >= u.0).or(units.first()) } else { plain() };
        unit.map_or(("", 1.0), |&(_, factor, symbol)| (symbol, factor))
    }
}

/// Five significant digits without trailing zeros.
fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    if !value.is_finite() {
        return value.to_string();
    }
    let scientific = format!("{value:.4e}");
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let power: i32 = exponent.parse().unwrap_or(0);
    let trim = |text: &str| match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text.to_owned(),
    };
    if (-4..7).contains(&power) {
        let decimals = usize::try_from(4 - power).unwrap_or(0);
        trim(&format!("{value:.decimals$}"))
    } else {
        format!("{}e{power}", trim(mantissa))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_shown_in_convenient_units() {
        for (value, dimension, text) in [
            (0.0005, Dimension::Length, "0.5 mm"),
            (5e-5, Dimension::Length, "50 um"),
            (2.5e-5, Dimension::Area, "25 mm2"),
            (0.02, Dimension::Area, "200 cm2"),
            (0.001, Dimension::Length, "1 mm"),
            (0.3, Dimension::Length, "300 mm"),
            (2.0, Dimension::Length, "2 m"),
            (-0.0123456789, Dimension::Length, "-12.346 mm"),
            (0.0, Dimension::Length, "0 m"),
            (1e-3, Dimension::Speed, "1 mm/s"),
            (5e-8, Dimension::FlowRate, "3 mL/min"),
            (1e-3 / 60.0, Dimension::FlowRate, "1 L/min"),
            (101325.0, Dimension::Pressure, "101.33 kPa"),
            (3.2e9, Dimension::Pressure, "3.2 GPa"),
            (1.0016e-3, Dimension::Viscosity, "1.0016 mPa s"),
            (998.2072, Dimension::Density, "998.21 kg/m3"),
            (0.072736, Dimension::SurfaceTension, "72.736 mN/m"),
            (5e-10, Dimension::Diffusivity, "5e-10 m2/s"),
            (293.15, Dimension::Temperature, "20 degC"),
            (std::f64::consts::FRAC_PI_4, Dimension::Angle, "45 deg"),
            (150.0, Dimension::Time, "2.5 min"),
            (0.02, Dimension::Fraction, "0.02"),
            (12345678.0, Dimension::Fraction, "1.2346e7"),
            (99999.96, Dimension::Fraction, "100000"),
            (f64::NAN, Dimension::Length, "NaN m"),
        ] {
            assert_eq!(dimension.show(value), text);
        }
    }
}
