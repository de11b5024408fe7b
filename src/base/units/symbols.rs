//! Unit symbols: factor to SI and dimension, with decimal prefixes where a symbol takes them.

use super::dimension::Exponents;
use std::f64::consts::PI;

/// A unit: its value in SI and its dimension; `zero` is the SI value of its zero, for temperature scales.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unit {
    pub factor: f64,
    pub exponents: Exponents,
    pub zero: f64,
}

const PLAIN: Exponents = [0, 0, 0, 0, 0];
const LENGTH: Exponents = [1, 0, 0, 0, 0];
const VOLUME: Exponents = [3, 0, 0, 0, 0];
const MASS: Exponents = [0, 1, 0, 0, 0];
const TIME: Exponents = [0, 0, 1, 0, 0];
const KELVIN: Exponents = [0, 0, 0, 1, 0];
const ANGLE: Exponents = [0, 0, 0, 0, 1];
const FORCE: Exponents = [1, 1, -2, 0, 0];
const PRESSURE: Exponents = [-1, 1, -2, 0, 0];

/// Symbols that take decimal prefixes.
const PREFIXED: &[(&str, f64, Exponents)] = &[
    ("m", 1.0, LENGTH),
    ("g", 1e-3, MASS),
    ("s", 1.0, TIME),
    ("K", 1.0, KELVIN),
    ("N", 1.0, FORCE),
    ("Pa", 1.0, PRESSURE),
    ("bar", 1e5, PRESSURE),
    ("L", 1e-3, VOLUME),
    ("l", 1e-3, VOLUME),
    ("P", 0.1, [-1, 1, -1, 0, 0]),
    ("St", 1e-4, [2, 0, -1, 0, 0]),
    ("rad", 1.0, ANGLE),
];

/// Symbols that take none. The conventional column of water is 9.80665 kPa per metre, that of mercury 133.322387415 Pa
/// per millimetre; the inch is 25.4 mm and the pound 0.45359237 kg exactly (BIPM SI brochure; NIST SP 811).
const BARE: &[(&str, f64, Exponents)] = &[
    ("%", 0.01, PLAIN),
    ("min", 60.0, TIME),
    ("h", 3600.0, TIME),
    ("d", 86400.0, TIME),
    ("in", 0.0254, LENGTH),
    ("inch", 0.0254, LENGTH),
    ("ft", 0.3048, LENGTH),
    ("deg", PI / 180.0, ANGLE),
    ("°", PI / 180.0, ANGLE),
    ("mmH2O", 9.80665, PRESSURE),
    ("cmH2O", 98.0665, PRESSURE),
    ("mmHg", 133.322387415, PRESSURE),
    ("atm", 101325.0, PRESSURE),
    ("psi", 4.4482216152605 / (0.0254 * 0.0254), PRESSURE),
    ("degC", 1.0, KELVIN),
    ("°C", 1.0, KELVIN),
    ("degF", 5.0 / 9.0, KELVIN),
    ("°F", 5.0 / 9.0, KELVIN),
];

const PREFIXES: &[(&str, f64)] = &[
    ("n", 1e-9),
    ("u", 1e-6),
    ("\u{b5}", 1e-6),
    ("\u{3bc}", 1e-6),
    ("m", 1e-3),
    ("c", 1e-2),
    ("d", 1e-1),
    ("h", 1e2),
    ("k", 1e3),
    ("M", 1e6),
    ("G", 1e9),
];

/// The unit of a symbol.
pub(super) fn find(symbol: &str) -> Option<Unit> {
    let exact = |table: &[(&str, f64, Exponents)], wanted: &str| {
        table.iter().find(|(known, _, _)| *known == wanted).map(|&(_, factor, exponents)| (factor, exponents))
    };
    let zero = match symbol {
        "degC" | "°C" => 273.15,
        "degF" | "°F" => 273.15 - 32.0 * 5.0 / 9.0,
        _ => 0.0,
    };
    let (factor, exponents) = exact(BARE, symbol).or_else(|| exact(PREFIXED, symbol)).or_else(|| {
        PREFIXES.iter().find_map(|(prefix, power)| {
            let (factor, exponents) = exact(PREFIXED, symbol.strip_prefix(prefix)?)?;
            Some((power * factor, exponents))
        })
    })?;
    Some(Unit { factor, exponents, zero })
}

