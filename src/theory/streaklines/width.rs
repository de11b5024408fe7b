//! How broad dye lines are: the flux that passes the mouth of a needle stays between two streamlines.

use super::dye::Dye;
use super::follow::{Ending, REST, Streakline};
use super::seeds::{Seed, seeds};
use crate::base::Point;
use crate::base::plane;
use crate::input::case::{Gap, Seeding};
use rayon::prelude::*;

/// Parts of a needle's radius at which the sides of a band are tried, the outermost first: the very line that divides at an obstacle ends
/// there, and no band has it for a side.
const SIDES: [f64; 3] = [1.0, 0.99, 0.97];

impl Streakline {
    /// Width of the dye at each point, m: `d V_n b_n/(V b)`, for the flux `V b d` of its layer past the mouth of a needle of diameter d stays in it.
    ///
    /// V is the in-plane speed at the height of the dye and b the gap, at the needle with index n. Errors: of the order (d/L)² for a flow that
    /// varies over lengths L, and those of the speed. Range: no molecular spreading, no drift between the plates; next to a stagnation
    /// point, where V goes to nought, a band is no longer thin: the width is held at 1e5 times d.
    pub fn widths(&self, gap: &Gap, diameter: f64) -> Vec<f64> {
        let carried: Vec<f64> = self.points.iter().zip(&self.speeds).map(|(p, v)| v * gap.at(*p)).collect();
        let Some(&first) = carried.first() else { return Vec::new() };
        let width = |here: &f64| if first > 0.0 { diameter * first / here.max(REST * first) } else { diameter };
        carried.iter().map(width).collect()
    }
}

/// The fluid that a dye line fills: between the lines from both sides of the mouth of its needle.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Places along its right and its left side, m, downstream.
    pub sides: [Vec<Point>; 2],
}

impl Band {
    /// Its outline, once round.
    pub fn outline(&self) -> Vec<Point> {
        let [right, left] = &self.sides;
        right.iter().chain(left.iter().rev()).copied().collect()
    }
}

/// The bands of dye from needles of this diameter, m, at a height ζ; none for a line that does not come through, since no side does beside it.
pub fn dye_bands(dye: &Dye, seeding: &Seeding, height: f64, diameter: f64) -> Vec<Band> {
    let locator = dye.space.locator();
    let band = |seed: &Seed| {
        let (triangle, weights) = locator.place(seed.at, None);
        let [u, v, _] = dye.field.rate(dye.space.mesh.triangles[triangle as usize], weights, 0.0);
        let across = plane::left(plane::unit([u, v])?);
        let side = |sign: f64| {
            SIDES.iter().find_map(|part| {
                let off = plane::stepped(seed.at, 0.5 * sign * part * diameter, across);
                let at = [off[0].max(0.0), off[1]];
                let line = dye.lines_from(&[Seed::at(dye.space, dye.stream, at)], height).pop()?;
                (line.ending == Ending::Outlet).then_some(line.points)
            })
        };
        Some(Band { sides: [side(-1.0)?, side(1.0)?] })
    };
    seeds(dye.space, dye.stream, seeding).par_iter().filter_map(band).collect()
}
