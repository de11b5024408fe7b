//! Side walls and obstacles as a photograph shows them, against the plan: a check of the map that takes no part in it.
//!
//! At places along every edge the strongest step of light across it is found (`step`), and how far it stands from where the map sees
//! the drawn edge (`places`). For a side wall that is an offset; for an obstacle with normals n into the fluid the offsets are
//! `n·(dx, dy) + growth`, to first order, which robust least squares solve (`stand`). A free obstacle that moved is looked at again
//! where it was found, so that what is left over is small. A wrong list of marks, a wrong face or thickness of the plate moves all
//! edges; an obstacle that was put elsewhere moves alone.
//!
//! The depth of an edge is not known: a solid that fills the gap b is seen at the inner faces of both plates, whose edges appear
//! `b tan(theta_f)` apart, theta_f the angle of the ray to the normal in the fluid: 0.1 mm (8 degrees in air) to 0.6 mm (45 degrees) for 1 mm
//! of water. The edge is taken at the height of the dye, where the map holds, and half of that stands in every stated error: as a move of
//! all edges outwards from below the camera (one face is seen) or as a growth (a dark solid before a bright ground hides what
//! either face hides), whichever is more.
//!
//! Range: edges within 5 mm of their drawing, or a quarter of a small solid's extent; solids darker or brighter than the fluid. Of
//! a clear solid with a dark rim the rim's stronger side is taken for the edge.

mod places;
mod stand;
mod step;
mod told;

pub use told::warnings;

use crate::base::Point;
use crate::base::plane::{Rect, stepped};
use crate::bench::lines::deviation;
use crate::bench::photo::Calibration;
use crate::bench::statistics::median;
use crate::geometry::{Plan, Side, Wall};
use crate::input::measured::Photo;
use places::{Place, Spot, places, spots};
use stand::{Edge, stand};

/// Part of the places that must be seen, and how many at least.
const SEEN: f64 = 0.25;
const FEWEST: usize = 6;

/// Looks at an obstacle that moved, and the move after which another is needless, m.
const LOOKS: usize = 4;
const SETTLED: f64 = 0.02e-3;

/// Standard error of the median of normal values over that of their mean, the root of pi/2.
const OF_MEDIAN: f64 = 1.2533;

/// An edge of the plan in a photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Whose edge.
    pub side: Side,
    /// Its name.
    pub name: String,
    /// Where it is drawn, the middle of its places, m.
    pub middle: Point,
    /// Places looked at.
    pub places: usize,
    /// Places with a clear step.
    pub seen: usize,
    /// How it stands; none if fewer than a quarter of the places are seen.
    pub found: Option<Found>,
}

/// How an edge stands against its drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Median offset into the fluid with its standard error, m.
    pub offset: (f64, f64),
    /// Deviation of a single place from that, by the median, m.
    pub spread: f64,
    /// Of an obstacle how much further downstream, how much higher, how much larger all round, m, each with its standard error; none of walls
    /// and of obstacles whose edges that are seen do not tell these three apart.
    pub moved: Option<[(f64, f64); 3]>,
}

/// The side walls and obstacles of a plan as a photograph shows them; those without a place in the known part of the picture are left out.
/// `gap` is that of the cell, m.
pub fn outlines(photo: &Photo, map: &Calibration, plan: &Plan, gap: f64) -> Vec<Outline> {
    let walls = [Wall::Lower, Wall::Upper].map(Side::Wall);
    let obstacles = (0..plan.obstacles.len()).map(|k| Side::Obstacle(k as u32));
    walls.into_iter().chain(obstacles).filter_map(|side| outline(photo, map, plan, gap, side)).collect()
}

fn outline(photo: &Photo, map: &Calibration, plan: &Plan, gap: f64, side: Side) -> Option<Outline> {
    let name = match side {
        Side::Obstacle(k) => plan.obstacles[k as usize].name.clone(),
        _ => plan.name_of(side).trim_start_matches("the ").to_owned(),
    };
    let (all, spots) = look(photo, map, plan, side);
    let middle = Rect::of(all.iter().map(|place| place.at)).middle();
    let found = is_enough(&spots, &all).then(|| found(photo, map, plan, gap, side, &spots)).flatten();
    (!all.is_empty()).then_some(Outline { side, name, middle, places: all.len(), seen: spots.len(), found })
}

fn look(photo: &Photo, map: &Calibration, plan: &Plan, side: Side) -> (Vec<Place>, Vec<Spot>) {
    let places = places(photo, map, plan, side);
    let spots = spots(photo, &places);
    (places, spots)
}

fn is_enough(spots: &[Spot], places: &[Place]) -> bool {
    spots.len() >= FEWEST && spots.len() as f64 >= SEEN * places.len() as f64
}

fn found(photo: &Photo, map: &Calibration, plan: &Plan, gap: f64, side: Side, spots: &[Spot]) -> Option<Found> {
    let offsets: Vec<f64> = spots.iter().map(|spot| spot.offset).collect();
    let offset = median(&offsets)?;
    let spread = deviation(&offsets.iter().map(|own| own - offset).collect::<Vec<f64>>());
    let systematic = Edge { map, gap, spots }.systematic(&|_| vec![1.0])?;
    let sigma = (OF_MEDIAN * spread / (spots.len() as f64).sqrt()).hypot(systematic[0]);
    let moved = match side {
        Side::Obstacle(k) => moved(photo, map, plan, gap, k as usize, spots),
        _ => None,
    };
    Some(Found { offset: (offset, sigma), spread, moved })
}

/// How an obstacle moved and grew: a free one is looked at again where it was found, until that no longer moves.
fn moved(photo: &Photo, map: &Calibration, plan: &Plan, gap: f64, k: usize, spots: &[Spot]) -> Option<[(f64, f64); 3]> {
    let mut by = vec![[0.0; 2]; plan.obstacles.len()];
    let mut changes = stand(&Edge { map, gap, spots })?;
    for _ in 1..LOOKS {
        let step = [changes[0].0, changes[1].0];
        if plan.obstacles[k].on_wall.is_some() || step[0].hypot(step[1]) < SETTLED {
            break;
        }
        let mut next = by.clone();
        next[k] = stepped(by[k], 1.0, step);
        let (places, spots) = look(photo, map, &plan.with_moved(&next), Side::Obstacle(k as u32));
        let again = stand(&Edge { map, gap, spots: &spots }).filter(|_| is_enough(&spots, &places));
        // out of the picture: the first look stands
        let Some(again) = again else { break };
        (by, changes) = (next, again);
    }
    Some([(by[k][0] + changes[0].0, changes[0].1), (by[k][1] + changes[1].0, changes[1].1), changes[2]])
}

#[cfg(test)]
mod tests;
