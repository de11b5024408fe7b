//! The lettering of figures: one open-licence family in two weights, embedded in every file, measured from its own tables.
//!
//! Figures use no kerning, so that the width of a text is the sum of its advances in every program that shows it.

use crate::base::{Error, Point, Result};
use std::sync::LazyLock;
use ttf_parser::{Face, GlyphId, OutlineBuilder};

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
    pub(super) fn number(self) -> u16 {
        match self {
            Weight::Regular => 400,
            Weight::Bold => 700,
        }
    }

    /// Its tables.
    pub(super) fn face(self) -> Result<&'static Face<'static>> {
        FACES[self as usize].as_ref().ok_or_else(unreadable)
    }
}

static FACES: LazyLock<[Option<Face<'static>>; 2]> = LazyLock::new(|| [face(REGULAR), face(BOLD)]);

/// The tables of a TrueType file; none if one that figures need is missing or cut off.
fn face(file: &[u8]) -> Option<Face<'_>> {
    let face = Face::parse(file, 0).ok()?;
    let tables = face.tables();
    let is_whole = tables.cmap.is_some() && tables.hmtx.is_some() && tables.glyf.is_some();
    is_whole.then_some(face)
}

fn unreadable() -> Error {
    Error::failed("the font of the figures cannot be read", "build the program afresh")
}

/// A character as the font has it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Glyph {
    pub letter: char,
    pub id: GlyphId,
    /// How far the pen moves on, as part of the size.
    pub advance: f64,
}

/// The glyphs of a text.
///
/// # Errors
/// [`Error::Failed`] naming the characters that the font does not have: nothing is ever left out silently.
pub(super) fn glyphs(text: &str, weight: Weight) -> Result<Vec<Glyph>> {
    let face = weight.face()?;
    let units = f64::from(face.units_per_em());
    let glyph = |letter: char| {
        let id = face.glyph_index(letter).filter(|id| id.0 != 0)?;
        Some(Glyph { letter, id, advance: f64::from(face.glyph_hor_advance(id)?) / units })
    };
    let missing: String = text.chars().filter(|&letter| glyph(letter).is_none()).collect();
    if missing.is_empty() {
        return Ok(text.chars().filter_map(glyph).collect());
    }
    let codes: Vec<String> = missing.chars().map(|c| format!("U+{:04X}", c as u32)).collect();
    Err(Error::failed(
        format!("the font of the figures has no \"{missing}\" ({}), which \"{text}\" needs", codes.join(", ")),
        "write names of the case in Latin, Greek or Cyrillic letters",
    ))
}

/// Width of a text of size 1, without kerning.
///
/// # Errors
/// [`Error::Failed`] naming the characters that the font does not have.
///
/// ```
/// use twinplate::report::figure::{Weight, text_width};
/// assert!(text_width("speed over U", Weight::Regular)? > text_width("speed", Weight::Regular)?);
/// assert!(text_width("船", Weight::Regular).is_err());
/// # Ok::<(), twinplate::Error>(())
/// ```
pub fn text_width(text: &str, weight: Weight) -> Result<f64> {
    Ok(glyphs(text, weight)?.iter().map(|glyph| glyph.advance).sum())
}

/// A step along an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    /// Starts there.
    Move(Point),
    /// Straight on to there.
    Line(Point),
    /// By two handles to there, a cubic.
    Curve([Point; 3]),
    /// Back to the start.
    Close,
}

impl Step {
    /// The step with its places moved.
    pub fn moved(self, place: impl Fn(Point) -> Point) -> Step {
        match self {
            Step::Move(p) => Step::Move(place(p)),
            Step::Line(p) => Step::Line(place(p)),
            Step::Curve(places) => Step::Curve(places.map(place)),
            Step::Close => Step::Close,
        }
    }
}

/// The outline of a glyph of size 1, to the right and upwards from the pen; a blank has none.
///
/// # Errors
/// [`Error::Failed`] if the font cannot be read.
pub(super) fn glyph_steps(id: GlyphId, weight: Weight) -> Result<Vec<Step>> {
    let face = weight.face()?;
    let mut outline = Outline { steps: Vec::new(), last: [0.0; 2], unit: 1.0 / f64::from(face.units_per_em()) };
    face.outline_glyph(id, &mut outline);
    Ok(outline.steps)
}

struct Outline {
    steps: Vec<Step>,
    last: Point,
    unit: f64,
}

impl Outline {
    fn at(&self, x: f32, y: f32) -> Point {
        [x, y].map(|x| self.unit * f64::from(x))
    }
}

impl OutlineBuilder for Outline {
    fn move_to(&mut self, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.steps.push(Step::Move(self.last));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.steps.push(Step::Line(self.last));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        // the same curve as a cubic: handles two thirds of the way to the one handle
        let (handle, end) = (self.at(x1, y1), self.at(x, y));
        let towards = |p: Point| [0, 1].map(|k| p[k] + 2.0 / 3.0 * (handle[k] - p[k]));
        self.steps.push(Step::Curve([towards(self.last), towards(end), end]));
        self.last = end;
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.steps.push(Step::Curve([self.at(x1, y1), self.at(x2, y2), self.last]));
    }

    fn close(&mut self) {
        self.steps.push(Step::Close);
    }
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
            let drawn = |glyph: &Glyph| !glyph_steps(glyph.id, weight).unwrap().is_empty();
            assert!(glyphs(signs, weight).unwrap().iter().all(drawn));
        }
    }

    /// A capital stands on the base line, 1433 and 1446 of 2000 units high (fontTools); a full stop is a disc of curves, a percent sign
    /// five outlines.
    #[test]
    fn outlines_stand_on_the_base_line() {
        for (weight, height) in [(Weight::Regular, 1433.0), (Weight::Bold, 1446.0)] {
            let steps = |text: &str| glyph_steps(glyphs(text, weight).unwrap()[0].id, weight).unwrap();
            let heights: Vec<f64> = steps("H")
                .iter()
                .filter_map(|step| match step {
                    Step::Move(p) | Step::Line(p) => Some(p[1]),
                    _ => None,
                })
                .collect();
            assert_eq!(heights.iter().copied().fold(f64::INFINITY, f64::min), 0.0);
            assert!((2000.0 * heights.iter().copied().fold(0.0, f64::max) - height).abs() < 1e-9, "{heights:?}");
            assert!(steps(".").iter().any(|step| matches!(step, Step::Curve(_))));
            assert_eq!(steps("%").iter().filter(|step| **step == Step::Close).count(), 5);
            assert!(steps(" ").is_empty());
        }
    }

    #[test]
    fn a_broken_font_is_no_font() {
        for length in 0..REGULAR.len().min(2000) {
            assert!(face(&REGULAR[..length]).is_none());
        }
    }

    #[test]
    fn a_missing_letter_is_an_error_that_names_it() {
        let message = text_width("船 7", Weight::Bold).unwrap_err().to_string();
        assert!(message.contains("U+8239") && message.contains("help: "), "{message}");
    }
}
