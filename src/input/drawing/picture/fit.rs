//! From a half-tone line to straight sides and smooth curves.

use super::contour::Contour;
use super::corner::{BOUND, Corner, FARTHEST, Line, STEP, Search, corners};
use super::hold::{apart, crossing, fine, places};
use super::smooth::{Bit, End, REACH, fit, joint, middle_of};
use super::track::Track;
use crate::base::Point;
use crate::base::plane::distance;
use crate::geometry::Curve;
use crate::geometry::meet::{Body, Spans};
use crate::geometry::span::is_near;
use std::collections::BTreeSet;

/// Largest deviation of the outline from the half-tone line, pixels, where the user gives none.
const USUAL: f64 = 0.1;

/// The same for pictures without intermediate tones, whose line is known to half a pixel, and the most for noisy ones.
const ABRUPT: f64 = 0.6;

/// Samples on either side among which noise is looked for, h: few, for a bend with a radius of R samples counts as noise of 3 h^4/(280 R^3),
/// what a circle leaves of the middle of a parabola through it.
const NOISE_REACH: usize = 4;

/// Rounds of taking back corners and curves before the whole line is left as traced.
const MOST_ROUNDS: usize = 40;

/// A smooth outline.
pub(super) struct Fitted {
    pub curves: Vec<Curve>,
    /// Largest distance of the half-tone line from it, away from corners, pixels.
    pub deviation: f64,
    /// Corners, and the largest distance there, pixels.
    pub corners: usize,
    pub cut: f64,
    /// Parts that are the half-tone line itself.
    pub traced: usize,
    /// Whether the picture had no intermediate tones.
    pub abrupt: bool,
}

/// A curve in place of the line from one sample to another, and the corners it starts and ends in.
struct Part {
    curve: Curve,
    from: usize,
    to: usize,
    corners: [Option<usize>; 2],
}

/// Fits the outline, straight where it can be and smooth between corners, to within a deviation if that is given.
///
/// What is drawn keeps within [`BOUND`] of the half-tone line, or the deviation given if that is larger, and does not cross itself:
/// where a curve fails, its corners are taken back, then the curve, in favour of the line as traced, which never crosses itself.
pub(super) fn fitted(contour: &Contour, deviation: Option<f64>) -> Fitted {
    let track = Track::new(&contour.points);
    let samples = &track.samples;
    let n = samples.len();
    let abrupt = contour.abrupt > 0.9;
    let limit = deviation.unwrap_or(if abrupt { ABRUPT } else { (3.0 * jitter(samples)).clamp(USUAL, ABRUPT) });
    let search = if abrupt || limit > 0.4 {
        Search { skip: 3, arm: 16, turn: 0.7 }
    } else {
        Search { skip: 2, arm: 10, turn: 0.45 }
    };
    let bound = BOUND.max(deviation.unwrap_or(0.0));
    let mut corners = corners(samples, search);
    // the steps between samples that are left as traced
    let mut traced = vec![false; n];
    for _ in 0..MOST_ROUNDS {
        let parts =
            if corners.is_empty() { round(samples, limit) } else { between(&track, &mut corners, search, limit) };
        let is_traced: Vec<bool> = parts.iter().map(|part| (part.from..part.to).any(|k| traced[k % n])).collect();
        let distances: Vec<[f64; 2]> = parts.iter().map(|part| strays(part, &track, &corners, search)).collect();
        let mut bad: BTreeSet<usize> = (0..parts.len())
            .filter(|&k| {
                !is_traced[k] && distances[k][0].max(distances[k][1]) > bound
                    || is_traced[k] && parts[k].corners != [None; 2]
            })
            .collect();
        let lines = chained(&parts, &is_traced, &track);
        if bad.is_empty() {
            bad = crossings(&lines, parts.len());
        }
        if bad.is_empty() {
            let drawn = || distances.iter().zip(&is_traced).filter(|(_, traced)| !**traced).map(|(apart, _)| apart);
            return Fitted {
                deviation: drawn().map(|apart| apart[1]).fold(0.0, f64::max),
                corners: corners.len(),
                cut: drawn().map(|apart| apart[0]).fold(0.0, f64::max),
                traced: runs(&is_traced),
                abrupt,
                curves: lines.into_iter().flat_map(|(_, curves)| curves).collect(),
            };
        }
        let mut dropped = BTreeSet::new();
        for k in bad {
            let count = parts.len();
            if parts[k].corners != [None; 2] {
                dropped.extend(parts[k].corners.into_iter().flatten());
                continue;
            }
            let more = if is_traced[k] { [(k + count - 1) % count, (k + 1) % count] } else { [k, k] };
            for part in more.map(|k| &parts[k]) {
                dropped.extend(part.corners.into_iter().flatten());
                (part.from..part.to).for_each(|step| traced[step % n] = true);
            }
        }
        let kept = corners.into_iter().enumerate().filter(|(k, _)| !dropped.contains(k));
        corners = kept.map(|(_, corner)| corner).collect();
    }
    let whole = track.points();
    let curves = lines_through(&[whole, &whole[..1]].concat());
    Fitted { curves, deviation: 0.0, corners: 0, cut: 0.0, traced: 1, abrupt }
}

