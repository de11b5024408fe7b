//! Bubbles: laws and constants of the library, and the pattern with a free bubble on nested meshes.

use super::{Effort, Figure};
use crate::cells::{Grid, cell, circle, ladder};
use twinplate::input::case::Ends::HeldPressure;
use twinplate::theory::bubbles::{
    ADVANCING, Air, RECEDING, ellipse_ratio, film_left, free_patch, pressure_factor, rim_layer, rim_layer_from_apex,
    speed_ratio, stiff_rim_layer,
};

/// Rounding of a root, or of a system of a hundred unknowns.
const ROUNDING: f64 = 1e-12;
/// Gap of [`cell`], m.
const GAP: f64 = 1e-3;
/// What held ends a length and a half away do to a disc: of its dipole exp(-3 pi).
const ENDS: f64 = 1e-5;

/// Named quantities of bubbles.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    let value = match (what, with) {
        ("patch", &[radius, offset]) => return patch(radius, offset, effort),
        ("speed_ratio", &[k]) => speed_ratio(k),
        ("ellipse", &[along, across]) => ellipse_ratio(along, across),
        ("between_walls", &[radius, offset]) => {
            let m1 = pressure_factor(radius, 0.5 + offset)?;
            m1 / (m1 - 1.0)
        }
        ("pressure_factor", &[radius]) => pressure_factor(radius, 0.5)?,
        ("advancing", &[]) => ADVANCING,
        ("receding", &[]) => RECEDING,
        ("film", &[]) => film_left(1.0, 1.0),
        ("rim", &[degrees]) => rim_layer(degrees.to_radians()),
        ("rim_from_apex", &[degrees]) => rim_layer_from_apex(degrees.to_radians()),
        ("stiff_rim", &[degrees]) => stiff_rim_layer(degrees.to_radians()),
        _ => return None,
    };
    Some(Figure { value, error: ROUNDING * value.abs() })
}

/// U over the mean speed of a channel of unit width in which a bubble without films is, extrapolated by second order from the finer two of three
/// nested meshes. Error: the change from the coarser two, and the ends.
fn patch(radius: f64, offset: f64, effort: Effort) -> Option<Figure> {
    let (case, plan) = cell(3.0, 1.0, HeldPressure, &circle([1.5, 0.5 + offset], 2.0 * radius));
    let air = Air { tension: 0.07, density_difference: 0.0, tilt: [0.0; 2], films: false };
    let ratio = |grid: &Grid| {
        let found = free_patch(&grid.space, &grid.pair, 1.0, case.fluid.viscosity, 0, &air).ok()?;
        Some(found.velocity[0] * GAP / found.flow_rate)
    };
    let found: Option<Vec<f64>> = ladder(&case, &plan, effort.triangles / 2, 3).iter().map(ratio).collect();
    let [coarse, middle, fine] = found?[..] else { return None };
    let end = |a: f64, b: f64| b + (b - a) / 3.0;
    let value = end(middle, fine);
    Some(Figure { value, error: (value - end(coarse, middle)).abs() + ENDS })
}
