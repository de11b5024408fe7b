//! The curvature of solids along their edges, as the edge layer feels it.

use crate::base::Point;
use crate::base::plane::{cross, dot, way};
use crate::numerics::fem::SolidEdge;
use std::collections::HashMap;

/// Gaps before and behind. Over a whole gap on either side the next term past elliptic posts is up to twice as far off three-dimensional
/// solutions; exact curvatures of pieces would jump at every joint of a fitted outline.
const WITHIN: f64 = 0.5;

/// Curvature of the solid at both ends of every edge, 1/m, positive where it is convex: how much the edge turns within half a gap before and
/// behind, over that length. On a smooth outline that is its curvature to second order in the gap; chords, joints of arcs and lines, and the
/// knots of fitted curves are seen as the bends they make.
pub(super) fn bends(edges: &[SolidEdge], points: &[Point]) -> Vec<[f64; 2]> {
    let starts: HashMap<usize, usize> = edges.iter().enumerate().map(|(k, edge)| (edge.vertices[0], k)).collect();
    let ends: HashMap<usize, usize> = edges.iter().enumerate().map(|(k, edge)| (edge.vertices[1], k)).collect();
    let mut bends = vec![[0.0; 2]; edges.len()];
    let mut done = vec![false; edges.len()];
    // open chains from their first edges, then what is left goes round
    let first = (0..edges.len()).filter(|&k| !ends.contains_key(&edges[k].vertices[0]));
    for k in first.chain(0..edges.len()) {
        let mut chain = Vec::new();
        let mut next = Some(k);
        while let Some(k) = next.filter(|&k| !std::mem::replace(&mut done[k], true)) {
            chain.push(k);
            next = starts.get(&edges[k].vertices[1]).copied();
        }
        if let Some(turning) = Turning::along(&chain, edges, points) {
            for (at, k) in chain.into_iter().enumerate() {
                let [from, to] = [turning.starts[at], turning.starts[at] + edges[k].length];
                bends[k] = [from, to].map(|s| turning.bend(s, WITHIN * edges[k].gap));
            }
        }
    }
    bends
}

/// The direction along a chain of edges, known at their middles and linear between.
struct Turning {
    /// Way along the chain to the start and to the middle of each edge.
    starts: Vec<f64>,
    middles: Vec<f64>,
    /// Directions there, rad, without jumps.
    angles: Vec<f64>,
    /// Its length and its turn, if it is closed.
    round: Option<[f64; 2]>,
}

impl Turning {
    fn along(chain: &[usize], edges: &[SolidEdge], points: &[Point]) -> Option<Turning> {
        let direction = |k: usize| {
            let [i, j] = edges[k].vertices;
            way(points[i], points[j])
        };
        let turn = |a: usize, b: usize| cross(direction(a), direction(b)).atan2(dot(direction(a), direction(b)));
        let (&first, &last) = (chain.first()?, chain.last()?);
        let (mut starts, mut middles, mut angles) = (Vec::new(), Vec::new(), Vec::new());
        let (mut length, mut angle) = (0.0, 0.0);
        for (at, &k) in chain.iter().enumerate() {
            if at > 0 {
                angle += turn(chain[at - 1], k);
            }
            starts.push(length);
            middles.push(length + 0.5 * edges[k].length);
            angles.push(angle);
            length += edges[k].length;
        }
        let is_closed = edges[last].vertices[1] == edges[first].vertices[0];
        let round = is_closed.then(|| [length, angle + turn(last, first)]);
        Some(Turning { starts, middles, angles, round })
    }

    /// The direction after a way, and that way: of an open chain no further than its outermost middles.
    fn at(&self, way: f64) -> [f64; 2] {
        let count = self.middles.len();
        let (mut rest, mut turned) = (way, 0.0);
        if let Some([length, turn]) = self.round {
            let rounds = (way / length).floor();
            (rest, turned) = (way - rounds * length, rounds * turn);
        }
        let next = self.middles.partition_point(|&s| s <= rest);
        let [length, turn] = self.round.unwrap_or_default();
        let before = match (next, self.round) {
            (0, Some(_)) => [self.middles[count - 1] - length, self.angles[count - 1] - turn],
            (0, None) => return [self.angles[0], self.middles[0]],
            _ => [self.middles[next - 1], self.angles[next - 1]],
        };
        let after = match (next == count, self.round) {
            (true, Some(_)) => [self.middles[0] + length, self.angles[0] + turn],
            (true, None) => return [self.angles[count - 1], self.middles[count - 1]],
            _ => [self.middles[next], self.angles[next]],
        };
        let part = (rest - before[0]) / (after[0] - before[0]);
        [turned + before[1] + part * (after[1] - before[1]), way]
    }

    /// The solid is on the right: it is convex where the chain turns to the right.
    fn bend(&self, way: f64, reach: f64) -> f64 {
        let ([a, from], [b, to]) = (self.at(way - reach), self.at(way + reach));
        if to > from { -(b - a) / (to - from) } else { 0.0 }
    }
}
