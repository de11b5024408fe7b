//! Edges that stand elsewhere, in sentences.

use super::Outline;
use crate::base::warning::{Code, Warning};
use crate::geometry::Side;

/// How many standard errors a move has that is told, and the least, m.
const SURE: f64 = 4.0;
const TOLD: f64 = 0.3e-3;

const REMEDY: &str = "check the marks' places, marks_on and plate_thickness; if the marks are right";

/// A warning for each edge that surely stands elsewhere: by more than four standard errors and 0.3 mm.
pub fn warnings(outlines: &[Outline]) -> Vec<Warning> {
    outlines.iter().filter_map(warning).collect()
}

fn is_sure((value, sigma): (f64, f64)) -> bool {
    value.abs() > SURE * sigma && value.abs() > TOLD
}

fn warning(outline: &Outline) -> Option<Warning> {
    let found = outline.found?;
    let changes = match found.moved {
        Some([dx, dy, growth]) => vec![
            (dx, "further downstream", "further upstream"),
            (dy, "higher", "lower"),
            (growth, "further out all round", "further in all round"),
        ],
        None => vec![(found.offset, "further into the fluid", "further away from the fluid")],
    };
    let sure: Vec<(f64, &str)> = changes
        .iter()
        .filter(|(change, ..)| is_sure(*change))
        .map(|(change, more, less)| (change.0, if change.0 > 0.0 { *more } else { *less }))
        .collect();
    let value = sure.iter().map(|(value, _)| value.abs()).reduce(f64::max)?;
    let moves: Vec<String> = sure.iter().map(|(value, way)| format!("{:.1} mm {way}", 1e3 * value.abs())).collect();
    let (name, otherwise) = match outline.side {
        Side::Obstacle(_) => {
            let otherwise =
                "the obstacle stands elsewhere than drawn, and a fit of the obstacles tells by the lines as well";
            (format!("\"{}\"", outline.name), otherwise)
        }
        _ => (
            format!("the {}", outline.name),
            "the wall stands elsewhere than in the case, and `width` is to be measured",
        ),
    };
    let matter = format!("in the picture the edge of {name} stands {} than the case has it", moves.join(" and "));
    let remedy = format!("{REMEDY} {otherwise}");
    Some(Warning::new(Code::OutlineElsewhere, matter, &remedy).at(outline.middle).value(value))
}
