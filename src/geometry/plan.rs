//! The plan of the fluid domain: closed loops of tagged pieces, the fluid on the left of each.

use super::Curve;
use crate::base::Point;
use std::f64::consts::PI;

/// A side wall of the cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wall {
    /// y = 0.
    Lower,
    /// y = width.
    Upper,
}

impl Wall {
    /// What it is called in messages.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Wall::Lower => "lower wall",
            Wall::Upper => "upper wall",
        }
    }
}

/// What a piece of the boundary is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Where the fluid enters.
    Inlet,
    /// Where it leaves.
    Outlet,
    /// A side wall.
    Wall(Wall),
    /// An obstacle, by its index in `Plan::obstacles`.
    Obstacle(u32),
}

/// A connected solid, on which the stream function is one constant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Solid {
    /// The lower side wall and all that stands on it.
    Lower,
    /// The upper side wall and all that stands on it.
    Upper,
    /// A free obstacle.
    Obstacle(u32),
}

/// A part of a curve that bounds the fluid, walked from parameter `from` to `to` (which may be smaller) with the fluid on
/// the left.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The curve.
    pub curve: Curve,
    /// Parameter at the start.
    pub from: f64,
    /// Parameter at the end.
    pub to: f64,
    /// What it is.
    pub side: Side,
}

/// An obstacle of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanObstacle {
    /// Its name.
    pub name: String,
    /// The side wall it stands on, if any.
    pub on_wall: Option<Wall>,
    /// Extent across the flow, m.
    pub height: f64,
}

/// The fluid domain.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// All pieces; those of one loop stand together, in order, end to start.
    pub pieces: Vec<Piece>,
    /// Ranges of `pieces`: the outer loop first (counter-clockwise), then one per free obstacle (clockwise).
    pub loops: Vec<std::ops::Range<usize>>,
    /// The obstacles.
    pub obstacles: Vec<PlanObstacle>,
    /// What was repaired, chosen and left out of outline files.
    pub notes: Vec<String>,
}

/// A junction of two pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where.
    pub at: Point,
    /// Angle of the fluid there, rad, in [0, 2 pi].
    pub fluid_angle: f64,
    /// The piece that ends there.
    pub before: usize,
    /// The piece that starts there.
    pub after: usize,
}

/// Junctions that turn by less than this are smooth, rad.
const SMOOTH: f64 = 1e-6;

impl Plan {
    /// What a side is called in messages.
    pub fn name_of(&self, side: Side) -> String {
        match side {
            Side::Inlet => "the inlet".into(),
            Side::Outlet => "the outlet".into(),
            Side::Wall(wall) => format!("the {}", wall.name()),
            Side::Obstacle(k) => {
                self.obstacles.get(k as usize).map_or("an obstacle".into(), |o| format!("\"{}\"", o.name))
            }
        }
    }

    /// The solid a side belongs to; none for the ends.
    pub fn solid(&self, side: Side) -> Option<Solid> {
        match side {
            Side::Inlet | Side::Outlet => None,
            Side::Wall(Wall::Lower) => Some(Solid::Lower),
            Side::Wall(Wall::Upper) => Some(Solid::Upper),
            Side::Obstacle(k) => match self.obstacles.get(k as usize).and_then(|obstacle| obstacle.on_wall) {
                Some(Wall::Lower) => Some(Solid::Lower),
                Some(Wall::Upper) => Some(Solid::Upper),
                None => Some(Solid::Obstacle(k)),
            },
        }
    }

    /// The junctions of two pieces that are not smooth within 1e-6 rad, in the order of the pieces.
    ///
    /// The fluid angle is pi less the left turn between the one-sided tangents. At a cusp, where the boundary turns back on
    /// itself, it is 2 pi if the solid is the thin side and 0 if the fluid is.
    pub fn corners(&self) -> Vec<Corner> {
        let mut corners = Vec::new();
        for range in &self.loops {
            for after in range.clone() {
                let before = if after == range.start { range.end - 1 } else { after - 1 };
                let turn = turn(&self.pieces[before], &self.pieces[after]);
                if turn.abs() > SMOOTH {
                    let at = self.pieces[after].start();
                    corners.push(Corner { at, fluid_angle: PI - turn, before, after });
                }
            }
        }
        corners
    }
}

/// Left turn from one piece into the next, in [-pi, pi].
pub(crate) fn turn(before: &Piece, after: &Piece) -> f64 {
    let (d, e) = (before.direction(1.0), after.direction(0.0));
    let turn = (d[0] * e[1] - d[1] * e[0]).atan2(d[0] * e[0] + d[1] * e[1]);
    if turn.abs() < PI - SMOOTH {
        return turn;
    }
    // Turned back: the side is decided a little way off.
    let (a, b, c) = (before.point(0.99), after.start(), after.point(0.01));
    let side = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
    if side > 0.0 { PI } else { -PI }
}

/// A place as printed in messages.
pub(crate) fn place(p: Point) -> String {
    format!("({:.4} mm, {:.4} mm)", 1e3 * p[0], 1e3 * p[1])
}
