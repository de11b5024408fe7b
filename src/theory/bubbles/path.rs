//! The path of a free round bubble through a solved pattern.
//!
//! A round bubble far from walls feels exactly the pressure gradient at its centre, for the mean of a harmonic field over a circle is its
//! value in the middle. So `dX/dt = x(|V|) V` with the stream V that drives it at its centre (the pattern's, half the rise up the slope and half
//! the drift to a wider gap, [`super::driving`]) and x by the film law: in a level cell of uniform gap the bubble follows the streamline of its
//! centre, at a speed of its own. Nodal velocities are linear on each triangle; steps are those of the classical fourth-order Runge-Kutta method.
//!
//! Range: 2R above three gaps; the rim further than R/2 from side walls and obstacles, where the path ends: nearer, walls take part
//! ([`super::pressure_factor`]). The bubble itself disturbs the pattern; other bubbles are not felt.

use super::{film, rise_speed};
use crate::base::bisect::{TO_ROUNDING, bisected};
use crate::base::{Error, Point, Result, plane};
use crate::geometry::Side;
use crate::numerics::fem::Space;
use crate::numerics::mesh::{Gate, Locator};
use crate::theory::edge_layer::clearance;
use crate::theory::ideal::{Pattern, interpolate};

/// A bubble as it is set into the cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Bubble {
    /// Its name.
    pub name: String,
    /// Where its middle is, m.
    pub centre: Point,
    /// Its diameter seen from above, m.
    pub diameter: f64,
}

/// What the gas and its surface are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Surface tension γ, N/m.
    pub tension: f64,
    /// Density of the liquid less that of the gas, kg/m3.
    pub density_difference: f64,
    /// The way up the slope, as long as the sine of the tilt; nought for a level cell.
    pub tilt: [f64; 2],
    /// Whether it leaves films on the plates; without them it runs at twice the stream.
    pub films: bool,
}

/// Why a path ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Its centre left through the outlet.
    Outlet,
    /// Its centre left through the inlet, uphill or to a wider gap.
    Inlet,
    /// Its rim came within half a radius of a side wall or an obstacle.
    NearEdge,
    /// It came to rest in the fluid.
    Rest,
    /// It needed more steps than allowed.
    Steps,
}

/// The path of a bubble.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// The bubble.
    pub bubble: Bubble,
    /// Places of its centre, m.
    pub points: Vec<Point>,
    /// Time at each, s.
    pub times: Vec<f64>,
    /// Speed at each, m/s.
    pub speeds: Vec<f64>,
    /// Why it ends.
    pub ended: Ended,
    /// Speed U where it starts, m/s.
    pub speed: f64,
    /// U over the mean speed of the liquid there.
    pub speed_ratio: f64,
    /// Direction there against the x axis, rad.
    pub angle: f64,
    /// Film number k there; nought without films.
    pub film_number: f64,
    /// Shape number `12 μ V R²/(γ b²)` there.
    pub capillary_shape_number: f64,
    /// Largest shape number on the path.
    pub largest_shape_number: f64,
    /// Largest capillary number μ U/γ on the path.
    pub largest_capillary_number: f64,
    /// Time until it leaves the cell, s, if it does.
    pub time_to_leave: Option<f64>,
}

/// Part of the local triangle size that one step covers.
const STEP: f64 = 0.4;
/// Speed, as a fraction of the mean speed over the inlet, at which a bubble counts as at rest.
const REST: f64 = 1e-6;
/// Shortest step over the length of the cell.
const TOLERANCE: f64 = 1e-6;
const MOST_STEPS: usize = 20_000;
/// Radii from the centre to an edge at which a path ends.
const NEAR: f64 = 1.5;

