//! A tree of boxes that finds the pairs of items whose boxes overlap.

use crate::base::Point;

type Bounds = [Point; 2];

/// A binary tree over boxes, split at the median of the longer side.
pub(crate) struct PairTree {
    order: Vec<u32>,
    nodes: Vec<Node>,
}

struct Node {
    bounds: Bounds,
    from: u32,
    to: u32,
    /// Second child; the first one follows its parent. Zero for a leaf.
    second: u32,
}

const LEAF: usize = 8;

impl PairTree {
    /// Builds the tree in O(n log n).
    pub fn new(boxes: &[Bounds]) -> Self {
        let count = u32::try_from(boxes.len()).unwrap_or(u32::MAX);
        let mut tree = PairTree { order: (0..count).collect(), nodes: Vec::new() };
        if count > 0 {
            tree.build(boxes, 0, count as usize);
        }
        tree
    }

    fn build(&mut self, boxes: &[Bounds], from: usize, to: usize) {
        let bounds = self.order[from..to]
            .iter()
            .map(|&i| boxes[i as usize])
            .fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], [l, h]| {
                [[low[0].min(l[0]), low[1].min(l[1])], [high[0].max(h[0]), high[1].max(h[1])]]
            });
        let node = self.nodes.len();
        self.nodes.push(Node { bounds, from: from as u32, to: to as u32, second: 0 });
        if to - from <= LEAF {
            return;
        }
        let axis = usize::from(bounds[1][1] - bounds[0][1] > bounds[1][0] - bounds[0][0]);
        let middle = (to - from) / 2;
        let centre = |i: u32| boxes[i as usize][0][axis] + boxes[i as usize][1][axis];
        self.order[from..to].select_nth_unstable_by(middle, |&a, &b| centre(a).total_cmp(&centre(b)).then(a.cmp(&b)));
        self.build(boxes, from, from + middle);
        self.nodes[node].second = self.nodes.len() as u32;
        self.build(boxes, from + middle, to);
    }

    /// Calls `visit(i, j)`, i < j, for every pair of items whose boxes overlap, until it returns false.
    pub fn pairs(&self, boxes: &[Bounds], visit: &mut impl FnMut(usize, usize) -> bool) {
        let mut open = if self.nodes.is_empty() { Vec::new() } else { vec![(0, 0)] };
        while let Some((a, b)) = open.pop() {
            let (p, q) = (&self.nodes[a], &self.nodes[b]);
            if !overlap(&p.bounds, &q.bounds) {
                continue;
            }
            if a == b {
                if p.second == 0 {
                    if !self.leaf_pairs(boxes, p, p, visit) {
                        return;
                    }
                } else {
                    let (first, second) = (a + 1, p.second as usize);
                    open.extend([(second, second), (first, second), (first, first)]);
                }
            } else if p.second == 0 && q.second == 0 {
                if !self.leaf_pairs(boxes, p, q, visit) {
                    return;
                }
            } else if q.second == 0 || (p.second != 0 && p.to - p.from >= q.to - q.from) {
                open.extend([(p.second as usize, b), (a + 1, b)]);
            } else {
                open.extend([(a, q.second as usize), (a, b + 1)]);
            }
        }
    }

    fn leaf_pairs(&self, boxes: &[Bounds], p: &Node, q: &Node, visit: &mut impl FnMut(usize, usize) -> bool) -> bool {
        for i in p.from..p.to {
            let start = if p.from == q.from { i + 1 } else { q.from };
            for j in start..q.to {
                let (a, b) = (self.order[i as usize] as usize, self.order[j as usize] as usize);
                if overlap(&boxes[a], &boxes[b]) && !visit(a.min(b), a.max(b)) {
                    return false;
                }
            }
        }
        true
    }
}

fn overlap(p: &Bounds, q: &Bounds) -> bool {
    (0..2).all(|k| p[0][k] <= q[1][k] && q[0][k] <= p[1][k])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_pairs_a_double_loop_finds() {
        let mut state = 1u64;
        let mut random = || {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (state >> 40) as f64 / (1u64 << 24) as f64
        };
        let boxes: Vec<Bounds> = (0..500)
            .map(|_| {
                let (x, y, w, h) = (random(), random(), 0.1 * random(), 0.02 * random());
                [[x, y], [x + w, y + h]]
            })
            .collect();
        let mut found = Vec::new();
        PairTree::new(&boxes).pairs(&boxes, &mut |i, j| {
            found.push((i, j));
            true
        });
        found.sort_unstable();
        let expected: Vec<_> = (0..500)
            .flat_map(|i| (i + 1..500).map(move |j| (i, j)))
            .filter(|&(i, j)| overlap(&boxes[i], &boxes[j]))
            .collect();
        assert_eq!(found, expected);
    }
}
