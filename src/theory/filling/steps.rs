//! Filling with a front pressure that varies from place to place: implicit steps, each with the wet vertices found from below.
//!
//! With `y = mobility dt P`, P the reduced pressure: wet `M (1 − f_old) = −(A y)_i`; dry `y_i` of the front and
//! `M (f − f_old) = −Σ A_ij (y_j − y_i)` over wet neighbours alone, so that two dry vertices exchange nothing. Vertices are only added. The
//! error of a step goes as its length. Where the liquid would draw back from a dry vertex beyond what is there, its contact line holds it: the vertex
//! takes no flux. On the outlet the liquid keeps the pressure of the air, or stands still where it would be drawn back.

use super::cell::Cell;
use super::ideal::Ideal;
use super::march::State;
use super::record::{Readings, Record};
use super::run::{MOST_HALVINGS, SETTLED};
use super::solver::System;
use super::{Drive, Filling, Progress, Setup};
use crate::base::{Error, Result};
use crate::input::case::Snapshots;
use crate::numerics::fem::Stiffness;

/// Residual, in fills of a vertex, to which a step is solved, and how far above 1 a fill makes a vertex wet.
const TOLERANCE: f64 = 1e-12;
const MARGIN: f64 = 1e-9;
/// Fill of a dry vertex below which its contact line holds.
const EMPTY: f64 = -0.01;
/// Passes in which vertices may change between moving and standing still.
const LAST_CHANGE: usize = 10;

/// What a vertex of the outlet does.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Mouth {
    Dry,
    /// The liquid leaves.
    Open,
    /// The liquid stands.
    Still,
}

/// A state between two steps.
#[derive(Clone)]
struct Now {
    state: State,
    time: f64,
    inlet: f64,
    pressure: Vec<f64>,
    mouths: Vec<Mouth>,
    /// Dry vertices at which the contact line holds.
    still: Vec<bool>,
}

/// A filling with a front pressure that varies.
pub(super) struct Steps<'a, 'b> {
    setup: &'b Setup<'a>,
    front: &'b [f64],
    vent: &'b [f64],
    steps: usize,
    least: f64,
    record: Record<'a>,
    now: Now,
}

impl<'a, 'b> Steps<'a, 'b> {
    pub fn new(setup: &'b Setup<'a>, front: &'b [f64], vent: &'b [f64], steps: usize) -> Result<Self> {
        let record = Record::new(setup)?;
        let (cell, n) = (&record.cell, front.len());
        let least = front.iter().fold(f64::INFINITY, |least, p| least.min(*p));
        if let Drive::Pressure(p) = setup.drive {
            let matrix = record.solver.matrix(cell.top());
            let beside = |v: usize| matrix.row(v).0.iter().any(|&c| cell.source[c as usize]);
            let first = (0..n).filter(|&v| !cell.source[v] && beside(v)).map(|v| front[v]);
            let needed = first.fold(f64::INFINITY, f64::min);
            if p <= needed {
                return Err(Error::argument(
                    format!(
                        "a pressure of {p} Pa at the source drives nothing in: the front at its edge takes more than {needed} Pa"
                    ),
                    format!(
                        "give more than {needed} Pa, plates that the fluid wets better, a wider gap if it repels, or less tilt"
                    ),
                ));
            }
        }
        let now = Now {
            state: record.now.clone(),
            time: 0.0,
            inlet: match setup.drive {
                Drive::Pressure(p) => p,
                Drive::Flow(_) => f64::NAN,
            },
            pressure: front.to_vec(),
            mouths: vec![Mouth::Dry; n],
            still: vec![false; n],
        };
        Ok(Steps { setup, front, vent, steps, least, record, now })
    }

    pub fn finish(mut self, watch: &(dyn Fn(Progress) + Sync)) -> Result<Filling> {
        let times = match &self.setup.snapshots {
            Snapshots::Times(list) => list.clone(),
            Snapshots::Count(n) => self.times(*n)?,
            Snapshots::Impulses(_) => Vec::new(),
        };
        let asked = match self.setup.snapshots {
            Snapshots::Count(n) => n,
            _ => times.len(),
        };
        let mut clock = vec![[0.0, 0.0]];
        for (k, &time) in times.iter().enumerate() {
            if k >= asked && self.record.is_full() {
                break;
            }
            self.advance(time, &mut clock)?;
            let Now { time, inlet, pressure, .. } = self.now.clone();
            self.record.snapshot(Readings { time, inlet, pressure }, watch);
        }
        Ok(self.record.finish(|impulse, _| between(&clock, impulse)))
    }

    /// Times of so many snapshots up to about the end, and more after it.
    fn times(&mut self, n: usize) -> Result<Vec<f64>> {
        let record = &mut self.record;
        let full = Ideal::new(&record.cell, &mut record.solver)?.full(&record.cell);
        let cell = &record.cell;
        let at = |s: f64| match self.setup.drive {
            Drive::Pressure(p) => {
                let mean = self.front.iter().zip(cell.finest()).map(|(p, m)| p * m).sum::<f64>() / cell.total();
                let range = self.front.iter().fold(0.0, |most: f64, front| most.max(p - front));
                full * s * s / (cell.mobility * (p - mean).max(0.1 * range))
            }
            Drive::Flow(q) => (cell.total() - cell.held) * cell.space.reference_gap * s / q,
        };
        Ok((1..=2 * n).map(|k| at(k as f64 / n as f64)).collect())
    }

