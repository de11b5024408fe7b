//! Faults of a closed chain that are small enough to be put right.

use super::stroke::{Stroke, size_of};
use crate::base::Point;
use crate::base::plane::{distance, distance_to_segment, dot, square, way};
use crate::geometry::measure::enclosed;
use crate::geometry::meet::{Body, Crowd, Spans};
use crate::geometry::span::is_near;
use crate::geometry::{Curve, Piece, Side};
use std::ops::Range;

/// Ends nearer than this fraction of the size meet.
const MEET: f64 = 1e-9;

/// Curves through one place among which the smallest loop is looked for.
const MOST_TOUCHING: usize = 40;

/// What was put right, in counts with the largest size.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Repairs {
    pub turned: usize,
    pub repeated: usize,
    pub gaps: (usize, f64),
    pub spikes: (usize, f64),
    pub crossings: (usize, f64),
}

/// What cannot be put right.
pub(super) enum Fault {
    /// A crossing that is too large.
    Crossing {
        at: Point,
        /// Whether it crosses itself there or only touches.
        crosses: bool,
        /// Length of the loop or spike that would have to go, if one is small.
        length: f64,
        place: Option<Range<usize>>,
    },
    /// Too many lines side by side.
    Crowd { crowd: Crowd, place: Option<Range<usize>> },
}

/// Length of a curve, in proportion.
fn length(curve: &Curve) -> f64 {
    Piece { curve: curve.clone(), from: 0.0, to: 1.0, side: Side::Inlet }.length()
}

/// Drops curves without extent: repeated points.
pub(super) fn drop_points(stroke: &mut Stroke, repairs: &mut Repairs) {
    let is_point = |curve: &Curve| match curve {
        Curve::Line { from, to } => from == to,
        other => {
            let p = other.point(0.0);
            [0.25, 0.5, 0.75, 1.0].iter().all(|t| other.point(*t) == p)
        }
    };
    let keep: Vec<bool> = stroke.curves.iter().map(|curve| !is_point(curve)).collect();
    repairs.repeated += keep.iter().filter(|keep| !**keep).count();
    retain(stroke, &keep);
}

fn retain(stroke: &mut Stroke, keep: &[bool]) {
    let mut flags = keep.iter();
    stroke.curves.retain(|_| flags.next().copied().unwrap_or(true));
    let mut flags = keep.iter();
    stroke.places.retain(|_| flags.next().copied().unwrap_or(true));
}

/// Makes lines of the cubics that are straight to rounding, whose parametrisation may stand still at an end.
pub(super) fn straighten(stroke: &mut Stroke) {
    for curve in &mut stroke.curves {
        let Curve::Cubic { coefficients: [p, b, c, _] } = &*curve else { continue };
        let ends = [*p, curve.point(1.0)];
        let q = [0, 1].map(|k| p[k] + b[k] / 3.0);
        let r = [0, 1].map(|k| p[k] + (2.0 * b[k] + c[k]) / 3.0);
        let largest = ends.as_flattened().iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let rounding = 1e-12 * distance(ends[0], ends[1]) + 4e-15 * largest;
        if [q, r].iter().all(|control| distance_to_segment(*control, ends) <= rounding) {
            *curve = Curve::Line { from: ends[0], to: ends[1] };
        }
    }
}

/// Joins the ends of neighbours in a closed chain exactly where they miss each other by more than rounding.
///
/// The end of a line or cubic is moved; between two arcs a line is put.
pub(super) fn close_gaps(stroke: &mut Stroke, repairs: &mut Repairs) {
    let meet = MEET * size_of(&stroke.curves);
    let mut k = 0;
    while k < stroke.curves.len() {
        let next = if k + 1 == stroke.curves.len() { 0 } else { k + 1 };
        let (end, start) = (stroke.curves[k].point(1.0), stroke.curves[next].point(0.0));
        let gap = distance(end, start);
        if gap > meet {
            repairs.gaps = (repairs.gaps.0 + 1, repairs.gaps.1.max(gap));
            let (before, after) = (&stroke.curves[k], &stroke.curves[next]);
            if let Some(moved) = before.with_ends(before.point(0.0), start) {
                stroke.curves[k] = moved;
            } else if let Some(moved) = after.with_ends(end, after.point(1.0)) {
                stroke.curves[next] = moved;
            } else {
                stroke.curves.insert(k + 1, Curve::Line { from: end, to: start });
                if let Some(place) = stroke.places.get(k).cloned() {
                    stroke.places.insert(k + 1, place);
                }
                k += 1;
            }
        }
        k += 1;
    }
}

