//! The same obstacles in an unbounded stream.
//!
//! The cell's walls and ends hold the stream together; the ideal pattern itself differs from the one in an unbounded stream of the
//! same speed. The obstacles are solved in place in a cell m times as wide and as long, m = 2, 4, 8, ..., about the same middle. An
//! obstacle without circulation acts on the far walls as a dipole and its images act back as (D/(m W))² (Lamb 1932,
//! Hydrodynamics, art. 64; Milne-Thomson 1968, Theoretical Hydrodynamics, rows of dipoles), so that
//! `ψ = psi_2m + (psi_2m − psi_m)/3` is free of the leading part; m is doubled until two such values agree.
//!
//! Only the far field of each wide solution is used: its stream function along the walls and ends of the cell bounds a problem on
//! the mesh of the cell. Confined and unconfined pattern are then two solutions on one mesh, and the error of the mesh near the
//! obstacles drops out of their difference.
//!
//! Gap: uniform. In a cell of tapered gap the unconfined pattern is that of the gap at the middle of the cell, and its difference
//! from the pattern of the cell holds the taper as well.

use crate::base::plane::{self, Rect};
use crate::base::{Point, Result};
use crate::geometry::Wall;
use crate::geometry::{Curve, Piece, Plan, Side};
use crate::input::case::{Case, Gap};
use crate::numerics::fem::{Conditions, Operator, Space};
use crate::theory::circulation::velocity_of;
use crate::theory::edge_layer::reach;
use crate::theory::ideal::{Goal, Pattern, Stage, multiplied, multiplied_vectors, sampler, solve_ideal};
use std::sync::Arc;

/// Change of |V|/U, root mean square, below which widening stops even where the numbers are better than that.
pub const ENOUGH: f64 = 1e-3;
/// Most doublings; images then act with less than a thousandth of what they did.
const MOST_DOUBLINGS: u32 = 5;
/// Triangles of a wide cell: those of the cell itself within these limits.
const TRIANGLES: [usize; 2] = [4_000, 60_000];
/// Part of the energy that iteration may leave undone.
const ALGEBRAIC_SHARE: f64 = 1e-10;

/// The pattern of the same obstacles in an unbounded stream with the speed U of the cell far upstream, at the cell's vertices.
#[derive(Debug, Clone)]
pub struct Unconfined {
    /// Velocity, m/s.
    pub velocity: Vec<[f64; 2]>,
    /// Stream function, m3/s; U b y far away, with the speed U and the gap b at the middle of the cell.
    pub stream_function: Vec<f64>,
    /// Widest cell solved, in widths of the cell.
    pub widening: f64,
    /// Change of |V|/U that the last doubling brought, root mean square over the fluid beyond reach of the edge layer.
    pub change: f64,
    /// Estimated error of |V|/U from the mesh, same measure: half the difference of the velocities from pressure and stream
    /// function.
    pub numerical_error: f64,
    /// Whether the change fell below that error or below [`ENOUGH`].
    pub reached: bool,
    /// Whether the gap of the cell is not uniform, so that the unconfined pattern is that of the gap at its middle.
    pub gap_made_uniform: bool,
}

impl Unconfined {
    /// That at a mean speed, m/s, from that of the unit state: velocity and stream function go as U.
    pub fn scaled(&self, speed: f64) -> Unconfined {
        Unconfined {
            velocity: multiplied_vectors(&self.velocity, speed),
            stream_function: multiplied(&self.stream_function, speed),
            ..*self
        }
    }
}