    fn advance(&mut self, until: f64, clock: &mut Vec<[f64; 2]>) -> Result<()> {
        let start = self.now.time;
        // even steps of the root of time at a held pressure, as the front then goes
        let at = |k: usize| {
            let part = k as f64 / self.steps as f64;
            match self.setup.drive {
                Drive::Pressure(_) => ((1.0 - part) * start.sqrt() + part * until.sqrt()).powi(2),
                Drive::Flow(_) => (1.0 - part) * start + part * until,
            }
        };
        let ends: Vec<f64> = (1..self.steps).map(at).chain([until]).collect();
        for end in ends {
            while self.now.time < end {
                let mut next = self.step(end - self.now.time)?;
                let mut found = self.record.cut_off(&next.state);
                for _ in 0..MOST_HALVINGS {
                    let came = next.state.inflow - self.now.state.inflow;
                    if found.is_empty() || came <= SETTLED * self.record.dry(&next.state, &found) {
                        break;
                    }
                    next = self.step(0.5 * (next.time - self.now.time))?;
                    found = self.record.cut_off(&next.state);
                }
                if end - next.time < 1e-12 * end {
                    next.time = end;
                }
                self.take(next);
                clock.push([self.now.state.impulse, self.now.time]);
                if !found.is_empty() {
                    self.record.keep(&found, self.now.time);
                    self.now.state = self.record.now.clone();
                }
            }
        }
        Ok(())
    }

    fn take(&mut self, next: Now) {
        self.record.accept(next.state.clone());
        self.now = next;
    }

    fn step(&mut self, dt: f64) -> Result<Now> {
        let mut next = self.now.clone();
        let record = &mut self.record;
        let (cell, stage, solver) = (&record.cell, &record.stage, &mut record.solver);
        let (top, n, scale) = (cell.top(), self.front.len(), cell.mobility * dt);
        let dead = |v: usize| stage.dead.get(v).is_some_and(|d| *d);
        let old = &self.now.state.content;
        let need: Vec<f64> = stage.capacity.iter().zip(old).map(|(room, has)| room - has).collect();
        let rhs: Vec<f64> = need.iter().map(|need| -need).collect();
        let none = vec![0.0; n];
        let mut y: Vec<f64> = next.pressure.iter().map(|p| scale * p).collect();
        let mut rise = next.state.rise.clone();
        let State { wet, .. } = &mut next.state;
        let mouths = &mut next.mouths;
        let still = &mut next.still;
        let mut changes = 0;
        for _ in 0..=2 * n {
            let free = |v: usize| wet[v] || mouths[v] == Mouth::Still;
            for v in (0..n).filter(|&v| !free(v)) {
                rise[v] = 0.0;
                y[v] = scale * if mouths[v] == Mouth::Open { self.vent[v] } else { self.front[v] };
            }
            for v in (0..n).filter(|&v| cell.source[v]) {
                rise[v] = 1.0;
                y[v] = match self.setup.drive {
                    Drive::Pressure(p) => scale * p,
                    Drive::Flow(_) => scale * self.least,
                };
            }
            solver.part(&held_edges(solver.whole(), still, |c| cell.source[c] || wet[c]));
            solver.set_free(top, free)?;
            let system = System { x: &mut y, rhs: &rhs, tolerance: TOLERANCE };
            if matches!(self.setup.drive, Drive::Flow(_)) {
                let beside = System { x: &mut rise, rhs: &none, tolerance: 1e-11 / cell.total() };
                solver.solve_both(top, cell.finest(), [system, beside])?;
            } else {
                solver.solve(top, cell.finest(), system)?;
            }
            let matrix = solver.matrix(top);
            if let Drive::Flow(q) = self.setup.drive {
                let sum =
                    |x: &[f64]| -> f64 { (0..n).filter(|&v| cell.source[v]).map(|v| matrix.row_times(v, x)).sum() };
                let room: f64 = (0..n).filter(|&v| cell.source[v]).map(|v| need[v]).sum();
                let wanted = q * dt / cell.space.reference_gap + if self.now.time > 0.0 { 0.0 } else { cell.held };
                let alpha = (wanted - room - sum(&y)) / sum(&rise);
                y.iter_mut().zip(&rise).for_each(|(y, rise)| *y += alpha * rise);
            }
            let may_change = changes < LAST_CHANGE;
            let mut changed = false;
            let mut added = Vec::new();
            for v in 0..n {
                if cell.source[v] || wet[v] || dead(v) {
                    continue;
                }
                match mouths[v] {
                    Mouth::Dry => {
                        let whole = solver.whole();
                        let came = came(cell, whole, wet, mouths, &y, v);
                        let room = cell.finest()[v];
                        // in the end vertices are only let go
                        let holds = if still[v] {
                            came <= 0.0
                        } else {
                            may_change && came < 0.0 && old[v] + came < EMPTY * room
                        };
                        changed |= holds != still[v];
                        still[v] = holds;
                        if still[v] {
                            continue;
                        }
                        if !cell.outlet[v] && came > need[v] + MARGIN * room {
                            added.push(v);
                        }
                    }
                    Mouth::Open if may_change && -matrix.row_times(v, &y) < -MARGIN * cell.finest()[v] => {
                        mouths[v] = Mouth::Still;
                        changed = true;
                    }
                    Mouth::Still if may_change && y[v] > scale * self.vent[v] + MARGIN * scale * self.vent[v].abs() => {
                        mouths[v] = Mouth::Open;
                        changed = true;
                    }
                    _ => {}
                }
            }
            if changed {
                // what moves is settled first
                changes += 1;
                continue;
            }
            if added.is_empty() {
                break;
            }
            added.iter().for_each(|&v| wet[v] = true);
        }
        self.balance(&mut next, &y, &need, scale);
        next.time += dt;
        if next.state.conductance.is_nan()
            || next.state.inflow < self.now.state.inflow - 1e-12 * self.record.cell.total()
        {
            return Err(Error::argument(
                "the fluid drains back out of the source, with air pushing it: such a front is unstable and not computed",
                "give a larger pressure or flow, or tilt the cell the other way",
            ));
        }
        Ok(next)
    }

