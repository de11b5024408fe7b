//! The state of a filling and what is kept of it.

use super::arrival::{Arrivals, local_maxima, welds};
use super::cell::Cell;
use super::march::{Stage, State};
use super::pockets::{dry_part, outlines, trapped};
use super::solver::Solver;
use super::{Filling, LatePlace, Moment, Pocket, Progress, Setup, front};
use crate::base::Result;
use crate::input::case::CutOff;

/// Latest places that are reported.
const LATEST: usize = 3;

/// A filling in the making.
pub(super) struct Record<'a> {
    pub cell: Cell<'a>,
    pub solver: Solver,
    pub stage: Stage,
    pub now: State,
    rule: CutOff,
    /// Vertices of pockets that drain.
    known: Vec<bool>,
    arrivals: Arrivals,
    pub result: Filling,
}

/// The clock and the pressures at a state.
pub(super) struct Readings {
    pub time: f64,
    pub inlet: f64,
    pub pressure: Vec<f64>,
}

impl<'a> Record<'a> {
    pub fn new(setup: &Setup<'a>) -> Result<Self> {
        let cell = Cell::new(setup)?;
        let solver = Solver::new(&setup.space.mesh, &setup.space.levels.pressure);
        let stage = Stage::dry(&cell);
        let n = cell.source.len();
        let now = State { inflow: cell.held, ..stage.start(vec![false; n]) };
        let result = Filling {
            snapshots: Vec::new(),
            arrival: Vec::new(),
            pockets: Vec::new(),
            welds: Vec::new(),
            latest: Vec::new(),
            mass_residual: 0.0,
            moment_residual: None,
            full: false,
            work: super::Work::default(),
        };
        let arrivals = Arrivals::new(&cell);
        Ok(Record { cell, solver, stage, now, rule: setup.pockets, known: vec![false; n], arrivals, result })
    }

    /// Takes a state as the present one.
    pub fn accept(&mut self, next: State) {
        let matrix = self.solver.matrix(self.cell.top());
        self.arrivals.update(&self.cell, matrix, &self.now, &next);
        self.now = next;
        let imbalance = self.stage.imbalance(&self.now).abs() / self.cell.total();
        self.result.mass_residual = self.result.mass_residual.max(imbalance);
    }

    /// Pockets that were not known yet.
    pub fn cut_off(&self, now: &State) -> Vec<Vec<u32>> {
        let matrix = self.solver.matrix(self.cell.top());
        let mut found = trapped(&self.cell, &self.stage, matrix, now);
        found.retain(|list| !list.iter().any(|&v| self.known[v as usize]));
        found
    }

    /// Volume of dry vertices, m2.
    pub fn dry(&self, now: &State, pockets: &[Vec<u32>]) -> f64 {
        pockets.iter().map(|list| dry_part(&self.cell, &self.stage, now, list).1).sum()
    }

    /// Keeps pockets of the present state, and lets them stay or drain.
    pub fn keep(&mut self, pockets: &[Vec<u32>], time: f64) {
        let heights = self.heights(&self.fill());
        for vertices in pockets {
            let (area, volume, place) = dry_part(&self.cell, &self.stage, &self.now, vertices);
            let rim = outlines(&self.cell, &heights, vertices);
            self.result.pockets.push(Pocket {
                rim,
                place,
                area_m2: area,
                volume_m3: volume * self.cell.space.reference_gap,
                time_s: time,
                impulse_m2: self.now.impulse,
                vertices: vertices.clone(),
            });
        }
        if self.rule == CutOff::Vented {
            pockets.iter().flatten().for_each(|&v| self.known[v as usize] = true);
            return;
        }
        self.stage = self.stage.pinned(&self.cell, &mut self.solver, &self.now, pockets);
        let wet = self.now.wet.clone();
        let rise = std::mem::take(&mut self.now.rise);
        let conductance = self.now.conductance;
        self.now = State { rise, conductance, ..self.stage.start(wet) };
    }

    /// Keeps the present state.
    pub fn snapshot(&mut self, readings: Readings, watch: &(dyn Fn(Progress) + Sync)) {
        let (now, cell) = (&self.now, &self.cell);
        let b0 = cell.space.reference_gap;
        let fill = self.fill();
        self.result.snapshots.push(Moment {
            time_s: readings.time,
            impulse_m2: now.impulse,
            inlet_pressure_pa: readings.inlet,
            wet_area_m2: fill.iter().zip(&cell.areas).map(|(f, a)| f * a).sum(),
            wet_volume_m3: b0 * now.content.iter().sum::<f64>(),
            inflow_m3: b0 * now.inflow,
            outflow_m3: b0 * now.outflow,
            conductance: now.conductance,
            pressure: readings.pressure,
            front: front::lines(cell, &self.heights(&fill)),
            fill,
        });
        let wet = self.now.content.iter().sum::<f64>() / self.cell.total();
        watch(Progress { taken: self.result.snapshots.len(), wet });
    }

    /// Whether nothing is left that could be wet.
    pub fn is_full(&self) -> bool {
        let (cell, dead) = (&self.cell, &self.stage.dead);
        let done =
            |v: usize| self.now.wet[v] || cell.source[v] || cell.outlet[v] || dead.get(v).is_some_and(|dead| *dead);
        (0..self.now.wet.len()).all(done)
    }

    /// All that was kept; `time` from impulse and inflow.
    pub fn finish(mut self, time: impl Fn(f64, f64) -> f64) -> Filling {
        let (cell, impulses) = (&self.cell, &self.arrivals.impulse);
        let arrival: Vec<f64> = impulses.iter().map(|&at| time(at, self.arrivals.inflow(at))).collect();
        let place = |vertex: u32| LatePlace {
            vertex,
            at: cell.space.mesh.points[vertex as usize],
            time_s: arrival[vertex as usize],
            impulse_m2: impulses[vertex as usize],
        };
        let maxima = local_maxima(impulses, self.solver.matrix(cell.top()));
        let inner = maxima.into_iter().filter(|&v| !cell.outlet[v as usize] && !cell.source[v as usize]);
        self.result.latest = inner.take(LATEST).map(place).collect();
        self.result.welds = welds(cell, impulses, &self.arrivals.sure);
        self.result.full = self.is_full();
        self.result.work = self.solver.work;
        self.result.arrival = arrival;
        self.result
    }

    fn heights(&self, fill: &[f64]) -> Vec<f64> {
        let now = &self.now;
        let wet: Vec<bool> = now.wet.iter().zip(&self.cell.source).map(|(a, b)| *a || *b).collect();
        let w: Vec<f64> = self.stage.before.iter().zip(&now.w).map(|(a, b)| a + b).collect();
        front::heights(&self.cell, self.solver.matrix(self.cell.top()), &wet, &w, fill)
    }

    fn fill(&self) -> Vec<f64> {
        self.now.content.iter().zip(self.cell.finest()).map(|(has, room)| has / room).collect()
    }
}