/// Cuts spikes and small loops where a closed chain meets itself, as long as they are no longer than `tolerance`.
///
/// # Errors
/// The first place where it meets itself otherwise, or where it is too crowded to tell.
pub(super) fn untangle(stroke: &mut Stroke, tolerance: f64, repairs: &mut Repairs) -> Result<(), Fault> {
    // Every repair needs another look at the whole.
    let most = (2_000_000 / stroke.curves.len().max(1)).clamp(2, 100);
    for _ in 0..=most {
        let spans = Spans::new(vec![Body::whole(&stroke.curves)]);
        let meetings = spans.meetings(0.0).map_err(|crowd| {
            let place = stroke.places.get(crowd.part).cloned();
            Fault::Crowd { crowd, place }
        })?;
        let Some(meeting) = meetings.into_values().next() else { return Ok(()) };
        let (at, crosses) = (meeting.at, meeting.crosses);
        let eps = 1e-9 * size_of(&stroke.curves);
        let mut touched: Vec<usize> = (0..spans.spans.len())
            .filter(|&s| is_near(at, spans.curve(s), &spans.spans[s], eps, 60))
            .map(|s| spans.owners[s][1] as usize)
            .collect();
        touched.dedup();
        touched.truncate(MOST_TOUCHING);
        let crossing = |length: f64, curve: usize| Fault::Crossing {
            at,
            crosses,
            length,
            place: stroke.places.get(curve).cloned(),
        };
        let Some((first, last, inner)) = smallest_loop(&stroke.curves, &touched, at) else {
            return Err(crossing(f64::INFINITY, touched.first().copied().unwrap_or(0)));
        };
        if inner > tolerance {
            return Err(crossing(inner, last));
        }
        cut(stroke, first, last, at, inner, repairs);
    }
    let at = stroke.curves.first().map_or([0.0; 2], |c| c.point(0.0));
    Err(Fault::Crossing { at, crosses: true, length: tolerance, place: None })
}

/// The two curves through a place between which the chain is shortest: the first, the last, and the length between.
fn smallest_loop(curves: &[Curve], touched: &[usize], at: Point) -> Option<(usize, usize, f64)> {
    let n = curves.len();
    let lengths: Vec<f64> = curves.iter().map(length).collect();
    let total: f64 = lengths.iter().sum();
    let mut passed = vec![0.0; n + 1];
    for k in 0..n {
        passed[k + 1] = passed[k] + lengths[k];
    }
    let after = |k: usize| length(&curves[k].part(nearest(&curves[k], at), 1.0));
    let before = |k: usize| length(&curves[k].part(0.0, nearest(&curves[k], at)));
    let mut best: Option<(usize, usize, f64)> = None;
    for (a, &i) in touched.iter().enumerate() {
        for &j in &touched[a + 1..] {
            let forward: f64 = after(i) + (passed[j] - passed[i + 1]) + before(j);
            let backward = total - forward;
            let found = if forward <= backward { (i, j, forward) } else { (j, i, backward) };
            // Neighbours meet at their joint: that is no loop unless they fold back there.
            let adjacent = (found.0 + 1) % n == found.1 && found.2 <= 1e-9 * total;
            let found = if adjacent { (found.0, found.1, lengths[i].min(lengths[j])) } else { found };
            let is_smaller = best.is_none_or(|(.., known)| found.2 < known);
            if is_smaller && (!adjacent || touched.len() == 2) {
                best = Some(found);
            }
        }
    }
    best
}

/// The parameter of the point of a curve nearest to a place.
fn nearest(curve: &Curve, at: Point) -> f64 {
    let gap = |t: f64| distance(curve.point(t), at);
    let steps = if curve.is_straight() { 1 } else { 64 };
    let start = (0..=steps).map(|k| f64::from(k) / f64::from(steps)).min_by(|a, b| gap(*a).total_cmp(&gap(*b)));
    let mut t = start.unwrap_or(0.0);
    for _ in 0..20 {
        let (p, d) = (curve.point(t), curve.derivative(t));
        let step = dot(way(p, at), d) / square(d);
        if !step.is_finite() || step.abs() < 1e-16 {
            break;
        }
        t = (t + step).clamp(0.0, 1.0);
    }
    t
}

/// Takes out what lies between a place on the curve `first` and the same place on the curve `last`.
fn cut(stroke: &mut Stroke, first: usize, last: usize, at: Point, inner: f64, repairs: &mut Repairs) {
    let n = stroke.curves.len();
    let (a, b) = (&stroke.curves[first], &stroke.curves[last]);
    let (s, t) = (nearest(a, at), nearest(b, at));
    let between = (first + 1..first + n).map(|k| k % n).take_while(|k| *k != last);
    let inside: Vec<Curve> = between.map(|k| stroke.curves[k].clone()).collect();
    let away = [a.part(s, 1.0)].into_iter().chain(inside).chain([b.part(0.0, t)]).collect::<Vec<_>>();
    let area = enclosed(&away).abs();
    let kind = if area <= 1e-6 * inner * inner { &mut repairs.spikes } else { &mut repairs.crossings };
    *kind = (kind.0 + 1, kind.1.max(inner));
    // Where two sides fold back at their joint, one line takes the place of both.
    let folds = (first + 1) % n == last && s > 1.0 - 1e-9 && t < 1e-9;
    let [before, after] = if folds {
        [Curve::Line { from: a.point(0.0), to: b.point(1.0) }, Curve::Line { from: at, to: at }]
    } else {
        let (before, after) = (a.part(0.0, s), b.part(t, 1.0));
        [before.with_ends(a.point(0.0), at).unwrap_or(before), after.with_ends(at, b.point(1.0)).unwrap_or(after)]
    };
    let mut keep = vec![true; n];
    let mut k = (first + 1) % n;
    while k != last && k != first {
        keep[k] = false;
        k = (k + 1) % n;
    }
    stroke.curves[first] = before;
    stroke.curves[last] = after;
    retain(stroke, &keep);
    drop_points(stroke, &mut Repairs::default());
}
