//! Where outlines cross themselves or come too near to one another.

use super::Curve;
use super::boxes::Boxes;
use super::span::{Span, crossings, spans};
use crate::base::Point;
use crate::base::plane::{
    Rect, Segment, Vector, cross, dot, length, middle, nearest_points, orientation, segments_cross, segments_meet,
    stepped, way,
};
use std::collections::BTreeMap;

/// A part of a closed outline.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part {
    /// Index of its curve.
    pub curve: usize,
    /// Parameter at its start.
    pub from: f64,
    /// Parameter at its end.
    pub to: f64,
    /// Whether it bounds the fluid.
    pub inside: bool,
}

/// A closed outline, in order.
pub(crate) struct Body<'a> {
    pub curves: &'a [Curve],
    pub parts: Vec<Part>,
}

impl<'a> Body<'a> {
    /// An outline that bounds the fluid all along.
    pub fn whole(curves: &'a [Curve]) -> Self {
        let part = |curve| Part { curve, from: 0.0, to: 1.0, inside: true };
        Body { curves, parts: (0..curves.len()).map(part).collect() }
    }
}

/// A place where two outlines, or one with itself, meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Meeting {
    pub at: Point,
    /// Distance, zero where they cross or touch.
    pub distance: f64,
    /// Whether one passes from one side of the other to its other side there.
    pub crosses: bool,
}

/// Outlines of which too many parts run side by side to be compared.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Crowd {
    /// Body of one such part.
    pub body: usize,
    /// The part.
    pub part: usize,
    /// Pairs compared before giving up.
    pub pairs: usize,
    /// Where it starts.
    pub at: Point,
}

impl Crowd {
    /// What is said of it; `name` is the outline's, `place` the start of the part as its file would have it.
    pub fn message(&self, name: &str, place: &str) -> String {
        let pairs = self.pairs;
        format!(
            "too many lines of {name} run side by side near {place}: more than {pairs} pairs to check against one another"
        )
    }
}

/// What to do about a crowd.
pub(crate) const THIN_OUT: &str = "thin out lines that lie close together over long stretches";

/// Narrowest passage, as a fraction of the cell's width.
pub(crate) const NARROWEST: f64 = 1e-6;

/// Pairs of spans compared before outlines count as crowded, and more for each span. Passages between so many
/// would take tens of millions of triangles.
const MOST_PAIRS: usize = 20_000_000;
const MOST_PAIRS_PER_SPAN: usize = 100;

/// Most pairs of outlines that meet which are looked for: n outlines on one another make n^2 of them.
pub(crate) const MOST_MEETINGS: usize = 999;

/// Pairs of spans compared before, to see whether outlines lie in a heap.
const TRIES: usize = 2_000_000;

/// All outlines broken into spans.
pub(crate) struct Spans<'a> {
    pub bodies: Vec<Body<'a>>,
    /// The spans of all bodies, one after the other.
    pub spans: Vec<Span>,
    /// Body, and part of that body, of each span.
    pub owners: Vec<[u32; 2]>,
    /// Range of the spans of each body.
    pub ranges: Vec<std::ops::Range<usize>>,
    scales: Vec<Scale>,
}

impl<'a> Spans<'a> {
    pub fn new(bodies: Vec<Body<'a>>) -> Self {
        let (mut all, mut owners, mut ranges) = (Vec::new(), Vec::new(), Vec::new());
        let mut scales = Vec::new();
        for (b, body) in bodies.iter().enumerate() {
            let start = all.len();
            for (p, part) in body.parts.iter().enumerate() {
                let found = spans(&body.curves[part.curve], part.from, part.to);
                owners.extend(found.iter().map(|_| [b as u32, p as u32]));
                all.extend(found);
            }
            scales.push(Scale::of(&all[start..]));
            ranges.push(start..all.len());
        }
        Spans { bodies, spans: all, owners, ranges, scales }
    }

