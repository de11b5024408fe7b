//! Boxes in a tree, asked for pairs that overlap and for what is nearest.

use crate::base::Point;
use crate::base::plane::Rect;
use rstar::RTree;
use rstar::primitives::{GeomWithData, Rectangle};

/// A static tree over boxes, each known by its place in the list it was made of.
///
/// Boxes that are not finite overlap nothing and are near nothing. Made alike, two trees answer alike.
#[derive(Debug, Clone)]
pub(crate) struct Boxes {
    tree: RTree<GeomWithData<Rectangle<Point>, u32>>,
    all: Rect,
}

impl Boxes {
    /// Builds the tree in O(n log n).
    pub fn new(boxes: impl IntoIterator<Item = Rect>) -> Boxes {
        let mut all = Rect::EMPTY;
        let mut items = Vec::new();
        for (index, rect) in boxes.into_iter().enumerate() {
            all = all.with(rect);
            if [rect.low, rect.high].as_flattened().iter().all(|x| x.is_finite()) {
                items.push(GeomWithData::new(Rectangle::from_corners(rect.low, rect.high), index as u32));
            }
        }
        Boxes { tree: RTree::bulk_load(items), all }
    }

    /// The box of all boxes.
    pub fn all(&self) -> Rect {
        self.all
    }

    /// Calls `visit(i, j)`, i < j, once for every pair of boxes that overlap, until it returns false.
    pub fn pairs(&self, mut visit: impl FnMut(usize, usize) -> bool) {
        // every pair comes both ways round, and every box with itself
        let pairs = self.tree.intersection_candidates_with_other_tree(&self.tree);
        let visit = |(i, j): (u32, u32)| {
            #[cfg(test)]
            work::count();
            visit(i as usize, j as usize)
        };
        let _ = pairs.map(|(a, b)| (a.data, b.data)).filter(|(i, j)| i < j).all(visit);
    }

    /// The item at the least distance from p below `limit`, with that distance; `distance` answers none for items that do not
    /// count and must not be less than the distance of the item's box.
    pub fn nearest(
        &self,
        p: Point,
        limit: f64,
        mut distance: impl FnMut(usize) -> Option<f64>,
    ) -> Option<(usize, f64)> {
        let mut best = None;
        let mut least = limit;
        for (item, square) in self.tree.nearest_neighbor_iter_with_distance_2(p) {
            #[cfg(test)]
            work::count();
            if square.sqrt() >= least {
                break;
            }
            if let Some(d) = distance(item.data as usize).filter(|d| *d < least) {
                least = d;
                best = Some((item.data as usize, d));
            }
        }
        best
    }
}

/// Counts the pairs and items that trees hand out, so that tests need no clock to tell a square from a line.
#[cfg(test)]
pub(crate) mod work {
    use std::cell::Cell;

    thread_local! {
        static VISITS: Cell<usize> = const { Cell::new(0) };
    }

    /// One more handed out.
    pub(super) fn count() {
        VISITS.set(VISITS.get() + 1);
    }

    /// What a function returns, and how many pairs and items were handed out to it on this thread.
    pub(crate) fn of<T>(run: impl FnOnce() -> T) -> (T, usize) {
        let before = VISITS.get();
        let result = run();
        (result, VISITS.get() - before)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some_boxes(count: usize) -> Vec<Rect> {
        let mut state = 1u64;
        let mut random = || {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (state >> 40) as f64 / (1u64 << 24) as f64
        };
        let mut one = || {
            let (x, y, w, h) = (random(), random(), 0.1 * random(), 0.02 * random());
            Rect { low: [x, y], high: [x + w, y + h] }
        };
        (0..count).map(|_| one()).collect()
    }

    #[test]
    fn finds_the_pairs_a_double_loop_finds() {
        let boxes = some_boxes(500);
        let mut found = Vec::new();
        Boxes::new(boxes.clone()).pairs(|i, j| {
            found.push((i, j));
            true
        });
        found.sort_unstable();
        let expected: Vec<_> = (0..500)
            .flat_map(|i| (i + 1..500).map(move |j| (i, j)))
            .filter(|&(i, j)| boxes[i].overlaps(&boxes[j]))
            .collect();
        assert_eq!(found, expected);
        let mut visits = 0;
        Boxes::new(boxes).pairs(|_, _| {
            visits += 1;
            visits < 7
        });
        assert_eq!(visits, 7, "it stops where it is told to");
    }

    #[test]
    fn finds_the_nearest_a_loop_finds_among_those_that_count() {
        let boxes = some_boxes(300);
        let tree = Boxes::new(boxes.clone());
        for p in [[0.5, 0.5], [-3.0, 0.2], [0.9, 2.0]] {
            // as of an item that does not fill its box
            let counts = |k: usize| {
                (!k.is_multiple_of(3)).then(|| boxes[k].distance_squared(p).sqrt() + 0.1 * (1 + k % 7) as f64)
            };
            let least = (0..300).filter_map(counts).fold(f64::INFINITY, f64::min);
            assert_eq!(tree.nearest(p, f64::INFINITY, counts).map(|found| found.1), Some(least));
            assert_eq!(tree.nearest(p, least, counts), None, "nothing is below the least");
        }
    }

    #[test]
    fn what_is_not_finite_is_passed_over() {
        let nowhere = Rect { low: [f64::NAN, 0.0], high: [f64::INFINITY, 1.0] };
        let tree = Boxes::new([nowhere, Rect::of([[0.0, 0.0]]), nowhere]);
        tree.pairs(|_, _| panic!("one box has no pair"));
        assert_eq!(tree.nearest([3.0, 4.0], f64::INFINITY, |_| Some(5.0)), Some((1, 5.0)));
        assert_eq!(Boxes::new([]).nearest([0.0; 2], 1.0, |_| Some(0.0)), None);
    }
}
