//! The circulation that the cell does not show: the Kutta value of sections with a sharp tail.
//!
//! The pressure in the cell has one value everywhere, so the circulation round every obstacle is zero (Lamb 1932, Hydrodynamics,
//! art. 330; Batchelor 1967, An Introduction to Fluid Dynamics, sec. 4.8). A section in a stream of small viscosity sheds a starting
//! vortex until the flow leaves its tail smoothly (Batchelor sec. 6.7). With psi_0 the stream function of the cell and phi_k
//! equal to 1 on the sharp-tailed obstacle k, 0 on the others and on the walls,
//!
//! - `ψ = psi_0 + Σ_k a_k phi_k`, `div(b⁻³ ∇phi_k) = 0`, obstacles without a sharp tail keep zero circulation;
//! - the ends are those of psi_0: natural where the pressure is held, `phi_k = 0` where the inflow is given;
//! - the a_k take the singular part `K r^α sin(α θ)`, α = π/ω, out of ψ at all tails at once;
//! - the circulation of obstacle i, positive clockwise, is `Gamma_i = −(1/b0) Σ_k a_k ∫ (b0/b)³ ∇phi_i . ∇phi_k`.
//!
//! `b V = curl ψ`, so Γ is the loop integral of V for a uniform gap b0, and of (b0/b)² V otherwise. The fluid streams along
//! +x: clockwise circulation lifts towards +y, with `rho U Gamma` per span (Kutta and Joukowski; Milne-Thomson 1958, Theoretical
//! Aerodynamics). That is the lift in an unbounded stream of speed U; the walls of the cell raise Γ, for a thin section of chord c
//! midway by the factor `1 + (π²/24)(c/W)²` to first order.
//!
//! Range: the inviscid analogue. It says nothing of separation, which sets in at some ten degrees of incidence.

mod outline;
mod rows;
mod tail;

pub use rows::left_out;
pub use tail::{NoTail, NoTailReason, SHARP, Tail, Tails, sharp_tails};

use crate::base::{Error, Point, Result};
use crate::geometry::{Side, Solid};
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Conditions, Operator, Solution, Space};
use crate::theory::ideal::{Pair, Pattern, multiplied, multiplied_vectors, remove_normal_part};
use rayon::prelude::*;

/// Part of the energy that iteration may leave undone: the singular parts are then good to some 1e-5.
const ALGEBRAIC_SHARE: f64 = 1e-10;

/// The pattern with the Kutta circulation round every obstacle with a sharp tail.
#[derive(Debug)]
pub struct Circulation {
    /// The obstacles with a sharp tail, in the order of the plan.
    pub sections: Vec<Section>,
    /// Stream function with circulation, m3/s: 0 on the lower wall, Q on the upper.
    pub stream_function: Vec<f64>,
    /// Gap-averaged velocity with circulation at the vertices, m/s, from the stream function alone.
    pub velocity: Vec<[f64; 2]>,
}

/// One obstacle with a sharp tail.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Index of the obstacle in the plan.
    pub obstacle: u32,
    /// Its name.
    pub name: String,
    /// Its tail.
    pub tail: Tail,
    /// Chord c: the largest distance of the outline from the tail, m.
    pub chord: f64,
    /// Kutta circulation Γ, m2/s, clockwise: positive gives lift towards +y.
    pub kutta_circulation: f64,
    /// Estimated uncertainty of Γ from taking the singular part off rings round the tail, m2/s; the error of the mesh,
    /// of the order of the bracket of the shape factor, comes on top.
    pub circulation_spread: f64,
    /// Lift per span ρ U Γ of the inviscid analogue, N/m.
    pub lift_per_span: f64,
    /// Lift coefficient 2 Γ/(U c).
    pub lift_coefficient: f64,
    /// Estimated error of the lift coefficient: the spread over rings and that of the mesh, by the bracket of the shape factor, or
    /// the change from a coarser mesh where that is larger. Which corner leads the flow off is no part of it: where that is not
    /// clear, no circulation is given.
    pub lift_coefficient_error: f64,
    /// Angle by which the tail streamline differs, rad: the dividing streamline behind the section is looked at from the
    /// tail where it crosses the circle of a quarter chord about it; positive if without circulation it runs above the one
    /// with circulation. None if either does not cross that circle.
    ///
    /// The direction at the stagnation point itself would say little: without circulation a streamline leaves a smooth
    /// surface at a right angle however near to the tail.
    pub tail_angle_difference: Option<f64>,
    /// Where the stream divides at the nose without circulation, m.
    pub front_stagnation: Option<Point>,
    /// Where it does with circulation, m.
    pub front_stagnation_with_circulation: Option<Point>,
    /// Where the stream leaves without circulation, m. With circulation it leaves from the tail.
    pub rear_stagnation: Option<Point>,
}