    /// Contents, inflow, outflow and pressure after a step.
    fn balance(&mut self, next: &mut Now, y: &[f64], need: &[f64], scale: f64) {
        let record = &self.record;
        let (cell, stage) = (&record.cell, &record.stage);
        let matrix = record.solver.matrix(cell.top());
        let Now { state, mouths, pressure, inlet, .. } = next;
        let n = y.len();
        let (mut inflow, mut outflow) = (0.0, 0.0);
        let mut source = f64::NAN;
        let mut filled = Vec::new();
        for v in 0..n {
            if stage.dead.get(v).is_some_and(|d| *d) {
                continue;
            }
            if cell.source[v] {
                state.content[v] = stage.capacity[v];
                inflow += need[v] + matrix.row_times(v, y);
                source = y[v];
            } else if state.wet[v] || mouths[v] == Mouth::Still {
                state.content[v] = stage.capacity[v];
            } else if mouths[v] == Mouth::Open {
                outflow -= matrix.row_times(v, y);
            } else {
                let raw = state.content[v] + came(cell, matrix, &state.wet, mouths, y, v);
                state.content[v] = raw;
                if cell.outlet[v] && raw > stage.capacity[v] {
                    outflow += raw - stage.capacity[v];
                    state.content[v] = stage.capacity[v];
                    filled.push(v);
                }
            }
        }
        state.inflow += inflow;
        if self.now.time == 0.0 {
            // the port stands full from the start
            state.inflow -= cell.held;
        }
        state.outflow += outflow;
        *inlet = source / scale;
        let drop = *inlet - self.least;
        state.conductance = inflow / (scale * drop);
        state.impulse += scale * drop;
        for v in 0..n {
            let inside = cell.source[v] || state.wet[v] || mouths[v] != Mouth::Dry;
            pressure[v] = if inside { y[v] / scale } else { self.front[v] };
            state.rise[v] = if inside { (pressure[v] - self.front[v]) / drop } else { 0.0 };
            if cell.source[v] || state.wet[v] {
                state.w[v] += y[v] - scale * self.front[v];
            }
        }
        filled.into_iter().for_each(|v| mouths[v] = Mouth::Open);
    }
}

/// Liquid that comes to a dry vertex from its wet neighbours, m2.
fn came(cell: &Cell, matrix: &Stiffness, wet: &[bool], mouths: &[Mouth], y: &[f64], v: usize) -> f64 {
    let (columns, values) = matrix.row(v);
    let inside = |c: usize| cell.source[c] || wet[c] || mouths[c] != Mouth::Dry;
    let pairs = columns.iter().zip(values).filter(|(c, _)| inside(**c as usize));
    -pairs.map(|(&c, a)| a * (y[c as usize] - y[v])).sum::<f64>()
}

/// The edges between vertices at which the contact line holds and wet ones.
fn held_edges(matrix: &Stiffness, still: &[bool], wet: impl Fn(usize) -> bool) -> Vec<[u32; 2]> {
    let held = (0..still.len()).filter(|&v| still[v] && !wet(v));
    let edges = held.flat_map(|v| matrix.row(v).0.iter().filter(|c| wet(**c as usize)).map(move |&c| [v as u32, c]));
    edges.collect()
}

/// Time at an impulse, in a straight line between the steps.
fn between(clock: &[[f64; 2]], impulse: f64) -> f64 {
    let next = clock.partition_point(|at| at[0] < impulse);
    match (next.checked_sub(1).and_then(|k| clock.get(k)), clock.get(next)) {
        (None, Some(_)) => 0.0,
        (Some(&[i0, t0]), Some(&[i1, t1])) => t0 + (t1 - t0) * (impulse - i0) / (i1 - i0),
        _ => f64::NAN,
    }
}
