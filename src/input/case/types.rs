//! The content of a case, in SI units and radians.

use super::{
    Bow, CellShape, CompareSettings, Drive, FillingSettings, Fluid, FreeBubble, GapTable, InputFile, Line,
    PhotoSettings, RigSettings, StreaklineSettings, Sweep,
};
use crate::base::Point;
use crate::base::plane::Rect;
use crate::base::units::LengthUnit;
use crate::geometry::{Rim, TailChoice, Wall};
use std::ops::Range;
use std::path::PathBuf;
use std::sync::Arc;

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

/// The cell between the plates.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Its boundary.
    pub shape: CellShape,
    /// Gap between the inner faces of the plates.
    pub gap: Gap,
    /// The unit its length was given in: that of places in messages.
    pub unit: LengthUnit,
}

impl Cell {
    /// Width of the inlet, m: mean speeds are over it.
    pub fn inlet_width(&self) -> f64 {
        self.shape.inlet_width()
    }

    /// The box round the cell: what a drawing shows and plates cover.
    pub fn bounds(&self) -> Rect {
        self.shape.bounds()
    }

    /// Length and width of that box, m.
    pub fn size(&self) -> [f64; 2] {
        self.bounds().size()
    }

    /// The middle of that box: the place that the one gap of a cell is that of.
    pub fn middle(&self) -> Point {
        self.bounds().middle()
    }

    /// The gap at that middle, m.
    pub fn middle_gap(&self) -> f64 {
        self.gap.at(self.middle())
    }

    /// Length and width, m, of the straight channel as wide as the inlet that resists as much as the empty cell is estimated to: a
    /// rectangle itself.
    pub fn like_channel(&self) -> [f64; 2] {
        match self.shape.rectangle() {
            Some(sides) => sides,
            None => [self.shape.squares() * self.inlet_width(), self.inlet_width()],
        }
    }

    /// Length of a channel as wide as the inlet that holds as much, m: at the mean speed fluid stays so long on average. That of a rectangle
    /// itself.
    pub fn mean_way(&self) -> f64 {
        match self.shape.rectangle() {
            Some([length, _]) => length,
            None => self.area() / self.inlet_width(),
        }
    }

    /// Area of the empty cell, m2.
    pub fn area(&self) -> f64 {
        self.shape.area()
    }

    /// Both ends and the middle of the inlet.
    pub fn inlet_places(&self) -> Vec<Point> {
        self.shape.inlet_places()
    }

    /// Places nearer than this to an edge of the fluid belong to it, m: a billionth of the inlet's width.
    pub fn edge(&self) -> f64 {
        1e-9 * self.inlet_width()
    }
}

/// The gap b(x, y) between the inner faces of the plates.
///
/// The finite elements take b at the vertices and linear between them; the guaranteed bounds hold for that gap, which differs
/// from this one by the square of the triangles' size (not at all if it is uniform or linear).
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// The same everywhere, m.
    Uniform(f64),
    /// b = at + slope . (place - middle).
    Linear {
        /// Gap at the middle of the cell, m.
        at: f64,
        /// Change per length along x and y, dimensionless.
        slope: [f64; 2],
        /// The middle of the cell, m.
        middle: Point,
    },
    /// Plates bowed apart by the pressure between them.
    Bowed(Bow),
    /// A smooth surface through measured gaps.
    Table(Arc<GapTable>),
}

impl Gap {
    /// The gap at a place, m; not a number outside the places of a table, which a cell never is.
    pub fn at(&self, place: Point) -> f64 {
        match self {
            Gap::Uniform(b) => *b,
            Gap::Linear { at, slope, middle } => {
                at + slope[0] * (place[0] - middle[0]) + slope[1] * (place[1] - middle[1])
            }
            Gap::Bowed(bow) => bow.gap(place).0,
            Gap::Table(table) => table.gap(place).map_or(f64::NAN, |(b, _)| b),
        }
    }

    /// The gradient of the gap at a place, dimensionless; not a number where the gap is not.
    pub fn gradient(&self, place: Point) -> [f64; 2] {
        match self {
            Gap::Uniform(_) => [0.0, 0.0],
            Gap::Linear { slope, .. } => *slope,
            Gap::Bowed(bow) => bow.gap(place).1,
            Gap::Table(table) => table.gap(place).map_or([f64::NAN; 2], |(_, slope)| slope),
        }
    }