impl Section {
    /// Takes the error of the mesh from the same section on a coarser mesh of `ratio` times the size: `|C − C'|/(r − 1)`, as for
    /// the measures of departures.
    pub fn compare(&mut self, coarse: &Section, ratio: f64) {
        let change = (self.lift_coefficient - coarse.lift_coefficient).abs() / (ratio - 1.0);
        self.lift_coefficient_error = self.lift_coefficient_error.max(change);
    }
}

impl Circulation {
    /// That of a fluid at a mean speed, m/s, from that of the unit state: Γ, velocity and stream function go as U, the lift as ρ U².
    pub fn scaled(&self, speed: f64, fluid: &Fluid) -> Circulation {
        let section = |section: &Section| Section {
            kutta_circulation: section.kutta_circulation * speed,
            circulation_spread: section.circulation_spread * speed,
            lift_per_span: section.lift_per_span * (fluid.density * speed * speed),
            ..section.clone()
        };
        Circulation {
            sections: self.sections.iter().map(section).collect(),
            stream_function: multiplied(&self.stream_function, speed),
            velocity: multiplied_vectors(&self.velocity, speed),
        }
    }
}

/// Solves for the Kutta circulation at tails ([`sharp_tails`]); none if there are none.
///
/// # Errors
/// [`Error::NoConvergence`] if a solver does not come to its end, [`Error::Failed`] if the mesh does not resolve a tail.
pub fn solve_circulation(
    space: &Space,
    tails: &[Tail],
    pair: &Pair,
    ends: Ends,
    pattern: &Pattern,
) -> Result<Option<Circulation>> {
    if tails.is_empty() {
        return Ok(None);
    }
    let operator = potential_operator(space, ends, tails)?;
    let ideal = refined_ideal(pair)?;
    let parts: Vec<Vec<f64>> = tails.iter().map(|tail| potential(space, &operator, tail)).collect::<Result<_>>()?;
    let Strengths { extrapolated: strengths, innermost } = kutta_strengths(space, tails, &ideal, &parts)?;

    let flow = pattern.drive.flow_rate;
    let mut stream = ideal.clone();
    for (a, phi) in strengths.iter().zip(&parts) {
        stream.iter_mut().zip(phi).for_each(|(psi, phi)| *psi += a * phi);
    }
    let stream_function: Vec<f64> = stream.iter().map(|psi| psi * flow).collect();
    let velocity = velocity_of(space, &stream_function, &[]);
    let locator = space.locator();
    let matrix = operator.matrix();
    let circulation = |i: usize, a: &[f64]| -> f64 {
        let weighted: f64 = parts.iter().zip(a).map(|(phi, a)| a * inner(matrix, &parts[i], phi)).sum();
        -flow * weighted / space.reference_gap
    };
    let sections = tails
        .iter()
        .enumerate()
        .map(|(i, tail)| {
            let gamma = circulation(i, &strengths);
            let chord = outline::chord(space, tail);
            let speed = pattern.drive.mean_speed;
            let [before, after] = [&pattern.velocity, &velocity].map(|v| outline::stagnation(space, tail.obstacle, v));
            Section {
                obstacle: tail.obstacle,
                name: space.mesh.plan.obstacles[tail.obstacle as usize].name.clone(),
                tail: *tail,
                chord,
                kutta_circulation: gamma,
                circulation_spread: (circulation(i, &innermost) - gamma).abs(),
                lift_per_span: pattern.fluid.density * speed * gamma,
                lift_coefficient: 2.0 * gamma / (speed * chord),
                lift_coefficient_error: 2.0 / (speed * chord)
                    * (circulation(i, &innermost) - gamma)
                        .abs()
                        .hypot(gamma * pattern.shape_factor.relative_half_width),
                tail_angle_difference: outline::wake_angle(space, &locator, tail, chord, &ideal)
                    .zip(outline::wake_angle(space, &locator, tail, chord, &stream))
                    .map(|(without, with)| without - with),
                front_stagnation: before.front,
                front_stagnation_with_circulation: after.front,
                rear_stagnation: before.rear,
            }
        })
        .collect();
    Ok(Some(Circulation { sections, stream_function, velocity }))
}

