//! The net of the ideal pattern: its potential phi beside its stream function psi, and its lines.
//!
//! In the plane (phi, psi) the lines of the ideal pattern are level, and dye lines nearly so: which line a place
//! belongs to is read off psi, and where along it off phi. With `grad psi = (-v, u)` and `grad phi = (u, v)`, both in
//! units of the mean speed, phi is the pressure times a negative number, found by least squares over the vertices. It
//! serves to order places, so that a gap that varies does no harm.

use crate::base::Point;
use crate::base::plane::{self, dot, way};
use crate::bench::lines::{Ideal, IdealAt};
use crate::numerics::fem::Model;

/// Below this part of the mean speed a line is not followed: it ends at a stagnation point.
const STILL: f64 = 1e-3;

/// Steps of a line at most, as a multiple of the extent of the cell over a step.
const LONGEST: f64 = 20.0;

/// The ideal pattern with its potential.
#[derive(Debug)]
pub struct Along<'a> {
    /// The stream function.
    pub ideal: &'a Ideal<'a>,
    phi: Vec<f64>,
    slope: Vec<[f64; 2]>,
}

/// A place of a line of the ideal pattern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mile {
    /// Where, m.
    pub at: Point,
    /// The triangle there.
    pub triangle: u32,
    /// Potential, m.
    pub phi: f64,
    /// Length of the line up to it, m.
    pub arc: f64,
}

impl<'a> Along<'a> {
    /// From the pressure at the vertices, in any unit.
    pub fn new(ideal: &'a Ideal<'a>, pressure: &[f64]) -> Along<'a> {
        let [slope] = ideal.space().recovery().gradients(Model::Harmonic, [pressure]);
        let velocity = ideal.velocity();
        let (product, square) = slope
            .iter()
            .zip(&velocity)
            .fold((0.0, 0.0), |(p, s), (&slope, &v)| (p + dot(slope, v), s + dot(slope, slope)));
        let scale = if square > 0.0 { product / square } else { 0.0 };
        let phi = pressure.iter().map(|p| scale * p).collect();
        Along { ideal, phi, slope: slope.iter().map(|g| g.map(|x| scale * x)).collect() }
    }

    /// The potential at a place of which the pattern is known, m: exact for quadratics, as psi is.
    pub fn phi(&self, place: Point, found: &IdealAt) -> f64 {
        let mesh = &self.ideal.space().mesh;
        let corners = mesh.triangles[found.triangle as usize].map(|v| v as usize);
        let of =
            |(v, weight): (usize, f64)| weight * (self.phi[v] + 0.5 * dot(self.slope[v], way(mesh.points[v], place)));
        corners.into_iter().zip(found.weights).map(of).sum()
    }

    /// The line of the ideal pattern with a level, through the fluid both ways from a place near it, downstream, with a
    /// place every so many metres.
    pub fn line(&self, level: f64, near: Point, step: f64) -> Vec<Mile> {
        let Some(start) = self.on_level(level, near, None) else { return Vec::new() };
        let mut line = self.walked(level, start, -step);
        line.reverse();
        line.push(start);
        line.extend(self.walked(level, start, step));
        // phi grows along it but for rounding at its ends
        line.dedup_by(|next, before| next.phi <= before.phi);
        for k in 1..line.len() {
            line[k].arc = line[k - 1].arc + plane::distance(line[k - 1].at, line[k].at);
        }
        line
    }

    /// Midpoint rule along the direction, then across onto the level.
    fn walked(&self, level: f64, start: Mile, step: f64) -> Vec<Mile> {
        let extent = plane::Rect::of(self.ideal.space().mesh.points.iter().copied()).diagonal();
        let most = (LONGEST * extent / step.abs()).min(1e6) as usize;
        let mut line = Vec::new();
        let mut last = start;
        for _ in 0..most {
            let ahead = |from: Point, by: f64, at: Point, hint| {
                let found = self.ideal.at(at, hint)?;
                let direction = plane::unit([found.slope[1], -found.slope[0]])?;
                (plane::length(found.slope) > STILL).then(|| plane::stepped(from, by, direction))
            };
            let next = ahead(last.at, 0.5 * step, last.at, Some(last.triangle))
                .and_then(|middle| ahead(last.at, step, middle, Some(last.triangle)))
                .and_then(|next| self.on_level(level, next, Some(last.triangle)));
            let Some(next) = next.filter(|next| (next.phi - last.phi) * step > 0.0) else { break };
            line.push(next);
            last = next;
        }
        line
    }

    /// The place of a level straight across the pattern from another one; the place itself if there is none.
    fn on_level(&self, level: f64, near: Point, hint: Option<u32>) -> Option<Mile> {
        let mut place = near;
        let mut found = self.ideal.at(place, hint)?;
        for _ in 0..3 {
            let square = plane::square(found.slope);
            if square < STILL * STILL {
                break;
            }
            let next = plane::stepped(place, (level - found.psi) / square, found.slope);
            let Some(better) = self.ideal.at(next, Some(found.triangle)) else { break };
            (place, found) = (next, better);
        }
        Some(Mile { at: place, triangle: found.triangle, phi: self.phi(place, &found), arc: 0.0 })
    }
}

/// Length of a line up to a potential, m; none beyond its ends.
pub fn arc_of(line: &[Mile], phi: f64) -> Option<f64> {
    let next = line.partition_point(|mile| mile.phi < phi);
    if next == 0 || next >= line.len() {
        return None;
    }
    let (before, behind) = (line[next - 1], line[next]);
    let share = (phi - before.phi) / (behind.phi - before.phi);
    Some(before.arc + share * (behind.arc - before.arc))
}

/// The place of a line at a length, m, and a triangle nearby; none beyond its ends.
pub fn at_arc(line: &[Mile], arc: f64) -> Option<(Point, u32)> {
    let next = line.partition_point(|mile| mile.arc < arc).max(1);
    let (before, behind) = (line.get(next - 1)?, line.get(next)?);
    let share = (arc - before.arc) / (behind.arc - before.arc);
    (share >= 0.0).then(|| (plane::between(before.at, behind.at, share), before.triangle))
}
