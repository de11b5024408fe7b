//! From the outline of a cell and the ends marked on it to its boundary.

use super::Outline;
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::{distance, foot, nearest_on_segment};
use crate::base::units::Dimension;
use crate::geometry::span::{Extent, spans};
use crate::geometry::{Curve, Piece, Side, TailChoice, Wall};
use crate::input::case::{Case, CellShape, EndMark, EndRole, InputFile, Obstacle, OutlinedCell, slenderness};

/// The places of an end may stand off the outline by so much of its larger extent, and are moved onto it; a corner so near is meant.
pub(crate) const OFF: f64 = 1e-3;

/// A place on a closed chain of curves.
#[derive(Debug, Clone, Copy, PartialEq)]
struct On {
    curve: usize,
    t: f64,
}

/// Reads the outline of a cell that has one, and gives the case its boundary; the mistakes are added. Returns what was read.
pub(crate) fn draw_cell(case: &mut Case, problems: &mut Problems) -> Option<(Option<InputFile>, Vec<String>)> {
    let CellShape::Outlined(cell) = &case.cell.shape else { return Some((None, Vec::new())) };
    let obstacle = Obstacle {
        name: "cell".into(),
        shape: cell.shape.clone(),
        on_wall: None,
        tail: TailChoice::None,
        bubble: None,
        place: cell.place.clone(),
    };
    let outline = match Outline::of(&obstacle, &case.file) {
        Ok(found) if found.len() == 1 => found.into_iter().next()?,
        Ok(found) => {
            let message = format!("the file holds {} outlines, and a cell has one", found.len());
            problems.add(
                &case.file,
                Some(cell.place.clone()),
                message,
                "leave every out, or choose one by id or layer",
            );
            return None;
        }
        Err(found) => {
            problems.merge(found);
            return None;
        }
    };
    let drawn = Drawn { case, cell, curves: outline.curves };
    match drawn.boundary() {
        Ok(boundary) => {
            let boundary = OutlinedCell { boundary, ..(**cell).clone() };
            case.cell.shape = CellShape::Outlined(Box::new(boundary));
            case.settle_gap(problems);
            Some((outline.input, outline.notes))
        }
        Err(mistakes) => {
            for (place, message, remedy) in mistakes {
                problems.add(&case.file, Some(place), message, &remedy);
            }
            None
        }
    }
}

type Mistake = (std::ops::Range<usize>, String, String);

struct Drawn<'a> {
    case: &'a Case,
    cell: &'a OutlinedCell,
    curves: Vec<Curve>,
}

