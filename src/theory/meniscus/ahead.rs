//! What stands ahead of a front: how far every point of it is from dry sides and other fronts.

use super::sides::Sides;
use super::state::{Bare, Part, State};
use crate::base::plane::{Rect, Vector, between, distance, dot, foot, left, way};
use crate::base::{Point, Result};

/// Points of one front that are no more than so many edges apart do not face each other.
const APART: usize = 3;

/// What a target belongs to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Of {
    /// A dry side: the outline and the places at both ends.
    Side {
        /// Index of the outline.
        on: usize,
        /// Place where it starts.
        from: f64,
        /// Length.
        length: f64,
    },
    /// The edge of a front from one of its points to the next.
    Line {
        /// Index of the front.
        line: usize,
        /// The point it starts at.
        node: usize,
    },
}

/// A straight part of what may be met, with normals into the air at both ends.
#[derive(Debug, Clone)]
struct Target {
    ends: [Point; 2],
    normals: [Vector; 2],
    of: Of,
    rect: Rect,
}

/// What a point of a front has ahead of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gap {
    /// Distance, below zero if it is passed.
    pub distance: f64,
    /// What is met.
    pub of: Of,
    /// Where on it, as a fraction of its length.
    pub fraction: f64,
}

/// The gaps of the points of all moving fronts, as far as `reach`; none for ends.
///
/// # Errors
/// As [`State::ways`].
pub(super) fn gaps(state: &State, sides: &Sides, reach: f64) -> Result<Vec<Vec<Option<Gap>>>> {
    let targets = targets(state, sides)?;
    let of_line = |(k, line): (usize, &super::line::Line)| {
        let last = line.nodes.len() - 1;
        let of_node = |node: usize| {
            if line.frozen || node == 0 || node == last {
                return None;
            }
            let contacts = [line.nodes[0], line.nodes[last]];
            nearest(&targets, k, node, line.nodes[node], line.normal(node), contacts, reach)
        };
        (0..=last).map(of_node).collect()
    };
    Ok(state.lines.iter().enumerate().map(of_line).collect())
}

fn targets(state: &State, sides: &Sides) -> Result<Vec<Target>> {
    let mut targets = Vec::new();
    let mut push = |ends: [Point; 2], normals: [Vector; 2], of: Of| {
        if ends[0] != ends[1] {
            targets.push(Target { ends, normals, of, rect: Rect::of(ends) });
        }
    };
    let mut side = |on: usize, from: f64, to: f64, round: bool| {
        let outline = &sides.outlines[on];
        let normal = |at: f64, forward: bool| left(outline.tangent(at, forward, 0.0));
        let mean = |at: f64| {
            let (a, b) = (normal(at, true), normal(at, false));
            [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])]
        };
        let mut start = from;
        let mut places: Vec<f64> = if round {
            outline.at[1..outline.points.len()].to_vec()
        } else {
            outline.passed(from, to).map(|k| outline.at[k]).collect()
        };
        places.push(to);
        for (k, &stop) in places.iter().enumerate() {
            let first = if k == 0 && !round { normal(start, true) } else { mean(start) };
            let last = if k + 1 == places.len() && !round { normal(stop, false) } else { mean(stop) };
            let length = outline.way(start, stop);
            push([outline.point(start), outline.point(stop)], [first, last], Of::Side { on, from: start, length });
            start = stop;
        }
    };
    for parts in state.ways(sides, false)? {
        if parts.iter().any(|part| matches!(*part, Part::Line(line) if state.lines[line].frozen)) {
            continue;
        }
        for part in parts {
            if let Part::Side { on, from, to } = part {
                side(on, from, to, false);
            }
        }
    }
    for (k, bare) in state.bare(sides) {
        if bare == Bare::Dry {
            side(k, 0.0, 0.0, true);
        }
    }
    for (k, line) in state.lines.iter().enumerate().filter(|(_, line)| !line.frozen) {
        for node in 0..line.nodes.len() - 1 {
            let ends = [line.nodes[node], line.nodes[node + 1]];
            push(ends, [line.normal(node), line.normal(node + 1)], Of::Line { line: k, node });
        }
    }
    Ok(targets)
}

fn nearest(
    targets: &[Target],
    line: usize,
    node: usize,
    p: Point,
    normal: Vector,
    contacts: [Point; 2],
    reach: f64,
) -> Option<Gap> {
    let mut found: Option<Gap> = None;
    let mut least = reach;
    for target in targets {
        let [low, high] = [target.rect.low, target.rect.high];
        if p[0] < low[0] - least || p[0] > high[0] + least || p[1] < low[1] - least || p[1] > high[1] + least {
            continue;
        }
        if let Of::Line { line: other, node: start } = target.of
            && other == line
            && start + APART > node
            && start < node + APART
        {
            continue;
        }
        let fraction = foot(p, target.ends);
        let there = between(target.ends[0], target.ends[1], fraction);
        let apart = distance(p, there);
        if apart >= least || (contacts.contains(&there) && matches!(target.of, Of::Side { .. })) {
            continue;
        }
        let facing = between(target.normals[0], target.normals[1], fraction);
        if dot(facing, normal) > 0.0 {
            continue;
        }
        let across = dot(way(there, p), facing);
        // behind the front, and not passed
        if across > 0.0 && dot(way(p, there), normal) < 0.0 {
            continue;
        }
        least = apart;
        found = Some(Gap { distance: if across < 0.0 { -apart } else { apart }, of: target.of, fraction });
    }
    found
}
