//! Closed outlines that cross themselves or one another, as one: the line round all that they enclose.
//!
//! Holes are of no interest to a flow that cannot reach them. What is left of any number of outlines is then the edge of the outer face of
//! their arrangement, whatever rule their insides are painted by: from the lowest place on, at every meeting the way furthest to the right
//! is taken. Lines, arcs and cubics stay what they are; they are parted where they meet.

use super::boxes::Boxes;
use super::span::{Extent, Span, spans};
use super::{Curve, Passing};
use crate::base::Point;
use crate::base::plane::{self, cross, distance, dot, segments_meet, way};
use std::collections::BTreeMap;

/// Places nearer than this fraction of the size are one.
const ONE: f64 = 1e-9;
/// Halvings of a span until it is as good as straight.
const DEEPEST: u32 = 40;
/// Newton steps from a chord to the curve.
const POLISH: usize = 4;
/// Most meetings that are followed, and more for each curve.
const MOST_MEETINGS: usize = 10_000;

/// The outer edges of closed outlines, counter-clockwise, one for each group of outlines that meet. None if there are too many meetings to
/// follow, or if a walk round the outside does not come back, as where curves touch and part again without crossing.
pub(crate) fn united(outlines: &[&[Curve]]) -> Option<Vec<Vec<Curve>>> {
    let curves: Vec<&Curve> = outlines.iter().flat_map(|outline| outline.iter()).collect();
    let size = Extent::whole(curves.iter().copied())?.rect().extent();
    let eps = ONE * size;
    let graph = Graph::new(&curves, eps)?;
    let mut found = Vec::new();
    let mut is_used = vec![false; graph.edges.len()];
    while let Some(first) = graph.lowest(&is_used) {
        let (outline, around) = graph.round(first)?;
        // all that hangs together with it is inside
        let rect = Extent::whole(&outline)?.rect();
        let group = graph.group(&around);
        for (k, is_used) in is_used.iter_mut().enumerate() {
            *is_used |= group[graph.edges[k].nodes[0]];
        }
        if rect.extent() > eps {
            found.push(outline);
        }
    }
    Some(found)
}

/// Parts of curves between the places where they meet.
struct Graph {
    edges: Vec<Edge>,
    /// Edges at each node: index, and whether they start there.
    at: Vec<Vec<(usize, bool)>>,
}

struct Edge {
    curve: Curve,
    nodes: [usize; 2],
    /// Its least ordinate.
    low: f64,
}

impl Graph {
    fn new(curves: &[&Curve], eps: f64) -> Option<Graph> {
        let mut cuts: Vec<Vec<f64>> = curves.iter().map(|_| vec![0.0, 1.0]).collect();
        for [(i, s), (j, t)] in meetings(curves, eps)? {
            cuts[i].push(s);
            cuts[j].push(t);
        }
        let mut nodes = Nodes { eps, places: Vec::new(), cells: BTreeMap::new() };
        let (mut edges, mut at): (Vec<Edge>, Vec<Vec<(usize, bool)>>) = Default::default();
        for (curve, mut cuts) in curves.iter().zip(cuts) {
            cuts.sort_by(f64::total_cmp);
            let mut from = (cuts[0], nodes.of(curve.point(cuts[0])));
            for &t in &cuts[1..] {
                let node = nodes.of(curve.point(t));
                let middle = curve.point(0.5 * (from.0 + t));
                // what stays at one place is no way to anywhere
                if node == from.1 && distance(middle, nodes.places[node]) <= 2.0 * eps {
                    continue;
                }
                let part = if from.0 == 0.0 && t == 1.0 { (*curve).clone() } else { curve.part(from.0, t) };
                let ends = [nodes.places[from.1], nodes.places[node]];
                let part = part.with_ends(ends[0], ends[1]).unwrap_or(part);
                at.resize(nodes.places.len(), Vec::new());
                let is_known = |&(k, _): &(usize, bool)| {
                    let edge = &edges[k];
                    let same = edge.nodes == [from.1, node] || edge.nodes == [node, from.1];
                    same && distance(edge.curve.point(0.5), part.point(0.5)) <= 4.0 * eps
                };
                if !at[node].iter().any(is_known) {
                    at[from.1].push((edges.len(), true));
                    at[node].push((edges.len(), false));
                    let low = Extent::whole([&part])?.rect().low[1];
                    edges.push(Edge { curve: part, nodes: [from.1, node], low });
                }
                from = (t, node);
            }
        }
        Some(Graph { edges, at })
    }

