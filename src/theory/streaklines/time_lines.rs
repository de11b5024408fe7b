//! Time lines: where dye is that was let in all at once along the line of starts.
//!
//! Neighbours on a time line are joined until an obstacle has come between them; the line of the one that divides at it never arrives, so
//! that the parts on both sides stay apart for good. Between starts further lines are followed wherever neighbours stand far apart or the
//! time line bends, and towards every line that divides, as close to it as a line can be told from it.

use super::dye::Dye;
use super::follow::{Ending, Streakline, TOLERANCE};
use super::front::Dyed;
use super::passing::{Course, Divider, dividers};
use super::seeds::{Seed, seeds};
use crate::base::Point;
use crate::base::plane::{self, Segment};
use crate::geometry::Side;
use crate::input::case::{Seeding, StreaklineSettings, Times};
use crate::numerics::mesh::{Gate, Locator};
use rayon::prelude::*;

/// Most time lines of an interval.
pub const MOST_TIMES: usize = 1_000;
/// Most lines that are followed for them.
const MOST_LINES: usize = 4_000;
/// Rounds of halving, from the distance of two starts to what a line can be told by.
const ROUNDS: usize = 18;
/// Largest distance of neighbours on a time line, over the length of the cell.
const FAR: f64 = 1.0 / 150.0;
/// Turn of a time line from one neighbour to the next, rad, above which they stand closer, down to a tenth of [`FAR`].
const BEND: f64 = 0.15;
/// Part of the size of a triangle below which neighbours stand no closer for a bend.
const FINE: f64 = 0.7;
/// Distance of starts, over the tolerance of lines, of which the tips of tails consist.
const TIP: f64 = 16.0;
/// Distance of the ends of a time line across the inlet from the side walls, over the width.
const FROM_WALL: f64 = 1e-3;

/// A part of a time line that hangs together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Piece {
    /// Places, m, in the order of the starts.
    pub points: Vec<Point>,
    /// Height ζ at each.
    pub heights: Vec<f64>,
}

/// Where the dye is at a time.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeLine {
    /// Since the release, s.
    pub time: f64,
    /// Its pieces, none inside an obstacle or beyond the outlet.
    pub pieces: Vec<Piece>,
}

/// Dye at several times.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TimeLines {
    /// In the order of time.
    pub list: Vec<TimeLine>,
    /// Whether an interval is so short that the dye has not left the cell after [`MOST_TIMES`] of it.
    pub cut: bool,
}

/// A start and the joint to the next one.
struct Joined {
    seed: Seed,
    course: Course,
    /// From when on the next one is on another side of an obstacle, s.
    parted: f64,
}

/// The time lines that a case asks for, none if it does not. `pressure` is that of the ideal pattern, Pa.
///
/// Errors: of places those of the lines, and along them the fourth derivative of the way s(t) times dt⁴/384, dt the time between two of
/// their points; steps between neighbours are a hundred and fiftieth of the length of the cell at most, where some four thousand lines are
/// enough for that. Range: that of the lines; no molecular spreading.
pub fn time_lines(dye: &Dye, pressure: &[f64], settings: &StreaklineSettings) -> TimeLines {
    let Some(times) = &settings.times else { return TimeLines::default() };
    let length = dye.space.mesh.along();
    let follower = Follower {
        dye,
        pressure,
        locator: dye.space.locator(),
        dividers: dividers(dye, pressure, TOLERANCE * length),
        height: settings.height,
        length,
        outlet: Gate::of(&dye.space.mesh, Side::Outlet),
    };
    let mut joined = follower.first(&starts(dye, &settings.seeding));
    // the ends of the inlet creep along the walls
    let ends = usize::from(settings.seeding.starts().is_none());
    let own = joined.iter().skip(ends).take(joined.len().saturating_sub(2 * ends));
    let (times, cut) = shown(times, own.map(|j| &j.course.line));
    for _ in 0..ROUNDS {
        let wanted = follower.wanted(&joined, &times);
        let count = wanted.iter().filter(|wanted| **wanted).count();
        if count == 0 || joined.len() + count > MOST_LINES {
            break;
        }
        joined = follower.with_middles(joined, &wanted);
    }
    let list = times.par_iter().map(|&time| TimeLine { time, pieces: follower.pieces(&joined, time) }).collect();
    TimeLines { list, cut }
}

