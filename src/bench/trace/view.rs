//! What a picture shows of the cell: the box of pixels that holds the fluid, and a coarse grid of places on it.
//!
//! The map of every pixel would take longer than all the rest; every sixteenth in rows and columns is enough to know
//! which parts of the picture may hold lines, which way they should run there and how the map turns directions.

use super::along::Along;
use crate::base::Point;
use crate::base::plane::{self, Vector};
use crate::bench::lines::IdealAt;
use crate::bench::lines::SLOW;
use crate::bench::photo::Calibration;
use crate::bench::photo::Pixel;
use crate::input::measured::Photo;
use crate::theory::edge_layer::Margin;
use rayon::prelude::*;

/// Pixels between nodes.
pub const STEP: usize = 16;

/// A part of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    /// Its first pixel: column and row.
    pub from: [usize; 2],
    /// Pixels from left to right.
    pub width: usize,
    /// Pixels from top to bottom.
    pub height: usize,
}

/// A place of the ideal pattern that may hold a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Open {
    /// The pattern there.
    pub ideal: IdealAt,
    /// Its potential, m.
    pub phi: f64,
    /// Distance from the nearest solid, m.
    pub clearance: f64,
}

/// A node of the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// The place it shows, m.
    pub place: Point,
    /// The pattern there, if lines may be sought there.
    pub open: Option<Open>,
}

/// The part of the picture with fluid and its grid.
#[derive(Debug)]
pub struct View<'a> {
    /// The map.
    pub calibration: &'a Calibration,
    /// The pattern.
    pub along: &'a Along<'a>,
    /// How far lines keep from solids.
    pub margin: Margin,
    /// The box.
    pub area: Area,
    /// Nodes of a row.
    pub columns: usize,
    nodes: Vec<Option<Node>>,
}

impl<'a> View<'a> {
    /// The view of a picture; none if it shows no fluid.
    pub fn new(photo: &Photo, calibration: &'a Calibration, along: &'a Along<'a>, margin: Margin) -> Option<View<'a>> {
        let mesh = &along.ideal.space().mesh;
        let rim = mesh.boundary.iter().filter_map(|edge| calibration.pixel(mesh.points[edge.vertices[0] as usize]));
        let rect = plane::Rect::of(rim.filter(|pixel| pixel.iter().all(|value| value.is_finite())));
        let [size_x, size_y] = photo.size();
        let range = |low: f64, high: f64, count: usize| {
            let [low, high] = [low.floor(), high.ceil()].map(|value| value.clamp(0.0, count as f64) as usize);
            (high > low).then_some((low, high - low))
        };
        let (left, width) = range(rect.low[0], rect.high[0], size_x)?;
        let (top, height) = range(rect.low[1], rect.high[1], size_y)?;
        let area = Area { from: [left, top], width, height };
        let [columns, rows] = [width, height].map(|count| count.div_ceil(STEP) + 1);
        let mut view = View { calibration, along, margin, area, columns, nodes: Vec::new() };
        let row = |row: usize| {
            let mut hint = None;
            let node = |column: usize| {
                let place = calibration.point(view.pixel_of(column, row))?;
                let open = view.open_at(place, hint);
                hint = open.map(|open| open.ideal.triangle).or(hint);
                Some(Node { place, open })
            };
            (0..columns).map(node).collect::<Vec<_>>()
        };
        view.nodes = (0..rows).into_par_iter().map(row).collect::<Vec<_>>().concat();
        view.nodes.iter().flatten().any(|node| node.open.is_some()).then_some(view)
    }

    /// The pattern at a place where lines may be sought: in the fluid, beyond the margin, where the map is known, and where it is not too slow
    /// to have a direction. `hint` is a triangle nearby.
    pub fn open_at(&self, place: Point, hint: Option<u32>) -> Option<Open> {
        if !self.calibration.is_known_at(place) {
            return None;
        }
        let space = self.along.ideal.space();
        let ideal = self.along.ideal.at(place, hint)?;
        let corners = space.mesh.triangles[ideal.triangle as usize];
        let of = |field: &[f64]| (0..3).map(|k| ideal.weights[k] * field[corners[k] as usize]).sum::<f64>();
        let clearance = of(space.wall_distance());
        let is_open = !self.margin.holds(clearance, of(&space.gap)) && plane::length(ideal.slope) > SLOW;
        is_open.then(|| Open { ideal, phi: self.along.phi(place, &ideal), clearance })
    }

    /// Rows and nodes of a row.
    pub fn rows(&self) -> usize {
        self.nodes.len() / self.columns
    }

    /// The pixel of a node.
    pub fn pixel_of(&self, column: usize, row: usize) -> Pixel {
        [self.area.from[0] as f64 + (column * STEP) as f64, self.area.from[1] as f64 + (row * STEP) as f64]
    }

    /// A node.
    pub fn node(&self, column: usize, row: usize) -> Option<&Node> {
        self.nodes.get(row * self.columns + column).and_then(Option::as_ref)
    }

    /// The nodes where lines may be, row by row, with their pixels.
    pub fn open_nodes(&self) -> impl Iterator<Item = (Pixel, &Node, Open)> {
        self.nodes.iter().enumerate().filter_map(|(k, node)| {
            let node = node.as_ref()?;
            Some((self.pixel_of(k % self.columns, k / self.columns), node, node.open?))
        })
    }

    /// The four nodes about a pixel of the box.
    pub fn corners(&self, x: usize, y: usize) -> [Option<&Node>; 4] {
        let (column, row) = (x / STEP, y / STEP);
        [(0, 0), (1, 0), (0, 1), (1, 1)].map(|(dx, dy)| self.node(column + dx, row + dy))
    }

    /// Whether lines may be all about a pixel of the box.
    pub fn is_open(&self, x: usize, y: usize) -> bool {
        self.corners(x, y).iter().all(|node| node.is_some_and(|node| node.open.is_some()))
    }

    /// What a step of one pixel rightwards and one downwards is in the cell, m, near a pixel of the box.
    pub fn steps(&self, x: usize, y: usize) -> Option<[Vector; 2]> {
        let [Some(a), Some(b), Some(c), _] = self.corners(x, y) else { return None };
        let of = |other: &Node| plane::way(a.place, other.place).map(|length| length / STEP as f64);
        Some([of(b), of(c)])
    }

    /// Whether a place is in the picture and open.
    pub fn shows(&self, place: Point, hint: Option<u32>) -> bool {
        let inside = self.calibration.pixel(place).is_some_and(|pixel| {
            let at = [0, 1].map(|k| pixel[k] - self.area.from[k] as f64);
            at[0] >= 0.0 && at[1] >= 0.0 && at[0] < self.area.width as f64 && at[1] < self.area.height as f64
        });
        inside && self.open_at(place, hint).is_some()
    }
}
