//! Curves broken into short, nearly straight spans whose distance from their chord is known.

use super::Curve;
use super::Passing::{Arriving, Leaving};
use crate::base::Point;
use crate::base::bisect::{TO_ROUNDING, sign_change};
use crate::base::plane::{Rect, Segment, distance_to_segment, dot, orientation};

/// A part of a curve that turns little.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Span {
    /// Parameters at its ends, in walking order.
    pub t: [f64; 2],
    /// Points at its ends.
    pub ends: Segment,
    /// How far the curve may stray from the chord, m.
    pub sag: f64,
}

impl Span {
    pub fn new(curve: &Curve, t: [f64; 2], ends: [Point; 2]) -> Self {
        let sag = if curve.is_straight() {
            0.0
        } else {
            let strays = [0.25, 0.5, 0.75].map(|w| distance_to_segment(curve.point(t[0] + w * (t[1] - t[0])), ends));
            // Twice the largest of three samples covers a span of little turning.
            2.0 * strays.into_iter().fold(0.0, f64::max)
        };
        Span { t, ends, sag }
    }

    pub fn of(curve: &Curve, t: [f64; 2]) -> Self {
        Span::new(curve, t, t.map(|t| curve.point(t)))
    }

    pub fn halves(&self, curve: &Curve) -> [Span; 2] {
        let t = 0.5 * (self.t[0] + self.t[1]);
        let middle = curve.point(t);
        [
            Span::new(curve, [self.t[0], t], [self.ends[0], middle]),
            Span::new(curve, [t, self.t[1]], [middle, self.ends[1]]),
        ]
    }

    /// A box that holds the curve, wider by `margin`.
    pub fn bounds(&self, margin: f64) -> Rect {
        Rect::of(self.ends).grown(self.sag + margin)
    }
}

/// Cosine of the most that half a span turns, some 0.15 rad.
const NEARLY_ALONG: f64 = 0.9888;

/// Breaks the part of a curve between two parameters into spans that turn by less than some 0.3 rad each.
pub(crate) fn spans(curve: &Curve, from: f64, to: f64) -> Vec<Span> {
    if curve.is_straight() {
        return vec![Span::of(curve, [from, to])];
    }
    let mut found = Vec::new();
    divide(curve, [from, to], 12, &mut found);
    found
}

fn divide(curve: &Curve, t: [f64; 2], depth: u32, found: &mut Vec<Span>) {
    let middle = 0.5 * (t[0] + t[1]);
    let [from, to] = if t[1] > t[0] { [Leaving, Arriving] } else { [Arriving, Leaving] };
    let (a, b, c) = (curve.direction(t[0], from), curve.direction(middle, Leaving), curve.direction(t[1], to));
    if depth == 0 || (dot(a, b) > NEARLY_ALONG && dot(b, c) > NEARLY_ALONG) {
        found.push(Span::of(curve, t));
    } else {
        divide(curve, [t[0], middle], depth - 1, found);
        divide(curve, [middle, t[1]], depth - 1, found);
    }
}

/// Parameters in (0, 1) where a coordinate has an extreme; those at the very ends, which are no news, are left out.
pub(crate) fn extremes(curve: &Curve, axis: usize) -> Vec<f64> {
    if curve.is_straight() {
        return Vec::new();
    }
    if let Curve::Cubic { coefficients: [_, b, c, d] } = curve {
        let mut found = quadratic_roots(3.0 * d[axis], 2.0 * c[axis], b[axis]);
        found.retain(|t| *t > 1e-9 && *t < 1.0 - 1e-9);
        return found;
    }
    let mut found = Vec::new();
    for span in spans(curve, 0.0, 1.0) {
        let [a, b] = span.t;
        let (at_a, at_b) = (curve.direction(a, Leaving)[axis], curve.direction(b, Arriving)[axis]);
        if at_a * at_b < 0.0 {
            found.push(root(a, b, at_a, |t| curve.derivative(t)[axis]));
        } else if at_b == 0.0 && b < 1.0 {
            found.push(b);
        }
    }
    found.retain(|t| *t > 1e-9 && *t < 1.0 - 1e-9);
    found
}

/// The real roots of a t² + b t + c, the larger quotient first so that nothing cancels.
fn quadratic_roots(a: f64, b: f64, c: f64) -> Vec<f64> {
    let square = b * b - 4.0 * a * c;
    if square < 0.0 {
        return Vec::new();
    }
    let q = -0.5 * (b + square.sqrt().copysign(b));
    [q / a, c / q].into_iter().filter(|t| t.is_finite()).collect()
}