    /// Whether the gap is the same everywhere.
    pub fn is_uniform(&self) -> bool {
        match self {
            Gap::Uniform(_) => true,
            Gap::Linear { slope, .. } => *slope == [0.0, 0.0],
            Gap::Bowed(bow) => bow.deflection() == 0.0,
            Gap::Table(table) => {
                let [least, largest] = table.range();
                least == largest
            }
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

/// A shape with its parameters: lengths in m, angles in rad, nose-up positive for sections, counter-clockwise otherwise.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A round post.
    Circle {
        /// Centre.
        centre: Point,
        /// Diameter.
        diameter: f64,
    },
    /// An ellipse.
    Ellipse {
        /// Centre.
        centre: Point,
        /// Semi-axes along its own x and y.
        semi_axes: [f64; 2],
        /// Rotation, counter-clockwise.
        angle: f64,
    },
    /// Straight sides.
    Polygon {
        /// Corners in either orientation.
        points: Vec<Point>,
    },
    /// A polygon of equal sides and angles, one side below and along x before turning.
    RegularPolygon {
        /// Number of sides, 3 to 1000.
        sides: usize,
        /// Centre of the circle through the corners.
        centre: Point,
        /// Extent along x before turning.
        width: f64,
        /// Rotation, counter-clockwise.
        angle: f64,
    },
    /// Points in the cell, joined by straight sides or by a periodic cubic spline.
    OutlinePoints {
        /// The points.
        points: Vec<Point>,
        /// Spline instead of straight sides.
        smooth: bool,
    },
    /// An outline from a file.
    OutlineFile {
        /// The file, relative to the case file's folder or absolute.
        file: PathBuf,
        /// How it comes into the cell.
        placing: Placing,
        /// What to take from the file, and how.
        reading: ReadOptions,
    },
    /// A section of the four-digit family.
    FourDigit {
        /// Largest camber, fraction of the chord.
        camber: f64,
        /// Its place, fraction of the chord.
        camber_place: f64,
        /// Largest thickness, fraction of the chord.
        thickness: f64,
        /// Chord.
        chord: f64,
        /// The nose.
        nose: Point,
        /// Incidence, nose-up positive.
        angle: f64,
        /// Tail closed to an edge.
        closed_tail: bool,
    },
    /// A section from the Joukowski map.
    Joukowski {
        /// Chord.
        chord: f64,
        /// Largest thickness, fraction of the chord.
        thickness: f64,
        /// Largest camber, fraction of the chord.
        camber: f64,
        /// The nose.
        nose: Point,
        /// Incidence, nose-up positive.
        angle: f64,
    },
    /// A round nose tapering to a pointed tail.
    Teardrop {
        /// Length.
        length: f64,
        /// Largest diameter.
        diameter: f64,
        /// The nose.
        nose: Point,
        /// Incidence, nose-up positive.
        angle: f64,
    },
}

/// How an outline comes from its file into the cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Placing {
    /// True to size where it is drawn: the lower left corner of the page (of a picture; in DXF and lists the origin) is that of the cell,
    /// y points up.
    AsDrawn,
    /// Scaled, mirrored, turned and moved.
    Centred {
        /// Where the centre of the bounding box of what is taken goes.
        centre: Point,
        /// Size it is scaled to.
        size: OutlineSize,
        /// Rotation, counter-clockwise.
        angle: f64,
        /// Mirrored left to right before turning.
        mirror: bool,
    },
}

/// The size an outline file is scaled to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OutlineSize {
    /// Extent along x before turning, m.
    Width(f64),
    /// Extent along y before turning, m.
    Height(f64),
    /// True to the size in the file, whose unit must be known.
    Stated,
}

/// What to take from an outline file, and how to read it.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadOptions {
    /// Only what has this id: of an SVG element or one of its groups; in DXF the name of a block or the handle of an entity.
    pub id: Option<String>,
    /// Only what stands on this layer: in SVG a group by its label or id.
    pub layer: Option<String>,
    /// Every outline becomes an obstacle of its own, instead of the largest one alone.
    pub every: bool,
    /// A periodic spline through the corners of outlines that have only straight sides.
    pub smooth: bool,
    /// What is repaired and what gap is closed, as a fraction of the size of the outline.
    pub tolerance: f64,
    /// Metres per unit of the file's coordinates; overrides a unit the file states.
    pub unit: Option<f64>,
    /// How silhouettes are found in pictures.
    pub picture: PictureOptions,
}

/// How silhouettes are found in pictures.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PictureOptions {
    /// The luminance (or opacity) of the edge, 0 to 1; half way between the two tones if none.
    pub threshold: Option<f64>,
    /// Which tone the obstacle has; the one the border of the picture has not, if none.
    pub tone: Option<Tone>,
    /// Two places in pixels from the upper left corner, x to the right, y down.
    pub marks: Option<[Point; 2]>,
    /// How far apart the two places are, m.
    pub marks_apart: Option<f64>,
    /// Largest deviation of the smooth outline from the half-tone line, pixels; a tenth, more in a noisy picture, if none.
    pub deviation: Option<f64>,
}

/// The tone of an obstacle in a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Darker than its ground.
    Dark,
    /// Lighter than its ground.
    Light,
}

impl Default for ReadOptions {
    fn default() -> Self {
        ReadOptions {
            id: None,
            layer: None,
            every: false,
            smooth: false,
            tolerance: 1e-6,
            unit: None,
            picture: PictureOptions::default(),
        }
    }
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