/// The line of starts: the needles in their order, or the inlet from wall to wall.
fn starts(dye: &Dye, seeding: &Seeding) -> Vec<Seed> {
    let own = seeds(dye.space, dye.stream, seeding);
    if seeding.starts().is_some() {
        return own;
    }
    let inlet = Gate::of(&dye.space.mesh, Side::Inlet);
    let place = |v: u32| dye.space.mesh.points[v as usize];
    let (Some(&first), Some(&last)) = (inlet.vertices().first(), inlet.vertices().last()) else { return own };
    let (low, high) = (place(first), place(last));
    let end = |from: Point, to: Point| Seed::at(dye.space, dye.stream, plane::between(from, to, FROM_WALL));
    [end(low, high)].into_iter().chain(own).chain([end(high, low)]).collect()
}

/// The times shown: a list as it is, of an interval so many that the dye of every start has left, and whether they are too many.
fn shown<'a>(times: &Times, lines: impl Iterator<Item = &'a Streakline>) -> (Vec<f64>, bool) {
    match times {
        Times::At(list) => (list.clone(), false),
        Times::Every(interval) => {
            let left = lines.filter(|line| line.ending == Ending::Outlet).filter_map(|line| line.times.last());
            let count = (left.fold(0.0, |a: f64, t| a.max(*t)) / interval).ceil();
            let most = MOST_TIMES as f64;
            ((1..=count.min(most) as usize).map(|k| k as f64 * interval).collect(), count > most)
        }
    }
}

struct Follower<'a> {
    dye: &'a Dye<'a>,
    pressure: &'a [f64],
    locator: Locator<'a>,
    dividers: Vec<Divider>,
    height: f64,
    length: f64,
    outlet: Gate,
}

