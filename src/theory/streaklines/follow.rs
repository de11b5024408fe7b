//! Following one particle by the classical fourth-order Runge-Kutta method, steps a fraction of the local triangle and no shorter than
//! the line's tolerance.
//!
//! A line of the ideal pattern whose stream function is that of an obstacle is the one that divides at it: it ends where it meets it,
//! for dye takes for ever to arrive there.

use super::field::LayerField;
use super::seeds::Seed;
use crate::base::Point;
use crate::base::plane;
use crate::geometry::{Side, Solid};
use crate::numerics::fem::{Space, gradient};
use crate::numerics::mesh::{Gate, Locator};

/// Heights closer to a plate than this have no speed worth following.
pub const HIGHEST: f64 = 0.995;

/// Tolerance of a line over the length of the cell: shorter steps are not taken, and points that stand off a line by less are left out
/// where it is written.
pub const TOLERANCE: f64 = 1e-5;

/// Why a line ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// It left through the outlet.
    Outlet,
    /// It came to rest at a stagnation point on a solid.
    Stagnation,
    /// It got no further beside a corner or an edge.
    Corner,
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
    /// Steps it took.
    pub steps: usize,
    /// Its tolerance, m: [`TOLERANCE`] of the length of the cell.
    pub tolerance: f64,
}

/// Part of the local triangle size that one step covers.
const STEP: f64 = 0.4;
/// Speed, as a fraction of the mean speed of the layer, at which a line counts as at rest.
pub(super) const REST: f64 = 1e-5;
const MOST_STEPS: usize = 20_000;
/// Stream function that still counts as that of an obstacle, over the flux between two lines a tolerance apart at the inlet.
const SAME_LINE: f64 = 1.0;

/// Follows the line that starts at a seed at height ζ.
pub fn follow(space: &Space, field: &LayerField, seed: &Seed, zeta: f64) -> Streakline {
    let length = space.mesh.along();
    let tolerance = TOLERANCE * length;
    let mut line = Streakline {
        points: Vec::new(),
        heights: Vec::new(),
        times: Vec::new(),
        speeds: Vec::new(),
        stream_function: seed.stream_function,
        ending: Ending::Steps,
        steps: 0,
        tolerance,
    };
    let met = field.level.map_or_else(Vec::new, |stream| {
        let same = SAME_LINE * tolerance * field.speed * space.reference_gap;
        divided(space, stream, seed.stream_function, same)
    });
    let outlet = Gate::of(&space.mesh, Side::Outlet);
    let walker = Walker { space, locator: space.locator(), field, outlet, tolerance };
    let Some(mut here) = walker.place(seed.at, zeta, None) else { return line };
    let mut time = 0.0;
    line.push(&here, time);
    let rest = REST * field.speed * 1.5 * (1.0 - zeta * zeta);
    let mut turned = Turned { way: [0.0; 2], sum: 0.0 };
    let mut progress = Progress { from: here.at, path: 0.0, steps: 0 };
    while line.steps < MOST_STEPS {
        let speed = here.speed();
        let arrived = |v: u32| met.binary_search(&v).is_ok();
        if speed < rest || space.mesh.triangles[here.triangle as usize].into_iter().any(arrived) {
            line.ending = Ending::Stagnation;
            break;
        }
        let size = space.area(here.triangle as usize).sqrt();
        let covered = (STEP * size).max(tolerance);
        let (next, taken) = walker.advance(&here, seed.stream_function, covered / speed, covered);
        line.steps += 1;
        if let Some(s) = walker.outlet.passed(here.at, next.at) {
            line.push_between(&here, &next, s, time, taken);
            line.ending = Ending::Outlet;
            return line;
        }
        time += taken;
        let from = std::mem::replace(&mut here, next);
        if turned.is_caught(from.at, here.at) || progress.is_lost(here.at, covered) {
            line.ending = Ending::Corner;
            break;
        }
        if line.worth_keeping(&here, 0.002 * length) {
            line.push(&here, time);
        }
    }
    line.push(&here, time);
    line
}

/// The vertices of free obstacles at which a line of this stream function divides, in ascending order.
fn divided(space: &Space, stream: &[f64], level: f64, same: f64) -> Vec<u32> {
    let free = space.mesh.plan.obstacles.iter().enumerate().filter(|(_, obstacle)| obstacle.on_wall.is_none());
    let outlines = free.map(|(k, _)| space.vertices_on(Solid::Obstacle(k as u32)));
    let meets = |outline: &Vec<u32>| outline.first().is_some_and(|&v| (stream[v as usize] - level).abs() <= same);
    let mut vertices: Vec<u32> = outlines.filter(meets).flatten().collect();
    vertices.sort_unstable();
    vertices
}

/// How far a line has turned, left counted up and right down, rad: one that goes round and round gets no further.
struct Turned {
    way: [f64; 2],
    sum: f64,
}

impl Turned {
    /// Whole turns one way that no line past obstacles makes.
    const ROUNDS: f64 = 4.0;

