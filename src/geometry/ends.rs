//! The ends of a plan: how wide they are, which way they face, and the plan with its outlet further out.

use super::span::{Extent, spans};
use super::{Curve, Piece, Plan, Side, Wall};
use crate::base::Point;
use crate::base::plane::{Rect, Vector, cross, distance_to_segment, dot, left, middle, stepped, unit, way};

/// An end of a plan between its two walls, in the walking sense of the outer loop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End {
    /// Where it starts.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
    /// The way out of the cell, of length 1, square to the line between the two.
    pub outwards: Vector,
}

impl End {
    /// The middle of the line between its two walls.
    pub fn middle(&self) -> Point {
        middle(self.from, self.to)
    }
}

impl Plan {
    /// An end of the plan, if it has one in one part.
    pub fn end(&self, side: Side) -> Option<End> {
        let (outer, count) = (&self.pieces[self.loops.first()?.clone()], self.loops.first()?.len());
        let is = |k: usize| outer[k % count].side == side;
        let mut starts = (0..count).filter(|&k| is(k) && !is(k + count - 1));
        let (start, None) = (starts.next()?, starts.next()) else { return None };
        let last = (start..start + count).take_while(|&k| is(k)).last()?;
        let (from, to) = (outer[start].start(), outer[last % count].end());
        let outwards = unit(left(way(from, to)))?.map(|x| -x);
        Some(End { from, to, outwards })
    }

    /// Length of a side of the plan, m: the width of an end.
    pub fn length_of(&self, side: Side) -> f64 {
        self.pieces.iter().filter(|piece| piece.side == side).map(Piece::length).sum()
    }

    /// Whether a place lies outside the cell before or behind an end: no part of the walls or of an obstacle is as near to it.
    pub fn is_beyond_end(&self, at: Point, edge: f64) -> bool {
        if self.holds(at, edge) {
            return false;
        }
        let off = |counts: fn(Side) -> bool| {
            let own = self.pieces.iter().filter(|piece| counts(piece.side));
            let chords = own.flat_map(|piece| spans(&piece.curve, piece.from, piece.to));
            chords.map(|span| distance_to_segment(at, span.ends)).fold(f64::INFINITY, f64::min)
        };
        off(|side| matches!(side, Side::Inlet | Side::Outlet)) < off(|side| !matches!(side, Side::Inlet | Side::Outlet))
    }

    /// The box of a cell that is a rectangle but for what stands on its side walls, the inlet on its left and the outlet on its right.
    pub fn rectangle(&self) -> Option<Rect> {
        let outer = &self.pieces[self.loops.first()?.clone()];
        let own = outer.iter().filter(|piece| !matches!(piece.side, Side::Obstacle(_)));
        let rect = Extent::of(own.clone().map(|piece| (&piece.curve, piece.from, piece.to)))?.rect();
        let Rect { low, high } = rect;
        let straight = |piece: &Piece| {
            let (wanted, axis) = match piece.side {
                Side::Inlet => (low[0], 0),
                Side::Outlet => (high[0], 0),
                Side::Wall(Wall::Lower) => (low[1], 1),
                Side::Wall(Wall::Upper) => (high[1], 1),
                Side::Obstacle(_) => return true,
            };
            let near = |p: Point| (p[axis] - wanted).abs() <= 1e-9 * (high[axis] - low[axis]);
            matches!(piece.curve, Curve::Line { .. }) && near(piece.start()) && near(piece.end())
        };
        outer.iter().all(straight).then_some(rect)
    }

