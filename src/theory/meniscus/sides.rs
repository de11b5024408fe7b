//! The outlines as closed chains of chords with arclength, true tangents and sharp corners: where ends of fronts slide.

use super::setup::narrower_end;
use crate::base::plane::{Vector, between, distance, distance_to_segment, polygon_area, turn, unit};
use crate::base::{Error, Point, Result};
use crate::geometry::{Piece, Plan, Side};

/// Turn of a chord at which a curve is halved, rad.
const CHORD_TURN: f64 = 0.026;
/// Turn from which a corner holds the end of a front, rad.
const SHARP: f64 = 20.0 * std::f64::consts::PI / 180.0;
/// Longest edge of the mesh over the radius of the side it lies on.
const ROUND: f64 = 0.2;

/// A chord, the fluid on its left.
#[derive(Debug, Clone)]
pub(super) struct Chord {
    /// What it belongs to.
    pub side: Side,
    /// Unit tangents of the outline at both ends.
    pub tangents: [Vector; 2],
    /// Longest edge that a mesh may have here, m.
    pub longest: f64,
}

/// A closed outline.
#[derive(Debug, Clone)]
pub(super) struct Outline {
    /// Its corners, each once.
    pub points: Vec<Point>,
    /// Length of the way to each corner, and at last all round.
    pub at: Vec<f64>,
    /// The chord from each corner to the next.
    pub chords: Vec<Chord>,
    /// Whether a corner holds ends.
    pub sharp: Vec<bool>,
}

/// All outlines: that of the cell first.
#[derive(Debug, Clone)]
pub(super) struct Sides {
    /// The outlines.
    pub outlines: Vec<Outline>,
    /// Start and end of the inlet on the first outline.
    pub inlet: [f64; 2],
    /// Start and end of the outlet on the first outline.
    pub outlet: [f64; 2],
}

/// A place on an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Index of the outline.
    pub on: usize,
    /// The way to it from the outline's first corner, m.
    pub at: f64,
}

impl Outline {
    /// Of pieces, with chords no longer than `h/2` where they bend and mesh edges no longer than `longest`.
    fn new(pieces: &[Piece], h: f64, longest: f64) -> Self {
        let (mut points, mut chords) = (Vec::new(), Vec::new());
        for piece in pieces {
            let mut cuts = vec![0.0];
            if piece.curve.is_straight() {
                cuts.push(1.0);
            } else {
                cut(piece, [0.0, 1.0], 0.5 * h, 0, &mut cuts);
            }
            for pair in cuts.windows(2) {
                points.push(piece.point(pair[0]));
                let tangents = [piece.direction(pair[0]), piece.direction(pair[1])];
                let reach = distance(piece.point(pair[0]), piece.point(pair[1]));
                let bend = turn(tangents[0], tangents[1]).abs() / reach;
                let longest = longest.min(if bend > 0.0 { ROUND / bend } else { longest });
                chords.push(Chord { side: piece.side, tangents, longest });
            }
        }
        let count = points.len();
        let mut at = vec![0.0];
        for k in 0..count {
            at.push(at[k] + distance(points[k], points[(k + 1) % count]));
        }
        let mut sharp = vec![false; count];
        for k in 0..count {
            let before = (k + count - 1) % count;
            let (arriving, leaving) = (chords[before].tangents[1], chords[k].tangents[0]);
            let ends = [chords[before].side, chords[k].side].map(|side| matches!(side, Side::Inlet | Side::Outlet));
            sharp[k] = turn(arriving, leaving).abs() > SHARP || ends[0] != ends[1];
            if !sharp[k]
                && let Some(mean) = unit([arriving[0] + leaving[0], arriving[1] + leaving[1]])
            {
                chords[before].tangents[1] = mean;
                chords[k].tangents[0] = mean;
            }
        }
        Outline { points, at, chords, sharp }
    }

    /// Length all round.
    pub fn whole(&self) -> f64 {
        self.at[self.points.len()]
    }

    /// A way length brought into [0, whole).
    pub fn wrapped(&self, at: f64) -> f64 {
        let at = at.rem_euclid(self.whole());
        if at < self.whole() { at } else { 0.0 }
    }

    /// The chord that a place stands on, the one that follows at a corner, or, looking back, the one before.
    pub fn chord(&self, at: f64, forward: bool) -> usize {
        let count = self.points.len();
        let after = self.at.partition_point(|&a| a <= at).clamp(1, count) - 1;
        if !forward && self.at[after] == at { (after + count - 1) % count } else { after }
    }