    pub fn curve(&self, span: usize) -> &'a Curve {
        let [body, part] = self.owners[span].map(|k| k as usize);
        &self.bodies[body].curves[self.bodies[body].parts[part].curve]
    }

    fn is_inside(&self, span: usize) -> bool {
        let [body, part] = self.owners[span].map(|k| k as usize);
        self.bodies[body].parts[part].inside
    }

    /// Pairs of outlines that meet among the first so many whose boxes overlap: a heap of outlines shows at once, while the boxes of its
    /// spans come in whatever order the tree has.
    fn heap(&self, limit: f64) -> BTreeMap<(usize, usize), Meeting> {
        let mut found = BTreeMap::new();
        let boxes = self.ranges.iter().map(|range| {
            self.spans[range.clone()].iter().fold(Rect::EMPTY, |all, span| all.with(span.bounds(0.5 * limit)))
        });
        let mut tries = TRIES;
        Boxes::new(boxes).pairs(|i, j| {
            let [a, b] = [i, j].map(|k| self.ranges[k].clone());
            let cost = a.len() * b.len();
            if cost < tries {
                tries -= cost;
                let pairs = a.flat_map(|a| b.clone().map(move |b| (a, b)));
                let mut inside = pairs.filter(|&(a, b)| self.is_inside(a) && self.is_inside(b));
                let meeting = |(a, b): (usize, usize)| {
                    near_meeting([self.curve(a), self.curve(b)], [&self.spans[a], &self.spans[b]], limit, 60)
                };
                found.extend(inside.find_map(meeting).map(|meeting| ((i, j), meeting)));
            }
            tries > 0 && found.len() < MOST_MEETINGS
        });
        found
    }

    /// For each pair of outlines (or an outline and itself) one place where they cross, or else where parts that bound the
    /// fluid are nearer than `limit`; one outline may come near to itself, but not touch.
    ///
    /// Pairs come from a tree of boxes; spans that are not clearly apart are halved until their sag is negligible. The search ends at
    /// [`MOST_MEETINGS`] of them.
    ///
    /// # Errors
    /// A place where it is crowded, if boxes overlap in more pairs than can be compared and none compared so far meets.
    pub fn meetings(&self, limit: f64) -> Result<BTreeMap<(usize, usize), Meeting>, Crowd> {
        let heap = self.heap(limit);
        if heap.len() == MOST_MEETINGS {
            return Ok(heap);
        }
        let boxes = Boxes::new(self.spans.iter().map(|s| s.bounds(0.5 * limit)));
        let mut found: BTreeMap<(usize, usize), (Meeting, u32)> = BTreeMap::new();
        let (mut visits, most) = (0usize, 1_000_000 + 50 * self.spans.len());
        let (mut crowd, crowded) = (None, MOST_PAIRS + MOST_PAIRS_PER_SPAN * self.spans.len());
        boxes.pairs(|i, j| {
            let key = (self.owners[i][0] as usize, self.owners[j][0] as usize);
            // A tangle has n^2 pairs: one crossing found is enough then.
            visits += 1;
            if found.is_empty() && visits > crowded {
                let [body, part] = self.owners[i].map(|k| k as usize);
                crowd = Some(Crowd { body, part, pairs: crowded, at: self.spans[i].ends[0] });
                return false;
            }
            let go_on = found.is_empty() || visits < most;
            // A crossing says it all; of places that are merely near, enough are tried to find a crossing among them.
            if found.get(&key).is_some_and(|(known, count)| known.distance == 0.0 || *count > 200) {
                return go_on;
            }
            let (a, b) = (&self.spans[i], &self.spans[j]);
            let meeting = if key.0 == key.1 {
                let range = &self.ranges[key.0];
                let link = if j == i + 1 {
                    Link::Forward
                } else if i == range.start && j + 1 == range.end {
                    Link::Backward
                } else {
                    Link::None
                };
                own_meeting([self.curve(i), self.curve(j)], [a, b], link, self.scales[key.0], 40)
            } else if self.is_inside(i) && self.is_inside(j) {
                near_meeting([self.curve(i), self.curve(j)], [a, b], limit, 60)
            } else {
                None
            };
            if let Some(meeting) = meeting {
                let entry = found.entry(key).or_insert((meeting, 0));
                entry.1 += 1;
                if meeting.distance < entry.0.distance {
                    entry.0 = meeting;
                }
            }
            go_on && found.len() < MOST_MEETINGS
        });
        match crowd {
            Some(crowd) => Err(crowd),
            None => Ok(found.into_iter().map(|(key, (meeting, _))| (key, meeting)).collect()),
        }
    }
}

