//! Parts of curves that bound the fluid.

use super::measure::integral;
use super::{Curve, Passing};
use crate::base::Point;
use crate::base::plane::{Vector, distance, length};

/// A side wall of the cell, from the inlet to the outlet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wall {
    /// On the right of the flow: y = 0 in a rectangle.
    Lower,
    /// On the left of the flow: y = width in a rectangle.
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

impl Piece {
    /// The curve parameter a fraction s of the way along the piece.
    pub fn parameter(&self, s: f64) -> f64 {
        (1.0 - s) * self.from + s * self.to
    }

    /// The point a fraction s of the way (in the curve's parameter) along the piece.
    pub fn point(&self, s: f64) -> Point {
        self.curve.point(self.parameter(s))
    }

    /// Where the piece starts.
    pub fn start(&self) -> Point {
        self.curve.point(self.from)
    }

    /// Where the piece ends.
    pub fn end(&self) -> Point {
        self.curve.point(self.to)
    }

    /// Unit tangent in the walking sense, the fluid on its left; one-sided at both ends, also at a cusp.
    pub fn direction(&self, s: f64) -> Vector {
        let forward = self.to >= self.from;
        let at = if (s < 0.5) == forward { Passing::Leaving } else { Passing::Arriving };
        let d = self.curve.direction(self.parameter(s), at);
        if forward { d } else { [-d[0], -d[1]] }
    }

    /// Signed curvature in the walking sense, 1/m: negative where the solid bulges into the fluid.
    pub fn curvature(&self, s: f64) -> f64 {
        let k = self.curve.curvature(self.parameter(s));
        if self.to >= self.from { k } else { -k }
    }

    /// Length, m.
    pub fn length(&self) -> f64 {
        let (p, q) = (self.start(), self.end());
        if self.curve.is_straight() {
            return distance(p, q);
        }
        let speed = |t: f64| length(self.curve.derivative(t));
        let size = distance(p, q) + speed(0.5) * (self.to - self.from).abs();
        integral(&speed, self.from, self.to, 1e-13 * size).abs()
    }
}
