//! The unit that a user measures a cell in.

use super::quantity::unit_of;
use super::{Dimension, parse};
use crate::base::Point;

/// A unit of length.
#[derive(Debug, Clone, PartialEq)]
pub struct LengthUnit {
    /// As it was typed.
    pub symbol: String,
    /// Its size, m.
    pub metres: f64,
}

impl LengthUnit {
    /// Metres.
    pub fn metre() -> LengthUnit {
        LengthUnit { symbol: "m".into(), metres: 1.0 }
    }

    /// That of a length such as "200 mm", none if it is no length with a unit.
    pub fn of(length: &str) -> Option<LengthUnit> {
        let symbol = unit_of(length);
        let metres = parse(&format!("1 {symbol}"), Dimension::Length).ok()?;
        Some(LengthUnit { symbol: symbol.to_owned(), metres })
    }

    /// A place, m, in this unit, with five significant digits of its larger coordinate: "(514.29 mm, 47.14 mm)".
    ///
    /// ```
    /// use twinplate::base::units::LengthUnit;
    /// assert_eq!(LengthUnit::of("200 mm").map(|unit| unit.place([0.514_285_7, 0.047_142_86])).as_deref(), Some("(514.29 mm, 47.14 mm)"));
    /// assert_eq!(LengthUnit::metre().place([0.514_285_7, 0.0]), "(0.51429 m, 0 m)");
    /// ```
    pub fn place(&self, at: Point) -> String {
        let numbers = at.map(|x| x / self.metres);
        let largest = numbers.iter().fold(0.0, |most: f64, x| most.max(x.abs()));
        let before = if largest > 0.0 { largest.log10().floor() as i32 + 1 } else { 1 };
        let decimals = (5 - before).clamp(0, 12) as usize;
        let shown = numbers.map(|x| {
            let text = format!("{x:.decimals$}");
            let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
            if text == "-0" { "0".to_owned() } else { text.to_owned() }
        });
        format!("({} {}, {} {})", shown[0], self.symbol, shown[1], self.symbol)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_have_the_digits_of_their_larger_coordinate() {
        let unit = |text: &str| LengthUnit::of(text).unwrap();
        assert_eq!(unit("2e2mm").place([0.5, 1e-9]), "(500 mm, 0 mm)");
        assert_eq!(unit("30 cm").place([0.123_456_78, -0.3]), "(12.346 cm, -30 cm)");
        assert_eq!(unit("20 um").place([1.234_567e-6, -1e-12]), "(1.2346 um, 0 um)");
        assert_eq!(unit("10 km").place([123_456.789, 1.0]), "(123.46 km, 0 km)");
        assert_eq!(LengthUnit::metre().place([0.0, 0.0]), "(0 m, 0 m)");
        assert_eq!((LengthUnit::of("3"), LengthUnit::of("3 s")), (None, None));
    }
}