/// Solves for the unconfined pattern of a case; none if it does not apply, since an obstacle stands on a side wall or the cell is
/// not a rectangle.
///
/// `watch` is told what is going on in the wide cells.
///
/// # Errors
/// [`crate::base::Error::Mesh`] if no mesh of a wide cell can be made, [`crate::base::Error::NoConvergence`] if a solver does not come to
/// its end.
pub fn unconfined(
    case: &Case,
    plan: &Plan,
    space: &Space,
    pattern: &Pattern,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Option<Unconfined>> {
    let Some(cell) = Rectangle::of(plan) else { return Ok(None) };
    let flow = Flow { b: space.reference_gap, speed: pattern.drive.mean_speed };
    let inner = Inner::new(space, pattern, flow)?;
    let mut wide_case = case.clone();
    wide_case.cell.gap = Gap::Uniform(flow.b);
    let goal = Goal::Triangles(space.mesh.triangles.len().clamp(TRIANGLES[0], TRIANGLES[1]));
    let far = |m: f64| -> Result<Vec<f64>> {
        let (wide, outer) = cell.widened(plan, m);
        let solved = solve_ideal(&Arc::new(wide), &wide_case, goal, watch)?;
        Ok(inner.sample(&solved.space, &solved.pair.stream, flow.b * flow.speed, outer))
    };

    let mut widening = 2.0;
    let mut last = far(1.0 * widening)?;
    let mut before: Option<Unconfined> = None;
    for _ in 1..=MOST_DOUBLINGS {
        widening *= 2.0;
        let next = far(widening)?;
        let ends: Vec<f64> = next.iter().zip(&last).map(|(next, last)| next + (next - last) / 3.0).collect();
        let (stream_function, velocity) = inner.solve(&ends)?;
        let change = match &before {
            None => f64::INFINITY,
            Some(before) => inner.rms(|v| speed(velocity[v]) - speed(before.velocity[v])),
        };
        let reached = change <= inner.numerical_error.max(ENOUGH);
        let now = Unconfined {
            velocity,
            stream_function,
            widening,
            change,
            numerical_error: inner.numerical_error,
            reached,
            gap_made_uniform: !space.uniform_gap(),
        };
        if reached {
            return Ok(Some(now));
        }
        (last, before) = (next, Some(now));
    }
    Ok(before)
}

fn speed(v: [f64; 2]) -> f64 {
    plane::length(v)
}

/// The uniform gap b, m, and the speed U far away, m/s.
#[derive(Debug, Clone, Copy)]
struct Flow {
    b: f64,
    speed: f64,
}

/// A rectangular cell in which all obstacles stand free.
#[derive(Debug, Clone, Copy)]
struct Rectangle {
    low: Point,
    high: Point,
}

impl Rectangle {
    fn of(plan: &Plan) -> Option<Self> {
        let free = plan.obstacles.iter().all(|obstacle| obstacle.on_wall.is_none());
        let Rect { low, high } = plan.rectangle().filter(|_| free)?;
        Some(Rectangle { low, high })
    }

    /// The plan with the same obstacles in a cell m times as wide and as long about the same middle, and that cell.
    fn widened(&self, plan: &Plan, m: f64) -> (Plan, Rectangle) {
        let stretched = |sign: f64| -> Point {
            [0, 1].map(|k| {
                let (middle, half) = (0.5 * (self.low[k] + self.high[k]), 0.5 * (self.high[k] - self.low[k]));
                middle + sign * m * half
            })
        };
        let outer = Rectangle { low: stretched(-1.0), high: stretched(1.0) };
        let [[x0, y0], [x1, y1]] = [outer.low, outer.high];
        let corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let edge = |k: usize| Piece {
            curve: Curve::Line { from: corners[k], to: corners[(k + 1) % 4] },
            from: 0.0,
            to: 1.0,
            side: sides[k],
        };
        let mut pieces: Vec<Piece> = (0..4).map(edge).collect();
        let mut loops = Vec::with_capacity(plan.loops.len());
        loops.push(0..4);
        for range in plan.loops.iter().skip(1) {
            let start = pieces.len();
            pieces.extend_from_slice(&plan.pieces[range.clone()]);
            loops.push(start..pieces.len());
        }
        (Plan { pieces, loops, obstacles: plan.obstacles.clone(), notes: vec![] }, outer)
    }
}

/// The problem within the cell whose walls and ends carry a given stream function.
struct Inner<'a> {
    space: &'a Space,
    /// The same mesh with the uniform gap, where the cell's is not.
    uniform: Option<Space>,
    pattern: &'a Pattern,
    flow: Flow,
    operator: Operator,
    ends: Vec<u32>,
    /// Velocity of the pattern from its stream function alone, m/s.
    from_stream: Vec<[f64; 2]>,
    numerical_error: f64,
}

