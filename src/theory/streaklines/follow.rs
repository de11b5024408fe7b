//! Following one particle by the classical fourth-order Runge-Kutta method, steps a fraction of the local triangle.

use super::{LayerField, Seed};
use crate::base::Point;
use crate::base::plane;
use crate::numerics::fem::{Space, gradient};
use crate::numerics::mesh::Locator;

/// Heights closer to a plate than this have no speed worth following.
pub const HIGHEST: f64 = 0.995;

/// Why a line ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// It left through the outlet.
    Outlet,
    /// It came to rest at a stagnation point on a solid.
    Stagnation,
    /// It needed more steps than allowed.
    Steps,
}

/// One streakline.
#[derive(Debug, Clone)]
pub struct Streakline {
    /// Places, m.
    pub points: Vec<Point>,
    /// Height ζ at each.
    pub heights: Vec<f64>,
    /// Time since release at each, s.
    pub times: Vec<f64>,
    /// In-plane speed at each, m/s.
    pub speeds: Vec<f64>,
    /// Stream function at the start, m3/s.
    pub stream_function: f64,
    /// Why it ends.
    pub ending: Ending,
}

/// Part of the local triangle size that one step covers.
const STEP: f64 = 0.4;
/// Speed, as a fraction of the mean speed of the layer, at which a line counts as at rest.
const REST: f64 = 1e-5;
const MOST_STEPS: usize = 400_000;

/// Follows the line that starts at a seed at height ζ.
pub fn follow(space: &Space, field: &LayerField, seed: &Seed, zeta: f64) -> Streakline {
    let mut line = Streakline {
        points: Vec::new(),
        heights: Vec::new(),
        times: Vec::new(),
        speeds: Vec::new(),
        stream_function: seed.stream_function,
        ending: Ending::Steps,
    };
    let length = space.mesh.points.iter().map(|p| p[0]).fold(0.0, f64::max);
    let walker = Walker { space, locator: space.locator(), field, length };
    let Some(mut here) = walker.place(seed.at, zeta, None) else { return line };
    let mut time = 0.0;
    line.push(&here, time);
    let rest = REST * field.speed * 1.5 * (1.0 - zeta * zeta);
    for _ in 0..MOST_STEPS {
        let speed = here.speed();
        if speed < rest {
            line.ending = Ending::Stagnation;
            break;
        }
        let size = space.area(here.triangle as usize).sqrt();
        let step = STEP * size / speed;
        let next = walker.step(&here, step).map(|p| walker.keep_level(p, seed.stream_function, size));
        let Some((next, taken)) = walker.inside(&here, next, step) else {
            line.ending = Ending::Stagnation;
            break;
        };
        if next.at[0] >= length {
            let s = (length - here.at[0]) / (next.at[0] - here.at[0]);
            line.push_between(&here, &next, s, time, taken);
            line.ending = Ending::Outlet;
            return line;
        }
        time += taken;
        here = next;
        if line.worth_keeping(&here, 0.002 * length) {
            line.push(&here, time);
        }
    }
    line.push(&here, time);
    line
}

/// A particle with its triangle and its rate of change.
#[derive(Debug, Clone, Copy)]
struct Particle {
    at: Point,
    zeta: f64,
    triangle: u32,
    rate: [f64; 3],
}

impl Particle {
    fn speed(&self) -> f64 {
        self.rate[0].hypot(self.rate[1])
    }
}

struct Walker<'a> {
    space: &'a Space,
    locator: Locator<'a>,
    field: &'a LayerField<'a>,
    length: f64,
}

