//! Affine maps of lines, arcs and cubics, which stay what they are.

use crate::base::Point;
use crate::base::plane::{Vector, cross, dot, length, square, stepped};
use crate::geometry::Curve;

/// x' = a x + c y + e, y' = b x + d y + f, in the order of SVG: a, b, c, d, e, f.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Affine(pub [f64; 6]);

impl Affine {
    pub fn scale(x: f64, y: f64) -> Self {
        Affine([x, 0.0, 0.0, y, 0.0, 0.0])
    }

    pub fn shift(by: [f64; 2]) -> Self {
        Affine([1.0, 0.0, 0.0, 1.0, by[0], by[1]])
    }

    pub fn turn(angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        Affine([cos, sin, -sin, cos, 0.0, 0.0])
    }

    /// First `inner`, then this map.
    pub fn after(&self, inner: &Affine) -> Affine {
        let [a, b, c, d, ..] = inner.0;
        let (x, y, o) = (self.vector([a, b]), self.vector([c, d]), self.point([inner.0[4], inner.0[5]]));
        Affine([x[0], x[1], y[0], y[1], o[0], o[1]])
    }

    pub fn point(&self, p: Point) -> Point {
        stepped([self.0[4], self.0[5]], 1.0, self.vector(p))
    }

    pub fn vector(&self, v: Vector) -> Vector {
        let [a, b, c, d, ..] = self.0;
        [a * v[0] + c * v[1], b * v[0] + d * v[1]]
    }

    /// The image of a curve. Drawings hold lines, arcs and cubics only; another curve is left where it is.
    pub fn curve(&self, curve: &Curve) -> Curve {
        match curve {
            Curve::Line { from, to } => Curve::Line { from: self.point(*from), to: self.point(*to) },
            Curve::Cubic { coefficients: [c, rest @ ..] } => {
                let [p, q, r] = rest.map(|v| self.vector(v));
                Curve::Cubic { coefficients: [self.point(*c), p, q, r] }
            }
            Curve::Arc { centre, semi_axes, rotation, start, end } => {
                let (sin, cos) = rotation.sin_cos();
                let u = self.vector([semi_axes[0] * cos, semi_axes[0] * sin]);
                let v = self.vector([-semi_axes[1] * sin, semi_axes[1] * cos]);
                ellipse_arc(self.point(*centre), u, v, *start, *end)
            }
            other => other.clone(),
        }
    }
}

/// The arc centre + u cos s + v sin s, s from `start` to `end`, with any two conjugate half-diameters u and v.
///
/// The half-diameters at s0 and s0 + pi/2 stand square if tan 2 s0 = 2 u.v/(u.u - v.v): those are the semi-axes.
pub(crate) fn ellipse_arc(centre: Point, u: Vector, v: Vector, start: f64, end: f64) -> Curve {
    let skew = dot(u, v);
    let is_square = skew.abs() <= 1e-14 * (square(u) * square(v)).sqrt();
    let s0 = if is_square { 0.0 } else { 0.5 * (2.0 * skew).atan2(square(u) - square(v)) };
    let (sin, cos) = s0.sin_cos();
    let a = [0, 1].map(|k| cos * u[k] + sin * v[k]);
    let b = [0, 1].map(|k| cos * v[k] - sin * u[k]);
    let semi_axes = [length(a), length(b)];
    // A map that mirrors turns the sense of the parameter about.
    let sense = if cross(a, b) < 0.0 { -1.0 } else { 1.0 };
    let rotation = a[1].atan2(a[0]);
    Curve::Arc { centre, semi_axes, rotation, start: sense * (start - s0), end: sense * (end - s0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::part::bezier;

    /// The image of each point is the point of the image, also where the map mirrors, shears and stretches.
    #[test]
    fn curves_are_mapped_point_by_point() {
        let arc = Curve::Arc { centre: [1.0, 2.0], semi_axes: [3.0, 1.0], rotation: 0.4, start: -0.3, end: 5.0 };
        let circle = Curve::Arc { centre: [1.0, 2.0], semi_axes: [3.0, 3.0], rotation: 0.0, start: 1.0, end: -2.0 };
        let cubic = bezier([[0.0, 0.0], [1.0, 2.0], [3.0, -1.0], [4.0, 1.0]]);
        let line = Curve::Line { from: [1.0, 2.0], to: [-4.0, 0.5] };
        let maps = [
            Affine::turn(0.7).after(&Affine::scale(2.0, 2.0)),
            Affine::scale(1.0, -1.0),
            Affine([0.3, -1.2, 2.0, 0.7, -5.0, 1.0]),
            Affine::shift([3.0, 1.0]).after(&Affine::turn(-2.0)).after(&Affine([1.0, 0.0, 0.8, -1.0, 0.0, 0.0])),
        ];
        for map in maps {
            for curve in [&arc, &circle, &cubic, &line] {
                let image = map.curve(curve);
                for k in 0..=10 {
                    let t = f64::from(k) / 10.0;
                    let (found, wanted) = (image.point(t), map.point(curve.point(t)));
                    // Some ten roundings of values near 10.
                    approx::assert_abs_diff_eq!(found[0], wanted[0], epsilon = 1e-13);
                    approx::assert_abs_diff_eq!(found[1], wanted[1], epsilon = 1e-13);
                }
            }
        }
    }
}
