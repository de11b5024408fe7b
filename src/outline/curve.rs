//! Smooth curves, exact to rounding.

use crate::Point;

/// A smooth curve on the parameter range [0, 1].
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
}

impl Curve {
    /// The point at parameter t.
    pub fn point(&self, t: f64) -> Point {
        match self {
            Curve::Line { from, to } => [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])],
            Curve::Arc { centre, semi_axes, rotation, start, end } => {
                let s = start + t * (end - start);
                let (sin, cos) = rotation.sin_cos();
                let (u, v) = (semi_axes[0] * s.cos(), semi_axes[1] * s.sin());
                [centre[0] + cos * u - sin * v, centre[1] + sin * u + cos * v]
            }
        }
    }

    /// The derivative of the point with respect to t.
    pub fn derivative(&self, t: f64) -> [f64; 2] {
        match self {
            Curve::Line { from, to } => [to[0] - from[0], to[1] - from[1]],
            Curve::Arc { semi_axes, rotation, start, end, .. } => {
                let rate = end - start;
                let s = start + t * rate;
                let (sin, cos) = rotation.sin_cos();
                let (u, v) = (-semi_axes[0] * s.sin() * rate, semi_axes[1] * s.cos() * rate);
                [cos * u - sin * v, sin * u + cos * v]
            }
        }
    }

    /// The second derivative of the point with respect to t.
    pub fn second_derivative(&self, t: f64) -> [f64; 2] {
        match self {
            Curve::Line { .. } => [0.0, 0.0],
            Curve::Arc { semi_axes, rotation, start, end, .. } => {
                let rate = end - start;
                let s = start + t * rate;
                let (sin, cos) = rotation.sin_cos();
                let (u, v) = (-semi_axes[0] * s.cos() * rate * rate, -semi_axes[1] * s.sin() * rate * rate);
                [cos * u - sin * v, sin * u + cos * v]
            }
        }
    }

    /// Signed curvature, 1/m, positive where the curve turns left.
    pub fn curvature(&self, t: f64) -> f64 {
        let d = self.derivative(t);
        let e = self.second_derivative(t);
        (d[0] * e[1] - d[1] * e[0]) / (d[0] * d[0] + d[1] * d[1]).powf(1.5)
    }
}
