//! How far a drawn curve and the half-tone line keep from one another, and where what is drawn crosses itself.

use crate::base::Point;
use crate::base::plane::{Rect, distance, distance_to_segment, segments_meet, stepped, way};
use crate::geometry::Curve;
use crate::geometry::boxes::Boxes;
use std::collections::BTreeSet;

/// Distance between the places that are compared, pixels.
const FINE: f64 = 0.35;

/// The places nearest to the last one found among which the next is looked for: so many back and ahead.
const WINDOW: [usize; 2] = [6, 16];

/// A line with places at most [`FINE`] apart.
pub(super) fn fine(line: &[Point]) -> Vec<Point> {
    let mut found: Vec<Point> = line.first().copied().into_iter().collect();
    for pair in line.windows(2) {
        let count = (distance(pair[0], pair[1]) / FINE).ceil().max(1.0);
        let step = way(pair[0], pair[1]).map(|x| x / count);
        found.extend((1..=count as usize).map(|k| stepped(pair[0], k as f64, step)));
    }
    found
}

/// Places of a curve about [`FINE`] apart.
pub(super) fn places(curve: &Curve) -> Vec<Point> {
    let rough: Vec<Point> = (0..=8).map(|k| curve.point(f64::from(k) / 8.0)).collect();
    if curve.is_straight() {
        return fine(&[rough[0], rough[8]]);
    }
    let length: f64 = rough.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
    let count = (length / FINE).ceil().max(8.0);
    (0..=count as usize).map(|k| curve.point(k as f64 / count)).collect()
}

/// The largest distances of two lines that run side by side, either way: of the places that are counted apart, and of all others.
pub(super) fn apart(a: &[Point], b: &[Point], is_counted_apart: impl Fn(Point) -> bool) -> [f64; 2] {
    let [first, second] = [one_way(a, b, &is_counted_apart), one_way(b, a, &is_counted_apart)];
    [0, 1].map(|k| first[k].max(second[k]))
}

/// Each place is compared with what lies about as far along the other line, not with another strand of it that happens to be near.
fn one_way(a: &[Point], b: &[Point], is_counted_apart: &impl Fn(Point) -> bool) -> [f64; 2] {
    let (mut most, mut at) = ([0.0f64; 2], 0usize);
    for p in a {
        let (low, high) = (at.saturating_sub(WINDOW[0]), (at + WINDOW[1]).min(b.len() - 1));
        let mut best = (f64::INFINITY, at);
        for k in low..high {
            let d = distance_to_segment(*p, [b[k], b[k + 1]]);
            if d < best.0 {
                best = (d, k);
            }
        }
        at = best.1;
        let most = &mut most[usize::from(!is_counted_apart(*p))];
        *most = best.0.max(*most);
    }
    most
}

/// Which lines of a closed chain cross another or themselves.
pub(super) fn crossing<'a>(lines: impl Iterator<Item = &'a [Point]>) -> BTreeSet<usize> {
    let (mut owners, mut segments) = (Vec::new(), Vec::new());
    for (k, line) in lines.enumerate() {
        for pair in line.windows(2).filter(|pair| pair[0] != pair[1]) {
            owners.push(k);
            segments.push([pair[0], pair[1]]);
        }
    }
    let n = segments.len();
    let mut found = BTreeSet::new();
    Boxes::new(segments.iter().map(|s| Rect::of(*s))).pairs(|i, j| {
        let neighbours = j == i + 1 || (i == 0 && j + 1 == n);
        if !neighbours && segments_meet(segments[i], segments[j]) {
            found.extend([owners[i], owners[j]]);
        }
        true
    });
    found
}
