//! Parts of curves, curves walked backwards, and curves with an end moved.

use super::Curve;
use crate::base::Point;
use crate::base::plane::{distance, left, middle, stepped, way};

impl Curve {
    /// The same curve walked the other way.
    pub fn reversed(&self) -> Curve {
        match self {
            // Exact at both ends, which a part is not.
            Curve::Line { from, to } => Curve::Line { from: *to, to: *from },
            Curve::Cubic { coefficients: [a, b, c, d] } => Curve::Cubic {
                coefficients: [
                    [0, 1].map(|k| a[k] + (b[k] + (c[k] + d[k]))),
                    [0, 1].map(|k| -b[k] - 2.0 * c[k] - 3.0 * d[k]),
                    [0, 1].map(|k| c[k] + 3.0 * d[k]),
                    [0, 1].map(|k| -d[k]),
                ],
            },
            other => other.part(1.0, 0.0),
        }
    }

    /// The part between two parameters, on the range [0, 1] again; backwards if `from` exceeds `to`.
    pub fn part(&self, from: f64, to: f64) -> Curve {
        let along = |start: f64, end: f64| (start + from * (end - start), start + to * (end - start));
        match self {
            Curve::Line { .. } => Curve::Line { from: self.point(from), to: self.point(to) },
            Curve::Arc { centre, semi_axes, rotation, start, end } => {
                let (start, end) = along(*start, *end);
                Curve::Arc { centre: *centre, semi_axes: *semi_axes, rotation: *rotation, start, end }
            }
            Curve::Cubic { coefficients } => {
                let h = to - from;
                let (p, d, e) = (self.point(from), self.derivative(from), self.second_derivative(from));
                let third = coefficients[3];
                Curve::Cubic {
                    coefficients: [p, d.map(|v| h * v), e.map(|v| 0.5 * h * h * v), third.map(|v| h * h * h * v)],
                }
            }
            Curve::FourDigit { surface, start, end } => {
                let (start, end) = along(*start, *end);
                Curve::FourDigit { surface: *surface, start, end }
            }
            Curve::Joukowski { map, start, end } => {
                let (start, end) = along(*start, *end);
                Curve::Joukowski { map: *map, start, end }
            }
        }
    }

    /// The curve with its ends moved to two places, each point by no more than the further of the two moves; none for kinds that
    /// would not stay what they are.
    pub(crate) fn with_ends(&self, start: Point, end: Point) -> Option<Curve> {
        match self {
            Curve::Line { .. } => Some(Curve::Line { from: start, to: end }),
            Curve::Cubic { coefficients: [a, b, c, d] } => {
                let was = self.point(1.0);
                let shift = |k: usize| b[k] + (end[k] - was[k]) - (start[k] - a[k]);
                Some(Curve::Cubic { coefficients: [start, [shift(0), shift(1)], *c, *d] })
            }
            _ => None,
        }
    }
}

/// The cubic with the four control points of Bernstein and Bezier.
pub(crate) fn bezier([p, q, r, s]: [Point; 4]) -> Curve {
    let term = |f: &dyn Fn(usize) -> f64| [f(0), f(1)];
    Curve::Cubic {
        coefficients: [
            p,
            term(&|k| 3.0 * (q[k] - p[k])),
            term(&|k| 3.0 * ((p[k] - q[k]) + (r[k] - q[k]))),
            term(&|k| (s[k] - p[k]) + 3.0 * (q[k] - r[k])),
        ],
    }
}

/// The arc between two points with bulge b, the tangent of a quarter of its angle, positive counter-clockwise: its centre lies
/// chord (1 - b²)/(4 b) to the left of the chord's middle.
pub(crate) fn bulge_arc(from: Point, to: Point, bulge: f64) -> Curve {
    if bulge.abs() < 1e-12 || from == to {
        return Curve::Line { from, to };
    }
    let centre = stepped(middle(from, to), (1.0 - bulge * bulge) / (4.0 * bulge), left(way(from, to)));
    let radius = distance(from, to) * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    let start = (from[1] - centre[1]).atan2(from[0] - centre[0]);
    Curve::Arc { centre, semi_axes: [radius; 2], rotation: 0.0, start, end: start + 4.0 * bulge.atan() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Parts and reversals are the same points at other parameters.
    #[test]
    fn parts_lie_on_the_whole() {
        let arc = Curve::Arc { centre: [1.0, 2.0], semi_axes: [3.0, 1.0], rotation: 0.4, start: -0.3, end: 2.0 };
        let line = Curve::Line { from: [1.0, 2.0], to: [-4.0, 0.5] };
        let cubic = bezier([[0.0, 0.0], [1.0, 2.0], [3.0, -1.0], [4.0, 1.0]]);
        for curve in [arc, line, cubic] {
            let (part, back) = (curve.part(0.2, 0.7), curve.reversed());
            for k in 0..=8 {
                let t = f64::from(k) / 8.0;
                for (found, wanted) in
                    [(part.point(t), curve.point(0.2 + 0.5 * t)), (back.point(t), curve.point(1.0 - t))]
                {
                    // Some ten roundings of values near 5.
                    approx::assert_abs_diff_eq!(found[0], wanted[0], epsilon = 2e-14);
                    approx::assert_abs_diff_eq!(found[1], wanted[1], epsilon = 2e-14);
                }
            }
        }
    }

    /// By hand: the Bezier curve at t = 1/2 is (p + 3q + 3r + s)/8.
    #[test]
    fn a_bezier_curve_goes_through_its_middle() {
        let middle = bezier([[0.0, 0.0], [1.0, 2.0], [3.0, -1.0], [4.0, 1.0]]).point(0.5);
        approx::assert_abs_diff_eq!(middle[0], 2.0, epsilon = 1e-15);
        approx::assert_abs_diff_eq!(middle[1], 0.5, epsilon = 1e-15);
    }

    #[test]
    fn moved_ends_are_where_they_should_be() {
        let cubic = bezier([[0.0, 0.0], [1.0, 2.0], [3.0, -1.0], [4.0, 1.0]]);
        let moved = cubic.with_ends([0.01, -0.02], [4.0, 1.03]).unwrap();
        approx::assert_abs_diff_eq!(moved.point(0.0)[1], -0.02, epsilon = 1e-15);
        approx::assert_abs_diff_eq!(moved.point(1.0)[1], 1.03, epsilon = 1e-15);
        approx::assert_abs_diff_eq!(moved.point(0.5)[1], cubic.point(0.5)[1] + 0.005, epsilon = 1e-15);
    }
}
