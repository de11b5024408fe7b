//! Tracks of an independent flow: an unbounded stream past a circle, or without one, with the parabola over the gap; seen with noise.
#![allow(dead_code)]

use twinplate::base::plane::{Point, Vector};
use twinplate::bench::tracks::{Compared, compare};
use twinplate::bench::tracks::{Flow, Local};
use twinplate::input::measured::Track;

pub const LENGTH: f64 = 0.120;
pub const WIDTH: f64 = 0.080;
pub const CENTRE: Point = [0.055, 0.040];
pub const RADIUS: f64 = 0.015;
/// Mean speed of the case, m/s.
pub const CASE: f64 = 0.150;
/// The middle of the cell, to which speeds belong.
pub const MIDDLE: Point = [0.5 * LENGTH, 0.5 * WIDTH];

/// Random numbers (splitmix64; Steele, Lea and Flood 2014, OOPSLA).
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.between(0.0, 1.0), self.between(0.0, 1.0));
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}

/// Velocity over the speed far away, past a circle of a radius; a radius of 0 is the uniform stream.
pub fn past(radius: f64, p: Point) -> Option<Vector> {
    let (x, y) = (p[0] - CENTRE[0], p[1] - CENTRE[1]);
    let r2 = x * x + y * y;
    let a = radius * radius;
    (r2 >= a).then(|| [1.0 - a * (x * x - y * y) / (r2 * r2), -2.0 * a * x * y / (r2 * r2)])
}

/// Stream function over the speed far away.
pub fn level(radius: f64, p: Point) -> f64 {
    let (x, y) = (p[0] - CENTRE[0], p[1] - CENTRE[1]);
    y * (1.0 - radius * radius / (x * x + y * y))
}

/// The ideal pattern of the case.
pub fn pattern(radius: f64) -> impl Fn(Point) -> Option<Local> + Sync {
    move |p| past(radius, p).map(|v| Local { velocity: v.map(|v| CASE * v), level: level(radius, p), faster: 1.0 })
}

/// What is filmed.
#[derive(Clone, Copy)]
pub struct Scene {
    pub speed: f64,
    pub radius: f64,
    /// Relative change of the gap along the cell.
    pub taper: f64,
    /// Noise of places, m.
    pub noise: f64,
    /// Time between frames, s.
    pub frame: f64,
}

pub const SCENE: Scene = Scene { speed: 0.1667, radius: RADIUS, taper: 0.0, noise: 5e-5, frame: 5e-3 };

impl Scene {
    /// Velocity at a height: the flux V b keeps along the cell.
    fn velocity(&self, p: Point, zeta: f64) -> Option<Vector> {
        let gap = 1.0 + self.taper * (p[0] - MIDDLE[0]) / LENGTH;
        past(self.radius, p).map(|v| v.map(|v| 1.5 * (1.0 - zeta * zeta) * self.speed * v / gap))
    }

    /// A particle's way, and what a bubble's slip and rise would add.
    fn path(&self, start: Point, zeta: f64, frames: usize, slip: f64, rise: f64) -> Vec<Point> {
        let rate = |p: Point| self.velocity(p, zeta).map(|v| [slip * v[0], slip * v[1] + rise]);
        const PARTS: usize = 4;
        let h = self.frame / PARTS as f64;
        let step = |p: Point| {
            let ahead = |k: Vector, h: f64| [p[0] + h * k[0], p[1] + h * k[1]];
            let a = rate(p)?;
            let b = rate(ahead(a, 0.5 * h))?;
            let c = rate(ahead(b, 0.5 * h))?;
            let d = rate(ahead(c, h))?;
            Some(ahead([0, 1].map(|k| (a[k] + 2.0 * b[k] + 2.0 * c[k] + d[k]) / 6.0), h))
        };
        let mut points = vec![start];
        while points.len() < frames {
            let Some(next) = (0..PARTS).try_fold(points[points.len() - 1], |p, _| step(p)) else { break };
            if next[0] > LENGTH || next[1] > WIDTH {
                break;
            }
            points.push(next);
        }
        points
    }

    fn start(&self, random: &mut Random) -> Point {
        loop {
            let p = [random.between(0.0, 0.85 * LENGTH), random.between(0.0, WIDTH)];
            let clear = self.radius + if self.radius > 0.0 { 1e-3 } else { 0.0 };
            if past(clear, p).is_some() {
                return p;
            }
        }
    }

