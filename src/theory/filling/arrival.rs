//! When the front comes to each vertex; where it comes last, and where two fronts meet.
//!
//! A vertex is reached when its fill passes one half. Behind a front that moves as the root of the impulse, `w ~ (√I − √I_a)²` and the rise of
//! pressure is its derivative, so `√I_a = √I − w/(rise √I)`. That places the arrival between two snapshots once the front is some triangles
//! further; nearer to it the rate of filling does.

use super::cell::Cell;
use super::march::State;
use crate::base::Point;
use crate::base::plane::{dot, middle, way};
use crate::numerics::fem::{Stiffness, gradient};
use crate::numerics::mesh::NO_TRIANGLE;

/// How far behind the front, in sides of the triangles there, the pressure tells when it came.
const BEHIND: f64 = 2.0;

/// Edges round a vertex within which it must be the last to count as a late place.
const RINGS: usize = 6;

/// Arrivals as they become known.
pub(super) struct Arrivals {
    /// Impulse at which the front comes, m2; not a number where it has not yet.
    pub impulse: Vec<f64>,
    /// Impulses of the states between which it came.
    range: Vec<[f64; 2]>,
    settled: Vec<bool>,
    /// Whether the estimate fell between the states that bracket it.
    pub sure: Vec<bool>,
    /// Impulse and inflow of every state.
    history: Vec<[f64; 2]>,
    held: f64,
}

impl Arrivals {
    pub fn new(cell: &Cell) -> Self {
        let start = cell.source.iter().map(|&s| if s { 0.0 } else { f64::NAN }).collect();
        Arrivals {
            impulse: start,
            range: vec![[0.0; 2]; cell.source.len()],
            settled: cell.source.clone(),
            sure: cell.source.clone(),
            history: vec![[0.0, cell.held]],
            held: cell.held,
        }
    }

    /// Takes what has become wet between two states.
    pub fn update(&mut self, cell: &Cell, matrix: &Stiffness, from: &State, to: &State) {
        self.history.push([to.impulse, to.inflow]);
        let volumes = cell.finest();
        for (v, volume) in volumes.iter().enumerate() {
            let fill = to.content[v] / volume;
            if self.settled[v] || (!to.wet[v] && fill < 0.5) {
                continue;
            }
            let first = self.impulse[v].is_nan();
            if first {
                self.range[v] = [from.impulse, to.impulse];
            }
            let side = cell.space.side_at(v);
            let deep = to.wet[v] && 2.0 * to.w[v] > (BEHIND * side).powi(2);
            let since = if deep {
                let root = to.impulse.sqrt();
                to.impulse - (root - to.w[v] / (to.rise[v] * root)).max(0.0).powi(2)
            } else if first && !to.wet[v] {
                (fill - 0.5) * volume / -matrix.row_times(v, &to.rise)
            } else if first {
                // as far behind the front as w tells, which moves at the slope of the pressure down to the first dry vertex
                let behind = (2.0 * to.w[v] + 0.25 * side * side).sqrt();
                behind * (behind / side).round().max(1.0) * side / to.rise[v]
            } else {
                continue;
            };
            let [low, high] = self.range[v];
            let at = to.impulse - since;
            self.impulse[v] = if at.is_nan() { high } else { at.clamp(low, high) };
            if first && !deep && since > 0.0 && since.is_finite() {
                // what the next state tells may not stray from this by more than half
                self.range[v] = [1.5, 0.5].map(|part| (to.impulse - part * since).clamp(low, high));
            }
            self.settled[v] = deep;
            self.sure[v] = deep && low < at && at < high;
        }
    }

    /// Liquid that has come in at an impulse: between two states as a power of it, exact for a plane front, m2.
    pub fn inflow(&self, at: f64) -> f64 {
        if at.is_nan() {
            return f64::NAN;
        }
        let next = self.history.partition_point(|state| state[0] < at).clamp(1, self.history.len().max(2) - 1);
        let (Some(&[i0, v0]), Some(&[i1, v1])) = (self.history.get(next - 1), self.history.get(next)) else {
            return self.held;
        };
        let (v0, v1) = (v0 - self.held, v1 - self.held);
        if i0 <= 0.0 || v0 <= 0.0 {
            let power = if self.held > 0.0 { 1.0 } else { 0.5 };
            return self.held + v1 * (at / i1).powf(power);
        }
        self.held + v0 * (at / i0).powf((v1 / v0).ln() / (i1 / i0).ln())
    }
}

/// Vertices that are reached after all others within some edges, the latest first.
pub(super) fn local_maxima(arrival: &[f64], matrix: &Stiffness) -> Vec<u32> {
    let later = |a: usize, b: usize| arrival[a] > arrival[b] || (arrival[a] == arrival[b] && a >= b);
    let around = |v: usize| matrix.row(v).0.iter().map(|&c| c as usize);
    let last = |&v: &usize| {
        if arrival[v].is_nan() || !around(v).all(|c| later(v, c)) {
            return false;
        }
        let (mut list, mut begin) = (vec![v], 0);
        for _ in 0..RINGS {
            let end = list.len();
            for k in begin..end {
                for c in around(list[k]) {
                    if !later(v, c) {
                        return false;
                    }
                    if !list[begin..].contains(&c) {
                        list.push(c);
                    }
                }
            }
            begin = end;
        }
        true
    };
    let mut list: Vec<u32> = (0..arrival.len()).filter(last).map(|v| v as u32).collect();
    list.sort_by(|&a, &b| arrival[b as usize].total_cmp(&arrival[a as usize]));
    list
}

/// Middles of the edges towards which the front comes from both sides, more than 60 degrees apart, as the stars of the corners beyond have it;
/// next to outlet and solids, where stars are one-sided, there are none, nor where the arrival is not sure.
pub(super) fn welds(cell: &Cell, arrival: &[f64], sure: &[bool]) -> Vec<Point> {
    let space = cell.space;
    let mesh = &space.mesh;
    let mut slopes = vec![[0.0; 2]; arrival.len()];
    for (t, corners) in mesh.triangles.iter().enumerate() {
        let g = gradient(space.corners(t), corners.map(|v| arrival[v as usize]));
        let weight = if corners.iter().any(|&v| cell.outlet[v as usize]) { f64::NAN } else { space.area(t) };
        corners.iter().for_each(|&v| (0..2).for_each(|k| slopes[v as usize][k] += weight * g[k]));
    }
    let edge_of_fluid = mesh.on_boundary();
    let mut found = Vec::new();
    for (t, across) in mesh.neighbours().iter().enumerate() {
        for (k, &other) in across.iter().enumerate() {
            if other == NO_TRIANGLE || (other as usize) < t {
                continue;
            }
            let edge = [1, 2].map(|j| mesh.triangles[t][(k + j) % 3]);
            let near = mesh.triangles[t][k] as usize;
            let Some(&far) = mesh.triangles[other as usize].iter().find(|v| !edge.contains(v)) else { continue };
            let unsure = [near, far as usize].iter().any(|&v| edge_of_fluid[v] || !sure[v]);
            if unsure {
                continue;
            }
            let (g, q, step) = (slopes[near], slopes[far as usize], way(mesh.points[near], mesh.points[far as usize]));
            let apart = dot(g, q) < 0.5 * (dot(g, g) * dot(q, q)).sqrt();
            if apart && dot(g, step) > 0.0 && dot(q, step) < 0.0 {
                let [a, b] = edge.map(|v| mesh.points[v as usize]);
                found.push(middle(a, b));
            }
        }
    }
    found
}
