//! Open strokes joined end to end.

use super::stroke::Stroke;
use crate::base::Point;
use crate::base::plane::{Rect, distance};
use crate::geometry::Curve;
use std::collections::{BTreeMap, BTreeSet};

/// Most free ends looked at in one square of the size of the tolerance.
const MOST_RIVALS: usize = 64;

/// Open strokes joined to chains, and what is worth saying about it.
pub(super) struct Chained {
    /// Closed chains.
    pub closed: Vec<Stroke>,
    /// What is left.
    pub open: Vec<Stroke>,
    /// Places where more than two ends meet: the chain goes on with the nearest.
    pub forks: Vec<Point>,
}

/// Joins open strokes whose ends are at most `tolerance` apart, nearest ends first, until they close or nothing fits.
///
/// What closes by itself is no end for others. Strokes are taken in their order, so the result does not depend on anything else.
pub(super) fn chain(strokes: Vec<Stroke>, tolerance: f64) -> Chained {
    let mut chained = Chained { closed: Vec::new(), open: Vec::new(), forks: Vec::new() };
    let (own, strokes): (Vec<Stroke>, Vec<Stroke>) = strokes.into_iter().partition(|s| closes(s, tolerance));
    chained.closed.extend(own.into_iter().map(|stroke| Stroke { closed: true, ..stroke }));
    let mut pool = Pool::new(strokes, tolerance);
    for first in 0..pool.strokes.len() {
        let Some(mut whole) = pool.take(first) else { continue };
        let mut turned = false;
        while let Some([start, end]) = whole.ends() {
            let closing = distance(start, end);
            let near = pool.near(end);
            let rivals = near.len() + usize::from(closing <= tolerance && !whole.curves.is_empty());
            if rivals > 1 {
                chained.forks.push(end);
            }
            let next = near.first().filter(|(gap, ..)| *gap < closing || closing > tolerance);
            if let Some(&(_, index, end)) = next {
                if let Some(mut stroke) = pool.take(index) {
                    if end == End::Last {
                        stroke.reverse();
                    }
                    whole.curves.append(&mut stroke.curves);
                    whole.places.append(&mut stroke.places);
                }
            } else if closing <= tolerance {
                whole.closed = true;
                break;
            } else if !turned {
                // The other end may go on.
                whole.reverse();
                turned = true;
            } else {
                whole.reverse();
                break;
            }
        }
        if whole.closed { chained.closed.push(whole) } else { chained.open.push(whole) }
    }
    chained
}

/// Whether the ends of a stroke meet, and it goes round something in between.
fn closes(stroke: &Stroke, tolerance: f64) -> bool {
    let Some([start, end]) = stroke.ends() else { return false };
    let is_away = |curve: &Curve| [0.0, 0.5].iter().any(|t| distance(curve.point(*t), start) > 2.0 * tolerance);
    distance(start, end) <= tolerance && stroke.curves.iter().any(is_away)
}

/// Drops strokes that stand there twice, in either direction and from whatever start, and says how many.
pub(super) fn drop_doubles(strokes: &mut Vec<Stroke>) -> usize {
    let bits = |p: Point| p.map(|v| (v + 0.0).to_bits());
    let of_curve = |curve: &Curve| {
        let (a, b) = (bits(curve.point(0.0)), bits(curve.point(1.0)));
        [a.min(b), a.max(b), bits(curve.point(0.5))]
    };
    let mut known = BTreeSet::new();
    let before = strokes.len();
    strokes.retain(|stroke| {
        let mut curves: Vec<_> = stroke.curves.iter().map(of_curve).collect();
        curves.sort_unstable();
        known.insert(curves)
    });
    before - strokes.len()
}

/// One of the two ends of a stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum End {
    First,
    Last,
}

impl End {
    const BOTH: [End; 2] = [End::First, End::Last];
}

/// Strokes not yet used, and their ends sorted into square cells as wide as the tolerance.
struct Pool {
    strokes: Vec<Option<Stroke>>,
    cells: BTreeMap<[i64; 2], BTreeSet<(u32, End)>>,
    low: Point,
    tolerance: f64,
}

impl Pool {
    fn new(strokes: Vec<Stroke>, tolerance: f64) -> Self {
        let low = Rect::of(strokes.iter().filter_map(Stroke::ends).flatten()).low;
        let mut pool = Pool { strokes: Vec::new(), cells: BTreeMap::new(), low, tolerance };
        for (index, stroke) in strokes.into_iter().enumerate() {
            for (place, end) in stroke.ends().into_iter().flatten().zip(End::BOTH) {
                pool.cells.entry(pool.cell(place)).or_default().insert((index as u32, end));
            }
            pool.strokes.push(Some(stroke));
        }
        pool
    }

    fn cell(&self, p: Point) -> [i64; 2] {
        [0, 1].map(|k| ((p[k] - self.low[k]) / self.tolerance).floor() as i64)
    }

    fn take(&mut self, index: usize) -> Option<Stroke> {
        let stroke = self.strokes.get_mut(index)?.take()?;
        for (place, end) in stroke.ends().into_iter().flatten().zip(End::BOTH) {
            let cell = self.cell(place);
            if let Some(ends) = self.cells.get_mut(&cell) {
                ends.remove(&(index as u32, end));
            }
        }
        Some(stroke)
    }

    /// Free ends within the tolerance: distance, stroke, and which of its ends; nearest first.
    fn near(&self, place: Point) -> Vec<(f64, usize, End)> {
        let [x, y] = self.cell(place);
        let mut found = Vec::new();
        for cell in (-1..=1).flat_map(|i| (-1..=1).map(move |j| [x.saturating_add(i), y.saturating_add(j)])) {
            for &(index, end) in self.cells.get(&cell).into_iter().flatten().take(MOST_RIVALS) {
                let ends = self.strokes.get(index as usize).and_then(|stroke| stroke.as_ref()?.ends());
                let gap = ends.map_or(f64::INFINITY, |ends| distance(place, ends[end as usize]));
                if gap <= self.tolerance {
                    found.push((gap, index as usize, end));
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        found
    }
}