    fn seen(&self, name: String, path: &[Point], random: &mut Random) -> Track {
        let times = (0..path.len()).map(|k| k as f64 * self.frame).collect();
        let points = path.iter().map(|p| p.map(|x| x + self.noise * random.normal())).collect();
        Track { name, times, points }
    }

    fn followed(
        &self,
        random: &mut Random,
        frames: [f64; 2],
        mut what: impl FnMut(&Self, Point, usize, &mut Random) -> Vec<Point>,
    ) -> Vec<Point> {
        loop {
            let start = self.start(random);
            let frames = random.between(frames[0], frames[1]) as usize;
            let path = what(self, start, frames, random);
            if path.len() >= 7 {
                return path;
            }
        }
    }

    /// Good tracks, their heights drawn by a rule.
    pub fn tracers(&self, count: usize, random: &mut Random, height: impl Fn(&mut Random) -> f64) -> Vec<Track> {
        (0..count)
            .map(|k| {
                let zeta = height(random);
                let path = self.followed(random, [18.0, 40.0], |scene, start, frames, _| {
                    scene.path(start, zeta, frames, 1.0, 0.0)
                });
                self.seen(format!("good {k}"), &path, random)
            })
            .collect()
    }

    /// Particles that stick to a plate.
    pub fn stuck(&self, count: usize, random: &mut Random) -> Vec<Track> {
        let one = |k| {
            let path = self.followed(random, [18.0, 40.0], |_, start, frames, _| vec![start; frames]);
            self.seen(format!("stuck {k}"), &path, random)
        };
        (0..count).map(one).collect()
    }

    /// Bubbles, which slip and rise.
    pub fn bubbles(&self, count: usize, random: &mut Random) -> Vec<Track> {
        let one = |k| {
            let path = self.followed(random, [18.0, 40.0], |scene, start, frames, random| {
                let (slip, rise) = (random.between(0.6, 1.3), random.between(0.01, 0.06));
                scene.path(start, 0.3, frames, slip, rise)
            });
            self.seen(format!("bubble {k}"), &path, random)
        };
        (0..count).map(one).collect()
    }

    /// Tracks that jump to another particle.
    pub fn mislinked(&self, count: usize, random: &mut Random) -> Vec<Track> {
        let one = |k| {
            let path = self.followed(random, [20.0, 40.0], |scene, start, frames, random| {
                let zetas = [0, 1].map(|_| random.between(-1.0, 1.0));
                let mut path = scene.path(start, zetas[0], frames / 2, 1.0, 0.0);
                let jump = [random.between(1e-3, 3e-3), random.between(-3e-3, 3e-3)];
                let last = path[path.len() - 1];
                path.extend(scene.path([last[0] + jump[0], last[1] + jump[1]], zetas[1], frames / 2, 1.0, 0.0));
                path
            });
            self.seen(format!("mislinked {k}"), &path, random)
        };
        (0..count).map(one).collect()
    }
}

pub fn uniform(random: &mut Random) -> f64 {
    random.between(-1.0, 1.0)
}

pub fn mid_gap(random: &mut Random) -> f64 {
    0.05 * random.normal()
}

/// As the flux brings them: heights kept as often as they are fast.
pub fn crossing(random: &mut Random) -> f64 {
    loop {
        let zeta = uniform(random);
        if random.between(0.0, 1.0) < 1.0 - zeta * zeta {
            return zeta;
        }
    }
}

pub fn compared(tracks: &[Track], radius: f64) -> Compared {
    let at = pattern(radius);
    compare(tracks, &Flow { at: &at, mean_speed: CASE }, MIDDLE).unwrap()
}

/// 15 % outliers and a taper of 5 %.
pub fn spoiled(seed: u64) -> (Scene, Vec<Track>) {
    let scene = Scene { speed: 0.155, taper: 0.05, ..SCENE };
    let random = &mut Random(seed);
    let mut tracks = scene.tracers(207, random, uniform);
    tracks.extend(scene.stuck(16, random));
    tracks.extend(scene.bubbles(11, random));
    tracks.extend(scene.mislinked(10, random));
    (scene, tracks)
}

/// Part of the good tracks that is left out.
pub fn good_rejected(found: &Compared) -> f64 {
    let good: Vec<_> = found.tracks.iter().filter(|judged| judged.name.starts_with("good")).collect();
    good.iter().filter(|judged| judged.fault.is_some()).count() as f64 / good.len() as f64
}