/// Words for units that are no symbols here, in lower case, and the unit meant.
const MEANT: &[(&[&str], &str)] = &[
    (&["sec", "secs", "second", "seconds"], "s"),
    (&["mins", "minute", "minutes"], "min"),
    (&["hr", "hrs", "hour", "hours"], "h"),
    (&["day", "days"], "d"),
    (&["metre", "metres", "meter", "meters"], "m"),
    (&["millimetre", "millimetres", "millimeter", "millimeters"], "mm"),
    (&["centimetre", "centimetres", "centimeter", "centimeters"], "cm"),
    (&["micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers", "\u{b5}", "\u{3bc}"], "um"),
    (&["mil", "mils", "thou"], "um"),
    (&["inches"], "in"),
    (&["foot", "feet"], "ft"),
    (&["cc", "ccm", "millilitre", "millilitres", "milliliter", "milliliters"], "mL"),
    (&["litre", "litres", "liter", "liters"], "L"),
    (&["gram", "grams", "gr", "gm"], "g"),
    (&["c", "celsius"], "degC"),
    (&["f", "fahrenheit"], "degF"),
    (&["kelvin"], "K"),
    (&["degree", "degrees"], "deg"),
    (&["radian", "radians"], "rad"),
    (&["pascal", "pascals"], "Pa"),
    (&["torr"], "mmHg"),
    (&["poise"], "P"),
    (&["cps", "centipoise"], "cP"),
    (&["stokes"], "St"),
    (&["cst", "centistokes"], "cSt"),
    (&["pct", "percent"], "%"),
    (&["lpm"], "L/min"),
    (&["sccm", "mlpm"], "mL/min"),
    (&["mps"], "m/s"),
];

/// What a unit that is not known amounts to in one that is, where that is no other word for the same.
pub(super) fn amount(symbol: &str) -> Option<&'static str> {
    ["mil", "mils", "thou"].contains(&symbol.to_lowercase().as_str()).then_some("a thousandth of an inch is 25.4 um")
}

/// The known symbol meant by a word or most like a mistyped one, if any is near.
pub(super) fn nearest(symbol: &str) -> Option<String> {
    let word = symbol.to_lowercase();
    if let Some((_, unit)) = MEANT.iter().find(|(words, _)| words.contains(&word.as_str())) {
        return Some((*unit).to_owned());
    }
    if symbol.chars().count() > 12 {
        return None;
    }
    let common = ["mm", "cm", "um", "kg", "kPa", "mPa", "GPa", "mbar", "mL", "uL", "mN", "ms", "cP", "cSt"];
    let bare = BARE.iter().chain(PREFIXED).map(|(known, _, _)| *known);
    let distance = |known: &str| {
        let typed = strsim::damerau_levenshtein(&symbol.to_lowercase(), &known.to_lowercase());
        (typed, strsim::damerau_levenshtein(symbol, known))
    };
    let best = common.into_iter().chain(bare).min_by_key(|known| distance(known))?;
    let limit = if symbol.chars().count() > 2 { 2 } else { 1 };
    (distance(best).0 <= limit).then(|| best.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prefixes_do_not_shadow_symbols() {
        assert_eq!(find("min").map(|u| u.exponents), Some(TIME));
        assert_eq!(find("mm").map(|u| u.factor), Some(1e-3));
        assert_eq!(find("Pa").map(|u| u.factor), Some(1.0));
        assert_eq!(find("h").map(|u| u.factor), Some(3600.0));
        assert_eq!(find("d").map(|u| u.exponents), Some(TIME));
        assert_eq!(find("kin"), None);
        assert_eq!(find(""), None);
    }

    #[test]
    fn mistyped_symbols_find_a_neighbour() {
        assert_eq!(nearest("MM").as_deref(), Some("mm"));
        assert_eq!(nearest("kpa").as_deref(), Some("kPa"));
        assert_eq!(nearest("degc").as_deref(), Some("degC"));
        assert_eq!(nearest("furlong"), None);
    }

    #[test]
    fn words_for_units_are_no_symbols_and_mean_one() {
        for (words, unit) in MEANT {
            assert!(unit.split('/').all(|symbol| find(symbol).is_some()), "{unit}");
            for word in *words {
                assert_eq!((find(word), *word), (None, word.to_lowercase().as_str()));
                assert_eq!(nearest(word).as_deref(), Some(*unit), "{word}");
            }
        }
    }
}
