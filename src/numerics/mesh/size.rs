//! The wanted edge length as a function of place.

use crate::base::Point;
use crate::base::plane::{Rect, distance_squared};
use crate::base::units::significant;
use rayon::prelude::*;

/// Sources kept in one leaf of the tree.
const LEAF: usize = 8;
/// Sources that lower the field by less than this fraction are dropped.
const SLACK: f64 = 1e-3;
/// Room for the nodes still to be looked at: the tree halves the sources at every step, so it is never deeper.
const DEPTH: usize = 40;
/// Steepest growth that scaling a field up may bring about.
const STEEPEST: f64 = 0.5;

/// The wanted edge length, m: h(x) = min(h_max, min_i (h_i + g |x - x_i|)) over sources (x_i, h_i).
///
/// It grows by at most g per length, so neighbouring triangles differ little. A query descends a kd-tree whose nodes know
/// their bounding box and least h_i. Sources that others make idle to one part in a thousand are left out.
#[derive(Debug, Clone)]
pub struct SizeField {
    largest: f64,
    growth: f64,
    sources: Vec<(Point, f64)>,
    nodes: Vec<Node>,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    rect: Rect,
    least: f64,
    /// Its sources, a range of `SizeField::sources`.
    range: [u32; 2],
    /// The second child; the first one follows the node itself. 0 in a leaf.
    second: u32,
}

impl SizeField {
    /// A field from its largest size h_max, m, growth g and sources (x_i, h_i), m. Sources that are not finite and
    /// positive are ignored.
    pub fn new(largest: f64, growth: f64, mut sources: Vec<(Point, f64)>) -> SizeField {
        sources.retain(|&([x, y], h)| x.is_finite() && y.is_finite() && h.is_finite() && h > 0.0);
        let mut field = SizeField { largest, growth: growth.max(0.0), sources, nodes: vec![] };
        field.build();
        let idle: Vec<bool> = (0..field.sources.len()).into_par_iter().map(|i| field.is_idle(i)).collect();
        if idle.contains(&true) {
            let mut idle = idle.into_iter();
            field.sources.retain(|_| !idle.next().unwrap_or(false));
            field.build();
        }
        field
    }

    /// Where the least size is asked for, to end a message with; nothing if it is the same everywhere.
    pub(crate) fn finest(&self) -> String {
        let least = self.sources.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        least.map_or_else(String::new, |&(at, h)| {
            format!("; the shortest edges, of {} m, are asked for near {}", significant(h, 2), near(at))
        })
    }

    fn build(&mut self) {
        self.nodes.clear();
        if !self.sources.is_empty() {
            build(&mut self.sources, 0, &mut self.nodes);
        }
    }

    /// Whether a smaller source makes source i idle: h_j + g |x_i - x_j| <= h_i.
    fn is_idle(&self, i: usize) -> bool {
        let (x, h) = self.sources[i];
        let limit = h * (1.0 + SLACK);
        if h >= self.largest {
            return true;
        }
        let mut stack = vec![0];
        while let Some(index) = stack.pop() {
            let node = &self.nodes[index];
            if node.least > h || self.bound(node, x) > limit {
                continue;
            }
            if node.second == 0 {
                for j in node.range[0] as usize..node.range[1] as usize {
                    let (place, other) = self.sources[j];
                    let smaller = other < h || (other == h && j < i);
                    if smaller && other + self.growth * distance(place, x) <= limit {
                        return true;
                    }
                }
            } else {
                let children = [index + 1, node.second as usize];
                let [first, second] = children.map(|child| self.bound(&self.nodes[child], x));
                stack.extend(if first <= second { [children[1], children[0]] } else { children });
            }
        }
        false
    }

    /// This field with more sources (x_i, h_i), m.
    pub fn with_sources(&self, extra: Vec<(Point, f64)>) -> SizeField {
        let mut sources = self.sources.clone();
        sources.extend(extra);
        SizeField::new(self.largest, self.growth, sources)
    }

    /// All sizes times `factor`, which must be positive. Scaling down is exact; scaling up keeps the growth at or below
    /// 0.5 (or what it was), so that coarse meshes stay well graded.
    pub fn scaled(&self, factor: f64) -> SizeField {
        let mut field = self.clone();
        field.largest *= factor;
        field.growth = (self.growth * factor).min(self.growth.max(STEEPEST));
        field.sources.iter_mut().for_each(|source| source.1 *= factor);
        field.nodes.iter_mut().for_each(|node| node.least *= factor);
        field
    }

    /// The wanted edge length at a place, m.
    pub fn at(&self, x: Point) -> f64 {
        self.at_most(x, f64::INFINITY)
    }

    /// The wanted edge length at a place or `most`, whichever is less, m: the closer `most`, the shorter the search.
    pub(super) fn at_most(&self, x: Point, most: f64) -> f64 {
        self.search(x, most, 1.0)
    }

