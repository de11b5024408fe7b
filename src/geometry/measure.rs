//! Lengths, areas and membership.

use super::span::{crossings, spans};
use super::{Curve, Piece, Plan};
use crate::base::Point;

/// Gauss's rule with five points on [0, 1]: (place, weight).
fn gauss() -> [(f64, f64); 5] {
    let root = (10.0 / 7.0f64).sqrt();
    let (a, b) = ((5.0 - 2.0 * root).sqrt() / 6.0, (5.0 + 2.0 * root).sqrt() / 6.0);
    let (u, v) = ((322.0 + 13.0 * 70f64.sqrt()) / 1800.0, (322.0 - 13.0 * 70f64.sqrt()) / 1800.0);
    [(0.5 - b, v), (0.5 - a, u), (0.5, 64.0 / 225.0), (0.5 + a, u), (0.5 + b, v)]
}

/// The integral of a smooth function, halving until it changes by less than `tolerance`.
fn integral(f: &impl Fn(f64) -> f64, a: f64, b: f64, tolerance: f64) -> f64 {
    let rule = gauss();
    let once = |a: f64, b: f64| (b - a) * rule.iter().map(|(x, w)| w * f(a + x * (b - a))).sum::<f64>();
    fn halved(once: &impl Fn(f64, f64) -> f64, a: f64, b: f64, whole: f64, tolerance: f64, depth: u32) -> f64 {
        let middle = 0.5 * (a + b);
        let (left, right) = (once(a, middle), once(middle, b));
        if depth == 0 || (left + right - whole).abs() <= tolerance {
            return left + right;
        }
        halved(once, a, middle, left, tolerance, depth - 1) + halved(once, middle, b, right, tolerance, depth - 1)
    }
    halved(&once, a, b, once(a, b), tolerance, 12)
}

/// Area to the left of a closed chain of parts of curves, (curve, from, to): half the integral of x dy - y dx.
pub(crate) fn area_of<'a>(parts: impl IntoIterator<Item = (&'a Curve, f64, f64)>) -> f64 {
    let mut origin = None;
    let mut sum = 0.0;
    for (curve, from, to) in parts {
        // About a point of the chain itself, so that little cancels.
        let o = *origin.get_or_insert_with(|| curve.point(from));
        let (p, q) = (curve.point(from), curve.point(to));
        sum += if curve.is_straight() {
            (p[0] - o[0]) * (q[1] - o[1]) - (q[0] - o[0]) * (p[1] - o[1])
        } else {
            let size = (p[0] - q[0]).hypot(p[1] - q[1]) + (p[0] - o[0]).hypot(p[1] - o[1]);
            let moment = |t: f64| {
                let (p, d) = (curve.point(t), curve.derivative(t));
                (p[0] - o[0]) * d[1] - (p[1] - o[1]) * d[0]
            };
            integral(&moment, from, to, 1e-14 * size * size)
        };
    }
    0.5 * sum
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
    pub fn direction(&self, s: f64) -> [f64; 2] {
        let forward = self.to >= self.from;
        let leaving = s < 0.5;
        let d = self.curve.direction(self.parameter(s), leaving == forward);
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
            return (p[0] - q[0]).hypot(p[1] - q[1]);
        }
        let speed = |t: f64| {
            let d = self.curve.derivative(t);
            d[0].hypot(d[1])
        };
        let size = (p[0] - q[0]).hypot(p[1] - q[1]) + speed(0.5) * (self.to - self.from).abs();
        integral(&speed, self.from, self.to, 1e-13 * size).abs()
    }
}

impl Plan {
    /// Area of the fluid, m2, to about 1e-13 of the cell's.
    pub fn area(&self) -> f64 {
        let chain = |range: &std::ops::Range<usize>| {
            area_of(self.pieces[range.clone()].iter().map(|piece| (&piece.curve, piece.from, piece.to)))
        };
        self.loops.iter().map(chain).sum()
    }

    /// Largest extent of an obstacle across the flow, m; none without obstacles.
    pub fn reference_length(&self) -> Option<f64> {
        self.obstacles.iter().map(|obstacle| obstacle.height).reduce(f64::max)
    }

    /// Whether a point lies in the fluid. Points on the boundary fall on either side. Takes time in proportion to the pieces.
    pub fn contains(&self, point: Point) -> bool {
        let turns = |piece: &Piece| -> i32 {
            let found = spans(&piece.curve, piece.from, piece.to);
            found.iter().map(|span| crossings(point, &piece.curve, span, 50)).sum()
        };
        self.pieces.iter().map(turns).sum::<i32>() == 1
    }

    /// Least and largest x and y of the fluid, m; none without a boundary.
    pub fn bounds(&self) -> Option<[Point; 2]> {
        let outer = self.loops.first()?;
        let parts = self.pieces[outer.clone()].iter().map(|piece| (&piece.curve, piece.from, piece.to));
        let e = super::span::Extent::of(parts)?;
        Some([[e.low[0][0], e.low[1][1]], [e.high[0][0], e.high[1][1]]])
    }
}
