//! Points on the outlines, spaced by the size field.

use super::SizeField;
use crate::base::error::MeshFault;
use crate::base::plane::{distance, length};
use crate::base::{Error, Point, Result};
use crate::geometry::{Curve, Piece, Plan};
use rayon::prelude::*;

/// Largest turning of the tangent along one edge, rad: the chord then departs by at most 5 % of its length.
const TURNING: f64 = 0.4;
/// Abscissae and weights of the three-point Gauss rule on [-1, 1].
const GAUSS: [(f64, f64); 3] =
    [(-0.774_596_669_241_483_4, 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.774_596_669_241_483_4, 5.0 / 9.0)];

/// Pieces above which a plan is finely divided by itself.
const MANY: usize = 10_000;

/// Parts of equal parameter into which every piece of a plan is cut to begin with.
pub(super) fn parts(plan: &Plan) -> usize {
    if plan.pieces.len() > MANY { 1 } else { 8 }
}

/// The boundary as a polygon: vertex v is followed by `next[v]`, the fluid on the left.
pub(super) struct Samples {
    pub points: Vec<Point>,
    pub next: Vec<u32>,
    /// The piece the edge from v to `next[v]` lies on.
    pub piece: Vec<u32>,
    /// Curve parameters of that edge's ends.
    pub parameters: Vec<[f64; 2]>,
}

/// Samples every piece so that edges have equal integrals of ds/h; ends of pieces are always vertices. None if that takes
/// more than `most` vertices. If `straight_whole`, lines stay whole.
pub(super) fn sample(plan: &Plan, size: &SizeField, most: usize, straight_whole: bool) -> Result<Option<Samples>> {
    let mut samples = Samples { points: vec![], next: vec![], piece: vec![], parameters: vec![] };
    if plan.loops.is_empty() {
        return Err(Error::argument("the plan has no outline", "give it at least the outline of the cell"));
    }
    let mut spaced = Spaced::new(plan, size, straight_whole);
    for range in &plan.loops {
        let first = samples.points.len();
        for index in range.clone() {
            let piece = plan.pieces.get(index).ok_or_else(|| {
                Error::argument(
                    format!("the plan has {} pieces but a loop names piece {index}", plan.pieces.len()),
                    "build the loops from existing pieces",
                )
            })?;
            let room = most.saturating_sub(samples.points.len());
            let Some(parameters) = spaced.of(index, room) else { return Ok(None) };
            if parameters.len() > room.saturating_add(1) {
                return Ok(None);
            }
            for pair in parameters.windows(2) {
                samples.points.push(clean(piece.curve.point(pair[0])));
                samples.next.push(samples.points.len() as u32);
                samples.piece.push(index as u32);
                samples.parameters.push([pair[0], pair[1]]);
            }
        }
        if samples.points.len() < first + 3 {
            return Err(Error::mesh(
                MeshFault::Outlines,
                format!("an outline has {} edges, at least 3 are needed", samples.points.len() - first),
                "give it a size above zero",
            ));
        }
        if let Some(last) = samples.next.last_mut() {
            *last = first as u32;
        }
    }
    match samples.points.iter().find(|p| !(p[0].abs() < 1e50 && p[1].abs() < 1e50)) {
        Some(p) => Err(Error::mesh(
            MeshFault::Outlines,
            format!("an outline passes through ({}, {}) m", p[0], p[1]),
            "use finite coordinates below 1e50 m",
        )),
        None => Ok(Some(samples)),
    }
}

/// Pieces that are spaced at a time, by as many threads as there are.
const AT_A_TIME: usize = 256;

/// The parameters of pieces in their order, some pieces ahead.
struct Spaced<'a> {
    plan: &'a Plan,
    size: &'a SizeField,
    straight_whole: bool,
    /// The first piece of those that are known, and theirs.
    from: usize,
    known: Vec<Option<Vec<f64>>>,
}

impl<'a> Spaced<'a> {
    fn new(plan: &'a Plan, size: &'a SizeField, straight_whole: bool) -> Self {
        Spaced { plan, size, straight_whole, from: 0, known: Vec::new() }
    }

    /// Curve parameters along a piece, both ends included; none if they are more than there was room for when its turn came.
    fn of(&mut self, index: usize, room: usize) -> Option<Vec<f64>> {
        if !(self.from..self.from + self.known.len()).contains(&index) {
            let parts = parts(self.plan);
            let ahead = &self.plan.pieces[index..(index + AT_A_TIME).min(self.plan.pieces.len())];
            let of = |piece: &Piece| {
                if self.straight_whole && piece.curve.is_straight() {
                    (room > 0).then(|| vec![piece.from, piece.to])
                } else {
                    spaced(piece, self.size, parts, room)
                }
            };
            (self.from, self.known) = (index, ahead.par_iter().map(of).collect());
        }
        self.known[index - self.from].clone()
    }
}