/// How many runs of marks a closed row has.
fn runs(marks: &[bool]) -> usize {
    let n = marks.len();
    let ends = (0..n).filter(|&k| marks[k] && !marks[(k + 1) % n]).count();
    ends.max(usize::from(marks.contains(&true)))
}

/// The curves from each corner to the next.
fn between(track: &Track<'_>, corners: &mut [Corner], search: Search, limit: f64) -> Vec<Part> {
    let samples = &track.samples;
    let sides: Vec<Vec<Point>> = sides(samples, corners, search.skip);
    let straight: Vec<Option<Line>> = sides.iter().map(|side| straight(side, limit)).collect();
    // Two straight sides know their corner better than their ends do.
    let (n, count) = (corners.len(), samples.len());
    for k in 0..n {
        let (before, after) = (&straight[(k + n - 1) % n], &straight[k]);
        let meet = before.zip(after.as_ref()).and_then(|(before, after)| before.meets(after));
        let corner = &mut corners[k];
        let Some(at) = meet.filter(|at| !corner.is_blunted && distance(*at, corner.at) < 1.5) else { continue };
        let cut = track.distance_about(corner.index, search.arm, at);
        if cut <= FARTHEST {
            (corner.at, corner.cut) = (at, cut);
        }
    }
    let mut parts = Vec::new();
    for (k, side) in sides.iter().enumerate() {
        let next = (k + 1) % n;
        let (from, to) = (corners[k].at, corners[next].at);
        let mut start = corners[k].index;
        let stop = if n > 1 && corners[next].index > start { corners[next].index } else { corners[next].index + count };
        let ends = [Some(k), Some(next)];
        let line = straight[k].as_ref().filter(|line| line.distance(from).max(line.distance(to)) <= limit);
        if line.is_some() {
            parts.push(Part { curve: Curve::Line { from, to }, from: start, to: stop, corners: ends });
            continue;
        }
        let points: Vec<Point> = [from].into_iter().chain(side.iter().copied()).chain([to]).collect();
        let mut bits = Vec::new();
        fit(&points, [End::Free, End::Free], limit, &mut bits);
        let last = bits.len().saturating_sub(1);
        for (i, Bit { curve, steps }) in bits.into_iter().enumerate() {
            // the first and the last step stand for the samples that are rounded off
            let more = if i == 0 { search.skip - 1 } else { 0 };
            let end = if i == last { stop } else { (start + steps + more).min(stop) };
            let corners = [ends[0].filter(|_| i == 0), ends[1].filter(|_| i == last)];
            parts.push(Part { curve, from: start, to: end, corners });
            start = end;
        }
    }
    parts
}

/// The samples from each corner to the next, without those that are rounded off.
fn sides(samples: &[Point], corners: &[Corner], skip: usize) -> Vec<Vec<Point>> {
    let n = samples.len();
    let side = |k: usize| {
        let (from, to) = (corners[k].index, corners[(k + 1) % corners.len()].index);
        let count = if to > from { to - from } else { to + n - from };
        (from + skip..(from + count + 1).saturating_sub(skip)).map(|i| samples[i % n]).collect()
    };
    (0..corners.len()).map(side).collect()
}

/// The line of a side that is straight to within a limit.
fn straight(side: &[Point], limit: f64) -> Option<Line> {
    if side.len() < 3 {
        return (!side.is_empty()).then(|| Line::through(side.iter().copied()));
    }
    let line = Line::through(side.iter().copied());
    side.iter().all(|p| line.distance(*p) <= limit).then_some(line)
}

