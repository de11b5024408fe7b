//! The outline of an obstacle walked by its length.

use super::span::extremes;
use super::{Piece, Plan, Side, Wall};
use crate::base::Point;
use crate::base::plane::{Vector, left, length};

/// Steps in which a place is found by its length; Newton's need some four.
const STEPS: usize = 60;

/// An outline by its length: of a free obstacle from its foremost point (that of least x; of several the lowest) over its upper side and
/// back, of one that stands on a side wall from its upstream foot to its downstream one.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pieces: Vec<Piece>,
    /// Length up to the end of each piece, m.
    ends: Vec<f64>,
    /// Whether the fluid is on the left.
    fluid_on_left: bool,
}

impl Plan {
    /// The way along the outline of an obstacle; none if the plan has no such outline.
    pub fn way_along(&self, obstacle: u32) -> Option<Way> {
        let own = |piece: &Piece| piece.side == Side::Obstacle(obstacle);
        let mut pieces: Vec<Piece> = Vec::new();
        for range in &self.loops {
            pieces.extend(self.pieces[range.clone()].iter().filter(|piece| own(piece)).cloned());
        }
        let wall = self.obstacles.get(obstacle as usize)?.on_wall;
        match wall {
            None => pieces = from_front(pieces),
            Some(Wall::Lower) => {}
            Some(Wall::Upper) => {
                pieces.reverse();
                pieces.iter_mut().for_each(|piece| std::mem::swap(&mut piece.from, &mut piece.to));
            }
        }
        let mut end = 0.0;
        let ends: Vec<f64> = pieces
            .iter()
            .map(|piece| {
                end += piece.length();
                end
            })
            .collect();
        (end > 0.0).then_some(Way { pieces, ends, fluid_on_left: wall != Some(Wall::Upper) })
    }
}

/// A closed chain of pieces, so that it starts at its place of least x.
fn from_front(pieces: Vec<Piece>) -> Vec<Piece> {
    let places = |(k, piece): (usize, &Piece)| {
        let (a, b) = (piece.from.min(piece.to), piece.from.max(piece.to));
        let inner = extremes(&piece.curve, 0).into_iter().filter(move |t| a < *t && *t < b);
        inner.chain([piece.from]).map(|t| (piece.curve.point(t), k, t)).collect::<Vec<(Point, usize, f64)>>()
    };
    let first = pieces.iter().enumerate().flat_map(places);
    let Some((_, k, t)) = first.min_by(|(p, ..), (q, ..)| p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1]))) else {
        return pieces;
    };
    let cut = pieces[k].clone();
    let rest = pieces[k + 1..].iter().chain(&pieces[..k]).cloned();
    let start = Piece { from: t, ..cut.clone() };
    let end = (t != cut.from).then_some(Piece { to: t, ..cut });
    std::iter::once(start).chain(rest).chain(end).collect()
}

impl Way {
    /// Its whole length, m.
    pub fn length(&self) -> f64 {
        self.ends.last().copied().unwrap_or(0.0)
    }

    /// The place a length along it, m, and the direction square to it into the fluid, of length one; before the start and behind the end those
    /// of the ends. At a corner the direction is that of the side that begins there.
    pub fn at(&self, s: f64) -> (Point, Vector) {
        let k = self.ends.partition_point(|end| *end <= s).min(self.pieces.len() - 1);
        let piece = &self.pieces[k];
        let before = if k == 0 { 0.0 } else { self.ends[k - 1] };
        let part = part_of(piece, (s - before).max(0.0), self.ends[k] - before);
        let along = piece.direction(part);
        let into = if self.fluid_on_left { left(along) } else { left(along).map(|x| -x) };
        (piece.point(part), into)
    }
}

/// The fraction of a piece's parameter at a length along it; the piece is `whole` long.
fn part_of(piece: &Piece, wanted: f64, whole: f64) -> f64 {
    let mut part = (wanted / whole).clamp(0.0, 1.0);
    if piece.curve.is_straight() || part == 0.0 || part == 1.0 {
        return part;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..STEPS {
        let done = Piece { to: piece.parameter(part), ..piece.clone() }.length();
        let missing = wanted - done;
        if missing.abs() <= 1e-13 * whole {
            break;
        }
        if missing > 0.0 {
            low = part
        } else {
            high = part
        }
        let speed = length(piece.curve.derivative(piece.parameter(part))) * (piece.to - piece.from).abs();
        let next = part + missing / speed;
        part = if low < next && next < high { next } else { 0.5 * (low + high) };
    }
    part
}
