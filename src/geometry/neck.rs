//! The thinnest neck of a solid, by the discs that fit into it.

use super::boxes::Boxes;
use crate::base::Point;
use crate::base::plane::{
    Rect, Segment, Vector, cross, distance, distance_to_segment, dot, left, nearest_on_segment, square, stepped, unit,
    way,
};
use std::f64::consts::PI;

/// Turns below this are no corners, rad (5 degrees).
pub(crate) const CORNER: f64 = 5.0 * PI / 180.0;

/// A shortest line between two solids, or across one.
#[derive(Debug, Clone, PartialEq)]
pub struct Width {
    /// Its length, m.
    pub length: f64,
    /// Its ends.
    pub ends: Segment,
}

/// Steps into which the whole outline is divided at least; every chord has a place of its own besides.
const STEPS: f64 = 1200.0;
/// Discs within this fraction of one another are of one size.
const SAME: f64 = 0.02;
/// Vertices this near to a chord, as a fraction of the larger extent, are passed over in looking for discs.
const PASSED_OVER: f64 = 1e-6;
/// A finger is at least so many radii of its disc long.
const FINGER: f64 = 4.0;

/// A place on the outline.
#[derive(Debug, Clone, Copy)]
struct Place {
    at: Point,
    /// Unit normal into the solid.
    normal: Vector,
    /// Way along the outline.
    along: f64,
    /// Whether it is at a corner, where discs of several sizes fit in.
    is_corner: bool,
}

/// The largest disc that touches the outline at a place from inside, and the chord it touches besides.
#[derive(Debug, Clone, Copy)]
struct Disc {
    radius: f64,
    chord: usize,
    touches: Point,
}

/// The thinnest neck of a closed counter-clockwise chain of chords: of the largest discs that touch the outline from inside at one place
/// and at another, the smallest for which discs more than 2 % larger touch the outline on either way between the two. A finger
/// counts too, on whose way round its tip none is larger, if half way to the tip it is as thick. A convex outline narrows towards its ends
/// only and has none.
pub(crate) fn neck(chords: &[Segment]) -> Option<Width> {
    let few = simplified(chords);
    if is_convex(&few) {
        return None;
    }
    let outline = Outline::new(&few);
    let mut guess = outline.step();
    let with_disc = |place: Place| {
        let disc = outline.disc(&place, guess)?;
        guess = 2.0 * disc.radius;
        Some((place, disc))
    };
    let (places, discs): (Vec<Place>, Vec<Disc>) = outline.places().into_iter().filter_map(with_disc).unzip();
    let size = |(place, disc): (&Place, &Disc)| if place.is_corner { 0.0 } else { disc.radius };
    let largest = Largest::new(places.iter().zip(&discs).map(size).collect());
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|&a, &b| discs[a].radius.total_cmp(&discs[b].radius));
    let separates = |k: usize| {
        let (place, disc) = (&places[k], &discs[k]);
        let end = outline.along(disc.chord, disc.touches);
        let (from, to) = (place.along.min(end), place.along.max(end));
        let [first, last] = [from, to].map(|s| places.partition_point(|place| place.along < s));
        let limit = (1.0 + SAME) * disc.radius;
        let inside = largest.within(first, last) > limit;
        let outside = largest.within(0, first).max(largest.within(last, places.len())) > limit;
        if inside && outside {
            return true;
        }
        // The way round the tip, signed from the place.
        let direct = end - place.along;
        let way = if inside { direct - outline.perimeter.copysign(direct) } else { direct };
        (inside || outside)
            && way.abs() > 2.0 * FINGER * disc.radius
            && outline
                .place(place.along + 0.25 * way)
                .and_then(|half_way| outline.disc(&half_way, disc.radius))
                .is_some_and(|half_way| half_way.radius > (1.0 - SAME) * disc.radius)
    };
    let k = order.into_iter().find(|&k| separates(k))?;
    across(chords, places[k].at, discs[k])
}

/// The chain with what is needed to ask about it.
struct Outline<'a> {
    chords: &'a [Segment],
    /// Where every chord starts along the chain.
    starts: Vec<f64>,
    perimeter: f64,
    tree: Boxes,
}

impl<'a> Outline<'a> {
    fn new(chords: &'a [Segment]) -> Self {
        let mut perimeter = 0.0;
        let start = |chord: &Segment| {
            let here = perimeter;
            perimeter += distance(chord[0], chord[1]);
            here
        };
        let starts = chords.iter().map(start).collect();
        let tree = Boxes::new(chords.iter().map(|chord| Rect::of(*chord)));
        Outline { chords, starts, perimeter, tree }
    }

