//! Quantities written as text: a number and a unit.

use super::dimension::{Dimension, Exponents};
use super::symbols;
use crate::base::text::shortened;

/// Why a text is not the quantity it should be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// The text does not start with a number.
    #[error("\"{text}\" does not start with a number")]
    NotANumber {
        /// The text.
        text: String,
    },
    /// The value is infinite or not a number.
    #[error("\"{text}\" is not a finite value")]
    NotFinite {
        /// The text.
        text: String,
    },
    /// There is a number only.
    #[error("\"{text}\" has no unit")]
    NoUnit {
        /// The text.
        text: String,
    },
    /// A unit is not known.
    #[error("unknown unit \"{unit}\"")]
    UnknownUnit {
        /// The unit.
        unit: String,
        /// The known unit most like it.
        nearest: Option<String>,
    },
    /// The unit belongs to another kind of quantity.
    #[error("\"{text}\" is {found}, not {}", wanted.name())]
    WrongDimension {
        /// The text.
        text: String,
        /// What its unit says it is.
        found: &'static str,
        /// What it should be.
        wanted: Dimension,
    },
}

impl QuantityError {
    /// What to write instead, where a quantity of this kind is wanted.
    pub fn remedy(&self, wanted: Dimension) -> String {
        let write = format!("write {} such as {}", wanted.name(), wanted.example());
        match self {
            QuantityError::NotANumber { text } if text.contains(',') => format!("{write}, with a decimal point"),
            QuantityError::NotANumber { .. } | QuantityError::NotFinite { .. } => write,
            QuantityError::NoUnit { .. } => {
                format!("{write}, or the number without quotes, which is then in {}", wanted.plain_unit())
            }
            QuantityError::UnknownUnit { unit, nearest: Some(near) } => match symbols::amount(unit) {
                Some(amount) => format!("did you mean \"{near}\"? {amount}; {write}"),
                None => format!("did you mean \"{near}\"? {write}"),
            },
            QuantityError::UnknownUnit { .. } | QuantityError::WrongDimension { .. } => write,
        }
    }
}

/// Reads a number with a unit, "0.5 mm", "3 mL/min", "1.2 mPa·s", "998 kg/m^3"; the value is in SI, angles in rad.
///
/// A unit is a product of symbols with optional decimal prefixes, joined by a space, `·`, `*` or `/` (which divides by the
/// next symbol only), each with an optional integer power: `m2`, `m^2`, `m²`, `s^-1`. `degC` and `degF` standing alone are
/// scales with a zero of their own; within a product they are differences.
///
/// # Errors
/// See [`QuantityError`]. Of a [`Dimension::Fraction`] the unit may be left out.
pub fn parse(text: &str, wanted: Dimension) -> Result<f64, QuantityError> {
    let shown = || shortened(text);
    let trimmed = text.trim();
    let (number, unit) = split_number(trimmed);
    let number: f64 = number.parse().map_err(|_| QuantityError::NotANumber { text: shown() })?;
    if unit.starts_with(',') {
        return Err(QuantityError::NotANumber { text: shown() });
    }
    let value = if unit.is_empty() {
        if wanted != Dimension::Fraction {
            return Err(QuantityError::NoUnit { text: shown() });
        }
        number
    } else {
        let unit = product(unit)?;
        if unit.exponents != wanted.exponents() {
            let found = Dimension::of(unit.exponents).map_or("a quantity of another kind", Dimension::name);
            return Err(QuantityError::WrongDimension { text: shown(), found, wanted });
        }
        number * unit.factor + unit.zero
    };
    if value.is_finite() { Ok(value) } else { Err(QuantityError::NotFinite { text: shown() }) }
}

/// The unit of a number with a unit, as it was typed.
pub(super) fn unit_of(text: &str) -> &str {
    split_number(text.trim()).1
}

/// The longest start that reads as a number, and the rest without the space between.
pub(crate) fn split_number(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes.iter().skip(from).take_while(|b| b.is_ascii_digit()).count();
    let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let word = text.get(sign..sign + 3).unwrap_or("");
    let mut end = sign;
    // "inf" and "nan" count as numbers so that they are called not finite.
    if ["inf", "nan"].contains(&word.to_ascii_lowercase().as_str()) {
        end += 3;
    } else {
        end += digits(end);
        if bytes.get(end) == Some(&b'.') {
            end += 1 + digits(end + 1);
        }
        if matches!(bytes.get(end), Some(b'e' | b'E')) {
            let exponent = end + 1 + usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
            if digits(exponent) > 0 {
                end = exponent + digits(exponent);
            }
        }
    }
    let (number, unit) = text.split_at_checked(end).unwrap_or((text, ""));
    (number, unit.trim())
}