/// The operator of all phi_k: sharp-tailed obstacles and walls given, other obstacles tied.
fn potential_operator(space: &Space, ends: Ends, tails: &[Tail]) -> Result<Operator> {
    let mut conditions = Conditions::free(space.mesh.points.len());
    let is_given = |solid: Solid| match solid {
        Solid::Lower | Solid::Upper => true,
        Solid::Obstacle(k) => tails.iter().any(|tail| tail.obstacle == k),
    };
    let given = |side: Side| match space.mesh.plan.solid(side) {
        Some(solid) => is_given(solid),
        None => ends == Ends::GivenInflow,
    };
    space.vertices_where(given).into_iter().for_each(|v| conditions.fix(v));
    space.tie_obstacles(&mut conditions);
    Operator::new(&space.mesh, space.levels.stream.clone(), conditions)
}

/// φ of the obstacle of a tail.
fn potential(space: &Space, operator: &Operator, tail: &Tail) -> Result<Vec<f64>> {
    let n = space.mesh.points.len();
    let mut start = vec![0.0; n];
    space.vertices_on(Solid::Obstacle(tail.obstacle)).into_iter().for_each(|v| start[v as usize] = 1.0);
    // the energy of phi is a few units
    Ok(operator.solve(&start, &vec![0.0; n], ALGEBRAIC_SHARE)?.values)
}

/// The stream function of the pair, iterated as far as its singular part at the tails needs.
fn refined_ideal(pair: &Pair) -> Result<Vec<f64>> {
    let values = pair.stream.clone();
    let tolerance = ALGEBRAIC_SHARE * pair.stream_operator.matrix().energy(&values);
    let mut solution = Solution { values, iterations: 0, algebraic: f64::INFINITY };
    pair.stream_operator.improve(&mut solution, &vec![0.0; pair.stream.len()], tolerance)?;
    Ok(solution.values)
}

/// The a_k that take the singular part out of ψ at all tails.
struct Strengths {
    /// From the rings, extrapolated to the tail.
    extrapolated: Vec<f64>,
    /// From the innermost rings as they are.
    innermost: Vec<f64>,
}

fn kutta_strengths(space: &Space, tails: &[Tail], ideal: &[f64], parts: &[Vec<f64>]) -> Result<Strengths> {
    let n = tails.len();
    let mut systems = [vec![vec![0.0; n + 1]; n], vec![vec![0.0; n + 1]; n]];
    for (i, tail) in tails.iter().enumerate() {
        let rings = tail.rings(space)?;
        let own = rings.strengths(&parts[i]);
        for k in 0..=n {
            let other = if k == n { ideal } else { &parts[k] };
            let ratio = rings.ratio(&rings.strengths(other), &own);
            let sign = if k == n { -1.0 } else { 1.0 };
            systems[0][i][k] = sign * ratio.limit;
            systems[1][i][k] = sign * ratio.innermost;
        }
    }
    let [extrapolated, innermost] = systems.map(|system| tail::solve_dense(system).ok_or_else(unresolved));
    Ok(Strengths { extrapolated: extrapolated?, innermost: innermost? })
}

fn unresolved() -> Error {
    Error::failed(
        "the singular parts of the flow at the sharp tails cannot be told from one another on this mesh",
        "ask for a smaller error or more triangles",
    )
}

/// int (b0/b)³ grad u . grad v.
fn inner(matrix: &crate::numerics::fem::Stiffness, u: &[f64], v: &[f64]) -> f64 {
    u.iter().enumerate().filter(|(_, u)| **u != 0.0).map(|(k, u)| u * matrix.row_times(k, v)).sum()
}

/// V = curl ψ / b at the vertices, m/s, without its normal part on solid edges, but whole at those that the flow crosses.
pub(crate) fn velocity_of(space: &Space, stream_function: &[f64], crossed: &[u32]) -> Vec<[f64; 2]> {
    let whole = curl(space, stream_function);
    let mut velocity = whole.clone();
    remove_normal_part(space, &mut velocity);
    crossed.iter().for_each(|&v| velocity[v as usize] = whole[v as usize]);
    velocity
}

/// V = curl ψ / b at the vertices, m/s.
fn curl(space: &Space, stream_function: &[f64]) -> Vec<[f64; 2]> {
    let [slope] = space.recovery().gradients(space.conserved(-3.0), [stream_function]);
    slope.par_iter().zip(&space.gap).map(|(g, b)| [g[1] / b, -g[0] / b]).collect()
}
