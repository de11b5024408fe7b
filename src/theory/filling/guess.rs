//! Where the front will be at a later impulse, to start the solvers from; no result depends on it.
//!
//! At a distance d behind the front `w = (s b0/b)²/2` with s = d, so a place behind it tells the front's speed, `u = (b/b0)² (dw/dI)/s`. The front
//! is carried on by that speed, and the new w falls off from it with the distance.

use super::cell::Cell;
use crate::base::plane::distance;
use crate::numerics::fem::Stiffness;
use std::collections::VecDeque;

/// Nearer to the front than so many sides of the triangles there, w does not tell its speed.
const NEAR: f64 = 1.5;

/// What is known at an impulse.
pub(super) struct Known<'a> {
    pub impulse: f64,
    pub wet: &'a [bool],
    /// w since the cell was dry, m2.
    pub w: &'a [f64],
    pub rise: &'a [f64],
}

/// w since the cell was dry, and its rise, at a later impulse.
pub(super) fn guess(cell: &Cell, matrix: &Stiffness, from: &Known, impulse: f64) -> [Vec<f64>; 2] {
    let space = cell.space;
    let points = &space.mesh.points;
    let more = impulse - from.impulse;
    let square = |v: usize| (space.gap[v] / space.reference_gap).powi(2);
    let w = from.w;
    let n = w.len();
    // distance behind the new front and its speed, where they are known
    let (mut behind, mut speed) = (vec![0.0; n], vec![0.0; n]);
    let mut known = vec![false; n];
    for v in 0..n {
        let s = (2.0 * w[v].max(0.0) * square(v)).sqrt();
        if cell.source[v] {
            behind[v] = (2.0 * impulse * square(v)).sqrt();
            speed[v] = square(v) / behind[v];
        } else if from.wet[v] && s > NEAR * space.side_at(v) {
            let before = square(v) * from.rise[v] / s;
            behind[v] = s + more * before;
            speed[v] = before / (1.0 + more * before * before);
        } else {
            continue;
        }
        known[v] = true;
    }
    let beside = |v: &usize| known[*v] && matrix.row(*v).0.iter().any(|&c| !known[c as usize]);
    let mut queue: VecDeque<usize> = (0..n).filter(beside).collect();
    while let Some(v) = queue.pop_front() {
        for &c in matrix.row(v).0 {
            let c = c as usize;
            let there = behind[v] - distance(points[v], points[c]);
            if !known[c] && there > behind[c] {
                (behind[c], speed[c]) = (there, speed[v]);
                queue.push_back(c);
            }
        }
    }
    let at = |v: usize| 0.5 * behind[v] * behind[v] / square(v);
    let later = |v: usize| match (cell.source[v], known[v]) {
        (true, _) => impulse,
        (false, true) => w[v] + more * from.rise[v],
        (false, false) => at(v),
    };
    [(0..n).map(later).collect(), (0..n).map(|v| (behind[v] * speed[v] / square(v)).min(1.0)).collect()]
}
