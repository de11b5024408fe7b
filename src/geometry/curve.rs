//! Smooth curves, exact to rounding.

use super::{FourDigitSurface, JoukowskiMap};
use crate::base::Point;
use crate::base::plane::{Vector, between, cross, length, stepped, way};

/// How a curve passes a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passing {
    /// It goes on from there.
    Leaving,
    /// It comes there.
    Arriving,
}

/// A smooth curve on the parameter range [0, 1].
///
/// The derivative vanishes nowhere, save at the cusp of a Joukowski section.
#[derive(Debug, Clone, PartialEq)]
pub enum Curve {
    /// A straight line.
    Line {
        /// Point at t = 0.
        from: Point,
        /// Point at t = 1.
        to: Point,
    },
    /// An arc of an ellipse, centre + rotation * (a cos s, b sin s), s from `start` to `end`.
    Arc {
        /// Centre.
        centre: Point,
        /// Semi-axes.
        semi_axes: [f64; 2],
        /// Rotation of the first axis, rad.
        rotation: f64,
        /// Parameter s at t = 0, rad.
        start: f64,
        /// Parameter s at t = 1, rad.
        end: f64,
    },
    /// A cubic polynomial c0 + c1 t + c2 t² + c3 t³: an interval of a spline, or a teardrop.
    Cubic {
        /// c0, c1, c2, c3.
        coefficients: [Point; 4],
    },
    /// A part of one surface of a four-digit section, s = sqrt(x/chord) from `start` to `end`.
    FourDigit {
        /// The surface.
        surface: FourDigitSurface,
        /// s at t = 0.
        start: f64,
        /// s at t = 1.
        end: f64,
    },
    /// A part of a Joukowski section, the angle s about the centre of its circle, counted from the tail, from `start` to
    /// `end`.
    Joukowski {
        /// The map.
        map: JoukowskiMap,
        /// s at t = 0, rad.
        start: f64,
        /// s at t = 1, rad.
        end: f64,
    },
}

/// Speeds below this fraction of the second derivative are the rounding error of a zero.
const CUSP: f64 = 1e-12;

impl Curve {
    /// The point at parameter t.
    pub fn point(&self, t: f64) -> Point {
        match self {
            Curve::Line { from, to } => between(*from, *to, t),
            Curve::Arc { centre, semi_axes, rotation, start, end } => {
                let s = start + t * (end - start);
                let (sin, cos) = rotation.sin_cos();
                let (u, v) = (semi_axes[0] * s.cos(), semi_axes[1] * s.sin());
                [centre[0] + cos * u - sin * v, centre[1] + sin * u + cos * v]
            }
            Curve::Cubic { coefficients: c } => [0, 1].map(|i| c[0][i] + t * (c[1][i] + t * (c[2][i] + t * c[3][i]))),
            Curve::FourDigit { surface, start, end } => surface.at(start + t * (end - start))[0],
            Curve::Joukowski { map, start, end } => map.at(start + t * (end - start))[0],
        }
    }

    /// The curve moved by a vector, m.
    pub fn moved(&self, by: Vector) -> Curve {
        let to = |p: Point| stepped(p, 1.0, by);
        let mut curve = self.clone();
        match &mut curve {
            Curve::Line { from, to: end } => (*from, *end) = (to(*from), to(*end)),
            Curve::Arc { centre, .. } => *centre = to(*centre),
            Curve::Cubic { coefficients: [start, ..] } => *start = to(*start),
            Curve::FourDigit { surface, .. } => surface.nose = to(surface.nose),
            Curve::Joukowski { map, .. } => map.tail = to(map.tail),
        }
        curve
    }

    /// The derivative of the point with respect to t.
    pub fn derivative(&self, t: f64) -> Vector {
        match self {
            Curve::Line { from, to } => way(*from, *to),
            Curve::Arc { semi_axes, rotation, start, end, .. } => {
                let rate = end - start;
                let s = start + t * rate;
                let (sin, cos) = rotation.sin_cos();
                let (u, v) = (-semi_axes[0] * s.sin() * rate, semi_axes[1] * s.cos() * rate);
                [cos * u - sin * v, sin * u + cos * v]
            }
            Curve::Cubic { coefficients: c } => [0, 1].map(|i| c[1][i] + t * (2.0 * c[2][i] + t * 3.0 * c[3][i])),
            Curve::FourDigit { surface, start, end } => {
                let rate = end - start;
                surface.at(start + t * rate)[1].map(|d| d * rate)
            }
            Curve::Joukowski { map, start, end } => {
                let rate = end - start;
                map.at(start + t * rate)[1].map(|d| d * rate)
            }
        }
    }

    /// The second derivative of the point with respect to t.
    pub fn second_derivative(&self, t: f64) -> Vector {
        match self {
            Curve::Line { .. } => [0.0, 0.0],
            Curve::Arc { semi_axes, rotation, start, end, .. } => {
                let rate = end - start;
                let s = start + t * rate;
                let (sin, cos) = rotation.sin_cos();
                let (u, v) = (-semi_axes[0] * s.cos() * rate * rate, -semi_axes[1] * s.sin() * rate * rate);
                [cos * u - sin * v, sin * u + cos * v]
            }
            Curve::Cubic { coefficients: c } => [0, 1].map(|i| 2.0 * c[2][i] + t * 6.0 * c[3][i]),
            Curve::FourDigit { surface, start, end } => {
                let rate = end - start;
                surface.at(start + t * rate)[2].map(|d| d * rate * rate)
            }
            Curve::Joukowski { map, start, end } => {
                let rate = end - start;
                map.at(start + t * rate)[2].map(|d| d * rate * rate)
            }
        }
    }

    /// Radius and turn, rad, of an arc of a circle.
    pub(crate) fn round(&self) -> Option<[f64; 2]> {
        match *self {
            Curve::Arc { semi_axes: [a, b], start, end, .. } if a == b && a > 0.0 && start != end => {
                Some([a, end - start])
            }
            _ => None,
        }
    }

    /// Signed curvature, 1/m, positive where the curve turns left; infinite at a cusp.
    pub fn curvature(&self, t: f64) -> f64 {
        if let Some([radius, turn]) = self.round() {
            return turn.signum() / radius;
        }
        let d = self.derivative(t);
        let e = self.second_derivative(t);
        let speed = length(d);
        if speed <= CUSP * length(e) {
            return f64::INFINITY;
        }
        cross(d, e) / speed.powi(3)
    }

    /// Unit tangent at t in the sense of growing t.
    ///
    /// Where the derivative vanishes the curve leaves along its second derivative and arrives against it: `at` says
    /// which of the two is meant.
    pub fn direction(&self, t: f64, at: Passing) -> Vector {
        let d = self.derivative(t);
        let e = self.second_derivative(t);
        let (speed, rate) = (length(d), length(e));
        if speed > CUSP * rate {
            [d[0] / speed, d[1] / speed]
        } else {
            let sign = if at == Passing::Leaving { 1.0 } else { -1.0 };
            [sign * e[0] / rate, sign * e[1] / rate]
        }
    }

    /// Whether it is a line.
    pub(crate) fn is_straight(&self) -> bool {
        matches!(self, Curve::Line { .. })
    }
}