/// The value in SI and the dimension of a product of units.
fn product(text: &str) -> Result<symbols::Unit, QuantityError> {
    if let Some(alone) = symbols::find(text) {
        return Ok(alone);
    }
    let (mut factor, mut exponents): (f64, Exponents) = (1.0, [0; 5]);
    let unknown = |unit: &str| QuantityError::UnknownUnit { unit: shortened(unit), nearest: symbols::nearest(unit) };
    let mut sign = 1;
    let mut rest = text;
    let mut wanting = true;
    while !rest.is_empty() {
        let end = rest.find(is_joint).unwrap_or(rest.len());
        let (part, after) = rest.split_at(end);
        if !part.is_empty() {
            let (unit, power) = power(part).ok_or_else(|| unknown(part))?;
            factor *= unit.factor.powi(sign * power);
            for (sum, exponent) in exponents.iter_mut().zip(unit.exponents) {
                *sum = sum.saturating_add(sign * power * exponent);
            }
            (sign, wanting) = (1, false);
        }
        rest = after;
        if let Some(joint) = rest.chars().next() {
            // A stroke or a point must stand between two symbols.
            if !joint.is_whitespace() {
                if wanting {
                    return Err(unknown(text));
                }
                (sign, wanting) = (if joint == '/' { -1 } else { 1 }, true);
            }
            rest = &rest[joint.len_utf8()..];
        }
    }
    if wanting {
        return Err(unknown(text));
    }
    Ok(symbols::Unit { factor, exponents, zero: 0.0 })
}

fn is_joint(c: char) -> bool {
    c.is_whitespace() || matches!(c, '/' | '*' | '\u{b7}' | '\u{22c5}')
}

/// A symbol and its power: `m`, `m2`, `m^2`, `m²`, `s-1`, `s^-1`, `s⁻¹`.
fn power(part: &str) -> Option<(symbols::Unit, i32)> {
    if let Some(unit) = symbols::find(part) {
        return Some((unit, 1));
    }
    let plain: String = part
        .chars()
        .map(|c| match c {
            '\u{b9}' => '1',
            '\u{b2}' => '2',
            '\u{b3}' => '3',
            '\u{207b}' | '\u{2212}' => '-',
            other => other,
        })
        .collect();
    let start = plain.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('-');
    let power: i32 = plain.get(start.len()..)?.parse().ok()?;
    let unit = symbols::find(start.trim_end_matches('^'))?;
    (power != 0 && power.abs() <= 9).then_some((unit, power))
}

#[cfg(test)]
mod tests {
    use super::*;
    use Dimension as D;

