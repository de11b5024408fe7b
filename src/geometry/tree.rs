//! A hierarchy of boxes over items that already lie in a local order.

use crate::base::Point;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Children of one node.
const FAN: usize = 8;

/// An axis-parallel box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rect {
    pub low: Point,
    pub high: Point,
}

impl Rect {
    const EMPTY: Rect = Rect { low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2] };

    pub(crate) fn of(points: impl IntoIterator<Item = Point>) -> Rect {
        points.into_iter().fold(Rect::EMPTY, |all, p| all.with(Rect { low: p, high: p }))
    }

    fn with(self, other: Rect) -> Rect {
        Rect {
            low: [self.low[0].min(other.low[0]), self.low[1].min(other.low[1])],
            high: [self.high[0].max(other.high[0]), self.high[1].max(other.high[1])],
        }
    }

    /// This box, wider by `margin` on all sides.
    pub(crate) fn grown(self, margin: f64) -> Rect {
        Rect { low: self.low.map(|x| x - margin), high: self.high.map(|x| x + margin) }
    }

    /// The length of its diagonal.
    pub(crate) fn diagonal(self) -> f64 {
        (self.high[0] - self.low[0]).hypot(self.high[1] - self.low[1])
    }

    /// Squared distance of a point, zero inside.
    fn distance2(self, p: Point) -> f64 {
        let gap = |k: usize| (self.low[k] - p[k]).max(p[k] - self.high[k]).max(0.0);
        gap(0) * gap(0) + gap(1) * gap(1)
    }
}

/// Boxes of items, of groups of eight consecutive items, of groups of such groups and so on.
#[derive(Debug, Clone)]
pub(crate) struct BoxTree {
    levels: Vec<Vec<Rect>>,
}

impl BoxTree {
    pub(crate) fn new(items: Vec<Rect>) -> BoxTree {
        let mut levels = vec![items];
        while let Some(level) = levels.last().filter(|level| level.len() > 1) {
            let above =
                level.chunks(FAN).map(|group| group.iter().fold(Rect::EMPTY, |all, &one| all.with(one))).collect();
            levels.push(above);
        }
        BoxTree { levels }
    }

    /// The box of all items.
    pub(crate) fn all(&self) -> Rect {
        self.levels.last().and_then(|level| level.first()).copied().unwrap_or(Rect::EMPTY)
    }

    /// The item at the least distance from p below `limit`, with that distance; `distance` answers none for items that do not
    /// count and must not be less than the distance of the item's box.
    pub(crate) fn nearest(
        &self,
        p: Point,
        limit: f64,
        mut distance: impl FnMut(usize) -> Option<f64>,
    ) -> Option<(usize, f64)> {
        let top = self.levels.len() - 1;
        let mut best = (usize::MAX, limit);
        // The nearest box first: where most items do not count, depth first would look at all that lie about p.
        let mut open = BinaryHeap::with_capacity(8 * FAN);
        open.push(Open { distance2: 0.0, level: top, node: 0 });
        while let Some(Open { distance2, level, node }) = open.pop() {
            if distance2.sqrt() >= best.1 {
                break;
            }
            if level == 0 {
                if let Some(d) = (node < self.levels[0].len()).then(|| distance(node)).flatten()
                    && d < best.1
                {
                    best = (node, d);
                }
                continue;
            }
            let below = &self.levels[level - 1];
            let children = FAN * node..(FAN * node + FAN).min(below.len());
            let nearer = children.map(|node| Open { distance2: below[node].distance2(p), level: level - 1, node });
            open.extend(nearer.filter(|child| child.distance2.sqrt() < best.1));
        }
        (best.0 != usize::MAX).then_some(best)
    }
}

/// A box still to be looked into; the greatest is the nearest, and of equals the lowest.
#[derive(Debug, Clone, Copy)]
struct Open {
    distance2: f64,
    level: usize,
    node: usize,
}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        let key = |open: &Open| (open.level, open.node);
        other.distance2.total_cmp(&self.distance2).then_with(|| key(other).cmp(&key(self)))
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Open {}