    /// Where a point of a chord lies along the chain.
    fn along(&self, chord: usize, p: Point) -> f64 {
        self.starts[chord] + distance(self.chords[chord][0], p)
    }

    fn direction(&self, chord: usize) -> Option<Vector> {
        let [p, q] = self.chords[chord];
        unit(way(p, q))
    }

    /// The place so far along the chain, which is closed.
    fn place(&self, along: f64) -> Option<Place> {
        let along = along.rem_euclid(self.perimeter);
        let chord = self.starts.partition_point(|start| *start <= along).checked_sub(1)?;
        let direction = self.direction(chord)?;
        let at = stepped(self.chords[chord][0], along - self.starts[chord], direction);
        Some(Place { at, normal: left(direction), along, is_corner: false })
    }

    /// Places a step apart or less, in order: on every chord, and at corners that do not jut out, facing what is nearest.
    fn places(&self) -> Vec<Place> {
        let step = self.step();
        let mut places = Vec::with_capacity(self.chords.len() + STEPS as usize);
        let mut before = self.direction(self.chords.len().saturating_sub(1));
        for (k, &start) in self.starts.iter().enumerate() {
            let Some(direction) = self.direction(k) else { continue };
            if let Some(before) = before {
                places.extend(self.corner(k, before, direction));
            }
            before = Some(direction);
            let length = distance(self.chords[k][0], self.chords[k][1]);
            let parts = (length / step).ceil().max(1.0);
            let at = |part: usize| start + length * (part as f64 + 0.5) / parts;
            places.extend((0..parts as usize).filter_map(|part| self.place(at(part))));
        }
        places
    }

    /// The place at the start of a chord, if the outline turns away from the solid there.
    fn corner(&self, chord: usize, t: Vector, u: Vector) -> Option<Place> {
        if cross(t, u) > -CORNER.sin() {
            return None;
        }
        let at = self.chords[chord][0];
        let normal = unit(left(stepped(t, 1.0, u)))?;
        let mut place = Place { at, normal, along: self.starts[chord], is_corner: true };
        // The solid's nearest other side, as far as the corner faces it.
        for _ in 0..4 {
            let to = self.disc(&place, self.step())?.touches;
            let Some(n) = unit(way(at, to)) else { break };
            if dot(n, t) < 0.0 || dot(n, u) > 0.0 {
                break;
            }
            place.normal = n;
        }
        Some(place)
    }

    fn step(&self) -> f64 {
        self.perimeter / STEPS
    }

    /// The disc at a place: from a guess of its radius it grows until it meets the outline, and is shrunk until the outline's nearest
    /// point to its centre is no nearer than the place.
    fn disc(&self, place: &Place, guess: f64) -> Option<Disc> {
        let (p, n) = (place.at, place.normal);
        let mut disc: Option<Disc> = None;
        let most = self.tree.all().diagonal();
        let mut radius = guess.min(most);
        for _ in 0..200 {
            let centre = stepped(p, radius, n);
            let to = |k: usize| distance_to_segment(centre, self.chords[k]);
            let Some((chord, _)) = self.tree.nearest(centre, radius * (1.0 - 1e-9), |k| Some(to(k))) else {
                if disc.is_some() || radius == most {
                    break;
                }
                radius = (4.0 * radius).min(most);
                continue;
            };
            let q = nearest_on_segment(centre, self.chords[chord]);
            let d = way(p, q);
            let smaller = 0.5 * square(d) / dot(d, n);
            if !(smaller > 0.0 && smaller < radius) {
                break;
            }
            radius = smaller;
            disc = Some(Disc { radius, chord, touches: q });
        }
        disc
    }
}

/// Whether a closed chain turns to the left all along, once round.
fn is_convex(chords: &[Segment]) -> bool {
    let directions: Vec<Vector> = chords.iter().filter_map(|[p, q]| unit(way(*p, *q))).collect();
    let mut turned = 0.0;
    for (t, u) in directions.iter().zip(directions.iter().cycle().skip(1)) {
        let turn = cross(*t, *u).atan2(dot(*t, *u));
        // rounding of points on a straight line
        if turn < -1e-9 {
            return false;
        }
        turned += turn;
    }
    turned < 3.0 * PI
}

