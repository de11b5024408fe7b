//! What a filling gives.

use crate::base::Point;

/// The cell at one time.
#[derive(Debug, Clone)]
pub struct Moment {
    /// Time since the start, s.
    pub time_s: f64,
    /// Impulse `(b0²/12 μ) ∫ (p_in − p_front) dt`, m2; with a front pressure that varies, its least value stands for `p_front`.
    pub impulse_m2: f64,
    /// Pressure at the source, Pa above the air.
    pub inlet_pressure_pa: f64,
    /// Wet area, m2.
    pub wet_area_m2: f64,
    /// Liquid in the cell, m3.
    pub wet_volume_m3: f64,
    /// Liquid that has come in, m3.
    pub inflow_m3: f64,
    /// Liquid that has left by the outlet, m3.
    pub outflow_m3: f64,
    /// Flow over `(b0³/12 μ)(p_in − p_front)`, as the wet vertices have it: exact on average, off by a triangle's side over the length of the
    /// wet region at any one time.
    pub conductance: f64,
    /// Fill of every vertex, 0 dry and 1 wet. Not clipped: where triangles are obtuse it may be below zero by some 1e-3.
    pub fill: Vec<f64>,
    /// Reduced pressure at every vertex, Pa above the air; that of the front where dry.
    pub pressure: Vec<f64>,
    /// The front, line by line, m; a line that closes ends where it starts.
    pub front: Vec<Vec<Point>>,
}

/// Air that is cut off.
#[derive(Debug, Clone)]
pub struct Pocket {
    /// Its outlines, line by line, m: closed ones end where they start, others on solids.
    pub rim: Vec<Vec<Point>>,
    /// Its centroid, m.
    pub place: Point,
    /// Its area when cut off, m2.
    pub area_m2: f64,
    /// Its volume when cut off, m3.
    pub volume_m3: f64,
    /// When, s.
    pub time_s: f64,
    /// The impulse then, m2.
    pub impulse_m2: f64,
    /// Its dry vertices then, ascending.
    pub vertices: Vec<u32>,
}

/// A place that fills late: where air would be caught, and where a vent would let it out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LatePlace {
    /// Its vertex.
    pub vertex: u32,
    /// Where, m.
    pub at: Point,
    /// When the front comes there, s.
    pub time_s: f64,
    /// The impulse then, m2.
    pub impulse_m2: f64,
}

/// What was computed to get there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Linear systems solved on the finest level.
    pub solves: usize,
    /// Multigrid cycles on the finest level.
    pub cycles: usize,
    /// Factorisations of the coarsest level.
    pub factorisations: usize,
}

/// How a dry cell fills.
#[derive(Debug, Clone)]
pub struct Filling {
    /// The snapshots, ascending in time.
    pub snapshots: Vec<Moment>,
    /// Time at which the front comes to each vertex, s; zero at the source, not a number where it never comes.
    pub arrival: Vec<f64>,
    /// Pockets of air, in the order in which they were cut off.
    pub pockets: Vec<Pocket>,
    /// Middles of the mesh edges along which two fronts meet, m.
    pub welds: Vec<Point>,
    /// Latest local maxima of the arrival off the outlet, at most three, the latest first: where a vent helps.
    pub latest: Vec<LatePlace>,
    /// Largest imbalance of liquid over the volume of the cell.
    pub mass_residual: f64,
    /// Largest miss of the moment identity, relative; none where it does not hold (front pressure that varies, after a pinned pocket).
    pub moment_residual: Option<f64>,
    /// Whether all that can be wet is wet at the last snapshot.
    pub full: bool,
    /// What it took.
    pub work: Work,
}