/// Lengths that belong to an outline.
#[derive(Debug, Clone, Copy)]
struct Scale {
    /// Its largest extent, m.
    size: f64,
    /// The rounding error of its coordinates, m.
    rounding: f64,
}

impl Scale {
    fn of(spans: &[Span]) -> Self {
        let rect = Rect::of(spans.iter().flat_map(|s| s.ends));
        let largest = [rect.low, rect.high].as_flattened().iter().fold(0.0, |most: f64, x| most.max(x.abs()));
        Scale { size: rect.extent(), rounding: 1e-14 * largest }
    }
}

/// Which ends two spans of one outline share.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Link {
    None,
    /// The end of the first with the start of the second.
    Forward,
    /// The end of the second with the start of the first.
    Backward,
}

fn meeting_of(a: &Span, b: &Span) -> Meeting {
    let (p, q, distance) = nearest_points(a.ends, b.ends);
    if segments_meet(a.ends, b.ends) {
        Meeting {
            at: crossing_point(a.ends, b.ends).unwrap_or(p),
            distance: 0.0,
            crosses: segments_cross(a.ends, b.ends),
        }
    } else {
        Meeting { at: middle(p, q), distance, crosses: false }
    }
}

fn crossing_point(p: Segment, q: Segment) -> Option<Point> {
    let (d, e) = (way(p[0], p[1]), way(q[0], q[1]));
    let w = cross(way(p[0], q[0]), e) / cross(d, e);
    (0.0..=1.0).contains(&w).then(|| stepped(p[0], w, d))
}

fn near_meeting(curves: [&Curve; 2], [a, b]: [&Span; 2], limit: f64, depth: u32) -> Option<Meeting> {
    let meeting = meeting_of(a, b);
    let slack = a.sag + b.sag;
    if meeting.distance > limit + slack {
        return None;
    }
    if depth == 0 || slack <= 0.01 * limit {
        return (meeting.distance <= limit).then_some(meeting);
    }
    if a.sag >= b.sag {
        a.halves(curves[0]).iter().find_map(|half| near_meeting(curves, [half, b], limit, depth - 1))
    } else {
        b.halves(curves[1]).iter().find_map(|half| near_meeting(curves, [a, half], limit, depth - 1))
    }
}

fn own_meeting(curves: [&Curve; 2], [a, b]: [&Span; 2], link: Link, scale: Scale, depth: u32) -> Option<Meeting> {
    let straight = a.sag == 0.0 && b.sag == 0.0;
    if link != Link::None {
        let (before, after) = if link == Link::Forward { (a, b) } else { (b, a) };
        let (d, e) = (chord(before), chord(after));
        let (along, across) = (dot(d, e), cross(d, e));
        if straight {
            let back = along < 0.0 && orientation(before.ends[0], before.ends[1], after.ends[1]) == 0.0;
            return back.then_some(Meeting { at: before.ends[1], distance: 0.0, crosses: false });
        }
        // Only neighbours that turn back on each other can meet again.
        let short = length(d).max(length(e)) < 1e-5 * scale.size;
        if along >= 0.0 || across.abs() > 0.5 * along.abs() || short {
            return None;
        }
    } else {
        let meeting = meeting_of(a, b);
        if meeting.distance > a.sag + b.sag {
            return None;
        }
        if straight {
            return (meeting.distance == 0.0).then_some(meeting);
        }
        if depth == 0 || a.sag + b.sag <= scale.rounding {
            let touching = meeting.distance <= scale.rounding;
            return touching.then_some(Meeting { distance: 0.0, ..meeting });
        }
    }
    let (first, second) = (a.halves(curves[0]), b.halves(curves[1]));
    for (i, p) in first.iter().enumerate() {
        for (j, q) in second.iter().enumerate() {
            let still = match link {
                Link::Forward if i == 1 && j == 0 => Link::Forward,
                Link::Backward if i == 0 && j == 1 => Link::Backward,
                _ => Link::None,
            };
            let found = own_meeting(curves, [p, q], still, scale, depth - 1);
            if found.is_some() {
                return found;
            }
        }
    }
    None
}