impl<'a> Inner<'a> {
    fn new(space: &'a Space, pattern: &'a Pattern, flow: Flow) -> Result<Self> {
        let uniform = (!space.uniform_gap()).then(|| Space::new(space.mesh.clone(), &Gap::Uniform(flow.b), flow.b));
        let used = uniform.as_ref().unwrap_or(space);
        let mut conditions = Conditions::free(space.mesh.points.len());
        let ends = space.vertices_where(|side| !matches!(side, Side::Obstacle(_)));
        ends.iter().for_each(|&v| conditions.fix(v));
        space.tie_obstacles(&mut conditions);
        let operator = Operator::new(&space.mesh, used.levels.stream.clone(), conditions)?;
        let from_stream = velocity_of(space, &pattern.stream_function, &[]);
        let mut inner = Inner { space, uniform, pattern, flow, operator, ends, from_stream, numerical_error: 0.0 };
        // V = (V_p + V_psi)/2, so that V - V_psi = (V_p - V_psi)/2
        inner.numerical_error = inner.rms(|v| speed(inner.pattern.velocity[v]) - speed(inner.from_stream[v]));
        Ok(inner)
    }

    /// Stream function of a wide cell, of unit flux, at the walls and ends of this one, m3/s: U b y far away.
    fn sample(&self, wide: &Space, stream: &[f64], per_width: f64, outer: Rectangle) -> Vec<f64> {
        let flux = per_width * (outer.high[1] - outer.low[1]);
        let mut sample = sampler(wide, stream);
        let mut at = |v: u32| {
            let p = self.space.mesh.points[v as usize];
            sample(p).map_or(per_width * p[1], |value| flux * value + per_width * outer.low[1])
        };
        self.ends.iter().map(|&v| at(v)).collect()
    }

    /// Stream function and velocity within the cell from the values on its walls and ends.
    fn solve(&self, ends: &[f64]) -> Result<(Vec<f64>, Vec<[f64; 2]>)> {
        let n = self.space.mesh.points.len();
        let mut start = vec![0.0; n];
        self.ends.iter().zip(ends).for_each(|(&v, &psi)| start[v as usize] = psi);
        let per_width = self.flow.b * self.flow.speed;
        let area: f64 = (0..self.space.mesh.triangles.len()).map(|t| self.space.area(t)).sum();
        let tolerance = ALGEBRAIC_SHARE * per_width * per_width * area;
        let psi = self.operator.solve(&start, &vec![0.0; n], tolerance)?.values;
        let velocity = match &self.uniform {
            Some(uniform) => self.velocity(uniform, &psi),
            None => {
                let from_stream = self.velocity(self.space, &psi);
                let known = self.pattern.velocity.iter().zip(&self.from_stream);
                let of = |(v, (known, old)): (&[f64; 2], (&[f64; 2], &[f64; 2]))| {
                    [known[0] + v[0] - old[0], known[1] + v[1] - old[1]]
                };
                from_stream.iter().zip(known).map(of).collect()
            }
        };
        Ok((psi, velocity))
    }

    /// V; the unbounded stream crosses the walls of the cell.
    fn velocity(&self, space: &Space, psi: &[f64]) -> Vec<[f64; 2]> {
        velocity_of(space, psi, &self.ends)
    }

    /// Root mean square of a speed over U, over the fluid beyond reach of the edge layer.
    fn rms(&self, of: impl Fn(usize) -> f64) -> f64 {
        self.space.root_mean_square(reach(self.space).beyond(), of) / self.flow.speed
    }
}
