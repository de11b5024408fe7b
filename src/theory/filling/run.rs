//! The snapshots of a filling with one front pressure.

use super::ideal::Ideal;
use super::march::State;
use super::record::{Readings, Record};
use super::{Drive, Filling, Moment, Progress, Setup};
use crate::base::Result;
use crate::input::case::Snapshots;

/// Most halvings of a step in which air is cut off.
pub(super) const MOST_HALVINGS: usize = 16;
/// Times that a snapshot at a given flow is carried on for pockets on the way to it.
const MOST_POCKETS: usize = 50;
/// Liquid that may come in while a pocket is being cut off, over its volume.
pub(super) const SETTLED: f64 = 0.01;

/// A filling with one front pressure.
pub(super) struct Run<'a, 'b> {
    setup: &'b Setup<'a>,
    front: f64,
    ideal: Ideal,
    record: Record<'a>,
}

impl<'a, 'b> Run<'a, 'b> {
    pub fn new(setup: &'b Setup<'a>, front: f64) -> Result<Self> {
        let mut record = Record::new(setup)?;
        let ideal = Ideal::new(&record.cell, &mut record.solver)?;
        record.result.moment_residual = Some(0.0);
        Ok(Run { setup, front, ideal, record })
    }

    pub fn finish(mut self, watch: &(dyn Fn(Progress) + Sync)) -> Result<Filling> {
        match &self.setup.snapshots {
            Snapshots::Impulses(list) => {
                for &impulse in list {
                    self.snapshot(impulse, watch)?;
                }
            }
            Snapshots::Times(list) => {
                for &time in list {
                    let impulse = self.impulse_at(time)?;
                    self.advance(impulse)?;
                    // a pocket that was pinned on the way leaves less room, so that a given flow is not through yet
                    for _ in 0..MOST_POCKETS {
                        let next = self.impulse_at(time)?;
                        if next <= self.record.now.impulse * (1.0 + 1e-12) {
                            break;
                        }
                        self.advance(next)?;
                    }
                    self.take(watch);
                }
            }
            &Snapshots::Count(n) => {
                let full = self.ideal.full(&self.record.cell);
                for k in 1..=n {
                    self.snapshot(full * (k as f64 / n as f64).powi(2), watch)?;
                }
                let (mut impulse, mut step) = (full, full * (2.0 * n as f64 - 1.0) / (n * n) as f64);
                for _ in 0..(2 * n).max(20) {
                    if self.record.is_full() {
                        break;
                    }
                    step *= 1.1;
                    impulse += step;
                    self.snapshot(impulse, watch)?;
                }
            }
        }
        let Run { setup, front, record, .. } = self;
        let clock = Clock::new(setup, front, &record);
        let mut filling = record.finish(|impulse, inflow| clock.time(impulse, inflow));
        if let Snapshots::Times(list) = &setup.snapshots {
            // the times themselves, not those of the volumes to rounding
            let near = |(moment, &asked): (&mut Moment, &f64)| {
                if (moment.time_s - asked).abs() <= 1e-9 * asked {
                    moment.time_s = asked;
                }
            };
            filling.snapshots.iter_mut().zip(list).for_each(near);
        }
        Ok(filling)
    }

    fn clock(&self) -> Clock {
        Clock::new(self.setup, self.front, &self.record)
    }

    /// The impulse at a time, m2. At a given flow Newton's method on the volume, which is linear in the impulse while no vertex gets wet.
    fn impulse_at(&mut self, time: f64) -> Result<f64> {
        let record = &mut self.record;
        let q = match self.setup.drive {
            Drive::Pressure(p) => return Ok(time * record.cell.mobility * (p - self.front)),
            Drive::Flow(q) => q,
        };
        let wanted = record.cell.held + q * time / record.cell.space.reference_gap;
        let mut at = record.now.clone();
        if at.inflow >= wanted * (1.0 - 1e-12) {
            return Ok(at.impulse);
        }
        let [mut low, mut high] = [at.impulse, f64::INFINITY];
        for _ in 0..60 {
            let missing = wanted - at.inflow;
            if missing.abs() <= 1e-13 * wanted {
                break;
            }
            if missing > 0.0 {
                low = low.max(at.impulse)
            } else {
                high = high.min(at.impulse)
            }
            let step = if at.conductance > 0.0 {
                missing / at.conductance
            } else {
                // a plane front over the cell, to begin with
                self.ideal.full(&record.cell) * (missing / record.cell.total()).powi(2)
            };
            let mut next = at.impulse + step;
            if !(next > low && next < high) {
                next = if high.is_finite() { 0.5 * (low + high) } else { 2.0 * low };
            }
            at = record.stage.reach(&record.cell, &mut record.solver, &at, next)?;
        }
        Ok(at.impulse)
    }

