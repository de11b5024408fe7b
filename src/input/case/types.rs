//! The content of a case, in SI units and radians.

use super::{
    Cell, CompareSettings, Drive, DriveQuantity, FillingSettings, Fluid, FreeBubble, Gap, InputFile, Line,
    PhotoSettings, RigSettings, Shape, StreaklineSettings, Sweep, Uncertainty,
};
use crate::base::Point;
use crate::geometry::{Rim, TailChoice, Wall};
use std::ops::Range;
use std::path::PathBuf;

/// A case as read from its file: lengths in m, angles in rad, everything else SI.
#[derive(Debug, Clone)]
pub struct Case {
    /// What the user calls it.
    pub title: String,
    /// The case file.
    pub file: PathBuf,
    /// The text of the case file.
    pub text: String,
    /// SHA-256 of that text, in hexadecimal.
    pub sha256: String,
    /// The files it names that were read: the table of gaps, then drawings, pictures and lists in the order of the obstacles; those of
    /// obstacles stand here once the plan has been made by [`crate::input::read`].
    pub inputs: Vec<InputFile>,
    /// The cell between the plates.
    pub cell: Cell,
    /// The fluid in it.
    pub fluid: Fluid,
    /// What drives the flow.
    pub drive: Drive,
    /// The obstacles, in the order of the file.
    pub obstacles: Vec<Obstacle>,
    /// Places at which the user wants numbers.
    pub probes: Vec<Probe>,
    /// Lines along which the user wants numbers.
    pub lines: Vec<Line>,
    /// Mesh settings.
    pub mesh: MeshSettings,
    /// Streakline settings.
    pub streaklines: StreaklineSettings,
    /// How far the inertia series goes.
    pub inertia: InertiaSettings,
    /// What departure the user can live with.
    pub tolerance: Tolerance,
    /// Fluid nearer than this to a solid edge is left out of the departure measures, m, if the case says so.
    pub edge_band: Option<f64>,
    /// Values of one quantity to run through.
    pub sweep: Option<Sweep>,
    /// What the rig is made of.
    pub rig: RigSettings,
    /// How the dry cell is filled.
    pub filling: FillingSettings,
    /// Bubbles that drift with the flow.
    pub bubbles: Vec<FreeBubble>,
    /// The photograph of the cell.
    pub photo: Option<PhotoSettings>,
    /// How measurements are compared with theory.
    pub compare: CompareSettings,
    /// How well values of it are known.
    pub uncertainty: Vec<Uncertainty>,
}

impl Case {
    /// The same case in the unit state: a mean speed of 1 m/s of a fluid of 1 kg/m3 and 1 Pa s. What is solved in it follows by powers at any
    /// drive and for any fluid.
    pub fn in_unit_state(&self) -> Case {
        Case { fluid: Fluid::unit(), ..self.at_mean_speed(1.0) }
    }

    /// The same case at a mean speed, m/s.
    pub fn at_mean_speed(&self, speed: f64) -> Case {
        Case { drive: Drive { quantity: DriveQuantity::MeanSpeed(speed), ..self.drive }, ..self.clone() }
    }

    /// The same case in another gap.
    pub fn in_gap(&self, gap: Gap) -> Case {
        Case { cell: Cell { gap, ..self.cell.clone() }, ..self.clone() }
    }
}

/// How far the series of the inertia departure goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InertiaSettings {
    /// Its order in Re*.
    pub order: Order,
    /// How far the edge layer's inertia goes.
    pub edge_term: EdgeTerm,
}

/// How far the edge layer's inertia goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeTerm {
    /// Its leading term.
    Leading,
    /// Its next term in b/L as well.
    Next,
    /// The leading term times a factor that is fitted to round posts.
    Factor,
}

impl Default for InertiaSettings {
    fn default() -> Self {
        InertiaSettings { order: Order::Second, edge_term: EdgeTerm::Next }
    }
}

/// An order of the series in Re*.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Order {
    /// V0 + V1.
    First,
    /// V0 + V1 + V2.
    Second,
}

impl Order {
    /// It as a number.
    pub fn number(self) -> usize {
        match self {
            Order::First => 1,
            Order::Second => 2,
        }
    }
}

/// An obstacle as the case file describes it.
#[derive(Debug, Clone)]
pub struct Obstacle {
    /// Its name; "obstacle N" if the file gives none.
    pub name: String,
    /// Its shape.
    pub shape: Shape,
    /// The side wall it may touch.
    pub on_wall: Option<Wall>,
    /// Which of its corners is its tail.
    pub tail: TailChoice,
    /// Its rim, if it is a bubble that is held between the plates.
    pub bubble: Option<Rim>,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}

/// A place at which the user wants numbers.
#[derive(Debug, Clone)]
pub struct Probe {
    /// Its name.
    pub name: String,
    /// Where, m.
    pub at: Point,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}

/// Mesh settings.
#[derive(Debug, Clone)]
pub struct MeshSettings {
    /// Wanted relative half-width of the conductance bracket.
    pub error: f64,
    /// Most triangles allowed.
    pub max_triangles: usize,
    /// Largest edge the user allows, m.
    pub max_edge: Option<f64>,
    /// Growth of the edge length per length away from a source, 0.05 to 1.
    pub growth: f64,
}

/// What departure the user can live with.
#[derive(Debug, Clone)]
pub struct Tolerance {
    /// Speed, fraction of the mean speed.
    pub speed: f64,
    /// Direction, rad.
    pub direction: f64,
    /// Streakline shift, m.
    pub shift: f64,
    /// Share of the observed area that may be beyond.
    pub share: f64,
    /// Which of the three are those of the program, not of the case.
    pub usual: UsualTolerances,
}

impl Default for Tolerance {
    /// 2 % of the mean speed, a degree, half a millimetre, over all but a hundredth of the area: what a careful eye sees in a picture,
    /// common practice.
    fn default() -> Self {
        Tolerance {
            speed: 0.02,
            direction: 1f64.to_radians(),
            shift: 0.5e-3,
            share: 0.01,
            usual: UsualTolerances { speed: true, direction: true, shift: true },
        }
    }
}

/// Whether tolerances are the usual ones, not of the case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct UsualTolerances {
    /// That of the speed.
    pub speed: bool,
    /// That of the direction.
    pub direction: bool,
    /// That of the shift.
    pub shift: bool,
}
