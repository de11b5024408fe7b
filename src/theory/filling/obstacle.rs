//! The obstacle problem of one impulse: which vertices are wet, and the impulse w at each (primal-dual active set; Hintermüller, Ito & Kunisch
//! 2003, SIAM J. Optim. 13, 865, recalled).
//!
//! From a set that is too small every pass adds a layer of vertices; from that of the next coarser level a few passes are enough on any mesh.

use super::cell::Cell;
use super::solver::{Solver, System};
use crate::base::error::NoConvergence;
use crate::base::{Error, Result};

/// Residuals, in fills of a vertex, to which a pass is solved while the set still moves, and at its end.
const TOLERANCE: [f64; 2] = [1e-4, 1e-13];
/// How far a fill must be beyond 1, or w/M below zero, for a vertex to be taken for wet or dry.
const MARGIN: [f64; 2] = [1e-3, 1e-10];
/// Passes after which vertices are only added, so that no set comes back.
const LAST_REMOVAL: usize = 10;

/// What is left to fill: the room of every vertex, m2; dead vertices take no part.
pub(super) struct Room<'a> {
    pub need: &'a [f64],
    pub dead: &'a [bool],
}

/// What is solved for on a level; on entry, where to start.
pub(super) struct Unknowns<'a> {
    /// The wet vertices other than those of the source.
    pub wet: &'a mut [bool],
    pub w: &'a mut [f64],
    /// The rise of w with the impulse, solved beside w once the set stands, and its tolerance.
    pub rise: Option<(&'a mut [f64], f64)>,
}

/// Solves for an impulse on a level.
pub(super) fn settle(
    cell: &Cell,
    solver: &mut Solver,
    level: usize,
    room: &Room,
    impulse: f64,
    Unknowns { wet, w, mut rise }: Unknowns,
) -> Result<()> {
    let n = wet.len();
    let volumes = &cell.volumes[level];
    let held = |v: usize| cell.source[v] || cell.outlet[v];
    let dead = |v: usize| room.dead.get(v).is_some_and(|d| *d);
    let rhs: Vec<f64> = room.need[..n].iter().map(|need| -need).collect();
    let mut sharp = false;
    for pass in 0..=n {
        for v in 0..n {
            wet[v] = wet[v] && !held(v) && !dead(v);
            if !wet[v] {
                w[v] = if cell.source[v] { impulse } else { 0.0 };
            }
        }
        solver.set_free(level, |v| wet[v])?;
        let system = System { x: w, rhs: &rhs, tolerance: TOLERANCE[usize::from(sharp)] };
        match &mut rise {
            Some((rise, tolerance)) if sharp => {
                for v in (0..n).filter(|&v| !wet[v]) {
                    rise[v] = f64::from(u8::from(cell.source[v]));
                }
                let beside = System { x: rise, rhs: &vec![0.0; n], tolerance: *tolerance };
                solver.solve_both(level, volumes, [system, beside])?;
            }
            _ => solver.solve(level, volumes, system)?,
        }
        let margin = MARGIN[usize::from(sharp)];
        let matrix = solver.matrix(level);
        let mut changed = 0;
        let mut next = wet.to_vec();
        for v in 0..n {
            if held(v) || dead(v) {
                continue;
            }
            if wet[v] {
                if pass < LAST_REMOVAL && w[v] < -margin * volumes[v] {
                    next[v] = false;
                    changed += 1;
                }
            } else {
                let row = matrix.row(v).0;
                let beside = row.iter().any(|&c| wet[c as usize] || cell.source[c as usize]);
                if beside && -matrix.row_times(v, w) > room.need[v] + margin * volumes[v] {
                    next[v] = true;
                    changed += 1;
                }
            }
        }
        wet.copy_from_slice(&next);
        if changed > 0 {
            continue;
        }
        // coarser levels only say where to start
        if sharp || level < cell.top() {
            return Ok(());
        }
        sharp = true;
    }
    Err(Error::NoConvergence(NoConvergence { wanted: MARGIN[1], left: f64::NAN, iterations: n }))
}

/// Betters a guess of w on the finest level by the obstacle problems of the coarser levels: what they change is carried on to the next.
pub(super) fn leap(cell: &Cell, solver: &mut Solver, impulse: f64, w: &mut [f64]) -> Result<()> {
    let guess = w.to_vec();
    let base = cell.volumes[0].len();
    for level in 0..cell.top() {
        let n = cell.volumes[level].len();
        if !cell.source[..n].contains(&true) {
            continue;
        }
        let mut wet: Vec<bool> = w[..n].iter().map(|w| *w > 0.0).collect();
        let room = Room { need: &cell.volumes[level], dead: &[] };
        settle(cell, solver, level, &room, impulse, Unknowns { wet: &mut wet, w: &mut w[..n], rise: None })?;
        for v in n..cell.volumes[level + 1].len() {
            let [a, b] = cell.space.mesh.parents[v - base].map(|v| w[v as usize] - guess[v as usize]);
            w[v] = guess[v] + 0.5 * (a + b);
        }
    }
    Ok(())
}
