//! What is said where a cell or what stands in it cannot be: with line, place and remedy.

use crate::{BEND, STEP, mistakes};

/// Each mistake is told at its line, the third of the file, with what to write instead.
#[test]
fn cells_that_cannot_be_are_told_at_their_line() {
    let contraction = |rest: &str| format!("contraction = {{ length_in = 2, width_in = 1, length_out = 1, {rest} }}");
    for (cell, said) in [
        // two quarters of a circle of radius 0.25/2 each need 0.25
        (
            contraction("length = 0.2, width_out = 0.5, shape = \"arc\""),
            "as \"arc\" from 1 m to 500 mm wide it needs 250 mm",
        ),
        (contraction("length = 0, width_out = 0.5, shape = \"cosine\""), "shorter it is a step"),
        (contraction("length = 0, width_out = 0.5, shape = \"cosin\""), "did you mean \"cosine\"?"),
        (contraction("length = -1, width_out = 0.5"), "length"),
        (contraction("length = 0.2"), "lacks the key \"width_out\""),
        (contraction("length = 0.2, width_out = 1e-3"), "the width of its narrower end"),
        (format!("{STEP}\nlength = 2"), "[cell] has both \"contraction\" and \"length\""),
        (format!("{STEP}\n{BEND}"), "[cell] has both \"contraction\" and \"bend\""),
        ("contracton = { }".to_owned(), "did you mean \"contraction\"?"),
        (
            BEND.replace('}', ", inner_radius = 1.5 }"),
            "inner_radius is 1.5 m, longer than an inner wall of the bend, 1 m",
        ),
        (BEND.replace('}', ", towards = \"up\" }"), "write one of \"left\", \"right\""),
    ] {
        let found = mistakes(&cell, "");
        assert!(found.contains(said), "{cell}\n{found}");
        assert!(found.contains("case.toml:3:") || found.contains("case.toml:4:"), "{cell}\n{found}");
    }
    let bowed = mistakes(&format!("{STEP}\ngap = {{ at = 0.001, bowed = true }}"), "").replace("gap = 0.001\n", "");
    assert!(bowed.contains("given twice"), "{bowed}");
}

fn post(x: f64, y: f64, diameter: f64) -> String {
    format!("[[obstacle]]\nname = \"pier\"\ncircle = {{ centre = [{x:?}, {y:?}], diameter = {diameter:?} }}\n")
}

/// The wall that an obstacle reaches or comes near is named with a place on it; one outside the cell, though inside the box round
/// it, is told of as well.
#[test]
fn obstacles_keep_within_the_cell() {
    // the step stands at x = 2 from y = 0 to 0.25 and from 0.75 to 1
    for (more, said) in [
        (post(2.0, 0.2, 0.2), "\"pier\" reaches the lower wall near ("),
        (post(1.97, 0.9, 0.1), "\"pier\" reaches the upper wall near"),
        (post(2.5, 0.25 + 0.1, 0.2), "\"pier\" reaches the lower wall near (2.5 m, 0.25 m)"),
        (post(2.5, 0.35 + 5e-7, 0.2), "the passage between \"pier\" and the lower wall is 5.0"),
        (post(2.5, 0.1, 0.1), "\"pier\" stands outside the cell"),
        (post(3.0, 0.5, 0.1), "\"pier\" reaches the outlet near (3 m, 0."),
        (post(0.0, 0.5, 0.1), "\"pier\" reaches the inlet near (0 m, 0."),
        (post(9.0, 0.5, 0.1), "\"pier\" stands outside the cell"),
        (post(2.5, 0.5, 0.6), "\"pier\" reaches the"),
    ] {
        let found = mistakes(STEP, &more);
        assert!(found.contains(said) && found.contains("case.toml:12:"), "{more}\n{found}");
    }
    assert_eq!(mistakes(STEP, &post(2.5, 0.35 + 2e-6, 0.2)), "");
    let walled = mistakes(STEP, &post(1.0, 0.0, 0.2).replace("circle", "on_wall = \"lower\"\ncircle"));
    assert!(walled.contains("which obstacles do in a rectangular cell only"), "{walled}");
    let inner = "[[obstacle]]\nname = \"hull\"\ncircle = { centre = [1.0, 0.5], diameter = 0.4 }\n".to_owned();
    let nested = mistakes(STEP, &(inner + &post(1.0, 0.5, 0.1)));
    assert!(nested.contains("\"pier\" stands inside \"hull\""), "{nested}");
}

/// Probes, needles and bubbles stand in the fluid, not only in the box round it; on the edge they may.
#[test]
fn places_keep_within_the_cell() {
    for (more, said) in [
        ("[[probe]]\nname = \"dock\"\nat = [2.5, 0.1]", "the probe \"dock\" at (2.5 m, 0.1 m) is outside the cell"),
        ("[streaklines]\nstarts = [[0.5, 0.5], [2.5, 0.9]]", "needle 2 at (2.5 m, 0.9 m) is outside the cell"),
        ("[[bubble]]\nname = \"b\"\ncentre = [2.5, 0.1]\ndiameter = 0.01", "is outside the cell"),
    ] {
        let found = mistakes(STEP, more);
        assert!(found.contains(said), "{more}\n{found}");
    }
    assert_eq!(
        mistakes(STEP, "[[probe]]\nname = \"edge\"\nat = [2.5, 0.25]\n[[probe]]\nname = \"foot\"\nat = [2.0, 0.0]"),
        ""
    );
    assert_eq!(mistakes(BEND, "[[probe]]\nname = \"outlet\"\nat = [1.5, 2.0]"), "");
}