    /// The same, too large by a factor of at most 1/share: many sources at nearly one distance are then not looked at one by one.
    pub(super) fn search(&self, x: Point, most: f64, share: f64) -> f64 {
        let mut best = self.largest.min(most);
        let Some(root) = self.nodes.first() else { return best };
        // Nodes still to be looked at, each with a lower bound of what it gives.
        let mut stack = [(self.bound(root, x), 0u32); DEPTH];
        let mut depth = 1;
        while depth > 0 {
            depth -= 1;
            let (bound, index) = stack[depth];
            if bound >= share * best {
                continue;
            }
            let node = &self.nodes[index as usize];
            if node.second == 0 || depth + 2 > DEPTH {
                for &(place, h) in &self.sources[node.range[0] as usize..node.range[1] as usize] {
                    best = best.min(h + self.growth * distance(place, x));
                }
            } else {
                let child = |index: u32| (self.bound(&self.nodes[index as usize], x), index);
                let (first, second) = (child(index + 1), child(node.second));
                let (near, far) = if first.0 <= second.0 { (first, second) } else { (second, first) };
                stack[depth] = far;
                stack[depth + 1] = near;
                depth += 2;
            }
        }
        best
    }

    /// The largest size, m.
    pub fn largest(&self) -> f64 {
        self.largest
    }

    /// The growth of the size per length.
    pub fn growth(&self) -> f64 {
        self.growth
    }

    /// The sources (x_i, h_i), m, in no particular order.
    pub fn sources(&self) -> &[(Point, f64)] {
        &self.sources
    }

    /// A lower bound of what the sources of a node give at x.
    fn bound(&self, node: &Node, x: Point) -> f64 {
        node.least + self.growth * node.rect.distance_squared(x).sqrt()
    }
}

/// Appends the node of `sources`, which start at `start` of the whole list, and all nodes below it.
fn build(sources: &mut [(Point, f64)], start: usize, nodes: &mut Vec<Node>) {
    let node = Node {
        rect: Rect::of(sources.iter().map(|source| source.0)),
        least: sources.iter().fold(f64::INFINITY, |least, source| least.min(source.1)),
        range: [start as u32, (start + sources.len()) as u32],
        second: 0,
    };
    let index = nodes.len();
    nodes.push(node);
    if sources.len() > LEAF {
        let [along, across] = node.rect.size();
        let axis = usize::from(across > along);
        let half = sources.len() / 2;
        sources.select_nth_unstable_by(half, |a, b| a.0[axis].total_cmp(&b.0[axis]));
        let (first, second) = sources.split_at_mut(half);
        build(first, start, nodes);
        nodes[index].second = nodes.len() as u32;
        build(second, start + half, nodes);
    }
}

/// Much faster than by `hypot`, and sizes need no last bit.
fn distance(a: Point, b: Point) -> f64 {
    distance_squared(a, b).sqrt()
}

/// A place as messages about meshes name it.
pub(super) fn near([x, y]: Point) -> String {
    format!("({x:.6}, {y:.6}) m")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn brute(largest: f64, growth: f64, sources: &[(Point, f64)], x: Point) -> f64 {
        sources.iter().map(|&(place, h)| h + growth * distance(place, x)).fold(largest, f64::min)
    }

    proptest! {
        #[test]
        fn query_equals_the_formula(
            sources in prop::collection::vec((prop::array::uniform2(-1.0..1.0), 1e-4..0.5), 0..200),
            x in prop::array::uniform2(-2.0..2.0),
            growth in 0.0..1.0,
        ) {
            let field = SizeField::new(0.3, growth, sources.clone());
            // Idle sources are dropped at 1e-3; each of a chain of k such steps adds as much.
            let exact = brute(0.3, growth, &sources, x);
            prop_assert!(field.at(x) >= exact && field.at(x) <= exact * (1.0 + 10.0 * SLACK));
            let more = field.with_sources(vec![(x, 1e-5)]);
            prop_assert_eq!(more.at(x), 1e-5);
        }
    }

    #[test]
    fn scaling_down_is_exact_and_scaling_up_stays_graded() {
        let field = SizeField::new(0.4, 0.3, vec![([0.0, 0.0], 0.01)]);
        assert!((field.scaled(0.5).at([0.5, 0.0]) - 0.5 * field.at([0.5, 0.0])).abs() < 1e-15);
        assert_eq!(field.scaled(0.5).at([2.0, 0.0]), 0.2, "the largest size is scaled as well");
        assert_eq!(field.scaled(4.0).growth(), 0.5);
        assert_eq!(field.scaled(4.0).at([0.0, 0.0]), 0.04);
    }

    #[test]
    fn useless_sources_are_ignored() {
        let field = SizeField::new(0.4, 0.3, vec![([0.0, 0.0], 0.0), ([f64::NAN, 0.0], 1.0), ([0.0, 0.0], f64::NAN)]);
        assert_eq!(field.at([0.0, 0.0]), 0.4);
    }
}
