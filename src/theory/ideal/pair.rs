//! Pressure and stream function on one mesh, each solved for itself, and what they bound together.
//!
//! With k = (b/b0)³, b0 the gap at the cell's middle, the pressure solves `div(k ∇p) = 0` and the stream function
//! `div(grad ψ / k) = 0`. Both are conforming, so for the shape factor S = Q/(K0 dp) the hypercircle identity (Prager &
//! Synge 1947, Quart. Appl. Math. 5, 241) gives
//!
//! - held pressures: `1/E(psi_h) ≤ S ≤ E(p_h)` at unit pressure drop and unit flux;
//! - given inflow g of unit flux: the dissipation D = 1/S obeys `(∫ g p_h)²/E(p_h) ≤ D ≤ E(psi_h)`.
//!
//! Neither needs the discrete problems to be solved exactly.

use crate::base::Result;
use crate::base::plane;
use crate::geometry::{Side, Solid};
use crate::input::case::Ends;
use crate::numerics::fem::{Conditions, Operator, Solution, Space, gradient, mean_cube, mean_inverse_cube};
use rayon::prelude::*;

/// The complementary pair, for unit pressure drop and unit flux, with its bounds.
#[derive(Debug)]
pub struct Pair {
    /// Pressure at the vertices; its mean is 1 over the inlet and 0 over the outlet.
    pub pressure: Vec<f64>,
    /// Stream function at the vertices: 0 on the lower wall, 1 on the upper.
    pub stream: Vec<f64>,
    /// Lower bound of the shape factor on the polygonal domain.
    pub lower: f64,
    /// Upper bound of the shape factor on the polygonal domain.
    pub upper: f64,
    /// Share of `upper − lower` of each triangle.
    pub bracket_density: Vec<f64>,
    /// Iterations on the finest level.
    pub iterations: Iterations,
    /// The pressure operator, for corrections that reuse it.
    pub pressure_operator: Operator,
    /// The stream-function operator.
    pub stream_operator: Operator,
}

/// Conjugate gradient iterations on the finest level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Iterations {
    /// For the pressure.
    pub pressure: usize,
    /// For the stream function.
    pub stream_function: usize,
}

/// What iteration may leave undone, relative to the shape factor, over the square of the relative half-width: recovered speeds
/// are good to h² as the bracket is, while the speed error of what is left undone goes as its square root. That is a
/// hundredth of the half-width times the half-width itself, so it adds less than a thousandth to any half-width below
/// one in a hundred, far less than the tenth of the error indicator that the bracket alone would ask for.
const ALGEBRAIC_SHARE: f64 = 0.01;

/// Least energy worth iterating for, relative to the shape factor.
const ALGEBRAIC_FLOOR: f64 = 1e-20;

/// Squared energy norm that iteration may leave undone, relative to the shape factor, for a relative half-width.
fn undone(half_width: f64) -> f64 {
    (ALGEBRAIC_SHARE * half_width * half_width).max(ALGEBRAIC_FLOOR)
}

/// Solves both problems side by side, one on each of two threads.
///
/// `expected` is the half-width one expects, relative to the shape factor; it only decides how long to iterate at first.
pub fn solve_pair(space: &Space, ends: Ends, expected: f64) -> Result<Pair> {
    let n = space.mesh.points.len();
    let (pressure, stream) = rayon::join(|| pressure_problem(space, ends), || stream_problem(space, ends));
    let (pressure, stream) = (pressure?, stream?);
    let guess = pressure.scale_guess(space);
    let tolerance = undone(expected) * guess;
    let (p, psi) = rayon::join(|| pressure.solve(tolerance), || stream.solve(tolerance / (guess * guess)));
    let (mut p, mut psi) = (p?, psi?);
    let mut bounds = Bounds::of(space, ends, &pressure, &p, &psi);
    for _ in 0..3 {
        let sum = bounds.upper + bounds.lower;
        let allowed = 0.5 * sum * undone((bounds.upper - bounds.lower) / sum);
        let scale = bounds.upper * bounds.lower;
        if p.algebraic <= 2.0 * allowed * weight(ends, scale) && psi.algebraic <= 2.0 * allowed / scale {
            break;
        }
        let (a, b) = rayon::join(
            || pressure.operator.improve(&mut p, &pressure.loads, allowed * weight(ends, scale)),
            || stream.operator.improve(&mut psi, &stream.loads, allowed / scale),
        );
        a.and(b)?;
        bounds = Bounds::of(space, ends, &pressure, &p, &psi);
    }
    let iterations = Iterations { pressure: p.iterations, stream_function: psi.iterations };
    let pressure_values = to_unit_drop(space, ends, p.values);
    let bracket_density = density(space, &pressure_values, &psi.values, bounds, ends);
    debug_assert_eq!(pressure_values.len(), n);
    Ok(Pair {
        pressure: pressure_values,
        stream: psi.values,
        lower: bounds.lower,
        upper: bounds.upper,
        bracket_density,
        iterations,
        pressure_operator: pressure.operator,
        stream_operator: stream.operator,
    })
}

