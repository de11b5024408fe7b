//! The plan of the fluid domain: closed loops of tagged pieces, the fluid on the left of each.

use super::Curve;
use crate::Point;
use crate::case::Wall;

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
}

/// A junction of two pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where.
    pub at: Point,
    /// Angle of the fluid there, rad, in (0, 2 pi].
    pub fluid_angle: f64,
    /// The piece that ends there.
    pub before: usize,
    /// The piece that starts there.
    pub after: usize,
}

impl Plan {
    /// The solid a side belongs to; none for the ends.
    pub fn solid(&self, side: Side) -> Option<Solid> {
        match side {
            Side::Inlet | Side::Outlet => None,
            Side::Wall(Wall::Lower) => Some(Solid::Lower),
            Side::Wall(Wall::Upper) => Some(Solid::Upper),
            Side::Obstacle(k) => match self.obstacles[k as usize].on_wall {
                Some(Wall::Lower) => Some(Solid::Lower),
                Some(Wall::Upper) => Some(Solid::Upper),
                None => Some(Solid::Obstacle(k)),
            },
        }
    }
}