    /// The corner after a chord.
    pub fn corner(&self, k: usize) -> Point {
        self.points[k % self.points.len()]
    }

    /// The point at a place.
    pub fn point(&self, at: f64) -> Point {
        let k = self.chord(at, true);
        let length = self.at[k + 1] - self.at[k];
        between(self.points[k], self.corner(k + 1), ((at - self.at[k]) / length).clamp(0.0, 1.0))
    }

    /// Unit tangent at a place in the sense of the outline, that of the chord ahead at corners. Tangents turn evenly along a chord; where
    /// that is longer than 2 `h`, within h of its ends.
    pub fn tangent(&self, at: f64, forward: bool, h: f64) -> Vector {
        let k = self.chord(at, forward);
        let [from, to] = [self.at[k], if k + 1 == self.at.len() { self.whole() } else { self.at[k + 1] }];
        let at = if !forward && at == 0.0 { to } else { at };
        let [first, last] = self.chords[k].tangents;
        let length = to - from;
        let even = |fraction: f64, a: Vector, b: Vector| unit(between(a, b, fraction)).unwrap_or(a);
        if length <= 2.0 * h {
            return even(((at - from) / length).clamp(0.0, 1.0), first, last);
        }
        let along = unit([self.corner(k + 1)[0] - self.points[k][0], self.corner(k + 1)[1] - self.points[k][1]]);
        let along = along.unwrap_or(first);
        if at - from < h {
            even((at - from) / h, first, along)
        } else {
            even(((to - at) / h).clamp(0.0, 1.0), last, along)
        }
    }

    /// The place so far ahead or back, but no further than the next sharp corner.
    pub fn moved(&self, at: f64, step: f64, forward: bool) -> f64 {
        let count = self.points.len();
        let mut k = self.chord(at, forward);
        let mut left = step;
        let mut here = at;
        loop {
            if forward {
                let room = self.at[k + 1] - here;
                if left < room {
                    return here + left;
                }
                left -= room;
                k = (k + 1) % count;
                here = self.at[k];
                if self.sharp[k] || left <= 0.0 {
                    return here;
                }
            } else {
                let top = if here == 0.0 { self.whole() } else { here };
                let room = top - self.at[k];
                if left < room {
                    return top - left;
                }
                left -= room;
                here = self.at[k];
                if self.sharp[k] || left <= 0.0 {
                    return here;
                }
                k = (k + count - 1) % count;
            }
        }
    }

    /// The way from one place ahead to another.
    pub fn way(&self, from: f64, to: f64) -> f64 {
        if to >= from { to - from } else { to - from + self.whole() }
    }

    /// The corners passed on the way ahead from one place to another, both excluded.
    pub fn passed(&self, from: f64, to: f64) -> impl Iterator<Item = usize> + '_ {
        let count = self.points.len();
        let length = self.way(from, to);
        let first = self.chord(from, true) + 1;
        (first..first + count).map(move |k| k % count).take_while(move |&k| {
            let so_far = self.way(from, self.at[k]);
            so_far > 0.0 && so_far < length
        })
    }

    /// The sides passed on the way ahead from one place to another.
    pub fn sides(&self, from: f64, to: f64) -> impl Iterator<Item = Side> + '_ {
        let first = self.chord(from, true);
        std::iter::once(first).chain(self.passed(from, to)).map(|k| self.chords[k].side)
    }
}

/// Halves a piece until its chords turn little; bends are looked for in eighths first.
fn cut(piece: &Piece, [from, to]: [f64; 2], longest: f64, depth: usize, cuts: &mut Vec<f64>) {
    let turns = turn(piece.direction(from), piece.direction(to)).abs() > CHORD_TURN;
    if depth < 3 || (depth < 14 && (turns || distance(piece.point(from), piece.point(to)) > longest)) {
        let middle = 0.5 * (from + to);
        cut(piece, [from, middle], longest, depth + 1, cuts);
        cut(piece, [middle, to], longest, depth + 1, cuts);
    } else {
        cuts.push(to);
    }
}