impl Drawn<'_> {
    fn boundary(&self) -> Result<Vec<Piece>, Vec<Mistake>> {
        let extent = Extent::whole(&self.curves).map_or(0.0, |extent| extent.rect().extent());
        let mut mistakes = Vec::new();
        let mut ends: Vec<(&EndMark, [On; 2])> = Vec::new();
        for end in &self.cell.ends {
            let found = [("from", end.from), ("to", end.to)].map(|(key, at)| {
                let (on, off) = self.nearest(at);
                let on = self.at_corner(on, OFF * extent);
                if off > OFF * extent {
                    mistakes.push(self.off_the_outline(end, key, at, off, extent));
                }
                on
            });
            if self.length(found) <= OFF * extent || self.walked(found[1]) == self.walked(found[0]) {
                let message =
                    format!("the end \"{}\" has no width: both its places are {}", end.name, self.place(end.from));
                mistakes.push((end.place.clone(), message, "give two places of the outline, counter-clockwise".into()));
            }
            ends.push((end, found));
        }
        if !mistakes.is_empty() {
            return Err(mistakes);
        }
        mistakes.extend(self.overlaps(&ends));
        mistakes.extend(self.roles());
        if !mistakes.is_empty() {
            return Err(mistakes);
        }
        let open = |role: EndRole| ends.iter().find(|(end, _)| end.role == Some(role)).map(|(_, found)| *found);
        let (Some(inlet), Some(outlet)) = (open(EndRole::Inlet), open(EndRole::Outlet)) else { return Err(mistakes) };
        let mut pieces = self.between([inlet[1], outlet[0]], Side::Wall(Wall::Lower));
        pieces.extend(self.between(outlet, Side::Outlet));
        pieces.extend(self.between([outlet[1], inlet[0]], Side::Wall(Wall::Upper)));
        pieces.extend(self.between(inlet, Side::Inlet));
        let rect = Extent::whole(&self.curves).map_or(crate::base::plane::Rect::EMPTY, |extent| extent.rect());
        let widths = [inlet, outlet].map(|end| self.length(end));
        if let Some(message) = slenderness(rect.size(), widths) {
            let remedy = "was a unit forgotten? Plain numbers are metres".to_owned();
            return Err(vec![(self.cell.place.clone(), message, remedy)]);
        }
        Ok(pieces)
    }

    fn place(&self, at: Point) -> String {
        self.case.cell.unit.place(at)
    }

    fn off_the_outline(&self, end: &EndMark, key: &str, at: Point, off: f64, extent: f64) -> Mistake {
        let nearest = self.curves[self.nearest(at).0.curve].point(self.nearest(at).0.t);
        let message = format!(
            "the end \"{}\": {key} at {} is {} off the outline, more than a thousandth of its extent ({})",
            end.name,
            self.place(at),
            Dimension::Length.show_to(off, 3),
            Dimension::Length.show_to(OFF * extent, 3)
        );
        (end.place.clone(), message, format!("the nearest place on it is {}", self.place(nearest)))
    }

    /// The place of the outline nearest to a point, and its distance.
    fn nearest(&self, at: Point) -> (On, f64) {
        let mut best = (On { curve: 0, t: 0.0 }, f64::INFINITY);
        for (k, curve) in self.curves.iter().enumerate() {
            for span in spans(curve, 0.0, 1.0) {
                let mut span = span;
                // halves towards the nearer side; a span turns little
                for _ in 0..40 {
                    if span.sag == 0.0 {
                        break;
                    }
                    let [a, b] = span.halves(curve);
                    let off = |s: &crate::geometry::span::Span| distance(at, nearest_on_segment(at, s.ends));
                    span = if off(&a) <= off(&b) { a } else { b };
                }
                let s = foot(at, span.ends);
                let t = (1.0 - s) * span.t[0] + s * span.t[1];
                let off = distance(at, curve.point(t));
                if off < best.1 {
                    best = (On { curve: k, t }, off);
                }
            }
        }
        best
    }

    /// The corner of the outline that a place is near to, or the place itself.
    fn at_corner(&self, on: On, near: f64) -> On {
        let (at, count) = (self.curves[on.curve].point(on.t), self.curves.len());
        let ends = [On { curve: on.curve, t: 0.0 }, On { curve: (on.curve + 1) % count, t: 0.0 }];
        let off = |on: &On| distance(at, self.curves[on.curve].point(on.t));
        let nearer = ends.into_iter().filter(|end| self.is_corner(end.curve)).min_by(|a, b| off(a).total_cmp(&off(b)));
        match nearer.filter(|end| off(end) <= near) {
            Some(corner) => corner,
            None if on.t >= 1.0 => On { curve: (on.curve + 1) % count, t: 0.0 },
            None => on,
        }
    }

    /// Whether the outline turns where a curve starts.
    fn is_corner(&self, curve: usize) -> bool {
        use crate::geometry::Passing::{Arriving, Leaving};
        let before = &self.curves[(curve + self.curves.len() - 1) % self.curves.len()];
        let (a, b) = (before.direction(1.0, Arriving), self.curves[curve].direction(0.0, Leaving));
        crate::base::plane::turn(a, b).abs() > 1e-6
    }

    /// Pieces counter-clockwise from one place to another.
    fn between(&self, [from, to]: [On; 2], side: Side) -> Vec<Piece> {
        let count = self.curves.len();
        let piece = |curve: usize, a: f64, b: f64| Piece { curve: self.curves[curve].clone(), from: a, to: b, side };
        if from.curve == to.curve && to.t > from.t {
            return vec![piece(from.curve, from.t, to.t)];
        }
        let mut pieces = vec![piece(from.curve, from.t, 1.0)];
        let mut curve = (from.curve + 1) % count;
        while curve != to.curve {
            pieces.push(piece(curve, 0.0, 1.0));
            curve = (curve + 1) % count;
        }
        if to.t > 0.0 {
            pieces.push(piece(to.curve, 0.0, to.t));
        }
        pieces
    }

    fn length(&self, part: [On; 2]) -> f64 {
        self.between(part, Side::Inlet).iter().map(Piece::length).sum()
    }

    /// A place as one number that grows counter-clockwise.
    fn walked(&self, on: On) -> f64 {
        on.curve as f64 + on.t
    }

    /// Whether a place lies on a part of the outline, its ends among it.
    fn holds(&self, [from, to]: [On; 2], on: On) -> bool {
        let [a, b, x] = [from, to, on].map(|on| self.walked(on));
        let whole = self.curves.len() as f64;
        (x - a).rem_euclid(whole) <= (b - a).rem_euclid(whole)
    }

    /// Ends that share a place of the outline.
    fn overlaps(&self, ends: &[(&EndMark, [On; 2])]) -> Vec<Mistake> {
        let mut mistakes = Vec::new();
        for (j, (second, b)) in ends.iter().enumerate() {
            for (first, a) in &ends[..j] {
                let shared = b.iter().find(|on| self.holds(*a, **on)).or(a.iter().find(|on| self.holds(*b, **on)));
                let Some(on) = shared else { continue };
                let at = self.place(self.curves[on.curve].point(on.t));
                let message = format!("the ends \"{}\" and \"{}\" overlap or meet at {at}", first.name, second.name);
                let remedy = "part them: a wall must stand between two ends. An end goes counter-clockwise from its \"from\" to its \"to\"; \
                              the two may be the wrong way round";
                mistakes.push((second.place.clone(), message, remedy.into()));
            }
        }
        mistakes
    }

    /// A cell has a way through it: one inlet, one outlet.
    fn roles(&self) -> Vec<Mistake> {
        let mut mistakes = Vec::new();
        for (role, name) in [(EndRole::Inlet, "inlet"), (EndRole::Outlet, "outlet")] {
            let own: Vec<&EndMark> = self.cell.ends.iter().filter(|end| end.role == Some(role)).collect();
            match own.as_slice() {
                [_] => {}
                [] => {
                    let open = self.cell.ends.iter().filter(|end| end.role.is_some()).count();
                    let message = format!(
                        "the cell has no {name}, so that nothing flows: of its {} ends {} {} open",
                        self.cell.ends.len(),
                        open,
                        if open == 1 { "is" } else { "are" }
                    );
                    let remedy = format!("add a table [[end]] with role = \"{name}\", from and to");
                    mistakes.push((self.cell.place.clone(), message, remedy));
                }
                [first, others @ ..] => mistakes.extend(others.iter().map(|end| {
                    let message = format!("\"{}\" is another {name} beside \"{}\"", end.name, first.name);
                    let remedy = format!(
                        "a cell has one inlet and one outlet: close one by kind = \"closed\", or make it no {name}"
                    );
                    (end.place.clone(), message, remedy)
                })),
            }
        }
        mistakes
    }
}
