//! Which ridges may be of dye lines: those in the open fluid that run the way the ideal pattern has them.

use super::absorbance::Absorbance;
use super::ridges::Ridge;
use super::view::View;
use crate::base::Point;
use crate::base::plane::{self, cross, left, length};
use crate::bench::photo::Pixel;
use rayon::prelude::*;

/// Most that a line may turn from the ideal direction, degrees.
const TURN: f64 = 35.0;

/// Ridges looked at by one thread at a time.
const CHUNK: usize = 1024;

/// A ridge in the cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Where in the picture, pixels.
    pub pixel: Pixel,
    /// Direction across the line in the picture, towards the left of the flow in the cell, of length 1.
    pub normal: [f64; 2],
    /// Where in the cell, m.
    pub place: Point,
    /// Stream function there, m.
    pub psi: f64,
    /// Potential there, m.
    pub phi: f64,
    /// |V|/U there.
    pub speed: f64,
    /// Strength of the ridge.
    pub strength: f64,
}

/// The ridges that may be of lines, in their order, and how many lie in glare.
pub fn choose(ridges: &[Ridge], view: &View, absorbance: &Absorbance, border: f64) -> Vec<Spot> {
    let limit = TURN.to_radians().sin();
    let area = absorbance.area;
    let of_chunk = |ridges: &[Ridge]| {
        let mut hint = None;
        let mut list = Vec::new();
        for ridge in ridges {
            let [x, y] = [0, 1].map(|k| (ridge.at[k] - area.from[k] as f64).max(0.0));
            let inside = |at: f64, count: usize| at >= border && at <= count as f64 - border;
            if !inside(x, area.width) || !inside(y, area.height) {
                continue;
            }
            let (x, y) = (x as usize, y as usize);
            let Some(steps) = view.steps(x, y) else { continue };
            if absorbance.is_dead(x, y) {
                continue;
            }
            // the direction along the line, turned into the cell
            let [along_x, along_y] = left(ridge.normal);
            let course = [0, 1].map(|k| along_x * steps[0][k] + along_y * steps[1][k]);
            let Some(place) = view.calibration.point(ridge.at) else { continue };
            let Some(open) = view.open_at(place, hint) else { continue };
            let slope = open.ideal.slope;
            hint = Some(open.ideal.triangle);
            let velocity = [slope[1], -slope[0]];
            if cross(velocity, course).abs() > limit * length(velocity) * length(course) {
                continue;
            }
            let across = [0, 1].map(|k| ridge.normal[0] * steps[0][k] + ridge.normal[1] * steps[1][k]);
            let sign = if plane::dot(across, slope) < 0.0 { -1.0 } else { 1.0 };
            list.push(Spot {
                pixel: ridge.at,
                normal: ridge.normal.map(|value| sign * value),
                place,
                psi: open.ideal.psi,
                phi: open.phi,
                speed: length(slope),
                strength: ridge.strength,
            });
        }
        list
    };
    ridges.par_chunks(CHUNK).map(of_chunk).collect::<Vec<_>>().concat()
}
