//! Obstacles against the boundary of a cell that is no rectangle.

use super::build::{Builder, Standing};
use super::walls::EDGE;
use crate::base::Point;
use crate::base::plane::distance_to_segment;
use crate::geometry::meet::{Spans, winding};
use crate::geometry::span::spans;
use crate::geometry::{Piece, Side};
use crate::input::case::CellShape;
use std::collections::BTreeSet;

impl Builder<'_> {
    /// An obstacle that meets the boundary of a cell that is no rectangle.
    pub fn meets_edge(&mut self, k: usize, at: Point, distance: f64) {
        let side = self.nearest_side(at);
        if k == self.outlines.len() {
            let message = format!("{EDGE} meets itself near {}", self.place(at));
            self.add_edge(message, "check its shape there: it must go round once, and the fluid must pass");
            return;
        }
        let name = self.name(k);
        let message = if distance == 0.0 {
            format!("\"{name}\" reaches the {side} near {}", self.place(at))
        } else {
            format!(
                "the passage between \"{name}\" and the {side} is {:.3e} mm near {}, narrower than {:.3e} mm (1e-6 of the \
                 inlet's width)",
                1e3 * distance,
                self.place(at),
                1e3 * self.limit
            )
        };
        self.add(
            k,
            message,
            "move it into the cell: where that is no rectangle, obstacles stand clear of walls and ends",
        );
    }

    /// A mistake of the boundary itself, at its outline if it has one.
    pub fn add_edge(&mut self, message: String, remedy: &str) {
        let place = match &self.case.cell.shape {
            CellShape::Outlined(cell) => Some(cell.place.clone()),
            _ => None,
        };
        self.problems.add(&self.case.file, place, message, remedy);
    }

    /// What the boundary of the cell is called at a place.
    fn nearest_side(&self, at: Point) -> &'static str {
        let boundary = self.case.cell.shape.boundary();
        let off = |piece: &Piece| {
            spans(&piece.curve, piece.from, piece.to)
                .iter()
                .map(|s| distance_to_segment(at, s.ends))
                .fold(f64::INFINITY, f64::min)
        };
        let nearest = boundary.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        nearest.map_or("edge", |piece| match piece.side {
            Side::Inlet => "inlet",
            Side::Outlet => "outlet",
            Side::Wall(wall) => wall.name(),
            Side::Obstacle(_) => "edge",
        })
    }

    /// Obstacles that do not meet the boundary of a cell that is no rectangle stand inside it.
    pub fn check_within(&mut self, standing: &[Option<Standing>], spans: &Spans, met: &BTreeSet<(usize, usize)>) {
        let edge = standing.len();
        if spans.ranges[edge].is_empty() {
            return;
        }
        for (k, s) in standing.iter().enumerate() {
            let Some(s) = s.as_ref().filter(|_| !met.contains(&(k, edge))) else { continue };
            let at = s.extent.low[0];
            if winding(spans, edge, at) == 0 {
                let message = format!("\"{}\" stands outside the cell, near {}", self.name(k), self.place(at));
                self.add(k, message, "move it into the cell");
            }
        }
    }
}
