//! The cell seen from above: its boundary, and the few lengths that follow from it.

use super::{Gap, OutlinedCell};
use crate::base::Point;
use crate::base::plane::Rect;
use crate::base::units::LengthUnit;
use crate::geometry::channel::rectangle;
use crate::geometry::measure::area_of;
use crate::geometry::span::Extent;
use crate::geometry::{Bend, Contraction, Piece, Side};

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

/// The boundary of a cell before anything stands in it.
#[derive(Debug, Clone, PartialEq)]
pub enum CellShape {
    /// A rectangle, its lower left corner at the origin; the inlet on the left, the outlet on the right.
    Rectangle {
        /// Length along the flow, m.
        length: f64,
        /// Width across the flow, m.
        width: f64,
    },
    /// Two channels of different widths in line.
    Contraction(Contraction),
    /// Two channels at a right angle.
    Bend(Bend),
    /// Any outline, with ends marked on it.
    Outlined(Box<OutlinedCell>),
}

/// Corner of a right-angled bend of equal widths, in squares of the straight channel: 1 − (2/π) ln 2 (conformal map, Schwarz and Christoffel).
const BEND_SQUARES: f64 = 0.558_728_799_7;
/// Parts of a contraction whose resistances are added.
const PARTS: usize = 64;

impl CellShape {
    /// The boundary: from the start of the lower wall to the outlet, the outlet, the upper wall back, the inlet; the fluid on the left.
    pub fn boundary(&self) -> Vec<Piece> {
        match self {
            CellShape::Rectangle { length, width } => rectangle(*length, *width),
            CellShape::Contraction(contraction) => contraction.boundary(),
            CellShape::Bend(bend) => bend.boundary(),
            CellShape::Outlined(cell) => cell.boundary.clone(),
        }
    }

    /// What it is called.
    pub fn name(&self) -> &'static str {
        match self {
            CellShape::Rectangle { .. } => "rectangle",
            CellShape::Contraction(cell) if cell.width_out > cell.width_in => "widening",
            CellShape::Contraction(_) => "contraction",
            CellShape::Bend(_) => "bend",
            CellShape::Outlined(_) => "outline",
        }
    }

    /// Whether the boundary is known: one that is drawn is once its outline has been read.
    pub fn is_known(&self) -> bool {
        !matches!(self, CellShape::Outlined(cell) if cell.boundary.is_empty())
    }

    /// Length and width of a rectangle; none for other shapes.
    pub fn rectangle(&self) -> Option<[f64; 2]> {
        match *self {
            CellShape::Rectangle { length, width } => Some([length, width]),
            _ => None,
        }
    }

    /// Width of the inlet, m. Mean speeds are the flow over this width times the gap there.
    pub fn inlet_width(&self) -> f64 {
        match self {
            CellShape::Rectangle { width, .. } => *width,
            CellShape::Contraction(contraction) => contraction.width_in,
            CellShape::Bend(bend) => bend.width_in,
            CellShape::Outlined(cell) => cell.length_of(Side::Inlet),
        }
    }

    /// Width of the outlet, m.
    pub fn outlet_width(&self) -> f64 {
        match self {
            CellShape::Rectangle { width, .. } => *width,
            CellShape::Contraction(contraction) => contraction.width_out,
            CellShape::Bend(bend) => bend.width_out,
            CellShape::Outlined(cell) => cell.length_of(Side::Outlet),
        }
    }

    /// The box round the cell.
    pub fn bounds(&self) -> Rect {
        if let CellShape::Rectangle { length, width } = *self {
            return Rect { low: [0.0; 2], high: [length, width] };
        }
        let boundary = self.boundary();
        let parts = boundary.iter().map(|piece| (&piece.curve, piece.from, piece.to));
        Extent::of(parts).map_or(Rect { low: [0.0; 2], high: [0.0; 2] }, |extent| extent.rect())
    }

    /// The resistance of the empty cell in squares of a channel, taken as one-dimensional: the integral of ds over the width, with the
    /// corner of a bend as that of equal widths. Exact for a rectangle; what a step adds, up to a square or so, is left out. Of a drawn
    /// outline no more than that of a channel of its area as wide as its ends are on average, a guess.
    pub fn squares(&self) -> f64 {
        match self {
            CellShape::Rectangle { length, width } => length / width,
            CellShape::Contraction(cell) => {
                let part = |k: usize| cell.width_at((k as f64 + 0.5) / PARTS as f64).recip();
                let change = cell.length * (0..PARTS).map(part).sum::<f64>() / PARTS as f64;
                cell.length_in / cell.width_in + change + cell.length_out / cell.width_out
            }
            CellShape::Bend(cell) => cell.length_in / cell.width_in + BEND_SQUARES + cell.length_out / cell.width_out,
            CellShape::Outlined(_) => self.area() / (0.5 * (self.inlet_width() + self.outlet_width())).powi(2),
        }
    }

    /// Places on the boundary, the corners among them and curves closely, m.
    pub fn outline(&self) -> Vec<Point> {
        const CURVED: usize = 32;
        let places = |piece: Piece| {
            let count = if piece.curve.is_straight() { 1 } else { CURVED };
            (0..count).map(move |k| piece.point(k as f64 / count as f64)).collect::<Vec<_>>()
        };
        self.boundary().into_iter().flat_map(places).collect()
    }

    /// Area of the empty cell, m2.
    pub fn area(&self) -> f64 {
        match self.rectangle() {
            Some([length, width]) => length * width,
            None => area_of(self.boundary().iter().map(|piece| (&piece.curve, piece.from, piece.to))),
        }
    }

    /// Both ends and the middle of the inlet.
    pub fn inlet_places(&self) -> Vec<Point> {
        let inlet = self.boundary().into_iter().filter(|piece| piece.side == Side::Inlet);
        inlet.flat_map(|piece| [0.0, 0.5, 1.0].map(|s| piece.point(s))).collect()
    }
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
