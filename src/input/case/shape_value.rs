//! The shapes that an obstacle or a cell may have, as the case gives them.

use crate::base::Point;
use std::path::PathBuf;

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
