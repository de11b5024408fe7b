//! One front, from side to side, the liquid on its left.

use super::sides::{Place, Sides};
use crate::base::Point;
use crate::base::plane::{Vector, distance, unit, way};

/// A front.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Its points; the first and the last stand on sides, unless it is closed.
    pub nodes: Vec<Point>,
    /// Where it starts and ends; none if it is closed: its last point then is joined to the first.
    pub ends: Option<[Place; 2]>,
    /// Whether it bounds a pocket and stays.
    pub frozen: bool,
}

impl Line {
    /// A moving front between two places; the first and the last point are put there.
    pub fn between(sides: &Sides, mut nodes: Vec<Point>, ends: [Place; 2]) -> Self {
        let last = nodes.len() - 1;
        nodes[0] = sides.point(ends[0]);
        nodes[last] = sides.point(ends[1]);
        Line { nodes, ends: Some(ends), frozen: false }
    }

    /// Unit normal at a point, into the air: the mean of both edges'.
    pub fn normal(&self, node: usize) -> Vector {
        let last = self.nodes.len() - 1;
        let closed = self.ends.is_none();
        let before = if node > 0 {
            node - 1
        } else if closed {
            last
        } else {
            node
        };
        let after = if node < last {
            node + 1
        } else if closed {
            0
        } else {
            node
        };
        let edge = |a: usize, b: usize| unit(way(self.nodes[a], self.nodes[b])).unwrap_or_default();
        let (arriving, leaving) = (edge(before, node), edge(node, after));
        let along = unit([arriving[0] + leaving[0], arriving[1] + leaving[1]]).unwrap_or(leaving);
        [along[1], -along[0]]
    }

    /// Lengths of its edges, without the one that closes it.
    pub fn edges(&self) -> impl Iterator<Item = f64> + '_ {
        self.nodes.windows(2).map(|pair| distance(pair[0], pair[1]))
    }
}