/// A line without corners: four parts with common tangents.
fn round(samples: &[Point], limit: f64) -> Vec<Part> {
    let n = samples.len();
    let quarters = [0, n / 4, n / 2, 3 * n / 4, n];
    let ends: Vec<(Point, [f64; 2])> =
        quarters[..4].iter().map(|&k| joint(&window(samples, k, REACH), limit)).collect();
    let mut parts = Vec::new();
    for q in 0..4 {
        let ((start, leave), (stop, arrive)) = (ends[q], ends[(q + 1) % 4]);
        let inner = (quarters[q] + 1..quarters[q + 1]).map(|k| samples[k]);
        let points: Vec<Point> = [start].into_iter().chain(inner).chain([stop]).collect();
        let mut bits = Vec::new();
        fit(&points, [End::Along(leave), End::Along(arrive)], limit, &mut bits);
        let mut from = quarters[q];
        for Bit { curve, steps } in bits {
            parts.push(Part { curve, from, to: from + steps, corners: [None; 2] });
            from += steps;
        }
    }
    parts
}

/// The samples about one of a closed line.
fn window(samples: &[Point], k: usize, reach: usize) -> Vec<Point> {
    let n = samples.len();
    let reach = reach.min((n - 1) / 2);
    (0..=2 * reach).map(|j| samples[(k + n + j - reach) % n]).collect()
}

/// How far a part and the half-tone line keep from one another at corners, and away from them, pixels.
fn strays(part: &Part, track: &Track<'_>, corners: &[Corner], search: Search) -> [f64; 2] {
    let at_corner = |p: Point| {
        let ends = part.corners.iter().flatten().map(|&k| &corners[k]);
        ends.into_iter().any(|corner| distance(p, corner.at) <= corner.cut + search.skip as f64 * STEP)
    };
    apart(&places(&part.curve), &fine(&track.between(part.from, part.to)), at_corner)
}

/// For each part its places and what is drawn for it: its curve, or the line as traced between the ends of its curve. Where two neighbours
/// are traced, so is the place between them.
fn chained(parts: &[Part], is_traced: &[bool], track: &Track<'_>) -> Vec<(Vec<Point>, Vec<Curve>)> {
    let count = parts.len();
    let line = |k: usize| {
        let part = &parts[k];
        if !is_traced[k] {
            return (places(&part.curve), vec![part.curve.clone()]);
        }
        let mut points = track.between(part.from, part.to);
        let last = points.len() - 1;
        if !is_traced[(k + count - 1) % count] {
            points[0] = part.curve.point(0.0);
        }
        if !is_traced[(k + 1) % count] {
            points[last] = part.curve.point(1.0);
        }
        let curves = lines_through(&points);
        (points, curves)
    };
    (0..count).map(line).collect()
}

/// Straight lines from point to point.
fn lines_through(points: &[Point]) -> Vec<Curve> {
    let apart = points.windows(2).filter(|pair| pair[0] != pair[1]);
    apart.map(|pair| Curve::Line { from: pair[0], to: pair[1] }).collect()
}

/// The parts that cross another or themselves: all that are seen on their places, else those at the first crossing of the curves.
fn crossings(lines: &[(Vec<Point>, Vec<Curve>)], count: usize) -> BTreeSet<usize> {
    let found = crossing(lines.iter().map(|(places, _)| places.as_slice()));
    if !found.is_empty() {
        return found;
    }
    let curves: Vec<Curve> = lines.iter().flat_map(|(_, curves)| curves).cloned().collect();
    let owners: Vec<usize> =
        lines.iter().enumerate().flat_map(|(k, (_, curves))| curves.iter().map(move |_| k)).collect();
    let spans = Spans::new(vec![Body::whole(&curves)]);
    let Ok(meetings) = spans.meetings(0.0) else { return (0..count).collect() };
    let Some(meeting) = meetings.into_values().next() else { return BTreeSet::new() };
    let near = |s: &usize| is_near(meeting.at, spans.curve(*s), &spans.spans[*s], 1e-6, 60);
    let touched =
        (0..spans.spans.len()).filter(near).map(|s| owners[spans.owners[s][1] as usize]).collect::<BTreeSet<_>>();
    if touched.is_empty() { (0..count).collect() } else { touched }
}

/// Standard deviation of the samples from the parabola through their neighbours, by the median, pixels.
fn jitter(samples: &[Point]) -> f64 {
    let n = samples.len();
    let mut apart: Vec<f64> = (0..n)
        .map(|k| {
            let (place, along) = middle_of(&window(samples, k, NOISE_REACH));
            ((samples[k][0] - place[0]) * along[1] - (samples[k][1] - place[1]) * along[0]).abs()
        })
        .collect();
    apart.sort_by(f64::total_cmp);
    1.48 * apart[n / 2]
}
