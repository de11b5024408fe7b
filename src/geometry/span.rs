//! Curves broken into short, nearly straight spans whose distance from their chord is known.

use super::Curve;
use crate::base::Point;

/// A part of a curve that turns little.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Span {
    /// Parameters at its ends, in walking order.
    pub t: [f64; 2],
    /// Points at its ends.
    pub ends: [Point; 2],
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

    /// Lower left and upper right corner of a box that holds the curve, wider by `margin`.
    pub fn bounds(&self, margin: f64) -> [Point; 2] {
        let [p, q] = self.ends;
        let m = self.sag + margin;
        [[p[0].min(q[0]) - m, p[1].min(q[1]) - m], [p[0].max(q[0]) + m, p[1].max(q[1]) + m]]
    }
}

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
    let forward = t[1] > t[0];
    let (a, b, c) = (curve.direction(t[0], forward), curve.direction(middle, true), curve.direction(t[1], !forward));
    let close = |u: [f64; 2], v: [f64; 2]| u[0] * v[0] + u[1] * v[1] > 0.9888;
    if depth == 0 || (close(a, b) && close(b, c)) {
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
    let mut found = Vec::new();
    for span in spans(curve, 0.0, 1.0) {
        let [a, b] = span.t;
        let (at_a, at_b) = (curve.direction(a, true)[axis], curve.direction(b, false)[axis]);
        if at_a * at_b < 0.0 {
            found.push(root(a, b, at_a, |t| curve.derivative(t)[axis]));
        } else if at_b == 0.0 && b < 1.0 {
            found.push(b);
        }
    }
    found.retain(|t| *t > 1e-9 && *t < 1.0 - 1e-9);
    found
}

/// The root of a function between a and b where it changes its sign, by bisection to rounding.
pub(crate) fn root(mut a: f64, mut b: f64, at_a: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (a + b);
        if middle <= a.min(b) || middle >= a.max(b) {
            break;
        }
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        if (value > 0.0) == (at_a > 0.0) { a = middle } else { b = middle }
    }
    0.5 * (a + b)
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

    /// Size along x and y.
    pub fn size(&self) -> [f64; 2] {
        [0, 1].map(|k| self.high[k][k] - self.low[k][k])
    }
}

/// Distance of two points.
pub(crate) fn distance(p: Point, q: Point) -> f64 {
    (p[0] - q[0]).hypot(p[1] - q[1])
}

/// Distance of a point from a segment.
pub(crate) fn distance_to_segment(p: Point, segment: [Point; 2]) -> f64 {
    distance(p, nearest_on_segment(p, segment))
}

/// The point of a segment nearest to a point.
pub(crate) fn nearest_on_segment(p: Point, [a, b]: [Point; 2]) -> Point {
    let d = [b[0] - a[0], b[1] - a[1]];
    let square = d[0] * d[0] + d[1] * d[1];
    let w = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / square;
    if w >= 1.0 {
        b
    } else if w > 0.0 {
        [a[0] + w * d[0], a[1] + w * d[1]]
    } else {
        a
    }
}

/// Twice the signed area of a triangle, its sign exact.
pub(crate) fn orientation(a: Point, b: Point, c: Point) -> f64 {
    let coord = |p: Point| robust::Coord { x: p[0], y: p[1] };
    robust::orient2d(coord(a), coord(b), coord(c))
}

/// Whether two segments have a point in common.
pub(crate) fn segments_meet(p: [Point; 2], q: [Point; 2]) -> bool {
    let overlap =
        |k: usize| p[0][k].min(p[1][k]) <= q[0][k].max(q[1][k]) && q[0][k].min(q[1][k]) <= p[0][k].max(p[1][k]);
    let apart = |a: f64, b: f64| (a > 0.0 && b > 0.0) || (a < 0.0 && b < 0.0);
    overlap(0)
        && overlap(1)
        && !apart(orientation(p[0], p[1], q[0]), orientation(p[0], p[1], q[1]))
        && !apart(orientation(q[0], q[1], p[0]), orientation(q[0], q[1], p[1]))
}

/// Nearest points of two segments that do not meet.
pub(crate) fn nearest_points(p: [Point; 2], q: [Point; 2]) -> (Point, Point, f64) {
    let mut best = (p[0], q[0], f64::INFINITY);
    for (i, j) in [(0, true), (1, true), (0, false), (1, false)] {
        let (a, b) = if j { (p[i], nearest_on_segment(p[i], q)) } else { (nearest_on_segment(q[i], p), q[i]) };
        let d = (a[0] - b[0]).hypot(a[1] - b[1]);
        if d < best.2 {
            best = (a, b, d);
        }
    }
    best
}

/// How often a span winds about a point, counted by its crossings of the ray from the point along +x.
pub(crate) fn crossings(point: Point, curve: &Curve, span: &Span, depth: u32) -> i32 {
    let [low, high] = span.bounds(0.0);
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
