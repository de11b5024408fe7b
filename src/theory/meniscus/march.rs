//! The march in time: how long a step may be, what it moves, and the account of areas.

use super::ahead::{Gap, gaps};
use super::front::Books;
use super::line::Line;
use super::resample::{is_uneven, resample};
use super::setup::{Drive, Setup};
use super::sides::Sides;
use super::state::{Bare, State};
use super::step::{Moves, solve};
use super::touch::{Closed, MEET, TOUCH, settle};
use super::wet::Wet;
use crate::base::plane::{distance_to_segment, dot, stepped};
use crate::base::{Error, Result};

/// Most that a node moves across the front in a step, over h.
const MOVE: f64 = 0.35;
/// What the way of an end along its side counts for.
const SLIDE: f64 = 0.7;
/// Gaps that are watched, over h.
const WATCHED: f64 = 1.5;
/// Most that a watched gap closes in a step: a share of it, or this over h.
const CLOSING: [f64; 2] = [0.4, 0.03];
/// Moves that are always small enough, over h.
const TINY: f64 = 0.01;
/// Times that a step is solved again, shorter.
const TRIES: usize = 6;
/// Most growth of a step over the one before.
const GROWTH: f64 = 1.4;

/// A filling under way.
pub(super) struct March<'a> {
    /// What was asked for.
    pub setup: &'a Setup<'a>,
    /// The outlines.
    pub sides: Sides,
    /// The fronts.
    pub state: State,
    /// The mesh of the state's liquid, made when it is needed.
    pub wet: Wet,
    /// Areas so far; `wet` is kept, `dry` and `pockets` are not.
    pub books: Books,
    /// Time over U, m: the sum of steps.
    pub time: f64,
    /// Mean pressure at the inlet in the last step.
    pub inlet_pressure: f64,
    /// Steps taken.
    pub steps: usize,
    /// Systems solved.
    pub solves: usize,
    /// Whether nothing moves any more.
    pub rests: bool,
    next: f64,
}

impl<'a> March<'a> {
    /// The first front, straight across two edges from the inlet.
    ///
    /// # Errors
    /// As [`Sides::new`] and [`Sides::first`]; [`Error::Usage`] if an obstacle stands there.
    pub fn new(setup: &'a Setup<'a>) -> Result<Self> {
        let h = setup.size;
        let sides = Sides::new(setup.plan, h)?;
        let ends = sides.first(2.0 * h)?;
        let [low, high] = ends.map(|place| sides.point(place));
        for outline in &sides.outlines[1..] {
            let nearest = |p: &&[f64; 2]| distance_to_segment(**p, [low, high]);
            if let Some(p) = outline.points.iter().find(|p| nearest(p) < 3.0 * h) {
                return Err(Error::argument(
                    format!("an obstacle stands at ({}, {}) m, where the first front is to be", p[0], p[1]),
                    "leave five edges of the front between the inlet and every obstacle, or make the edges smaller",
                ));
            }
        }
        let line = Line::between(&sides, resample(&[low, high], h, false), ends);
        let bare = sides.outlines.iter().map(|_| Bare::Dry).collect();
        let state = State { lines: vec![line], bare };
        let wet = Wet::new(&state, &sides, h)?;
        let first = state.wet_area(&sides)?;
        let books = Books { cell: sides.area(), first, wet: first, ..Books::default() };
        let inlet_pressure = 0.0;
        Ok(March {
            setup,
            sides,
            state,
            wet,
            books,
            time: 0.0,
            inlet_pressure,
            steps: 0,
            solves: 0,
            rests: false,
            next: 0.1 * h,
        })
    }

    /// One step, with what touches at its end: the pockets it closed.
    ///
    /// # Errors
    /// Those of meshing, solving and touching.
    pub fn step(&mut self) -> Result<Vec<Closed>> {
        let h = self.setup.size;
        let before = gaps(&self.state, &self.sides, WATCHED * h)?;
        let mut dt = self.next;
        let mut tries = 0;
        let mut moves = self.solved(dt)?;
        let (trial, excess) = loop {
            let moved = self.most_moved(&moves) / (MOVE * h);
            let (trial, clash) = self.moved(&moves);
            let mut excess = moved;
            if moved * MOVE > TINY {
                excess = if clash { 10.0 } else { excess.max(self.closing(&before, &trial)?) };
            } else if clash {
                return Err(Error::failed(
                    "ends of fronts pass each other on a side",
                    "try another size of the front's edges",
                ));
            }
            if excess <= 1.0 {
                break (trial, excess);
            }
            tries += 1;
            let factor = (0.9 / excess).max(0.1);
            dt *= factor;
            if tries < TRIES {
                moves = self.solved(dt)?;
            } else {
                // an end that slides along its own front gets no slower with the step: a part of the move is taken
                moves.scale(factor);
            }
        };
        self.steps += 1;
        self.rests = matches!(self.setup.drive, Drive::Head(_)) && excess < 1e-4 && dt > h;
        self.next = dt * GROWTH.min(0.9 / excess.max(1e-6));
        self.time += dt;
        self.inlet_pressure = moves.inlet_pressure;
        self.state = trial;
        let inflow = moves.flow * dt;
        self.books.inflow += inflow;
        let area = self.state.wet_area(&self.sides)?;
        self.books.stepping += area - self.books.wet - inflow;
        self.books.wet = area;

        let touched = settle(&mut self.state, &self.sides, h)?;
        if touched.count > 0 {
            let area = self.state.wet_area(&self.sides)?;
            self.books.lost += touched.lost;
            self.books.touched += area - self.books.wet - touched.lost;
            self.books.wet = area;
        }
        self.even_out(touched.count > 0)?;
        if self.state.lines.iter().any(|line| !line.frozen) {
            self.wet = Wet::new(&self.state, &self.sides, h)?;
        }
        Ok(touched.pockets)
    }