    #[test]
    fn quantities_read_in_si() {
        // Expected values by hand from the definitions of the units; a product of a few factors is right to 4 ulp.
        for (text, dimension, value) in [
            ("0.5 mm", D::Length, 5e-4),
            ("0.5mm", D::Length, 5e-4),
            (" +.5 mm ", D::Length, 5e-4),
            ("1e-3 m", D::Length, 1e-3),
            ("1e3m", D::Length, 1e3),
            ("2 in", D::Length, 0.0508),
            ("1 ft", D::Length, 0.3048),
            ("250 um", D::Length, 250e-6),
            ("250 \u{b5}m", D::Length, 250e-6),
            ("250 \u{3bc}m", D::Length, 250e-6),
            ("20 degC", D::Temperature, 293.15),
            ("20 °C", D::Temperature, 293.15),
            ("20°C", D::Temperature, 293.15),
            ("68 degF", D::Temperature, 293.15),
            ("300 K", D::Temperature, 300.0),
            ("3 mL/min", D::FlowRate, 5e-8),
            ("3 ml / min", D::FlowRate, 5e-8),
            ("6 uL/min", D::FlowRate, 1e-10),
            ("6 L/min", D::FlowRate, 1e-4),
            ("1 m3/s", D::FlowRate, 1.0),
            ("1.2 mPa s", D::Viscosity, 1.2e-3),
            ("1.2 mPa·s", D::Viscosity, 1.2e-3),
            ("1.2 mPa*s", D::Viscosity, 1.2e-3),
            ("1 cP", D::Viscosity, 1e-3),
            ("1 kg/m/s", D::Viscosity, 1.0),
            ("1 kg m^-1 s^-1", D::Viscosity, 1.0),
            ("1 kg·m⁻¹·s⁻¹", D::Viscosity, 1.0),
            ("-4 deg", D::Angle, -4.0 * std::f64::consts::PI / 180.0),
            ("-4°", D::Angle, -4.0 * std::f64::consts::PI / 180.0),
            ("0.1 rad", D::Angle, 0.1),
            ("998 kg/m3", D::Density, 998.0),
            ("998 kg/m^3", D::Density, 998.0),
            ("998 kg/m³", D::Density, 998.0),
            ("0.998 g/cm3", D::Density, 998.0),
            ("0.998 kg/L", D::Density, 998.0),
            ("1 mm/s", D::Speed, 1e-3),
            ("36 m/h", D::Speed, 0.01),
            ("1 mm s-1", D::Speed, 1e-3),
            ("1e-9 m2/s", D::Diffusivity, 1e-9),
            ("1 mm^2/s", D::Diffusivity, 1e-6),
            ("1 cSt", D::Diffusivity, 1e-6),
            ("20 Pa", D::Pressure, 20.0),
            ("2 kPa", D::Pressure, 2e3),
            ("2 hPa", D::Pressure, 2e2),
            ("2 mbar", D::Pressure, 200.0),
            ("2 bar", D::Pressure, 2e5),
            ("2 mmH2O", D::Pressure, 19.6133),
            ("3.2 GPa", D::Pressure, 3.2e9),
            ("1 psi", D::Pressure, 6894.757293168361),
            ("0.07 N/m", D::SurfaceTension, 0.07),
            ("72 mN/m", D::SurfaceTension, 0.072),
            ("1.5 h", D::Time, 5400.0),
            ("2 min", D::Time, 120.0),
            ("2 %", D::Fraction, 0.02),
            ("2%", D::Fraction, 0.02),
            ("0.5", D::Fraction, 0.5),
            ("1 mm/m", D::Fraction, 1e-3),
        ] {
            let read = parse(text, dimension);
            let close = |v: f64| (v - value).abs() <= 4.0 * f64::EPSILON * value.abs();
            assert!(matches!(read, Ok(v) if close(v)), "{text}: {read:?}");
        }
    }

    #[test]
    fn mistakes_are_named() {
        let error = |text: &str, d: D| parse(text, d).expect_err(text);
        for text in ["", "mm", "- 4 mm", "0,5 mm", "abc", ".", "--1 m", "µm"] {
            assert!(matches!(error(text, D::Length), QuantityError::NotANumber { .. }), "{text}");
        }
        assert!(error("0,5 mm", D::Length).remedy(D::Length).contains("decimal point"));
        for text in ["inf mm", "nan m", "-inf m", "1e999 m", "1e308 km km km/m2"] {
            assert!(matches!(error(text, D::Length), QuantityError::NotFinite { .. }), "{text}");
        }
        assert!(matches!(error("0.5", D::Length), QuantityError::NoUnit { .. }));
        for text in ["1 mmm", "1 m/", "1 /m", "1 m//s", "1 m^0", "1 m^99", "1 m^-", "1 ^2", "1 m·/s", "1 kin", "1 2"] {
            assert!(matches!(error(text, D::Length), QuantityError::UnknownUnit { .. }), "{text}");
        }
        assert!(error("1 Mm/S", D::Speed).remedy(D::Speed).contains("\"s\""));
        for (text, dimension, unit) in [
            ("30 sec", D::Time, "\"s\""),
            ("3 cc/min", D::FlowRate, "\"mL\""),
            ("500 microns", D::Length, "\"um\""),
            ("20 C", D::Temperature, "\"degC\""),
            ("20 deg C", D::Temperature, "\"degC\""),
            ("20 mil", D::Length, "\"um\"? a thousandth of an inch is 25.4 um"),
        ] {
            let remedy = error(text, dimension).remedy(dimension);
            assert!(remedy.starts_with(&format!("did you mean {unit}")), "{text}: {remedy}");
        }
        assert_eq!(error("3 Pa", D::Length).to_string(), "\"3 Pa\" is a pressure, not a length");
        assert!(error("3 Pa", D::Length).remedy(D::Length).contains("a length such as \"0.5 mm\""));
        assert!(matches!(error("20 degC/s", D::Temperature), QuantityError::WrongDimension { .. }));
        assert!(matches!(error("1 m", D::Angle), QuantityError::WrongDimension { .. }));
        assert!(matches!(error("1 rad", D::Fraction), QuantityError::WrongDimension { .. }));
    }

    #[test]
    fn a_scale_with_its_own_zero_is_a_difference_in_a_product() {
        assert_eq!(parse("20 degC m/m", D::Temperature), Ok(20.0));
    }
}
