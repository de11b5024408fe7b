//! From snapshot to snapshot with one front pressure: stages between pockets, the clock, what is recorded.

use super::cell::{Cell, volume};
use super::guess::{Known, guess};
use super::obstacle::{Room, Unknowns, leap, settle};
use super::solver::Solver;
use crate::base::Result;

/// The cell at one impulse.
#[derive(Clone)]
pub(super) struct State {
    pub impulse: f64,
    pub wet: Vec<bool>,
    /// w since the stage began, m2.
    pub w: Vec<f64>,
    /// Liquid at every vertex, m2.
    pub content: Vec<f64>,
    pub inflow: f64,
    pub outflow: f64,
    /// (p − p_front)/(p_in − p_front) on the wet vertices, 0 elsewhere.
    pub rise: Vec<f64>,
    pub conductance: f64,
}

/// From one pinned pocket to the next: what the cell held at the beginning and what fits.
pub(super) struct Stage {
    pub impulse: f64,
    /// Liquid at the beginning, m2.
    pub content: Vec<f64>,
    /// Liquid that fits, m2.
    pub capacity: Vec<f64>,
    pub need: Vec<f64>,
    pub dead: Vec<bool>,
    /// w before the stage, m2.
    pub before: Vec<f64>,
    inflow: f64,
    outflow: f64,
}

impl Stage {
    /// A dry cell.
    pub fn dry(cell: &Cell) -> Self {
        let n = cell.source.len();
        let capacity = cell.finest().to_vec();
        Stage {
            impulse: 0.0,
            content: vec![0.0; n],
            need: capacity.clone(),
            capacity,
            dead: Vec::new(),
            before: vec![0.0; n],
            inflow: 0.0,
            outflow: 0.0,
        }
    }

    /// Whether nothing was struck out yet.
    pub fn is_first(&self) -> bool {
        self.dead.is_empty()
    }

    /// The stage that begins where pockets are cut off and stay: triangles of three pocket vertices are struck out.
    pub fn pinned(&self, cell: &Cell, solver: &mut Solver, now: &State, pockets: &[Vec<u32>]) -> Stage {
        let n = now.wet.len();
        let mut number = vec![usize::MAX; n];
        for (k, vertices) in pockets.iter().enumerate() {
            vertices.iter().for_each(|&v| number[v as usize] = k);
        }
        let mesh = &cell.space.mesh;
        let dead_before = |v: u32| self.dead.get(v as usize).is_some_and(|d| *d);
        let inside = |t: &&[u32; 3]| {
            let first = number[t[0] as usize];
            first != usize::MAX && t.iter().all(|&v| number[v as usize] == first) && !t.iter().any(|&v| dead_before(v))
        };
        let struck: Vec<[u32; 3]> = mesh.triangles.iter().filter(inside).copied().collect();
        let mut lost = vec![0.0; n];
        let mut triangles = vec![0u32; n];
        for t in &struck {
            for (&v, share) in t.iter().zip(volume(cell.space, t)) {
                lost[v as usize] += share;
                triangles[v as usize] += 1;
            }
        }
        let mut dead = if self.dead.is_empty() { vec![false; n] } else { self.dead.clone() };
        let mut capacity = self.capacity.clone();
        for v in (0..n).filter(|&v| triangles[v] > 0) {
            let whole = triangles[v] as usize == cell.space.stars.of(v).len();
            dead[v] |= whole;
            capacity[v] = if whole { now.content[v] } else { (capacity[v] - lost[v]).max(now.content[v]) };
        }
        let coefficients = struck.iter().map(|&t| (t, cell.coefficient(t)));
        let matrix = solver.matrix(cell.top()).without(&mesh.points, coefficients);
        solver.strike(matrix, dead.clone());
        let need = capacity.iter().zip(&now.content).map(|(room, has)| room - has).collect();
        Stage {
            impulse: now.impulse,
            content: now.content.clone(),
            capacity,
            need,
            dead,
            before: self.before.iter().zip(&now.w).map(|(a, b)| a + b).collect(),
            inflow: now.inflow,
            outflow: now.outflow,
        }
    }

    /// The cell at the beginning of the stage.
    pub fn start(&self, wet: Vec<bool>) -> State {
        let n = wet.len();
        State {
            impulse: self.impulse,
            wet,
            w: vec![0.0; n],
            content: self.content.clone(),
            inflow: self.inflow,
            outflow: self.outflow,
            rise: vec![0.0; n],
            conductance: 0.0,
        }
    }

    /// The cell at a later impulse.
    pub fn reach(&self, cell: &Cell, solver: &mut Solver, from: &State, impulse: f64) -> Result<State> {
        let top = cell.top();
        let step = impulse - self.impulse;
        let total: Vec<f64> = self.before.iter().zip(&from.w).map(|(a, b)| a + b).collect();
        let known = Known { impulse: from.impulse, wet: &from.wet, w: &total, rise: &from.rise };
        let [mut w, rise] = guess(cell, solver.matrix(top), &known, impulse);
        w.iter_mut().zip(&self.before).for_each(|(w, before)| *w -= before);
        if self.is_first() {
            leap(cell, solver, step, &mut w)?;
        }
        let wet = w.iter().zip(&from.wet).map(|(w, was)| *was || *w > 0.0).collect();
        let mut next = State { impulse, wet, w, rise, ..from.clone() };
        let room = Room { need: &self.need, dead: &self.dead };
        let State { wet, w, rise, .. } = &mut next;
        // as fills: what a step of this impulse would miss
        let unknowns = Unknowns { wet, w, rise: Some((rise, 1e-10 / impulse)) };
        settle(cell, solver, top, &room, step, unknowns)?;
        self.balance(cell, solver, &mut next);
        let matrix = solver.matrix(top);
        let rows = (0..next.wet.len()).filter(|&v| cell.source[v]);
        next.conductance = rows.map(|v| matrix.row_times(v, &next.rise)).sum();
        Ok(next)
    }

    /// Liquid at every vertex, what came in and what left.
    fn balance(&self, cell: &Cell, solver: &Solver, now: &mut State) {
        let matrix = solver.matrix(cell.top());
        (now.inflow, now.outflow) = (self.inflow, self.outflow);
        for v in 0..now.wet.len() {
            if self.dead.get(v).is_some_and(|d| *d) {
                continue;
            }
            let came = -matrix.row_times(v, &now.w);
            let raw = self.content[v] + came;
            now.content[v] = raw;
            if cell.source[v] {
                now.content[v] = self.capacity[v];
                now.inflow += self.need[v] - came;
            } else if now.wet[v] {
                now.content[v] = self.capacity[v];
            } else if cell.outlet[v] && raw > self.capacity[v] {
                now.content[v] = self.capacity[v];
                now.outflow += raw - self.capacity[v];
            }
        }
    }

    /// Imbalance of liquid, m2.
    pub fn imbalance(&self, now: &State) -> f64 {
        now.content.iter().sum::<f64>() + now.outflow - now.inflow
    }
}