struct Problem {
    operator: Operator,
    start: Vec<f64>,
    loads: Vec<f64>,
}

impl Problem {
    fn solve(&self, tolerance: f64) -> Result<Solution> {
        self.operator.solve(&self.start, &self.loads, tolerance)
    }

    /// Rough shape factor: width over length of the bounding box.
    fn scale_guess(&self, space: &Space) -> f64 {
        let span = |k: usize| {
            let of = space.mesh.points.iter().map(|p| p[k]);
            let (low, high) = of.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
            high - low
        };
        span(1) / span(0)
    }
}

/// Squared energies of the pressure problem per shape factor: at unit drop one, at unit flux one over S².
fn weight(ends: Ends, shape_squared: f64) -> f64 {
    match ends {
        Ends::HeldPressure => 1.0,
        Ends::GivenInflow => 1.0 / shape_squared,
    }
}

/// The pressure at unit drop with its mean over the outlet at zero.
fn to_unit_drop(space: &Space, ends: Ends, mut values: Vec<f64>) -> Vec<f64> {
    if ends == Ends::GivenInflow {
        let outlet = end_mean(space, Side::Outlet, &values);
        let drop = end_mean(space, Side::Inlet, &values) - outlet;
        values.iter_mut().for_each(|p| *p = (*p - outlet) / drop);
    }
    values
}

fn pressure_problem(space: &Space, ends: Ends) -> Result<Problem> {
    let n = space.mesh.points.len();
    let mut conditions = Conditions::free(n);
    let (mut start, mut loads) = (vec![0.0; n], vec![0.0; n]);
    match ends {
        Ends::HeldPressure => {
            for v in space.vertices_where(|side| side == Side::Inlet) {
                conditions.fix(v);
                start[v as usize] = 1.0;
            }
            for v in space.vertices_where(|side| side == Side::Outlet) {
                conditions.fix(v);
            }
        }
        Ends::GivenInflow => {
            for (side, sign) in [(Side::Inlet, 1.0), (Side::Outlet, -1.0)] {
                let total: f64 = end_edges(space, side).map(|(_, length)| length).sum();
                for (vertices, length) in end_edges(space, side) {
                    vertices.iter().for_each(|&v| loads[v as usize] += sign * 0.5 * length / total);
                }
            }
        }
    }
    let operator = Operator::new(&space.mesh, space.levels.pressure.clone(), conditions)?;
    Ok(Problem { operator, start, loads })
}

/// Conditions of the stream function at unit flux, and its given values: 0 on the lower wall, 1 on the upper.
pub fn stream_conditions(space: &Space, ends: Ends) -> (Conditions, Vec<f64>) {
    let (mut conditions, start) = wall_conditions(space, ends);
    space.tie_obstacles(&mut conditions);
    (conditions, start)
}

/// The same with nothing known of the obstacles that stand free.
pub(crate) fn wall_conditions(space: &Space, ends: Ends) -> (Conditions, Vec<f64>) {
    let n = space.mesh.points.len();
    let mut conditions = Conditions::free(n);
    let mut start = vec![0.0; n];
    for v in space.vertices_on(Solid::Lower) {
        conditions.fix(v);
    }
    for v in space.vertices_on(Solid::Upper) {
        conditions.fix(v);
        start[v as usize] = 1.0;
    }
    if ends == Ends::GivenInflow {
        for side in [Side::Inlet, Side::Outlet] {
            fix_linear(space, side, &mut conditions, &mut start);
        }
    }
    (conditions, start)
}

fn stream_problem(space: &Space, ends: Ends) -> Result<Problem> {
    let (conditions, start) = stream_conditions(space, ends);
    let operator = Operator::new(&space.mesh, space.levels.stream.clone(), conditions)?;
    Ok(Problem { operator, loads: vec![0.0; start.len()], start })
}

