//! Corners of a half-tone line, which the pixels have rounded off.

use crate::base::Point;
use crate::base::plane::{Vector, between, cross, distance, distance_to_segment, dot, stepped, turn, way};

/// Distance between the samples of a line, pixels.
pub(super) const STEP: f64 = 0.7;

/// Farthest that a drawn outline may lie from the half-tone line, pixels.
pub(super) const BOUND: f64 = 0.95;

/// Farthest that a corner may lie from it, pixels: less than the bound, since each of its sides is compared on its own.
pub(super) const FARTHEST: f64 = 0.9;

/// Half the width at which two lines that meet cease to be seen as two, pixels.
///
/// A pixel and the average of the half-tone line together leave of a wedge what is wider than twice 0.54 to 0.6 pixels, for angles from 15
/// to 120 degrees (by integration over the wedge); what is rounded off more is round itself.
const BLUNT: f64 = 0.85;

/// Half the turn of a corner that counts as acute, rad: well above that of a right angle.
const ACUTE: f64 = 0.9;

/// A corner of a sampled line.
pub(super) struct Corner {
    /// The sample nearest to it.
    pub index: usize,
    /// Where the sides meet, or as far that way as the bound allows.
    pub at: Point,
    /// How far the sampled line keeps from there, pixels.
    pub cut: f64,
    /// Whether the sides meet beyond the bound.
    pub is_blunted: bool,
}

/// How corners are looked for.
#[derive(Clone, Copy)]
pub(super) struct Search {
    /// Samples next to a corner that the pixels have rounded off.
    pub skip: usize,
    /// Samples of a side that are looked at.
    pub arm: usize,
    /// Least turn, rad.
    pub turn: f64,
}

/// Points at equal distances along a closed line.
pub(super) fn resampled(points: &[Point], step: f64) -> Vec<Point> {
    let next = |k: usize| points[(k + 1) % points.len()];
    let lengths: Vec<f64> = (0..points.len()).map(|k| distance(points[k], next(k))).collect();
    let total: f64 = lengths.iter().sum();
    let count = ((total / step).round() as usize).max(8);
    let (mut samples, mut passed, mut k) = (Vec::with_capacity(count), 0.0, 0);
    for i in 0..count {
        let s = total * i as f64 / count as f64;
        while k + 1 < points.len() && passed + lengths[k] < s {
            passed += lengths[k];
            k += 1;
        }
        let w = if lengths[k] > 0.0 { ((s - passed) / lengths[k]).clamp(0.0, 1.0) } else { 0.0 };
        samples.push(between(points[k], next(k), w));
    }
    samples
}

/// The corners of a closed sampled line, in its order.
///
/// Lines are fitted to the sides before and after each sample. An arc of length l and turn f keeps the distance
/// (l/f)(1/cos(f/2) - 1) from where its tangents meet; what turns by more than the limit and keeps less than half that distance is a
/// corner, at the intersection of the lines. An acute one must be as narrow at its end as pixels leave a wedge: the
/// end of a bar is round. Where the lines meet beyond the bound, the corner stands at the bound if the angle is a sharp one, and there is
/// none if it is not.
pub(super) fn corners(samples: &[Point], search: Search) -> Vec<Corner> {
    let n = samples.len();
    let arm = search.arm.min(n / 6);
    if arm < 4 {
        return Vec::new();
    }
    let skip = search.skip.min(arm / 2);
    let at = |k: isize| samples[k.rem_euclid(n as isize) as usize];
    let turns: Vec<(f64, Line, Line)> = (0..n as isize)
        .map(|k| {
            let side = |sign: isize| Line::through((skip..=arm).map(|j| at(k + sign * j as isize)));
            let (before, after) = (side(-1).reversed(), side(1));
            (before.turn_to(&after), before, after)
        })
        .collect();
    let mut found: Vec<Corner> = Vec::new();
    for k in 0..n {
        let (turn, before, after) = &turns[k];
        let others = (1..=arm as isize).flat_map(|j| [j, -j]).map(|j| (k as isize + j).rem_euclid(n as isize) as usize);
        // Of equals the first.
        let is_largest = others.into_iter().all(|o| {
            let other = turns[o].0.abs();
            other < turn.abs() || (other == turn.abs() && o > k)
        });
        if turn.abs() < search.turn || !is_largest {
            continue;
        }
        let Some(meet) = before.meets(after) else { continue };
        let near = (-(arm as isize)..=arm as isize)
            .map(|j| k as isize + j)
            .min_by(|a, b| distance(at(*a), meet).total_cmp(&distance(at(*b), meet)))
            .unwrap_or(k as isize);
        let beside = [at(near - 1), at(near + 1)].map(|other| distance_to_segment(meet, [at(near), other]));
        let cut = beside[0].min(beside[1]);
        let half = 0.5 * turn.abs();
        let length = distance(before.middle, meet) + distance(after.middle, meet);
        let arc = length / turn.abs() * (1.0 / half.cos() - 1.0);
        let is_acute = half > ACUTE;
        let is_narrow = cut / half.tan() < BLUNT;
        let is_blunted = cut > FARTHEST;
        if cut < 0.5 * arc && if is_acute { is_narrow } else { !is_blunted } {
            let index = near.rem_euclid(n as isize) as usize;
            let at = if is_blunted {
                between(samples[index], meet, FARTHEST / distance(samples[index], meet))
            } else {
                meet
            };
            found.push(Corner { index, at, cut: cut.min(FARTHEST), is_blunted });
        }
    }
    found.sort_by_key(|corner| corner.index);
    found.dedup_by_key(|corner| corner.index);
    found
}

/// A line through points by least squares of the distance.
#[derive(Clone, Copy)]
pub(super) struct Line {
    pub middle: Point,
    /// Unit vector, in the order of the points.
    pub along: Vector,
}

impl Line {
    pub fn through(points: impl Iterator<Item = Point> + Clone) -> Self {
        let (mut count, mut middle) = (0.0, [0.0; 2]);
        for p in points.clone() {
            count += 1.0;
            middle = [0, 1].map(|k| middle[k] + (p[k] - middle[k]) / count);
        }
        let (mut xx, mut xy, mut yy, mut chord, mut first) = (0.0, 0.0, 0.0, [0.0; 2], None);
        for p in points {
            let [u, v] = way(middle, p);
            (xx, xy, yy) = (xx + u * u, xy + u * v, yy + v * v);
            let first = *first.get_or_insert(p);
            chord = way(first, p);
        }
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let along = [angle.cos(), angle.sin()];
        let sign = if dot(along, chord) < 0.0 { -1.0 } else { 1.0 };
        Line { middle, along: along.map(|v| sign * v) }
    }

    fn reversed(self) -> Self {
        Line { along: self.along.map(|v| -v), ..self }
    }

    /// Left turn into another line, rad.
    pub fn turn_to(&self, other: &Line) -> f64 {
        turn(self.along, other.along)
    }

    /// Where two lines meet; none if they are nearly parallel.
    pub fn meets(&self, other: &Line) -> Option<Point> {
        let sine = cross(self.along, other.along);
        let t = cross(way(self.middle, other.middle), other.along) / sine;
        (sine.abs() > 0.05).then(|| stepped(self.middle, t, self.along))
    }

    /// Distance of a point from the line.
    pub fn distance(&self, p: Point) -> f64 {
        cross(way(self.middle, p), self.along).abs()
    }
}