/// Follows a bubble until it leaves the cell, comes near an edge or stops.
///
/// # Errors
/// [`Error::Usage`] where the bubble is less than three gaps wide, does not lie in the fluid as a whole, or the air's numbers make no sense.
pub fn follow(space: &Space, pattern: &Pattern, bubble: &Bubble, air: &Air) -> Result<Path> {
    check(bubble, air)?;
    let walker = Walker {
        space,
        locator: space.locator(),
        pattern,
        air,
        radius: 0.5 * bubble.diameter,
        gates: [(Side::Outlet, Ended::Outlet), (Side::Inlet, Ended::Inlet)]
            .map(|(side, end)| (Gate::of(&space.mesh, side), end)),
        least: TOLERANCE * space.mesh.along(),
    };
    let Some(mut here) = walker.place(bubble.centre, None) else {
        return Err(outside(bubble, "its centre does not lie in the fluid"));
    };
    if bubble.diameter < film::DISC * here.gap {
        let what = format!(
            "bubble \"{}\" is {} m wide in a gap of {} m: less than three gaps, so that it is no disc",
            bubble.name, bubble.diameter, here.gap
        );
        return Err(Error::argument(what, "give a greater diameter; a small one is a tracer, not a path of this kind"));
    }
    if clearance(space, bubble.centre) < walker.radius {
        return Err(outside(bubble, "it reaches into a side wall or an obstacle"));
    }
    let mut path = walker.started(bubble, &here);
    let rest = REST * pattern.drive.mean_speed.abs();
    let mut time = 0.0;
    for _ in 0..MOST_STEPS {
        if walker.is_near(&here) {
            path.ended = Ended::NearEdge;
            break;
        }
        let speed = plane::length(here.velocity);
        if speed <= rest || !speed.is_finite() {
            path.ended = Ended::Rest;
            break;
        }
        let Some((next, dt)) = walker.ahead(&here, speed) else {
            path.ended = Ended::Rest;
            break;
        };
        let (taken, ended) = walker.until_end(&here, &next, dt);
        let next = if ended.is_some() { walker.step(&here, taken) } else { next };
        time += taken;
        path.push(&next, time, &walker);
        if let Some(ended) = ended {
            path.ended = ended;
            break;
        }
        here = next;
    }
    path.time_to_leave = matches!(path.ended, Ended::Outlet | Ended::Inlet).then_some(time);
    Ok(path)
}

fn outside(bubble: &Bubble, why: &str) -> Error {
    let [x, y] = bubble.centre;
    let what = format!("bubble \"{}\" at ({x}, {y}) m with a diameter of {} m: {why}", bubble.name, bubble.diameter);
    Error::argument(what, "move its centre into the fluid or make it smaller")
}

fn check(bubble: &Bubble, air: &Air) -> Result<()> {
    let bad = |what: String| Err(Error::argument(what, "give a finite number in SI units"));
    if !(bubble.diameter > 0.0 && bubble.diameter.is_finite() && bubble.centre.iter().all(|x| x.is_finite())) {
        return bad(format!(
            "bubble \"{}\" has the diameter {} m at {:?}",
            bubble.name, bubble.diameter, bubble.centre
        ));
    }
    if !(air.tension > 0.0 && air.tension.is_finite()) {
        return bad(format!("the surface tension of the bubbles is {} N/m", air.tension));
    }
    let slope = plane::length(air.tilt);
    if !air.density_difference.is_finite() || slope.is_nan() || slope > 1.0 {
        return bad(format!(
            "bubbles in a cell tilted by a sine of {slope}, lighter than the liquid by {} kg/m3",
            air.density_difference
        ));
    }
    Ok(())
}

/// A bubble's centre with what it does there.
#[derive(Debug, Clone, Copy)]
struct Here {
    at: Point,
    triangle: u32,
    weights: [f64; 3],
    gap: f64,
    /// Mean velocity of the liquid, m/s.
    flow: [f64; 2],
    /// Speed of the stream that drives it, m/s.
    driving: f64,
    film_number: f64,
    /// Its velocity, m/s.
    velocity: [f64; 2],
}

struct Walker<'a> {
    space: &'a Space,
    locator: Locator<'a>,
    pattern: &'a Pattern,
    air: &'a Air,
    radius: f64,
    gates: [(Gate, Ended); 2],
    /// Shortest step, m.
    least: f64,
}

