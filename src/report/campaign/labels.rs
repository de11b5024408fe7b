//! Names of rows and keys with their units, as figures have them.

use crate::base::text::in_words;
use crate::base::units::Dimension;
use crate::report::figure::{Anchor, Lettering};
use crate::report::page_rows::typeset;

/// A name with its unit: "gap (cell), mm", "shape factor (1)".
pub(super) fn labelled(name: &str, unit: &str) -> String {
    let text = if unit.is_empty() { format!("{name} (1)") } else { format!("{name}, {unit}") };
    shown(&text)
}

/// A text of the user as a figure can show it: units and numbers as they are printed, letters that the font lacks as question marks.
pub(super) fn shown(text: &str) -> String {
    let micro = |word: &str| match word.split(['/', ',', ')']).next() {
        Some("um" | "uL" | "us") => format!("µ{}", &word[1..]),
        _ => word.to_owned(),
    };
    let text = typeset(text).split(' ').map(micro).collect::<Vec<_>>().join(" ");
    Lettering::label(Anchor::Start).known(&text)
}

/// A text that begins with a capital.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A row or a key in words, by its path.
pub(super) fn words(path: &str) -> String {
    shown(&in_words(path))
}

/// The unit in which values of a row with this unit in files, of which the largest has this size, read well, and what they are divided by.
pub(super) fn reading(unit: &str, largest: f64) -> (String, f64) {
    match Dimension::of_unit(unit) {
        Some(dimension) => {
            let (unit, size) = dimension.unit_for(largest);
            (unit.to_owned(), size)
        }
        None => (unit.to_owned(), 1.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_bear_their_units() {
        assert_eq!(labelled("gap (cell)", "um"), "gap (cell), µm");
        assert_eq!(labelled("circulation", "mm2/s"), "circulation, mm²/s");
        assert_eq!(labelled("shape factor", ""), "shape factor (1)");
        assert_eq!(shown("pier 船, 1e-3"), "pier ?, 10⁻³");
        assert_eq!(shown("(± 40 uL/min)"), "(± 40 µL/min)");
        assert_eq!((sentence("über 3"), sentence("")), ("Über 3".to_owned(), String::new()));
        let (unit, size) = reading("m", 5e-4);
        assert_eq!((unit.as_str(), size), ("mm", 1e-3));
        assert_eq!(reading("deg", 3.0), ("deg".to_owned(), 1.0));
    }
}