    /// Whether a line goes round and round with its next step.
    fn is_caught(&mut self, from: Point, to: Point) -> bool {
        let way = plane::way(from, to);
        if plane::length(way) > 0.0 {
            if plane::length(self.way) > 0.0 {
                self.sum += plane::turn(self.way, way);
            }
            self.way = way;
        }
        self.sum.abs() >= Self::ROUNDS * std::f64::consts::TAU
    }
}

/// How far a line has come of late: one that goes to and fro at an edge gets no further.
struct Progress {
    from: Point,
    path: f64,
    steps: usize,
}

impl Progress {
    /// Steps after which it is looked at.
    const STEPS: usize = 500;
    /// Part of the path of those steps that a line comes further, were it to go round three quarters of a circle.
    const LEAST: f64 = 0.3;

    /// Whether a line has gone nowhere with its last steps, the last of which was to cover so much, m.
    fn is_lost(&mut self, at: Point, covered: f64) -> bool {
        self.path += covered;
        self.steps += 1;
        if self.steps < Self::STEPS {
            return false;
        }
        let lost = plane::distance(self.from, at) < Self::LEAST * self.path;
        *self = Progress { from: at, path: 0.0, steps: 0 };
        lost
    }
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
    outlet: Gate,
    tolerance: f64,
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
    fn step(&self, from: &Particle, dt: f64) -> Particle {
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
        Particle { at, zeta, triangle, rate }
    }

    /// Moves a particle across the stream to its own value of the stream function, by no more than a step.
    fn keep_level(&self, p: Particle, level: f64, covered: f64) -> Particle {
        let Some(stream) = self.field.level else { return p };
        let corners = self.space.mesh.triangles[p.triangle as usize];
        let places = self.space.corners(p.triangle as usize);
        let weights = plane::barycentric(p.at, places);
        let values = corners.map(|v| stream[v as usize]);
        let slope = gradient(places, values);
        let square = slope[0] * slope[0] + slope[1] * slope[1];
        let missing = level - (0..3).map(|i| weights[i] * values[i]).sum::<f64>();
        if square == 0.0 || (missing / square.sqrt()).abs() > covered {
            return p;
        }
        let at = [p.at[0] + missing / square * slope[0], p.at[1] + missing / square * slope[1]];
        let (rate, triangle) = self.rate(at, p.zeta, p.triangle);
        Particle { at, rate, triangle, ..p }
    }

    /// A step of this time and about this length that ends inside the fluid or beyond the outlet, and the time it took. One that leaves the
    /// fluid through a solid edge is halved as long as it is longer than the tolerance, and then ends at the nearest place in the fluid.
    fn advance(&self, from: &Particle, level: f64, dt: f64, covered: f64) -> (Particle, f64) {
        let (mut taken, mut part) = (dt, covered);
        loop {
            let candidate = self.keep_level(self.step(from, taken), level, part);
            if self.outlet.passed(from.at, candidate.at).is_some() {
                return (candidate, taken);
            }
            if let Some(p) = self.place(candidate.at, candidate.zeta, Some(candidate.triangle)) {
                return (p, taken);
            }
            if 0.5 * part < self.tolerance {
                return (self.nearest(candidate), taken);
            }
            taken *= 0.5;
            part *= 0.5;
        }
    }

    /// The nearest place in the fluid.
    fn nearest(&self, p: Particle) -> Particle {
        let Some((triangle, weights)) = self.locator.nearest(p.at) else { return p };
        let places = self.space.corners(triangle as usize);
        let at = std::array::from_fn(|k| (0..3).map(|i| weights[i] * places[i][k]).sum());
        self.in_triangle(at, p.zeta, triangle, weights)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Five hundred steps of 1 mm: straight on, round half a circle (chord over arc 0.64) and three quarters (0.30), to and fro, at rest.
    #[test]
    fn a_line_that_gets_no_further_is_lost() {
        let arc = |turn: f64| {
            move |k: usize| {
                let (angle, radius) = (turn * k as f64 / 500.0, 0.5 / turn);
                [radius * angle.sin(), radius * (1.0 - angle.cos())]
            }
        };
        let lost = |place: &dyn Fn(usize) -> Point| {
            let mut progress = Progress { from: place(0), path: 0.0, steps: 0 };
            (1..=500).filter(|&k| progress.is_lost(place(k), 1e-3)).collect::<Vec<_>>()
        };
        let none: [usize; 0] = [];
        assert_eq!(lost(&|k| [1e-3 * k as f64, 0.0]), none);
        assert_eq!(lost(&arc(std::f64::consts::PI)), none);
        assert_eq!(lost(&arc(1.49 * std::f64::consts::PI)), none);
        assert_eq!(lost(&arc(1.6 * std::f64::consts::PI)), [500]);
        assert_eq!(lost(&|k| [1e-3 * (k % 2) as f64, 0.0]), [500]);
        assert_eq!(lost(&|_| [0.0; 2]), [500]);
    }
}
