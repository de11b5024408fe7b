//! The lettering of figures: one open-licence family in two weights, embedded in every file, measured from its own tables.
//!
//! Figures use no kerning, so that the width of a text is the sum of its advances in every program that shows it.

use crate::base::{Error, Result};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Name of the family in the files of figures.
pub const FAMILY: &str = "Harbour Sketch";
/// Height of capitals over the size.
pub const CAPITAL: f64 = 0.717;
/// Depth below the base line over the size.
pub const DEPTH: f64 = 0.213;

const REGULAR: &[u8] = include_bytes!("font/figure-regular.ttf");
const BOLD: &[u8] = include_bytes!("font/figure-bold.ttf");

/// A weight of the family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// For labels.
    Regular,
    /// For what must stand out.
    Bold,
}

impl Weight {
    /// The font file (TrueType).
    pub fn file(self) -> &'static [u8] {
        match self {
            Weight::Regular => REGULAR,
            Weight::Bold => BOLD,
        }
    }

    /// Its number in style sheets.
    pub(super) fn number(self) -> u32 {
        match self {
            Weight::Regular => 400,
            Weight::Bold => 700,
        }
    }
}

/// Advances of the characters a font has, as parts of its size.
type Advances = BTreeMap<char, f64>;

static TABLES: LazyLock<[Option<Advances>; 2]> = LazyLock::new(|| [advances(REGULAR), advances(BOLD)]);

fn table(weight: Weight) -> Result<&'static Advances> {
    TABLES[weight as usize]
        .as_ref()
        .ok_or_else(|| Error::failed("the font of the figures cannot be read", "build the program afresh"))
}

/// Width of a text of size 1, without kerning.
///
/// # Errors
/// [`Error::Failed`] naming the characters that the font does not have: nothing is ever left out silently.
///
/// ```
/// use twinplate::report::figure::{Weight, text_width};
/// assert!(text_width("speed over U", Weight::Regular)? > text_width("speed", Weight::Regular)?);
/// assert!(text_width("船", Weight::Regular).is_err());
/// # Ok::<(), twinplate::Error>(())
/// ```
pub fn text_width(text: &str, weight: Weight) -> Result<f64> {
    let table = table(weight)?;
    let missing: String = text.chars().filter(|c| !table.contains_key(c)).collect();
    if missing.is_empty() {
        return Ok(text.chars().filter_map(|c| table.get(&c)).sum());
    }
    let codes: Vec<String> = missing.chars().map(|c| format!("U+{:04X}", c as u32)).collect();
    Err(Error::failed(
        format!("the font of the figures has no \"{missing}\" ({}), which \"{text}\" needs", codes.join(", ")),
        "write names of the case in Latin, Greek or Cyrillic letters",
    ))
}

/// Reads the tables `head`, `hhea`, `hmtx` and `cmap` (format 4) of a TrueType file; none if one is missing or cut off.
fn advances(font: &[u8]) -> Option<Advances> {
    let units = f64::from(u16_at(font, find(font, b"head")? + 18)?);
    let metrics = usize::from(u16_at(font, find(font, b"hhea")? + 34)?);
    let hmtx = find(font, b"hmtx")?;
    let map = format_four(font, find(font, b"cmap")?)?;
    let segments = usize::from(u16_at(font, map + 6)?) / 2;
    let (ends, starts) = (map + 14, map + 16 + 2 * segments);
    let (deltas, offsets) = (starts + 2 * segments, starts + 4 * segments);
    let mut table = Advances::new();
    for k in 0..segments {
        let (start, end) = (u16_at(font, starts + 2 * k)?, u16_at(font, ends + 2 * k)?);
        let (delta, offset) = (u16_at(font, deltas + 2 * k)?, u16_at(font, offsets + 2 * k)?);
        for code in start..=end.min(0xFFFE) {
            let glyph = match offset {
                0 => code.wrapping_add(delta),
                _ => match u16_at(font, offsets + 2 * k + usize::from(offset) + 2 * usize::from(code - start))? {
                    0 => 0,
                    glyph => glyph.wrapping_add(delta),
                },
            };
            if let (1.., Some(letter)) = (glyph, char::from_u32(code.into())) {
                let entry = usize::from(glyph).min(metrics.checked_sub(1)?);
                table.insert(letter, f64::from(u16_at(font, hmtx + 4 * entry)?) / units);
            }
        }
    }
    Some(table)
}

/// Where a table of the file starts.
fn find(font: &[u8], tag: &[u8; 4]) -> Option<usize> {
    let count = usize::from(u16_at(font, 4)?);
    let entry = (0..count).map(|k| 12 + 16 * k).find(|&at| font.get(at..at + 4) == Some(tag))?;
    Some(u32_at(font, entry + 8)? as usize)
}

/// Where the Unicode table of format 4 starts.
fn format_four(font: &[u8], cmap: usize) -> Option<usize> {
    let count = usize::from(u16_at(font, cmap + 2)?);
    let tables = (0..count).filter_map(|k| Some(cmap + u32_at(font, cmap + 8 + 8 * k)? as usize));
    tables.into_iter().find(|&at| u16_at(font, at) == Some(4))
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at.checked_add(2)?)?.try_into().ok()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(at..at.checked_add(4)?)?.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advances read with another library (fontTools): H 1527, minus sign 1160, zeta 784 of 2000 units.
    #[test]
    fn advances_agree_with_another_reader() {
        for (text, units) in ADVANCES {
            assert_eq!(text_width(text, Weight::Regular).unwrap(), units / 2000.0, "{text}");
        }
    }

    const ADVANCES: [(&str, f64); 3] = [("H", 1527.0), ("−", 1160.0), ("ζ", 784.0)];

    #[test]
    fn every_sign_of_formulas_is_there() {
        let signs = "αβγδεζηθικλμνξοπρσςτυφχψωΓΔΘΛΞΠΣΦΨΩ≤≥≈≠−×·±∞√∂°′→←⁰¹²³⁴⁵⁶⁷⁸⁹⁻₀₁₂₃₄₅₆₇₈₉µ‰ÄÖÜäöüßéèñçøåłŠčЖя";
        for weight in [Weight::Regular, Weight::Bold] {
            assert!(text_width(signs, weight).unwrap() > 10.0);
        }
    }

    #[test]
    fn a_broken_font_is_no_font() {
        for length in 0..REGULAR.len().min(2000) {
            assert!(advances(&REGULAR[..length]).is_none());
        }
    }

    #[test]
    fn a_missing_letter_is_an_error_that_names_it() {
        let message = text_width("船 7", Weight::Bold).unwrap_err().to_string();
        assert!(message.contains("U+8239") && message.contains("remedy"), "{message}");
    }
}