impl Follower<'_> {
    fn courses(&self, seeds: &[Seed]) -> Vec<Course> {
        let lines = self.dye.lines_from(seeds, self.height);
        lines.into_par_iter().map(|line| Course::of(self.dye, &self.locator, self.pressure, line)).collect()
    }

    /// The starts; those with a solid between them are parted from the beginning.
    fn first(&self, seeds: &[Seed]) -> Vec<Joined> {
        let mut joined = self.joined(seeds.iter().copied().zip(self.courses(seeds)).collect(), &[]);
        let mesh = &self.dye.space.mesh;
        let solids: Vec<Segment> = mesh
            .boundary
            .iter()
            .filter(|edge| matches!(mesh.side(edge), Side::Obstacle(_)))
            .map(|edge| edge.vertices.map(|v| mesh.points[v as usize]))
            .collect();
        for k in 1..joined.len() {
            let between = [joined[k - 1].seed.at, joined[k].seed.at];
            if between[0][0].max(between[1][0]) > 0.0 && solids.iter().any(|edge| plane::segments_meet(between, *edge))
            {
                joined[k - 1].parted = f64::NEG_INFINITY;
            }
        }
        joined
    }

    /// Lines in their order with the joints between them; a joint that is known stays.
    fn joined(&self, list: Vec<(Seed, Course)>, known: &[Option<f64>]) -> Vec<Joined> {
        let parted = |k: usize| match (known.get(k).copied().flatten(), list.get(k + 1)) {
            (Some(parted), _) => parted,
            (None, Some(next)) => list[k].1.parted(&next.1, &self.dividers),
            (None, None) => f64::INFINITY,
        };
        let parted: Vec<f64> = (0..list.len()).into_par_iter().map(parted).collect();
        list.into_iter().zip(parted).map(|((seed, course), parted)| Joined { seed, course, parted }).collect()
    }

    /// Between which neighbours another line is wanted.
    fn wanted(&self, joined: &[Joined], times: &[f64]) -> Vec<bool> {
        let far = FAR * self.length;
        let may = |k: usize| joined[k].parted > f64::NEG_INFINITY && !is_close(&joined[k], &joined[k + 1]);
        let may: Vec<bool> = (0..joined.len().saturating_sub(1)).map(may).collect();
        let at = |&time: &f64| -> Vec<bool> {
            let dyed: Vec<Option<Dyed>> = joined.iter().map(|j| j.course.line.dyed(time)).collect();
            let step = |k: usize| Some(plane::way(dyed.get(k)?.as_ref()?.at, dyed.get(k + 1)?.as_ref()?.at));
            let inside = |k: usize| dyed[k].is_some_and(|d| !d.left);
            // what the mesh does not tell is no bend of the flow
            let fine =
                |k: usize| (0.1 * far).max(FINE * joined[k].course.size(time).max(joined[k + 1].course.size(time)));
            let bends = |a: usize| match (step(a), step(a + 1)) {
                (Some(u), Some(v)) if time < joined[a].parted.min(joined[a + 1].parted) => {
                    plane::turn(u, v).abs() > BEND
                }
                _ => false,
            };
            let far_or_bent = |k: usize| {
                // beside a line that has ended the last that goes on is looked for
                let step = step(k).map_or(f64::INFINITY, plane::length);
                may[k]
                    && (inside(k) || inside(k + 1))
                    && (step > far || step > fine(k) && (bends(k) || k > 0 && bends(k - 1)))
            };
            (0..may.len()).map(far_or_bent).collect()
        };
        let none = || vec![false; may.len()];
        let either = |a: Vec<bool>, b: Vec<bool>| a.into_iter().zip(b).map(|(a, b)| a || b).collect();
        times.par_iter().map(at).reduce(none, either)
    }

    /// With another line in the middle of every pair where one is wanted.
    fn with_middles(&self, joined: Vec<Joined>, wanted: &[bool]) -> Vec<Joined> {
        let middle = |(pair, _): (&[Joined], &bool)| {
            Seed::at(self.dye.space, self.dye.stream, plane::middle(pair[0].seed.at, pair[1].seed.at))
        };
        let seeds: Vec<Seed> = joined.windows(2).zip(wanted).filter(|(_, wanted)| **wanted).map(middle).collect();
        let mut middles = seeds.iter().copied().zip(self.courses(&seeds));
        let (mut list, mut known) = (Vec::new(), Vec::new());
        for (k, Joined { seed, course, parted }) in joined.into_iter().enumerate() {
            let halved = wanted.get(k).copied().unwrap_or(false);
            list.push((seed, course));
            known.push((!halved).then_some(parted));
            if halved {
                list.extend(middles.next());
                known.push(None);
            }
        }
        self.joined(list, &known)
    }

    /// The time line in pieces, cut off at the outlet. Pieces of nothing but lines that cannot be told apart any more are left out: tips of the
    /// tail that dye draws behind an obstacle.
    fn pieces(&self, joined: &[Joined], time: f64) -> Vec<Piece> {
        let mut pieces = Pieces::default();
        let mut last: Option<Dyed> = None;
        for (k, Joined { course, parted, .. }) in joined.iter().enumerate() {
            let here = course.line.dyed(time);
            if let (Some(a), Some(b)) = (last, here) {
                let close = is_close(&joined[k - 1], &joined[k]);
                if close && plane::distance(a.at, b.at) > FAR * self.length {
                    // what lies between the two is not known
                    pieces.end();
                } else {
                    pieces.resolved |= !is_near(&joined[k - 1], &joined[k], TIP);
                    if a.left != b.left {
                        let (inner, outer) = if b.left { (a, b) } else { (b, a) };
                        let (at, s) = self.outlet.crossed(inner.at, outer.at);
                        pieces.push(Dyed { at, zeta: inner.zeta + s * (outer.zeta - inner.zeta), left: false });
                    }
                }
            }
            match here.filter(|here| !here.left) {
                Some(here) => pieces.push(here),
                None => pieces.end(),
            }
            last = here;
            if time >= *parted {
                pieces.end();
                last = None;
            }
        }
        pieces.end();
        pieces.list
    }
}

/// Pieces of a time line, the last of them growing.
#[derive(Default)]
struct Pieces {
    list: Vec<Piece>,
    piece: Piece,
    /// Whether it has more than lines that cannot be told apart.
    resolved: bool,
}

impl Pieces {
    fn push(&mut self, dyed: Dyed) {
        self.piece.points.push(dyed.at);
        self.piece.heights.push(dyed.zeta);
    }

    fn end(&mut self) {
        let piece = std::mem::take(&mut self.piece);
        if std::mem::take(&mut self.resolved) && piece.points.len() > 1 {
            self.list.push(piece);
        }
    }
}

/// Whether two starts are as close as lines can be told apart.
fn is_close(a: &Joined, b: &Joined) -> bool {
    is_near(a, b, 2.0)
}

/// Whether two starts are no further apart than so many tolerances.
fn is_near(a: &Joined, b: &Joined, tolerances: f64) -> bool {
    plane::distance(a.seed.at, b.seed.at) <= tolerances * a.course.line.tolerance
}