/// Gives ψ on an end of uniform flux: it grows from 0 at the lower wall to 1 at the upper in proportion to the distance.
fn fix_linear(space: &Space, side: Side, conditions: &mut Conditions, start: &mut [f64]) {
    let edges: Vec<([u32; 2], f64)> = end_edges(space, side).collect();
    let total: f64 = edges.iter().map(|(_, length)| length).sum();
    let foot = edges
        .iter()
        .flat_map(|(vertices, _)| vertices)
        .copied()
        .find(|&v| conditions.is_fixed(v as usize) && start[v as usize] == 0.0);
    let Some(foot) = foot else { return };
    let foot = space.mesh.points[foot as usize];
    for v in edges.iter().flat_map(|(vertices, _)| *vertices) {
        if !conditions.is_fixed(v as usize) {
            let p = space.mesh.points[v as usize];
            start[v as usize] = plane::distance(p, foot) / total;
            conditions.fix(v);
        }
    }
}

fn end_edges(space: &Space, side: Side) -> impl Iterator<Item = ([u32; 2], f64)> {
    space.mesh.boundary.iter().filter(move |edge| space.mesh.side(edge) == side).map(|edge| {
        let [a, b] = edge.vertices.map(|v| space.mesh.points[v as usize]);
        (edge.vertices, plane::distance(a, b))
    })
}

fn end_mean(space: &Space, side: Side, values: &[f64]) -> f64 {
    let (mut sum, mut total) = (0.0, 0.0);
    for ([a, b], length) in end_edges(space, side) {
        sum += 0.5 * length * (values[a as usize] + values[b as usize]);
        total += length;
    }
    sum / total
}

/// The two bounds, and the energy of the stream function at unit flux.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    lower: f64,
    upper: f64,
}

impl Bounds {
    fn of(space: &Space, ends: Ends, pressure: &Problem, p: &Solution, psi: &Solution) -> Self {
        let (e_p, e_psi) = rayon::join(
            || energy(space, &p.values, Field::Pressure),
            || energy(space, &psi.values, Field::StreamFunction),
        );
        let upper = match ends {
            Ends::HeldPressure => e_p,
            Ends::GivenInflow => {
                let work: f64 = pressure.loads.iter().zip(&p.values).map(|(g, p)| g * p).sum();
                e_p / (work * work)
            }
        };
        Bounds { lower: 1.0 / e_psi, upper }
    }
}

/// Mean over a triangle of (b/b0)³ or of its inverse.
fn weights(space: &Space, triangle: usize) -> [f64; 2] {
    if space.uniform_gap() {
        return [1.0, 1.0];
    }
    let b = space.mesh.triangles[triangle].map(|v| space.gap[v as usize] / space.reference_gap);
    [mean_cube(b), mean_inverse_cube(b)]
}

/// Sum over triangles in a fixed partition: the same to the last bit for any number of threads.
fn sum_over(count: usize, of: impl Fn(usize) -> f64 + Sync) -> f64 {
    const CHUNK: usize = 8192;
    let parts: Vec<f64> = (0..count.div_ceil(CHUNK))
        .into_par_iter()
        .map(|chunk| (chunk * CHUNK..((chunk + 1) * CHUNK).min(count)).map(&of).sum())
        .collect();
    parts.iter().sum()
}

/// Which of the two a vertex array is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Field {
    Pressure,
    StreamFunction,
}

fn energy(space: &Space, values: &[f64], field: Field) -> f64 {
    sum_over(space.mesh.triangles.len(), |t| {
        let corners = space.corners(t);
        let g = gradient(corners, space.mesh.triangles[t].map(|v| values[v as usize]));
        let [direct, inverse] = weights(space, t);
        let weight = match field {
            Field::Pressure => direct,
            Field::StreamFunction => inverse,
        };
        weight * plane::square(g) * plane::triangle_area(corners)
    })
}

/// The integrand of the hypercircle identity, triangle by triangle, scaled so that it sums to `upper − lower`.
fn density(space: &Space, p: &[f64], psi: &[f64], bounds: Bounds, ends: Ends) -> Vec<f64> {
    // held pressures: psi at its best flux for unit drop; given inflow: p at its best scale for unit flux
    let (p_scale, psi_scale, total) = match ends {
        Ends::HeldPressure => (1.0, bounds.lower, 1.0),
        Ends::GivenInflow => (1.0 / bounds.upper, 1.0, bounds.lower * bounds.upper),
    };
    (0..space.mesh.triangles.len())
        .into_par_iter()
        .map(|t| {
            let corners = space.corners(t);
            let vertices = space.mesh.triangles[t];
            let g = gradient(corners, vertices.map(|v| p_scale * p[v as usize]));
            let c = gradient(corners, vertices.map(|v| psi_scale * psi[v as usize]));
            let [direct, inverse] = weights(space, t);
            let cross = plane::cross(g, c);
            let sum = direct * plane::square(g) + 2.0 * cross + inverse * plane::square(c);
            total * sum * plane::triangle_area(corners)
        })
        .collect()
}