    /// The moves of a step of this length.
    fn solved(&mut self, dt: f64) -> Result<Moves> {
        let moves = solve(self.setup, &self.sides, &self.state, &self.wet, dt)?;
        self.solves += moves.solves;
        Ok(moves)
    }

    /// The largest move across a front, or along a side as far as it counts.
    fn most_moved(&self, moves: &Moves) -> f64 {
        let mut most = 0.0;
        for (line, (nodes, ends)) in self.state.lines.iter().zip(moves.nodes.iter().zip(&moves.ends)) {
            for (node, &d) in nodes.iter().enumerate() {
                most = f64::max(most, dot(line.normal(node), d).abs());
            }
            most = ends.iter().fold(most, |most, s| most.max(SLIDE * s.abs()));
        }
        most
    }

    /// The state with everything moved, and whether ends passed each other on a side.
    fn moved(&self, moves: &Moves) -> (State, bool) {
        let mut state = self.state.clone();
        let mut rooms = Vec::new();
        for (k, line) in state.lines.iter_mut().enumerate().filter(|(_, line)| !line.frozen) {
            for (p, &d) in line.nodes.iter_mut().zip(&moves.nodes[k]) {
                *p = stepped(*p, 1.0, d);
            }
            let Some(ends) = &mut line.ends else { continue };
            let last = line.nodes.len() - 1;
            for ((which, end), &step) in ends.iter_mut().enumerate().zip(&moves.ends[k]) {
                if step > 0.0 {
                    rooms.push((*end, step, which == 0));
                    *end = self.sides.moved(*end, step, which == 0);
                } else if step < 0.0 {
                    *end = self.sides.moved(*end, -step, which == 1);
                }
                line.nodes[if which == 0 { 0 } else { last }] = self.sides.point(*end);
            }
        }
        // ways of ends that slide towards each other, against the room between them
        let others: Vec<_> = self.state.lines.iter().filter_map(|line| line.ends).flatten().collect();
        let h = self.setup.size;
        let clash = rooms.iter().any(|&(place, step, forward)| {
            let outline = &self.sides.outlines[place.on];
            others.iter().filter(|other| other.on == place.on && **other != place).any(|other| {
                let room = if forward { outline.way(place.at, other.at) } else { outline.way(other.at, place.at) };
                let back = rooms.iter().find(|(p, _, f)| p == other && *f != forward).map_or(0.0, |(_, step, _)| *step);
                let closing = step + back;
                room < WATCHED * h && closing > (CLOSING[0] * room).max(0.5 * MEET * h)
            })
        });
        (state, clash)
    }

    /// How much more than they may gaps close, as a factor.
    fn closing(&self, before: &[Vec<Option<Gap>>], trial: &State) -> Result<f64> {
        let h = self.setup.size;
        let after = gaps(trial, &self.sides, WATCHED * h)?;
        let mut excess: f64 = 0.0;
        for (before, after) in before.iter().flatten().zip(after.iter().flatten()) {
            let Some(after) = after else { continue };
            let before = before.map_or(WATCHED * h, |gap| gap.distance);
            if after.distance < before && after.distance < before.max(TOUCH * h) {
                let allowed = (CLOSING[0] * before).max(CLOSING[1] * h);
                excess = excess.max((before - after.distance) / allowed);
            }
        }
        Ok(excess)
    }

    /// Places points anew where edges are uneven.
    fn even_out(&mut self, kinks: bool) -> Result<()> {
        let h = self.setup.size;
        let mut changed = false;
        for line in self.state.lines.iter_mut().filter(|line| !line.frozen) {
            if is_uneven(line.edges(), h) {
                line.nodes = resample(&line.nodes, h, !kinks);
                changed = true;
            }
        }
        if changed {
            let area = self.state.wet_area(&self.sides)?;
            self.books.resampled += area - self.books.wet;
            self.books.wet = area;
        }
        Ok(())
    }
}