/// The root of a function between a and b where it changes its sign, to rounding.
pub(crate) fn root(a: f64, b: f64, at_a: f64, f: impl Fn(f64) -> f64) -> f64 {
    let [low, high] = sign_change([a, b], TO_ROUNDING, at_a, f);
    0.5 * (low + high)
}

/// Least and largest x and y of a part of a curve, each with its place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Extent {
    /// The places with the least x and y.
    pub low: [Point; 2],
    /// The places with the largest x and y.
    pub high: [Point; 2],
}

impl Extent {
    /// Extent of parts of curves, (curve, from, to).
    pub fn of<'a>(parts: impl IntoIterator<Item = (&'a Curve, f64, f64)>) -> Option<Self> {
        let mut extent: Option<Extent> = None;
        for (curve, from, to) in parts {
            let (a, b) = (from.min(to), from.max(to));
            let inner = [0, 1].map(|axis| extremes(curve, axis)).concat();
            for t in [a, b].into_iter().chain(inner.into_iter().filter(|t| *t > a && *t < b)) {
                let p = curve.point(t);
                let known = extent.get_or_insert(Extent { low: [p; 2], high: [p; 2] });
                for axis in 0..2 {
                    if p[axis] < known.low[axis][axis] {
                        known.low[axis] = p;
                    }
                    if p[axis] > known.high[axis][axis] {
                        known.high[axis] = p;
                    }
                }
            }
        }
        extent
    }

    /// Extent of whole curves.
    pub fn whole<'a>(curves: impl IntoIterator<Item = &'a Curve>) -> Option<Self> {
        Extent::of(curves.into_iter().map(|curve| (curve, 0.0, 1.0)))
    }

    /// The box that just holds it.
    pub fn rect(&self) -> Rect {
        Rect { low: [self.low[0][0], self.low[1][1]], high: [self.high[0][0], self.high[1][1]] }
    }

    /// Size along x and y.
    pub fn size(&self) -> [f64; 2] {
        self.rect().size()
    }
}

/// How often a span winds about a point, counted by its crossings of the ray from the point along +x.
pub(crate) fn crossings(point: Point, curve: &Curve, span: &Span, depth: u32) -> i32 {
    let Rect { low, high } = span.bounds(0.0);
    if !(point[1] >= low[1] && point[1] <= high[1] && point[0] <= high[0]) {
        return 0;
    }
    // The chord may stand for the curve unless the point can lie between the two.
    if depth > 0 && span.sag > 0.0 && distance_to_segment(point, span.ends) <= span.sag {
        return span.halves(curve).iter().map(|half| crossings(point, curve, half, depth - 1)).sum();
    }
    let [a, b] = span.ends;
    match (a[1] <= point[1], b[1] <= point[1]) {
        (true, false) if orientation(a, b, point) > 0.0 => 1,
        (false, true) if orientation(a, b, point) < 0.0 => -1,
        _ => 0,
    }
}

/// Whether a point lies within a distance of a span's curve.
pub(crate) fn is_near(point: Point, curve: &Curve, span: &Span, distance: f64, depth: u32) -> bool {
    let d = distance_to_segment(point, span.ends);
    if d > distance + span.sag {
        false
    } else if depth == 0 || span.sag <= 0.1 * distance {
        true
    } else {
        span.halves(curve).iter().any(|half| is_near(point, curve, half, distance, depth - 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// x = 0.3 (0.2 t² - t³/3) leaves along y, turns at t = 0.4 with hardly a bend, where it is 0.0032, and ends at -0.04; y = t - 3 t² + 2 t³
    /// turns at (3 -+ sqrt 3)/6, where it is +-sqrt 3/18.
    #[test]
    fn extremes_of_a_cubic_are_those_of_its_derivative() {
        let assert_box = |coefficients, exact: [f64; 4]| {
            let rect = Extent::whole([&Curve::Cubic { coefficients }]).unwrap().rect();
            for (found, exact) in [rect.low, rect.high].as_flattened().iter().zip(exact) {
                approx::assert_abs_diff_eq!(*found, exact, epsilon = 1e-15);
            }
        };
        assert_box([[0.0, 0.0], [0.0, 1.0], [0.06, 0.0], [-0.1, 0.0]], [-0.04, 0.0, 0.0032, 1.0]);
        let high = 3f64.sqrt() / 18.0;
        assert_box([[0.0, 0.0], [1.0, 1.0], [0.0, -3.0], [0.0, 2.0]], [0.0, -high, 1.0, high]);
        // a quadratic in a cubic's form, and a line
        assert_eq!(quadratic_roots(0.0, 2.0, -1.0), [0.5]);
        assert_eq!(quadratic_roots(0.0, 0.0, 1.0), [0.0; 0]);
        assert_eq!(quadratic_roots(1.0, 0.0, 1.0), [0.0; 0]);
    }
}