fn chord(span: &Span) -> Vector {
    way(span.ends[0], span.ends[1])
}

/// How often an outline winds about a point.
pub(crate) fn winding(spans: &Spans, body: usize, point: Point) -> i32 {
    spans.ranges[body].clone().map(|s| crossings(point, spans.curve(s), &spans.spans[s], 50)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::boxes::work;
    use std::f64::consts::TAU;

    /// Whether a closed polygon meets itself, if that can be told, and the pairs of sides that were looked at.
    fn searched(points: &[Point]) -> (Result<bool, Crowd>, usize) {
        let ends = points.iter().zip(points.iter().cycle().skip(1));
        let curves: Vec<Curve> = ends.map(|(&from, &to)| Curve::Line { from, to }).collect();
        let spans = Spans::new(vec![Body::whole(&curves)]);
        work::of(|| spans.meetings(0.0).map(|found| !found.is_empty()))
    }

    fn on_circle(k: usize, n: usize) -> Point {
        let (sin, cos) = (TAU * k as f64 / n as f64).sin_cos();
        [cos, sin]
    }

    /// Each side is compared with its neighbours and no others, however many sides there are.
    #[test]
    fn the_work_of_a_plain_outline_grows_as_its_points() {
        for n in [1000, 100_000] {
            let circle: Vec<Point> = (0..n).map(|k| on_circle(k, n)).collect();
            let (meets, visits) = searched(&circle);
            println!("{n} points: {visits} pairs");
            assert!(!meets.unwrap());
            assert_eq!(visits, n);
        }
    }

    /// Some 10^8 pairs in all: once a crossing is known, looking for more stops at a million and fifty a side.
    #[test]
    fn a_scribble_is_left_after_a_stated_number_of_pairs() {
        let at = |k: u32, p: u32| f64::from(k.wrapping_mul(p) % 65_521) / 65_521.0;
        let points: Vec<Point> = (1..20_000).map(|k| [at(k, 48_271), at(k, 40_014)]).collect();
        let (meets, visits) = searched(&points);
        println!("scribble: {visits} pairs");
        assert!(meets.unwrap());
        assert!(visits <= 1_000_000 + 50 * points.len(), "{visits}");
    }

    /// A hub that thousands of slices touch: the same limit.
    #[test]
    fn a_hub_is_left_after_a_stated_number_of_pairs() {
        let n = 5000;
        let slice = |k: usize| [on_circle(2 * k, 2 * n), on_circle(2 * k + 1, 2 * n), [0.0, 0.0]];
        let points: Vec<Point> = (0..n).flat_map(slice).collect();
        let (meets, visits) = searched(&points);
        println!("hub: {visits} pairs");
        assert!(meets.unwrap());
        assert!(visits <= 1_000_000 + 50 * points.len(), "{visits}");
    }

    /// Slanted teeth whose boxes all overlap and none of which meet: as many pairs as the square of their number, given up at the stated
    /// number of them.
    #[test]
    fn slanted_teeth_are_given_up_as_crowded() {
        let comb = |teeth: usize| -> Vec<Point> {
            let tooth = |k: usize| {
                let x = k as f64 / teeth as f64;
                let next = x + 0.5 / teeth as f64;
                [[x, 0.0], [x + 0.5, 0.5], [next + 0.5, 0.5], [next, 0.0]]
            };
            [[0.0, -0.1]].into_iter().chain((0..teeth).flat_map(tooth)).chain([[1.0, -0.1]]).collect()
        };
        let (meets, few) = searched(&comb(500));
        assert!(!meets.unwrap());
        let points = comb(10_000);
        let (crowd, visits) = searched(&points);
        println!("teeth: {few} pairs of 2000 sides, {visits} of {}", points.len());
        let crowd = crowd.unwrap_err();
        assert_eq!(crowd.pairs, MOST_PAIRS + MOST_PAIRS_PER_SPAN * points.len());
        assert_eq!(visits, crowd.pairs + 1);
    }
}