impl Sides {
    /// The outlines of a plan, for fronts with edges of length h.
    ///
    /// # Errors
    /// [`Error::Usage`] unless inlet and outlet are one part of the outer outline each.
    pub fn new(plan: &Plan, h: f64) -> Result<Self> {
        let width = narrower_end(plan);
        let smallest = plan.obstacles.iter().map(|o| 0.5 * o.height).fold(f64::INFINITY, f64::min);
        let at_walls = (width / 12.0).max(2.0 * h);
        let longest = (0.2 * smallest).max(2.0 * h).min(at_walls);
        let outline = |range: &std::ops::Range<usize>| Outline::new(&plan.pieces[range.clone()], h, longest);
        let outlines: Vec<Outline> = plan.loops.iter().map(outline).collect();
        let Some(outer) = outlines.first() else {
            return Err(Error::argument("a plan without an outline", "give a cell"));
        };
        let inlet = part(outer, Side::Inlet)?;
        let outlet = part(outer, Side::Outlet)?;
        Ok(Sides { outlines, inlet, outlet })
    }

    /// The point at a place.
    pub fn point(&self, place: Place) -> Point {
        self.outlines[place.on].point(place.at)
    }

    /// A place moved; see [`Outline::moved`].
    pub fn moved(&self, place: Place, step: f64, forward: bool) -> Place {
        Place { at: self.outlines[place.on].moved(place.at, step, forward), ..place }
    }

    /// Area of the fluid between the chords.
    pub fn area(&self) -> f64 {
        self.outlines.iter().map(|outline| polygon_area(&outline.points)).sum()
    }

    /// Length of the inlet.
    pub fn inlet_length(&self) -> f64 {
        self.outlines[0].way(self.inlet[0], self.inlet[1])
    }

    /// The middle of the inlet.
    pub fn inlet_middle(&self) -> Point {
        let outer = &self.outlines[0];
        outer.point(outer.wrapped(self.inlet[0] + 0.5 * self.inlet_length()))
    }

    /// Whether a place on the first outline, going ahead to another, passes the outlet.
    pub fn passes_outlet(&self, from: f64, to: f64) -> bool {
        let outer = &self.outlines[0];
        outer.way(from, self.outlet[0]) < outer.way(from, to)
    }

    /// Distance of a point from the outlet.
    pub fn to_outlet(&self, p: Point) -> f64 {
        let outer = &self.outlines[0];
        let is_outlet = |k: &usize| outer.chords[*k].side == Side::Outlet;
        let chords = (0..outer.points.len()).filter(is_outlet);
        chords.map(|k| distance_to_segment(p, [outer.points[k], outer.corner(k + 1)])).fold(f64::INFINITY, f64::min)
    }

    /// Where the first front stands: places on the walls at both ends of the inlet, so far from it.
    ///
    /// # Errors
    /// [`Error::Usage`] if walls do not leave the inlet straight, at 60 to 120 degrees.
    pub fn first(&self, off: f64) -> Result<[Place; 2]> {
        let outer = &self.outlines[0];
        let [start, end] = self.inlet;
        let [low, high] = [outer.moved(end, off, true), outer.moved(start, off, false)];
        let corners = [outer.chord(start, true), outer.chord(end, true)];
        let turns = corners.map(|k| {
            let before = (k + outer.points.len() - 1) % outer.points.len();
            turn(outer.chords[before].tangents[1], outer.chords[k].tangents[0]).to_degrees()
        });
        let ends = [outer.way(end, low), outer.way(high, start)];
        let straight = ends.iter().all(|&way| (way - off).abs() < 1e-9 * off.max(outer.whole()));
        if !straight || turns.iter().any(|t| !(60.0..=120.0).contains(t)) {
            return Err(Error::argument(
                format!(
                    "at its ends the inlet meets its walls with turns of {:.0} and {:.0} degrees",
                    turns[0], turns[1]
                ),
                "the first front needs an inlet between two walls that leave it at 60 to 120 degrees, straight for two of its edges",
            ));
        }
        Ok([low, high].map(|at| Place { on: 0, at }))
    }
}

/// Start and end of the only part of an outline that has a side.
fn part(outline: &Outline, side: Side) -> Result<[f64; 2]> {
    let count = outline.points.len();
    let is = |k: usize| outline.chords[k % count].side == side;
    let starts: Vec<usize> = (0..count).filter(|&k| is(k) && !is(k + count - 1)).collect();
    if let [start] = starts[..] {
        let length = (0..count).take_while(|&k| is(start + k)).count();
        return Ok([outline.at[start], outline.at[(start + length) % count]]);
    }
    let name = if side == Side::Inlet { "inlet" } else { "outlet" };
    let what = format!("{} parts of the outline are {name}", starts.len());
    Err(Error::argument(what, "a filling needs one inlet and one outlet, each in one part"))
}