/// The chain without the vertices that lie on it to within [`PASSED_OVER`].
fn simplified(chords: &[Segment]) -> Vec<Segment> {
    let all = Rect::of(chords.iter().flatten().copied());
    let within = PASSED_OVER * all.extent();
    let merges = |from: usize, to: usize| {
        let chord = [chords[from][0], chords[to][1]];
        chords[from + 1..=to].iter().all(|c| distance_to_segment(c[0], chord) <= within)
    };
    let mut few = Vec::new();
    let mut from = 0;
    while from < chords.len() {
        let (mut step, mut to) = (1, from);
        while to + step < chords.len() && merges(from, to + step) {
            to += step;
            step *= 2;
        }
        while step > 1 {
            step /= 2;
            if to + step < chords.len() && merges(from, to + step) {
                to += step;
            }
        }
        few.push([chords[from][0], chords[to][1]]);
        from = to + 1;
    }
    few
}

/// The shortest way between the two sides that a disc touches, not so far from it that other parts come in.
fn across(chords: &[Segment], at: Point, disc: Disc) -> Option<Width> {
    let mut ends = [at, disc.touches];
    let reach = 0.6 * disc.radius;
    let near = ends.map(|end| -> Vec<Segment> {
        let is_near = |chord: &&Segment| distance_to_segment(end, **chord) <= reach;
        chords.iter().filter(is_near).copied().collect()
    });
    for round in 0..40 {
        let side = round % 2;
        let from = ends[1 - side];
        let feet = near[side].iter().map(|chord| nearest_on_segment(from, *chord));
        ends[side] = feet.min_by(|a, b| distance(*a, from).total_cmp(&distance(*b, from)))?;
    }
    Some(Width { length: distance(ends[0], ends[1]), ends })
}

/// A binary tree of maxima over a list.
struct Largest {
    nodes: Vec<f64>,
    leaves: usize,
}

impl Largest {
    fn new(values: Vec<f64>) -> Self {
        let leaves = values.len();
        let mut nodes = vec![0.0; leaves];
        nodes.extend(values);
        for k in (1..leaves).rev() {
            nodes[k] = nodes[2 * k].max(nodes[2 * k + 1]);
        }
        Largest { nodes, leaves }
    }

