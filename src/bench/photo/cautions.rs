//! What to know of a calibration, in sentences.

use crate::base::warning::{Code, Warning};

/// A mark that is not to be seen, while enough others are.
pub(super) fn unseen(name: &str, at: [f64; 2], reason: &str) -> Warning {
    let matter = format!("mark {name} is not to be seen near [{:.0}, {:.0}] ({reason}) and is left out", at[0], at[1]);
    Warning::new(Code::MarkNotSeen, matter, "click at it or drop it from the case")
}

/// A mark in glare.
pub(super) fn glare(name: &str, share: f64, is_left_out: bool) -> Warning {
    let end =
        if is_left_out { "it is left out" } else { "it is kept with five times the deviation, for there are few" };
    let matter = format!(
        "mark {name} stands in glare: {:.0} % of its surroundings are saturated, 5 % at most; {end}",
        100.0 * share
    );
    Warning::new(Code::MarkInGlare, matter, "move the lamp").value(share)
}

/// Marks in a picture that is bright as a whole.
pub(super) fn bright(count: usize) -> Warning {
    let matter = format!(
        "{count} marks have saturated surroundings: the picture is bright as a whole, and glare over a mark cannot be told"
    );
    Warning::new(Code::PictureTooBright, matter, "expose less").value(count as f64)
}

/// A mark that the others contradict.
pub(super) fn left_out(name: &str, off: f64) -> Warning {
    let matter = format!(
        "mark {name} does not agree with the others: {off:.1} px from where the fit of all has it; it is left out"
    );
    let remedy = "measure its place again and look at it in marks.png";
    Warning::new(Code::MarkLeftOut, matter, remedy).value(off)
}

/// Few marks that disagree.
pub(super) fn at_odds(count: usize) -> Warning {
    let matter = format!(
        "the {count} marks do not agree, and seven are needed to tell which of them is wrong: deviations are taken five times as large"
    );
    Warning::new(Code::MarksAtOdds, matter, "use eight marks or more").value(count as f64)
}

/// Few marks.
pub(super) fn few(count: usize) -> Warning {
    let checks = if count == 4 {
        "nothing checks their places, nor the lens"
    } else {
        "a wrong place is noticed only if it is large, and the lens is hardly checked"
    };
    Warning::new(Code::FewMarks, format!("{count} marks: {checks}"), "use eight marks or more").value(count as f64)
}

/// Marks that lie farther from the fit than they should.
pub(super) fn unlikely(per_freedom: f64) -> Warning {
    let matter = format!(
        "the marks lie {:.1} times as far from the fit as they should: all deviations are taken so much larger",
        per_freedom.sqrt()
    );
    let remedy =
        "look at marks.png: they are placed worse than `mark_placed_within` says, or on the other face of the plate";
    Warning::new(Code::MarksOff, matter, remedy).value(per_freedom)
}

/// A mirrored picture.
pub(super) fn mirrored() -> Warning {
    let message = "the picture shows the cell mirrored: taken through the back plate, or turned over later";
    Warning::note(Code::Mirrored, message)
}
