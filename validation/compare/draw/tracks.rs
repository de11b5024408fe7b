//! Particles filmed in the cell, with known truth.
//!
//! A particle keeps its height ζ and moves at `(3/2)(1 − ζ²) V`. V is the exact flow of `flow`; a gap `b (1 + taper (x
//! − x0)/L)` divides it, which is exact in an empty cell and elsewhere wrong by the taper over a pier's radius.

use super::chance::Random;
use super::flow::Channel;
use super::parts::Cell;
use std::fmt::Write;

/// What is filmed.
#[derive(Debug, Clone)]
pub struct Film {
    /// The cell.
    pub cell: Cell,
    /// Whether the flow keeps off edges by the edge layer's displacement.
    pub has_edge_layer: bool,
    /// Between these x particles are seen, m.
    pub view: [f64; 2],
    /// True mean speed: flux over width and gap, m/s, in the middle of the view.
    pub speed: f64,
    /// Relative change of the gap along the view.
    pub taper: f64,
    /// Standard deviation of places, in x and in y, m.
    pub noise: f64,
    /// Between frames, s.
    pub frame: f64,
    /// Of good particles.
    pub heights: Heights,
    /// Good ones, stuck ones, bubbles, tracks that jump to another particle.
    pub counts: [usize; 4],
    /// Of all chance.
    pub seed: u64,
}

/// How heights are distributed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heights {
    /// All that are in the fluid at one time.
    Uniform,
    /// All that cross a gate: as often as they are fast.
    Crossing,
    /// Near mid-gap, within 0.05 of half the gap.
    Focused,
}

/// What a track is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A particle that moves with the fluid.
    Good,
    /// One that sticks to a plate.
    Stuck,
    /// A bubble, which slips and rises.
    Bubble,
    /// Two particles linked as one.
    Mislinked,
}

/// A track as it was seen.
#[derive(Debug, Clone)]
pub struct Track {
    /// What it is.
    pub kind: Kind,
    /// Height over half the gap; of the first particle where two are linked.
    pub zeta: f64,
    /// Where it was seen, m, a frame apart.
    pub points: Vec<[f64; 2]>,
}

impl Heights {
    fn draw(self, random: &mut Random) -> f64 {
        loop {
            let zeta = random.between(-1.0, 1.0);
            match self {
                Heights::Uniform => return zeta,
                Heights::Focused => return 0.05 * random.normal(),
                Heights::Crossing if random.uniform() < 1.0 - zeta * zeta => return zeta,
                Heights::Crossing => {}
            }
        }
    }
}

struct Flow<'a> {
    film: &'a Film,
    channel: Channel,
}

impl Film {
    /// All tracks, good ones first, each of 18 to 40 frames within the view.
    pub fn tracks(&self) -> Vec<Track> {
        let piers: Vec<_> = self.cell.piers.iter().map(|(_, pier)| *pier).collect();
        let gap = if self.has_edge_layer { self.cell.gap } else { 0.0 };
        let flow = Flow { film: self, channel: Channel::in_cell(self.cell.width, gap, &piers) };
        let kinds = [Kind::Good, Kind::Stuck, Kind::Bubble, Kind::Mislinked];
        let all = kinds.iter().zip(self.counts).flat_map(|(kind, count)| (0..count).map(|_| *kind));
        all.enumerate().map(|(k, kind)| flow.track(kind, &mut Random::of(self.seed, k))).collect()
    }
}