/// Curve parameters along a piece, both ends included; none if they are more than `most`.
fn spaced(piece: &Piece, size: &SizeField, parts: usize, most: usize) -> Option<Vec<f64>> {
    let curve = &piece.curve;
    let wanted = |t: f64| {
        let curvature = curve.curvature(t).abs();
        let h = size.at(curve.point(t));
        if curvature.is_finite() { h.min(TURNING / curvature) } else { h }
    };
    let ends = [piece.from, piece.to];
    let shortest = [ends[0], 0.5 * (ends[0] + ends[1]), ends[1]].map(wanted).into_iter().fold(f64::INFINITY, f64::min);
    if parts == 1 && most > 0 && matches!(curve, Curve::Line { .. }) && arc_length(curve, ends) <= shortest {
        return Some(ends.to_vec());
    }
    // A cell is at least an eighth of an edge.
    let most_cells = most.saturating_mul(8).saturating_add(64);
    // Cumulative integral of ds/h at increasing places along the piece.
    let mut table = vec![(piece.from, 0.0)];
    let place = |k: usize| piece.from + (piece.to - piece.from) * k as f64 / parts as f64;
    for k in 0..parts {
        let (a, b) = (place(k), if k + 1 == parts { piece.to } else { place(k + 1) });
        integrate(curve, &wanted, [a, b], [wanted(a), wanted(b)], (40, most_cells), &mut table);
    }
    let total = table.last().map_or(0.0, |last| last.1);
    let edges = if total.is_finite() { ((0.97 * total).ceil() as usize).max(1) } else { 1 };
    if edges > most || table.len() > most_cells {
        return None;
    }
    let mut parameters = Vec::with_capacity(edges + 1);
    parameters.push(piece.from);
    let mut row = 1;
    for k in 1..edges {
        let sum = total * k as f64 / edges as f64;
        while row + 1 < table.len() && table[row].1 < sum {
            row += 1;
        }
        let ((t0, s0), (t1, s1)) = (table[row - 1], table[row]);
        parameters.push(if s1 > s0 { t0 + (t1 - t0) * ((sum - s0) / (s1 - s0)).clamp(0.0, 1.0) } else { t1 });
    }
    parameters.push(piece.to);
    Some(parameters)
}

/// Appends cells between the parameters `t`, none longer than half the size there.
fn integrate(
    curve: &Curve,
    wanted: &dyn Fn(f64) -> f64,
    t: [f64; 2],
    h: [f64; 2],
    (depth, most): (usize, usize),
    table: &mut Vec<(f64, f64)>,
) {
    let middle = 0.5 * (t[0] + t[1]);
    let h_middle = wanted(middle);
    let along = arc_length(curve, t);
    if along > 0.5 * h[0].min(h[1]).min(h_middle) && depth > 0 && table.len() <= most {
        integrate(curve, wanted, [t[0], middle], [h[0], h_middle], (depth - 1, most), table);
        integrate(curve, wanted, [middle, t[1]], [h_middle, h[1]], (depth - 1, most), table);
    } else {
        let before = table.last().map_or(0.0, |last| last.1);
        table.push((t[1], before + along / 6.0 * (1.0 / h[0] + 4.0 / h_middle + 1.0 / h[1])));
    }
}

/// Arc length between two parameters, exact on circles and lines, else by a three-point Gauss rule, m.
pub(super) fn arc_length(curve: &Curve, t: [f64; 2]) -> f64 {
    if let Some([radius, turn]) = curve.round() {
        return radius * (turn * (t[1] - t[0])).abs();
    }
    let (middle, half) = (0.5 * (t[0] + t[1]), 0.5 * (t[1] - t[0]));
    let speed = |t: f64| length(curve.derivative(t));
    GAUSS.iter().map(|&(x, w)| w * speed(middle + half * x)).sum::<f64>() * half.abs()
}

/// The parameter between two others whose point is equally far from theirs.
pub(super) fn middle_parameter(curve: &Curve, t: [f64; 2]) -> f64 {
    let mean = 0.5 * (t[0] + t[1]);
    if curve.is_straight() || curve.round().is_some() {
        return mean;
    }
    let [a, b] = t.map(|t| curve.point(t));
    let excess = |t: f64| {
        let p = curve.point(t);
        distance(p, a) - distance(p, b)
    };
    // Regula falsi with halved weights: excess is negative at the first end and positive at the other.
    let (mut low, mut high) = (t[0], t[1]);
    let (mut f_low, mut f_high) = (excess(low), excess(high));
    let mut guess = mean;
    for _ in 0..8 {
        let f = excess(guess);
        if f < 0.0 {
            (low, f_low) = (guess, f);
            f_high *= 0.5;
        } else {
            (high, f_high) = (guess, f);
            f_low *= 0.5;
        }
        if f.abs() <= 1e-3 * distance(a, b) || f_high <= f_low {
            break;
        }
        guess = low - f_low * (high - low) / (f_high - f_low);
    }
    // Keep well inside the edge whatever the curve does.
    let share = (guess - t[0]) / (t[1] - t[0]);
    if share.is_finite() && (0.1..=0.9).contains(&share) { guess } else { mean }
}

/// Coordinates too small for exact predicates become zero.
pub(super) fn clean(p: Point) -> Point {
    p.map(|x| if x.abs() < 1e-40 { 0.0 } else { x })
}