    /// An edge through the lowest place of all that are not used yet, and whether it is to be walked forwards so that all lies on the left.
    fn lowest(&self, is_used: &[bool]) -> Option<(usize, bool)> {
        let free = (0..self.edges.len()).filter(|k| !is_used[*k]);
        let lowest = free.min_by(|&a, &b| self.edges[a].low.total_cmp(&self.edges[b].low))?;
        let Edge { curve, low: y, .. } = &self.edges[lowest];
        let [start, end] = [curve.point(0.0), curve.point(1.0)];
        if start[1] > *y && end[1] > *y {
            // the lowest place lies within the edge: there it runs to the right
            let t = super::span::extremes(curve, 1)
                .into_iter()
                .min_by(|a, b| curve.point(*a)[1].total_cmp(&curve.point(*b)[1]))?;
            return Some((lowest, curve.derivative(t)[0] > 0.0));
        }
        let node = self.edges[lowest].nodes[if start[1] <= end[1] { 0 } else { 1 }];
        // coming from below, which is outside: the first to the right
        self.next(node, [0.0, -1.0])
    }

    /// The edge that leaves a node first when turning counter-clockwise from a direction.
    fn next(&self, node: usize, from: [f64; 2]) -> Option<(usize, bool)> {
        let turn = |(k, starts): (usize, bool)| {
            let away = self.away(k, starts);
            let angle = cross(from, away).atan2(dot(from, away));
            if angle > 1e-12 { angle } else { angle + 2.0 * std::f64::consts::PI }
        };
        self.at[node].iter().copied().min_by(|a, b| turn(*a).total_cmp(&turn(*b)))
    }

    /// Direction in which an edge leaves a node.
    fn away(&self, k: usize, starts: bool) -> [f64; 2] {
        let curve = &self.edges[k].curve;
        if starts {
            curve.direction(0.0, Passing::Leaving)
        } else {
            curve.direction(1.0, Passing::Arriving).map(|x| -x)
        }
    }

    /// Walks round the outside from an edge on; the outline and the nodes on it. None if the walk does not come back.
    fn round(&self, first: (usize, bool)) -> Option<(Vec<Curve>, Vec<usize>)> {
        let (mut outline, mut around) = (Vec::new(), Vec::new());
        let mut step = first;
        for _ in 0..=2 * self.edges.len() {
            let (k, forward) = step;
            let edge = &self.edges[k];
            outline.push(if forward { edge.curve.clone() } else { edge.curve.reversed() });
            let node = edge.nodes[usize::from(forward)];
            around.push(node);
            step = self.next(node, self.away(k, !forward))?;
            if step == first {
                return Some((outline, around));
            }
        }
        None
    }

    /// Nodes that hang together with some.
    fn group(&self, some: &[usize]) -> Vec<bool> {
        let mut inside = vec![false; self.at.len()];
        let mut open = some.to_vec();
        while let Some(node) = open.pop() {
            if !std::mem::replace(&mut inside[node], true) {
                open.extend(self.at[node].iter().flat_map(|(k, _)| self.edges[*k].nodes));
            }
        }
        inside
    }
}

/// Places, those within a distance being one.
struct Nodes {
    eps: f64,
    places: Vec<Point>,
    cells: BTreeMap<[i64; 2], Vec<usize>>,
}

impl Nodes {
    fn of(&mut self, p: Point) -> usize {
        let side = 2.0 * self.eps;
        let cell = p.map(|x| (x / side).floor() as i64);
        for i in -1..=1 {
            for j in -1..=1 {
                let near = self.cells.get(&[cell[0].saturating_add(i), cell[1].saturating_add(j)]);
                if let Some(&known) = near.into_iter().flatten().find(|k| distance(self.places[**k], p) <= self.eps) {
                    return known;
                }
            }
        }
        self.places.push(p);
        self.cells.entry(cell).or_default().push(self.places.len() - 1);
        self.places.len() - 1
    }
}