impl Walker<'_> {
    fn place(&self, at: Point, hint: Option<u32>) -> Option<Here> {
        let (triangle, weights) = self.locator.find(at, hint)?;
        Some(self.in_triangle(at, triangle, weights))
    }

    /// The same, continued linearly from the last triangle where the place lies outside the fluid.
    fn near(&self, at: Point, last: u32) -> Here {
        self.place(at, Some(last))
            .unwrap_or_else(|| self.in_triangle(at, last, plane::barycentric(at, self.space.corners(last as usize))))
    }

    fn in_triangle(&self, at: Point, triangle: u32, weights: [f64; 3]) -> Here {
        let (air, viscosity) = (self.air, self.pattern.fluid.viscosity);
        let gap = interpolate(self.space, triangle, weights, &self.space.gap);
        let flow = self.pattern.at(self.space, triangle, weights).velocity;
        let corners = self.space.mesh.triangles[triangle as usize];
        let slope = [0, 1].map(|k| match self.space.gap_slope.is_empty() {
            true => 0.0,
            false => (0..3).map(|i| weights[i] * gap * self.space.gap_slope[corners[i] as usize][k]).sum(),
        });
        let upright = rise_speed(air.density_difference, std::f64::consts::FRAC_PI_2, gap, viscosity);
        let rise = air.tilt.map(|s| s * upright);
        let stream = film::driving(flow, rise, film::wedge_speed(air.tension, viscosity, slope));
        let driving = plane::length(stream);
        let film_number =
            if air.films { film::film_number(gap, self.radius, viscosity * driving / air.tension) } else { 0.0 };
        let ratio = film::speed_ratio(film_number);
        Here { at, triangle, weights, gap, flow, driving, film_number, velocity: stream.map(|v| ratio * v) }
    }

    /// One Runge-Kutta step; the result may lie outside the fluid.
    fn step(&self, from: &Here, dt: f64) -> Here {
        let ahead = |v: [f64; 2], part: f64| plane::stepped(from.at, part * dt, v);
        let k1 = from.velocity;
        let second = self.near(ahead(k1, 0.5), from.triangle);
        let third = self.near(ahead(second.velocity, 0.5), second.triangle);
        let fourth = self.near(ahead(third.velocity, 1.0), third.triangle);
        let mean =
            [0, 1].map(|i| (k1[i] + 2.0 * second.velocity[i] + 2.0 * third.velocity[i] + fourth.velocity[i]) / 6.0);
        self.near(ahead(mean, 1.0), fourth.triangle)
    }

    /// A step of a part of the triangle and its time, shorter where the stream turns back straight ahead; none where it does so at once.
    fn ahead(&self, here: &Here, speed: f64) -> Option<(Here, f64)> {
        let mut covered = STEP * self.space.area(here.triangle as usize).sqrt();
        loop {
            let time = covered / speed;
            let straight = self.near(plane::stepped(here.at, time, here.velocity), here.triangle);
            if plane::dot(straight.velocity, here.velocity) > 0.0 {
                return Some((self.step(here, time), time));
            }
            covered *= 0.5;
            if covered < self.least {
                return None;
            }
        }
    }

    fn beyond(&self, from: Point, at: Point) -> Option<Ended> {
        self.gates.iter().find(|(gate, _)| gate.passed(from, at).is_some()).map(|(_, ended)| *ended)
    }

    /// Whether the rim is within half a radius of an edge; distances at the vertices tell where it cannot be.
    fn is_near(&self, here: &Here) -> bool {
        let wanted = NEAR * self.radius;
        let corners = self.space.corners(here.triangle as usize);
        let reach = corners.iter().map(|&p| plane::distance(p, here.at)).fold(0.0, f64::max);
        let rough = interpolate(self.space, here.triangle, here.weights, self.space.wall_distance());
        rough < wanted + 2.0 * reach && clearance(self.space, here.at) < wanted
    }

    /// The part of a step until the path ends, and why; the whole of it where it does not.
    fn until_end(&self, from: &Here, to: &Here, dt: f64) -> (f64, Option<Ended>) {
        let ended =
            |here: &Here| self.beyond(from.at, here.at).or_else(|| self.is_near(here).then_some(Ended::NearEdge));
        let Some(first) = ended(to) else { return (dt, None) };
        let [_, end] = bisected([0.0, dt], TO_ROUNDING, |part| ended(&self.step(from, part)).is_none());
        (end, Some(ended(&self.step(from, end)).unwrap_or(first)))
    }

    fn shape_number(&self, here: &Here) -> f64 {
        film::shape_number(here.gap, self.radius, self.pattern.fluid.viscosity * here.driving / self.air.tension)
    }

    fn started(&self, bubble: &Bubble, here: &Here) -> Path {
        let speed = plane::length(here.velocity);
        let mut path = Path {
            bubble: bubble.clone(),
            points: Vec::new(),
            times: Vec::new(),
            speeds: Vec::new(),
            ended: Ended::Steps,
            speed,
            speed_ratio: speed / plane::length(here.flow),
            angle: here.velocity[1].atan2(here.velocity[0]),
            film_number: here.film_number,
            capillary_shape_number: self.shape_number(here),
            largest_shape_number: 0.0,
            largest_capillary_number: 0.0,
            time_to_leave: None,
        };
        path.push(here, 0.0, self);
        path
    }
}

impl Path {
    fn push(&mut self, here: &Here, time: f64, walker: &Walker) {
        let speed = plane::length(here.velocity);
        self.points.push(here.at);
        self.times.push(time);
        self.speeds.push(speed);
        self.largest_shape_number = self.largest_shape_number.max(walker.shape_number(here));
        let capillary = walker.pattern.fluid.viscosity * speed / walker.air.tension;
        self.largest_capillary_number = self.largest_capillary_number.max(capillary);
    }
}

#[cfg(test)]
mod tests;