    /// The plan with its outlet so much further out, m: a cell that goes on as wide as it ends. As it is without an outlet in one part.
    pub fn with_outlet_moved(&self, by: f64) -> Plan {
        let (Some(end), Some(outer)) = (self.end(Side::Outlet), self.loops.first().cloned()) else {
            return self.clone();
        };
        let out = |p: Point| stepped(p, by, end.outwards);
        // a straight wall that runs on is made longer, so that it stays one piece
        let runs_on = |piece: &Piece, way: Vector| match &piece.curve {
            Curve::Line { .. } => {
                matches!(piece.side, Side::Wall(_))
                    && cross(way, end.outwards).abs() < 1e-12
                    && dot(way, end.outwards) > 0.0
            }
            _ => false,
        };
        let line =
            |from: Point, to: Point, side: Side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
        let mut pieces: Vec<Piece> = Vec::new();
        let own = &self.pieces[outer.clone()];
        for (k, piece) in own.iter().enumerate() {
            let (before, after) = (&own[(k + own.len() - 1) % own.len()], &own[(k + 1) % own.len()]);
            let is_outlet = piece.side == Side::Outlet;
            if is_outlet && before.side != Side::Outlet && !runs_on(before, before.direction(1.0)) {
                pieces.push(line(piece.start(), out(piece.start()), wall_of(before, Wall::Lower)));
            }
            let leads_out = !is_outlet && after.side == Side::Outlet && runs_on(piece, piece.direction(1.0));
            let leads_in =
                !is_outlet && before.side == Side::Outlet && runs_on(piece, piece.direction(0.0).map(|x| -x));
            pieces.push(match (is_outlet, leads_out || leads_in) {
                (true, _) => Piece { curve: piece.curve.moved(end.outwards.map(|x| by * x)), ..piece.clone() },
                (false, true) => {
                    let from = if leads_in { out(piece.start()) } else { piece.start() };
                    line(from, if leads_out { out(piece.end()) } else { piece.end() }, piece.side)
                }
                (false, false) => piece.clone(),
            });
            if is_outlet && after.side != Side::Outlet && !runs_on(after, after.direction(0.0).map(|x| -x)) {
                pieces.push(line(out(piece.end()), piece.end(), wall_of(after, Wall::Upper)));
            }
        }
        let grown = pieces.len() - own.len();
        pieces.extend_from_slice(&self.pieces[outer.end..]);
        let moved = |range: &std::ops::Range<usize>| range.start + grown..range.end + grown;
        let loops =
            std::iter::once(outer.start..outer.end + grown).chain(self.loops.iter().skip(1).map(moved)).collect();
        Plan { pieces, loops, obstacles: self.obstacles.clone(), notes: self.notes.clone() }
    }
}

/// The wall a piece belongs to; another one for what stands on a wall.
fn wall_of(piece: &Piece, usual: Wall) -> Side {
    match piece.side {
        Side::Wall(wall) => Side::Wall(wall),
        _ => Side::Wall(usual),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::channel::rectangle;
    use crate::geometry::{Bend, Contraction, Taper, Turn};

    fn plan(pieces: Vec<Piece>) -> Plan {
        let all = 0..pieces.len();
        Plan { pieces, loops: std::iter::once(all).collect(), obstacles: vec![], notes: vec![] }
    }

    /// The cell grows by its outlet's width times the way moved, wherever the outlet is, and straight walls stay one piece.
    #[test]
    fn an_outlet_moves_out() {
        let bend = Bend {
            length_in: 0.2,
            width_in: 0.1,
            length_out: 0.15,
            width_out: 0.05,
            inner_radius: 0.0,
            towards: Turn::Right,
        };
        let funnel = Contraction {
            length_in: 0.1,
            width_in: 0.2,
            length: 0.1,
            length_out: 0.0,
            width_out: 0.1,
            shape: Taper::Straight,
        };
        for (pieces, width, facing, more) in [
            (rectangle(0.4, 0.2), 0.2, [1.0, 0.0], 0),
            (bend.boundary(), 0.05, [0.0, -1.0], 0),
            (funnel.boundary(), 0.1, [1.0, 0.0], 2),
        ] {
            let plan = plan(pieces);
            let end = plan.end(Side::Outlet).unwrap();
            assert!((0..2).all(|k| (end.outwards[k] - facing[k]).abs() < 1e-15), "{end:?}");
            let longer = plan.with_outlet_moved(0.3);
            assert!((longer.area() - plan.area() - 0.3 * width).abs() < 1e-15, "{}", longer.area() - plan.area());
            assert_eq!(longer.pieces.len(), plan.pieces.len() + more);
            assert!((longer.length_of(Side::Outlet) - width).abs() < 1e-15);
            assert!(plan.rectangle().is_some() == (more == 0 && facing[0] == 1.0));
        }
    }
}