    /// The largest value from one place of the list up to before another, zero if there is none.
    fn within(&self, from: usize, to: usize) -> f64 {
        let (mut a, mut b, mut most) = (from + self.leaves, to + self.leaves, 0f64);
        while a < b {
            if a % 2 == 1 {
                most = most.max(self.nodes[a]);
                a += 1;
            }
            if b % 2 == 1 {
                b -= 1;
                most = most.max(self.nodes[b]);
            }
            a /= 2;
            b /= 2;
        }
        most
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::boxes::work;

    fn closed(points: &[Point]) -> Vec<Segment> {
        points.iter().zip(points.iter().cycle().skip(1)).map(|(&p, &q)| [p, q]).collect()
    }

    /// Teeth 0.5/n thick and 1 long on a bar, counter-clockwise.
    fn comb(n: u32, tip: f64) -> Vec<Segment> {
        let mut points = vec![[0.0, -0.4], [1.0, -0.4]];
        for k in (0..n).rev() {
            let x = (f64::from(k) + 0.25) / f64::from(n);
            let [thick, tip] = [0.5, tip].map(|t| t / f64::from(n));
            points.extend([[x + thick, 0.0], [x + 0.5 * (thick + tip), 1.0], [x + 0.5 * (thick - tip), 1.0], [x, 0.0]]);
        }
        closed(&points)
    }

    #[test]
    fn fingers_count_unless_they_narrow_to_their_tips() {
        for n in [3, 40, 2000] {
            let found = neck(&comb(n, 0.5)).unwrap();
            assert!((found.length * f64::from(n) - 0.5).abs() < 1e-9, "{n}: {found:?}");
            assert!(found.ends.iter().all(|p| p[1] >= -1e-9 && p[1] <= 1.0), "{n}: {found:?}");
            assert_eq!(neck(&comb(n, 0.2)), None, "{n}");
        }
        // a plate is no finger: nothing is thicker
        assert_eq!(neck(&closed(&[[0.0, 0.0], [30.0, 0.0], [30.0, 1.0], [0.0, 1.0]])), None);
    }

    /// Two triangles that share a waist 1e-4 wide between two corners, and hang by a bar 0.01 wide on a third.
    #[test]
    fn a_waist_between_corners_is_found_to_its_width() {
        let half = [[5e-5, 0.0], [1.0, 1.0], [0.005, 1.0], [0.005, 2.0], [1.0, 2.0], [1.0, 3.0]];
        let left = half.iter().rev().map(|p| [-p[0], p[1]]);
        let points: Vec<Point> = [[1.0, -1.0]].into_iter().chain(half).chain(left).chain([[-1.0, -1.0]]).collect();
        let found = neck(&closed(&points)).unwrap();
        assert!((found.length - 1e-4).abs() < 1e-12, "{found:?}");
    }

    /// Convex outlines are not searched; a dent of a thousandth makes one that is.
    #[test]
    fn convex_outlines_have_none() {
        let ring = |n: u32, dent: f64| {
            let point = |k: u32| {
                let phi = 2.0 * PI * f64::from(k) / f64::from(n);
                let r = if k == 3 { 1.0 - dent } else { 1.0 };
                [r * phi.cos(), 0.1 * r * phi.sin()]
            };
            closed(&(0..n).map(point).collect::<Vec<_>>())
        };
        let (none, visits) = work::of(|| neck(&ring(300, 0.0)));
        assert!(none.is_none() && visits == 0);
        let (_, visits) = work::of(|| neck(&ring(300, 1e-3)));
        assert!(visits > 1000);
        // a strip that widens a little towards one end, with points on its sides
        let strip = closed(&[[0.0, 0.0], [15.0, 0.0], [30.0, 0.0], [30.0, 1.1], [15.0, 1.05], [0.0, 1.0]]);
        assert_eq!(neck(&strip), None);
        // twice round is not convex
        let star: Vec<Point> = (0..5).map(|k| 4.0 * PI * f64::from(k) / 5.0).map(|a| [a.cos(), a.sin()]).collect();
        assert!(!is_convex(&closed(&star)) && is_convex(&closed(&[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])));
        assert!(!is_convex(&closed(&[[0.0, 0.0], [0.0, 1.0], [1.0, 0.0]])));
    }

    /// A peanut r = 1 + e cos 2 φ of very many chords: its waist is 2 (1 - e). A ring with a notch is the worst: each
    /// disc touches all of it, 10^10 chords in all if those that tell nothing new were not passed over first; a thousandth of that
    /// may be tried.
    #[test]
    fn very_many_points_take_no_more_work_than_they_must() {
        let n = 100_000;
        let peanut = |k: u32| {
            let phi = 2.0 * PI * f64::from(k) / f64::from(n);
            let r = 1.0 + 0.4 * (2.0 * phi).cos();
            [r * phi.cos(), r * phi.sin()]
        };
        let points: Vec<Point> = (0..n).map(peanut).collect();
        let (found, visits) = work::of(|| neck(&closed(&points)).unwrap());
        assert!((found.length - 1.2).abs() < 1e-6, "{found:?}");
        println!("peanut: {visits} chords");
        assert!(visits < 100 * points.len(), "{visits}");
        let notched = |k: u32| {
            let (phi, r) = (2.0 * PI * f64::from(k) / f64::from(n), if k == 0 { 0.999 } else { 1.0 });
            [r * phi.cos(), r * phi.sin()]
        };
        let circle: Vec<Point> = (0..n).map(notched).collect();
        let (none, visits) = work::of(|| neck(&closed(&circle)));
        println!("circle: {visits} chords");
        assert_eq!(none, None);
        assert!(visits < 100 * circle.len(), "{visits}");
    }

    /// A stub of thickness 2 r with a round tip on a bar: the disc of radius r fits in all along it, so that only its length tells it from a
    /// finger. Four radii from the tip are enough, three are not; the tip's polygon is thinner by (π/60)²/2.
    #[test]
    fn a_stub_of_three_radii_is_no_finger() {
        let stub = |radii: f64| {
            let r = 0.1;
            let top = (radii - 1.0) * r;
            let tip = (0..=60).map(|k| PI * f64::from(k) / 60.0).map(|t| [r * t.cos(), top + r * t.sin()]);
            let mut points = vec![[-2.0, -1.0], [2.0, -1.0], [2.0, 0.0], [r, 0.0]];
            points.extend(tip);
            points.extend([[-r, 0.0], [-2.0, 0.0]]);
            neck(&closed(&points))
        };
        assert_eq!(stub(2.0), None);
        assert_eq!(stub(3.0), None);
        for radii in [4.5, 8.0] {
            let found = stub(radii).unwrap();
            assert!((found.length / 0.2 - 1.0).abs() < 1e-3, "{radii}: {found:?}");
        }
    }
}