    /// Goes on to an impulse, stopping where air is cut off.
    fn advance(&mut self, impulse: f64) -> Result<()> {
        loop {
            let record = &mut self.record;
            let next = record.stage.reach(&record.cell, &mut record.solver, &record.now, impulse)?;
            let found = record.cut_off(&next);
            if found.is_empty() {
                self.accept(next);
                return Ok(());
            }
            let (cut, found) = self.settled(next, found)?;
            let time = self.clock().time(cut.impulse, cut.inflow);
            self.accept(cut);
            self.record.keep(&found, time);
            if self.record.now.impulse >= impulse {
                return Ok(());
            }
        }
    }

    fn accept(&mut self, next: State) {
        self.record.accept(next);
        let miss = self.ideal.miss(&self.record.now).abs();
        let holds = self.record.stage.is_first();
        let most = &mut self.record.result.moment_residual;
        *most = most.filter(|_| holds).map(|most| most.max(miss));
    }

    /// The state soon after air was cut off: the step is halved until so little liquid comes in within it that the pocket is settled.
    fn settled(&mut self, next: State, found: Vec<Vec<u32>>) -> Result<(State, Vec<Vec<u32>>)> {
        let record = &mut self.record;
        let (mut low, mut high, mut found) = (record.now.clone(), next, found);
        for _ in 0..MOST_HALVINGS {
            if high.inflow - low.inflow <= SETTLED * record.dry(&high, &found) {
                break;
            }
            let middle = 0.5 * (low.impulse + high.impulse);
            let state = record.stage.reach(&record.cell, &mut record.solver, &low, middle)?;
            let there = record.cut_off(&state);
            if there.is_empty() {
                low = state;
            } else {
                (high, found) = (state, there);
            }
        }
        Ok((high, found))
    }

    fn snapshot(&mut self, impulse: f64, watch: &(dyn Fn(Progress) + Sync)) -> Result<()> {
        self.advance(impulse)?;
        self.take(watch);
        Ok(())
    }

    fn take(&mut self, watch: &(dyn Fn(Progress) + Sync)) {
        let clock = self.clock();
        let now = &self.record.now;
        let inlet = clock.inlet(now);
        let pressure = now.rise.iter().map(|rise| self.front + rise * (inlet - self.front)).collect();
        let readings = Readings { time: clock.time(now.impulse, now.inflow), inlet, pressure };
        self.record.snapshot(readings, watch);
    }
}

/// Times and pressures from impulses and volumes.
struct Clock {
    drive: Drive,
    front: f64,
    mobility: f64,
    held: f64,
    gap: f64,
}

impl Clock {
    fn new(setup: &Setup, front: f64, record: &Record) -> Self {
        let cell = &record.cell;
        let gap = cell.space.reference_gap;
        Clock { drive: setup.drive, front, mobility: cell.mobility, held: cell.held, gap }
    }

    /// Time at which so much liquid has come in at an impulse, s.
    fn time(&self, impulse: f64, inflow: f64) -> f64 {
        match self.drive {
            Drive::Pressure(p) => impulse / (self.mobility * (p - self.front)),
            Drive::Flow(q) => (inflow - self.held) * self.gap / q,
        }
    }

    /// Pressure at the source, Pa above the air.
    fn inlet(&self, now: &State) -> f64 {
        match self.drive {
            Drive::Pressure(p) => p,
            Drive::Flow(q) => self.front + q / (self.gap * self.mobility * now.conductance),
        }
    }
}
