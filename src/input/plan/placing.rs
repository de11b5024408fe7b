//! How a drawing comes into the cell.

use super::number::{Fault, finite, positive};
use crate::base::units::{Dimension, likely_unit};
use crate::geometry::Curve;
use crate::geometry::measure::enclosed;
use crate::geometry::span::Extent;
use crate::input::case::{OutlineSize, Placing};
use crate::input::drawing::affine::Affine;
use crate::input::drawing::{Drawing, Loop, is_picture};
use std::f64::consts::PI;
use std::path::Path;

/// What a pixel has become.
pub(super) fn pixel_note(drawing: &Drawing, placed: &[Curve], file: &Path) -> Option<String> {
    if !is_picture(file) {
        return None;
    }
    let first = drawing.loops.first().filter(|_| !drawing.scaled)?;
    let unit = (enclosed(placed) / enclosed(&first.curves)).sqrt();
    Some(format!("one pixel is {:.4} mm", 1e3 * unit))
}

/// How a drawing is put into the cell: scaled, mirrored, turned, moved.
pub(super) fn placed_loops(
    drawing: &Drawing,
    placing: Placing,
    cell: Option<[f64; 2]>,
) -> Result<Vec<Vec<Curve>>, Fault> {
    let Placing::Centred { centre, size, angle, mirror } = placing else { return as_drawn(drawing) };
    finite(&[centre[0], centre[1], angle])?;
    let no_size = || {
        (
            "the outline in the file has no width or height to scale".to_owned(),
            "check the file: its points must go round the obstacle once".to_owned(),
        )
    };
    let all = drawing.loops.iter().flat_map(|l| &l.curves);
    let rect = Extent::whole(all).ok_or_else(no_size)?.rect();
    let [width, height] = rect.size();
    let scale = match size {
        OutlineSize::Width(wanted) => positive("width", wanted)? / width,
        OutlineSize::Height(wanted) => positive("height", wanted)? / height,
        OutlineSize::Stated if drawing.scaled => 1.0,
        OutlineSize::Stated => {
            return Err(("its file states no unit of length".into(), unit_remedy([width, height], cell)));
        }
    };
    if !(scale.is_finite() && scale > 0.0) {
        return Err(no_size());
    }
    let middle = rect.middle();
    let map = Affine::shift(centre)
        .after(&Affine::turn(angle.rem_euclid(2.0 * PI)))
        .after(&Affine::scale(if mirror { -scale } else { scale }, scale))
        .after(&Affine::shift([-middle[0], -middle[1]]));
    let place = |l: &Loop| -> Vec<Curve> {
        let moved = l.curves.iter().map(|curve| map.curve(curve));
        if mirror { moved.rev().map(|curve| curve.reversed()).collect() } else { moved.collect() }
    };
    Ok(drawing.loops.iter().map(place).collect())
}

/// What to do about a file without a unit: in a known cell the unit is named in which the outline would fit.
fn unit_remedy(size: [f64; 2], cell: Option<[f64; 2]>) -> String {
    let reach = cell.map(|cell| (size[0] / cell[0]).max(size[1] / cell[1]));
    match reach.and_then(|reach| likely_unit(&["m", "cm", "mm", "um"], reach, 1.0)) {
        Some(unit) => format!(
            "if {unit} are meant, in which it is {} {unit} by {} {unit}, write unit = \"{unit}\"; or give the width or the height it \
             should have",
            Dimension::Fraction.show(size[0]),
            Dimension::Fraction.show(size[1])
        ),
        None => {
            "give the width or the height it should have, or the unit of its coordinates, as unit = \"mm\"".to_owned()
        }
    }
}

/// The outlines where the page has them.
fn as_drawn(drawing: &Drawing) -> Result<Vec<Vec<Curve>>, Fault> {
    if !drawing.scaled {
        let remedy = "give the unit of its coordinates, as unit = \"mm\" (of a picture: marks and marks_apart), or place it by \
                      centre and width in place of as_drawn";
        return Err(("as_drawn takes its size from the file, which states no unit of length".into(), remedy.into()));
    }
    let Some(map) = drawing.to_page() else {
        let remedy = "give the drawing a width and a height, or place it by centre in place of as_drawn";
        return Err((
            "as_drawn needs the page of the drawing, whose height the file does not state".into(),
            remedy.into(),
        ));
    };
    Ok(drawing.loops.iter().map(|l| l.curves.iter().map(|curve| map.curve(curve)).collect()).collect())
}