impl Flow<'_> {
    fn track(&self, kind: Kind, random: &mut Random) -> Track {
        // drawn once: a start is drawn again where a particle would leave, or the fast ones would be fewer
        let (zeta, frames) = (self.film.heights.draw(random), random.between(18.0, 40.0) as usize);
        let (slip, rise) = (random.between(0.6, 1.3), random.between(0.07, 0.4) * self.film.speed);
        let (other, jump) = (self.film.heights.draw(random), [random.between(1e-3, 3e-3), random.between(-3e-3, 3e-3)]);
        loop {
            let start = self.start(random);
            let (zeta, path) = match kind {
                Kind::Good => (zeta, self.path(start, zeta, frames, [1.0, 0.0])),
                Kind::Stuck => (1.0, vec![start; frames]),
                Kind::Bubble => (0.3, self.path(start, 0.3, frames, [slip, rise])),
                Kind::Mislinked => {
                    let mut path = self.path(start, zeta, frames / 2, [1.0, 0.0]);
                    let last = path[path.len() - 1];
                    let next = [last[0] + jump[0], last[1] + jump[1]];
                    path.extend(self.path(next, other, frames - frames / 2, [1.0, 0.0]));
                    (zeta, path)
                }
            };
            if path.len() == frames {
                let seen = |p: &[f64; 2]| {
                    let off = random.normals();
                    [0, 1].map(|k| p[k] + self.film.noise * off[k])
                };
                return Track { kind, zeta, points: path.iter().map(seen).collect() };
            }
        }
    }

    /// Clear of edges and within the view.
    fn is_free(&self, p: [f64; 2], clear: f64) -> bool {
        let Film { cell, view, .. } = self.film;
        let is_off = |centre: [f64; 2], radius: f64| (p[0] - centre[0]).hypot(p[1] - centre[1]) > radius + clear;
        p[0] > view[0]
            && p[0] < view[1]
            && p[1] > clear
            && p[1] < cell.width - clear
            && cell.piers.iter().all(|(_, pier)| is_off(pier.centre, pier.radius))
    }

    fn start(&self, random: &mut Random) -> [f64; 2] {
        let Film { cell, view, .. } = self.film;
        loop {
            let p = [random.between(view[0], view[1]), random.between(0.0, cell.width)];
            // the parabola over the gap holds a gap and more off every edge
            if self.is_free(p, 1.5 * cell.gap) {
                return p;
            }
        }
    }

    fn velocity(&self, p: [f64; 2], zeta: f64) -> [f64; 2] {
        let Film { cell, view, speed, taper, .. } = self.film;
        let gap = 1.0 + taper * (p[0] - 0.5 * (view[0] + view[1])) / (view[1] - view[0]);
        let core = speed * cell.width / self.channel.width();
        self.channel.at(p).1.map(|v| 1.5 * (1.0 - zeta * zeta) * core * v / gap)
    }

    /// A way by Runge and Kutta's rule of fourth order, with a bubble's slip and rise.
    fn path(&self, start: [f64; 2], zeta: f64, frames: usize, [slip, rise]: [f64; 2]) -> Vec<[f64; 2]> {
        const PARTS: usize = 4;
        let rate = |p: [f64; 2]| {
            let [u, v] = self.velocity(p, zeta);
            [slip * u, slip * v + rise]
        };
        let ahead = |p: [f64; 2], k: [f64; 2], h: f64| [p[0] + h * k[0], p[1] + h * k[1]];
        let h = self.film.frame / PARTS as f64;
        let step = |p: [f64; 2]| {
            let a = rate(p);
            let b = rate(ahead(p, a, 0.5 * h));
            let c = rate(ahead(p, b, 0.5 * h));
            let d = rate(ahead(p, c, h));
            ahead(p, [0, 1].map(|k| (a[k] + 2.0 * b[k] + 2.0 * c[k] + d[k]) / 6.0), h)
        };
        let one = |p: &[f64; 2]| Some((0..PARTS).fold(*p, |p, _| step(p)));
        let inside = |p: &[f64; 2]| self.is_free(*p, 0.0);
        std::iter::successors(Some(start), one).take(frames).take_while(inside).collect()
    }
}

/// Columns track, t, x, y, in s and m.
pub fn tracks_csv(film: &Film, tracks: &[Track]) -> String {
    let mut text = String::from("track,t,x,y\n");
    for (track, number) in tracks.iter().zip(1..) {
        for (k, [x, y]) in track.points.iter().enumerate() {
            let _ = writeln!(text, "{number},{:.3},{x:.7},{y:.7}", k as f64 * film.frame);
        }
    }
    text
}

/// Columns track, kind, zeta.
pub fn truth_csv(tracks: &[Track]) -> String {
    let mut text = String::from("track,kind,zeta\n");
    for (track, number) in tracks.iter().zip(1..) {
        let kind = format!("{:?}", track.kind).to_lowercase();
        let _ = writeln!(text, "{number},{kind},{:.6}", track.zeta);
    }
    text
}