type At = (usize, f64);

/// Where curves meet: curve and parameter of both; joints of neighbours among them.
fn meetings(curves: &[&Curve], eps: f64) -> Option<Vec<[At; 2]>> {
    let parts: Vec<(usize, Span)> = curves
        .iter()
        .enumerate()
        .flat_map(|(k, c)| spans(c, 0.0, 1.0).into_iter().map(move |span| (k, span)))
        .collect();
    let most = MOST_MEETINGS + 20 * parts.len();
    let mut found = Vec::new();
    Boxes::new(parts.iter().map(|(_, span)| span.bounds(eps))).pairs(|a, b| {
        let ((i, one), (j, other)) = (&parts[a], &parts[b]);
        meet([curves[*i], curves[*j]], [*one, *other], eps, DEEPEST, &mut |s, t| {
            // a curve meets itself at every joint of its spans
            if i != j || (s - t).abs() > 1e-6 {
                found.push([(*i, s), (*j, t)]);
            }
        });
        found.len() <= most
    });
    (found.len() <= most).then_some(found)
}

/// Where two spans meet.
fn meet(curves: [&Curve; 2], both: [Span; 2], eps: f64, depth: u32, found: &mut dyn FnMut(f64, f64)) {
    let [one, other] = both;
    if !one.bounds(eps).overlaps(&other.bounds(eps)) {
        return;
    }
    if depth > 0 && one.sag.max(other.sag) > 0.1 * eps {
        let halves =
            |k: usize| if both[k].sag > 0.1 * eps { both[k].halves(curves[k]).to_vec() } else { vec![both[k]] };
        for a in halves(0) {
            for b in halves(1) {
                meet(curves, [a, b], eps, depth - 1, found);
            }
        }
        return;
    }
    // ends on the other, which covers parts that run along one another, then a crossing
    let mut touches = false;
    for end in 0..2 {
        if let Some(t) = foot(curves[1], &other, one.ends[end], eps) {
            found(one.t[end], t);
            touches = true;
        }
        if let Some(s) = foot(curves[0], &one, other.ends[end], eps) {
            found(s, other.t[end]);
            touches = true;
        }
    }
    if !touches && segments_meet(one.ends, other.ends) {
        let (d, e) = (way(one.ends[0], one.ends[1]), way(other.ends[0], other.ends[1]));
        let (apart, slant) = (way(one.ends[0], other.ends[0]), cross(d, e));
        let (s, t) = (cross(apart, e) / slant, cross(apart, d) / slant);
        if s.is_finite() && t.is_finite() {
            let (s, t) = (one.t[0] + s * (one.t[1] - one.t[0]), other.t[0] + t * (other.t[1] - other.t[0]));
            let (s, t) = crossing(curves, [s, t]);
            found(s, t);
        }
    }
}

/// The parameter of a span nearest to a place, if that is no further than `eps`.
fn foot(curve: &Curve, span: &Span, p: Point, eps: f64) -> Option<f64> {
    let mut t = span.t[0] + plane::foot(p, span.ends) * (span.t[1] - span.t[0]);
    for _ in 0..POLISH {
        let d = curve.derivative(t);
        let step = dot(way(curve.point(t), p), d) / dot(d, d);
        if step.is_finite() {
            t = (t + step).clamp(span.t[0].min(span.t[1]), span.t[0].max(span.t[1]));
        }
    }
    (distance(curve.point(t), p) <= eps).then_some(t)
}

/// A crossing of two curves from one of their chords, by Newton's iteration.
fn crossing(curves: [&Curve; 2], start: [f64; 2]) -> (f64, f64) {
    let [mut s, mut t] = start;
    for _ in 0..POLISH {
        let (d, e) = (curves[0].derivative(s), curves[1].derivative(t));
        let (apart, slant) = (way(curves[0].point(s), curves[1].point(t)), cross(d, e));
        let (ds, dt) = (cross(apart, e) / slant, cross(apart, d) / slant);
        if !(ds.is_finite() && dt.is_finite()) {
            break;
        }
        (s, t) = ((s + ds).clamp(0.0, 1.0), (t + dt).clamp(0.0, 1.0));
    }
    (s, t)
}

#[cfg(test)]
mod tests;