impl Walker<'_> {
    fn place(&self, at: Point, zeta: f64, hint: Option<u32>) -> Option<Particle> {
        let (triangle, weights) = self.locator.find(at, hint)?;
        Some(self.in_triangle(at, zeta, triangle, weights))
    }

    fn in_triangle(&self, at: Point, zeta: f64, triangle: u32, weights: [f64; 3]) -> Particle {
        let corners = self.space.mesh.triangles[triangle as usize];
        Particle { at, zeta, triangle, rate: self.field.rate(corners, weights, zeta) }
    }

    /// The rate at a place, continued linearly from the last triangle where the place lies outside the fluid.
    fn rate(&self, at: Point, zeta: f64, last: u32) -> ([f64; 3], u32) {
        match self.place(at, zeta, Some(last)) {
            Some(p) => (p.rate, p.triangle),
            None => {
                let weights = plane::barycentric(at, self.space.corners(last as usize));
                (self.in_triangle(at, zeta, last, weights).rate, last)
            }
        }
    }

    /// One Runge-Kutta step; the result may lie outside the fluid.
    fn step(&self, from: &Particle, dt: f64) -> Option<Particle> {
        let ahead = |k: [f64; 3], part: f64| {
            let at = [from.at[0] + part * dt * k[0], from.at[1] + part * dt * k[1]];
            (at, (from.zeta + part * dt * k[2]).clamp(-HIGHEST, HIGHEST))
        };
        let k1 = from.rate;
        let (at, zeta) = ahead(k1, 0.5);
        let (k2, t) = self.rate(at, zeta, from.triangle);
        let (at, zeta) = ahead(k2, 0.5);
        let (k3, t) = self.rate(at, zeta, t);
        let (at, zeta) = ahead(k3, 1.0);
        let (k4, t) = self.rate(at, zeta, t);
        let mean = std::array::from_fn(|i| (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]) / 6.0);
        let (at, zeta) = ahead(mean, 1.0);
        let (rate, triangle) = self.rate(at, zeta, t);
        Some(Particle { at, zeta, triangle, rate })
    }

    /// Moves a particle across the stream to its own value of the stream function, by no more than a triangle's size.
    fn keep_level(&self, p: Particle, level: f64, size: f64) -> Particle {
        let Some(stream) = self.field.level else { return p };
        let corners = self.space.mesh.triangles[p.triangle as usize];
        let places = self.space.corners(p.triangle as usize);
        let weights = plane::barycentric(p.at, places);
        let values = corners.map(|v| stream[v as usize]);
        let slope = gradient(places, values);
        let square = slope[0] * slope[0] + slope[1] * slope[1];
        let missing = level - (0..3).map(|i| weights[i] * values[i]).sum::<f64>();
        if square == 0.0 || (missing / square.sqrt()).abs() > 0.5 * size {
            return p;
        }
        let at = [p.at[0] + missing / square * slope[0], p.at[1] + missing / square * slope[1]];
        let (rate, triangle) = self.rate(at, p.zeta, p.triangle);
        Particle { at, rate, triangle, ..p }
    }

    /// A step that ends inside the fluid or beyond the outlet, and the time it took; shortened where the full one leaves the
    /// fluid through a solid edge.
    fn inside(&self, from: &Particle, full: Option<Particle>, dt: f64) -> Option<(Particle, f64)> {
        let mut candidate = full?;
        let mut taken = dt;
        for _ in 0..12 {
            if candidate.at[0] >= self.length {
                return Some((candidate, taken));
            }
            if let Some(p) = self.place(candidate.at, candidate.zeta, Some(candidate.triangle)) {
                return Some((p, taken));
            }
            taken *= 0.5;
            candidate = self.step(from, taken)?;
        }
        let (triangle, weights) = self.locator.nearest(candidate.at)?;
        let places = self.space.corners(triangle as usize);
        let at = std::array::from_fn(|k| (0..3).map(|i| weights[i] * places[i][k]).sum());
        let p = self.in_triangle(at, candidate.zeta, triangle, weights);
        (p.at != from.at).then_some((p, taken))
    }
}

impl Streakline {
    fn push(&mut self, p: &Particle, time: f64) {
        if self.points.last() == Some(&p.at) {
            return;
        }
        self.points.push(p.at);
        self.heights.push(p.zeta);
        self.times.push(time);
        self.speeds.push(p.speed());
    }

    fn push_between(&mut self, a: &Particle, b: &Particle, s: f64, time: f64, taken: f64) {
        let mix = |x: f64, y: f64| x + s * (y - x);
        self.points.push([mix(a.at[0], b.at[0]), mix(a.at[1], b.at[1])]);
        self.heights.push(mix(a.zeta, b.zeta));
        self.times.push(time + s * taken);
        self.speeds.push(mix(a.speed(), b.speed()));
    }

    /// Whether a place is far enough from the last kept one, or the direction has turned by more than half a degree.
    fn worth_keeping(&self, p: &Particle, spacing: f64) -> bool {
        let [.., before, last] = self.points.as_slice() else { return true };
        let (u, v) = (plane::way(*before, *last), plane::way(*last, p.at));
        plane::length(v) > spacing || plane::turn(u, v).abs() > 0.009
    }
}
