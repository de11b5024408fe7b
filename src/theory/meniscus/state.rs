//! Which sides are wet, which fronts there are, and the closed ways round liquid and round air.
//!
//! With the fluid on the left of every outline, a wet part of an outline ends where a front starts and starts where one ends. Liquid is
//! walked round by following fronts forward and wet sides ahead, air by following fronts back and dry sides ahead.

use super::line::Line;
use super::sides::{Place, Sides};
use crate::base::plane::polygon_area;
use crate::base::{Error, Point, Result};

/// What an outline is that no front ends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bare {
    /// In the air that can leave.
    Dry,
    /// In a pocket.
    Trapped,
    /// In the liquid.
    Wet,
}

/// A part of a way round.
#[derive(Debug, Clone, Copy)]
pub(super) enum Part {
    /// A front: forward round liquid, back round air.
    Line(usize),
    /// A side, ahead from one place to another.
    Side {
        /// Index of the outline.
        on: usize,
        /// Where it starts.
        from: f64,
        /// Where it ends.
        to: f64,
    },
}

/// The fronts and what is wet.
#[derive(Debug, Clone)]
pub(super) struct State {
    /// The fronts.
    pub lines: Vec<Line>,
    /// What each outline is as long as no front ends on it.
    pub bare: Vec<Bare>,
}

/// An end of a front on an outline.
#[derive(Debug, Clone, Copy)]
struct End {
    at: f64,
    line: usize,
    last: bool,
}

impl State {
    /// The ends on each outline, in their order.
    fn ends(&self, sides: &Sides) -> Result<Vec<Vec<End>>> {
        let mut found = vec![Vec::new(); sides.outlines.len()];
        for (line, front) in self.lines.iter().enumerate() {
            for (k, place) in front.ends.iter().flatten().enumerate() {
                found[place.on].push(End { at: place.at, line, last: k == 1 });
            }
        }
        for ends in &mut found {
            ends.sort_by(|a, b| a.at.total_cmp(&b.at).then(a.last.cmp(&b.last)).then(a.line.cmp(&b.line)));
            let apart = |k: usize| ends[k].last != ends[(k + 1) % ends.len()].last;
            if !(0..ends.len()).all(apart) {
                return Err(tangled());
            }
        }
        Ok(found)
    }

    /// The ways round liquid, or round air.
    ///
    /// # Errors
    /// [`Error::Failed`] if starts and ends of fronts do not alternate along an outline.
    pub fn ways(&self, sides: &Sides, liquid: bool) -> Result<Vec<Vec<Part>>> {
        let ends = self.ends(sides)?;
        let mut done = vec![false; self.lines.len()];
        let mut ways = Vec::new();
        for first in 0..self.lines.len() {
            if done[first] {
                continue;
            }
            let mut parts = Vec::new();
            let mut line = first;
            loop {
                if std::mem::replace(&mut done[line], true) {
                    return Err(tangled());
                }
                parts.push(Part::Line(line));
                let Some(places) = self.lines[line].ends else { break };
                let Place { on, at } = places[usize::from(liquid)];
                let here =
                    ends[on].iter().position(|end| end.line == line && end.last == liquid).ok_or_else(tangled)?;
                let next = ends[on][(here + 1) % ends[on].len()];
                parts.push(Part::Side { on, from: at, to: next.at });
                line = next.line;
                if line == first {
                    break;
                }
            }
            ways.push(parts);
        }
        Ok(ways)
    }

    /// The corners of a way round, with every chord of the sides.
    pub fn polygon(&self, sides: &Sides, parts: &[Part], liquid: bool) -> Vec<Point> {
        let mut corners: Vec<Point> = Vec::new();
        for part in parts {
            match *part {
                Part::Line(line) => {
                    let nodes = &self.lines[line].nodes;
                    if liquid {
                        corners.extend(nodes);
                    } else {
                        corners.extend(nodes.iter().rev());
                    }
                }
                Part::Side { on, from, to } => {
                    let outline = &sides.outlines[on];
                    corners.extend(outline.passed(from, to).map(|k| outline.points[k]));
                }
            }
        }
        corners
    }

    /// Whether a way round air passes the outlet.
    pub fn is_open(&self, sides: &Sides, parts: &[Part]) -> bool {
        parts.iter().any(|part| matches!(*part, Part::Side { on: 0, from, to } if sides.passes_outlet(from, to)))
    }

    /// Outlines without ends, and what they are.
    pub fn bare(&self, sides: &Sides) -> Vec<(usize, Bare)> {
        let mut touched = vec![false; sides.outlines.len()];
        let places = self.lines.iter().filter_map(|line| line.ends).flatten();
        places.for_each(|place| touched[place.on] = true);
        (0..touched.len()).filter(|&k| !touched[k]).map(|k| (k, self.bare[k])).collect()
    }

    /// Area of the liquid.
    ///
    /// # Errors
    /// As [`State::ways`].
    pub fn wet_area(&self, sides: &Sides) -> Result<f64> {
        let ways = self.ways(sides, true)?;
        let ways: f64 = ways.iter().map(|parts| polygon_area(&self.polygon(sides, parts, true))).sum();
        let islands = self.bare(sides).into_iter().filter(|(_, bare)| *bare == Bare::Wet);
        Ok(ways + islands.map(|(k, _)| polygon_area(&sides.outlines[k].points)).sum::<f64>())
    }

    /// Area of the air in ways that pass the outlet.
    ///
    /// # Errors
    /// As [`State::ways`].
    pub fn dry_area(&self, sides: &Sides) -> Result<f64> {
        let ways = self.ways(sides, false)?;
        let open = ways.iter().filter(|parts| self.is_open(sides, parts));
        let open: f64 = open.map(|parts| polygon_area(&self.polygon(sides, parts, false))).sum();
        let islands = self.bare(sides).into_iter().filter(|(_, bare)| *bare == Bare::Dry);
        Ok(open + islands.map(|(k, _)| polygon_area(&sides.outlines[k].points)).sum::<f64>())
    }
}

fn tangled() -> Error {
    Error::failed(
        "the ends of fronts lie on the sides in an order that no filling has",
        "try a smaller size of the front's edges; if that does not help, fill without tension",
    )
}
