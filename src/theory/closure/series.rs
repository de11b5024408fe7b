//! The power series of the closure on one mesh: `S ψ_k = (54/35)(1/ν) Σ_{i+j=k−1} c(ψ_i, ω_j)`, one matrix for all orders.
//!
//! `b V = curl ψ`; on held ends ψ is free and the flow crosses at right angles. Between them p is held and not `p + (27/35) ρ |V|²`, which
//! adds `−(27/35)(b/ν) ∫ |V|² dφ_i/dt dt` along the ends. Walls that slip carry `ψ = ∓ b δ* V_s` beyond what the flow fixes and `± b Q1` at
//! first order, V_s the speed of ideal flow along them, Q1 = C1 (b³/ν) V_s dV_s/ds: what straight edges hold back and drive.

use super::mesh::Walls;
use crate::base::Result;
use crate::base::plane::dot;
use crate::geometry::{Side, Solid, Wall};
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Conditions, FourthOrder, Model, Space, gradient, sides};
use crate::theory::edge_layer::displacement_thickness;
use crate::theory::ideal::stream_conditions;
use crate::theory::inertia::{EDGE_COEFFICIENT, PRESSURE_COEFFICIENT};

/// Highest power of U/ν.
pub const ORDERS: usize = 3;
/// In-plane viscosity over μ.
pub const IN_PLANE: f64 = 1.2;

/// What a series is solved for.
#[derive(Debug, Clone, Copy)]
pub struct Setting<'a> {
    /// The ends.
    pub ends: Ends,
    /// The fluid.
    pub fluid: &'a Fluid,
    /// Flow rate, m3/s.
    pub flow_rate: f64,
    /// Gap, m.
    pub gap: f64,
    /// The walls that the flow sticks to.
    pub walls: Walls,
}

/// The series.
#[derive(Debug)]
pub struct Series {
    /// Stream function of every order, m3/s.
    pub orders: Vec<Vec<f64>>,
    /// Velocity of every order at the vertices, m/s.
    pub velocities: Vec<Vec<[f64; 2]>>,
    /// Velocity of the ideal flow, m/s.
    pub ideal_velocity: Vec<[f64; 2]>,
    /// Iterations of all orders.
    pub iterations: usize,
}

impl Series {
    /// All orders together, m3/s.
    pub fn stream_function(&self) -> Vec<f64> {
        let count = self.ideal_velocity.len();
        (0..count).map(|v| self.orders.iter().map(|psi| psi[v]).sum()).collect()
    }
}

/// Solves all orders on the mesh of a space.
///
/// # Errors
/// As [`FourthOrder::new`] and [`FourthOrder::solve`].
pub fn solve_series(space: &Space, setting: &Setting) -> Result<Series> {
    let Setting { ends, fluid, flow_rate, gap, walls } = *setting;
    let count = space.mesh.points.len();
    let (conditions, mut start) = stream_conditions(space, ends);
    start.iter_mut().for_each(|psi| *psi *= flow_rate);
    let slipping = Slipping::new(space, ends, walls, &conditions);
    let stuck = stuck(space, walls);
    let coefficients = [IN_PLANE, 12.0 / (gap * gap)];
    let problem = FourthOrder::new(space, conditions, slipping.vertices.clone(), coefficients)?;
    let ideal = problem.harmonic(&start);
    let ideal_velocity = velocity(space, &ideal, gap);
    let nu = fluid.kinematic_viscosity();
    slipping.add(space, &mut start, &ideal_velocity, |u, _| -gap * displacement_thickness(gap) * u);
    let mut above = vec![0.0; count];
    slipping.add(space, &mut above, &ideal_velocity, |u, slope| EDGE_COEFFICIENT * gap.powi(4) / nu * u * slope);

    let first = problem.solve(&start, &vec![0.0; count], &ideal)?;
    let mut iterations = first.iterations;
    let (mut orders, mut vorticities) = (vec![first.values], Vec::new());
    let still = vec![0.0; count];
    for k in 1..=ORDERS {
        vorticities.push(problem.vorticity(&orders[k - 1]));
        let mut loads = vec![0.0; count];
        for i in 0..k {
            add_carried(space, &mut loads, &orders[i], &vorticities[k - 1 - i], gap);
            if ends == Ends::HeldPressure {
                add_ends(space, &mut loads, [&orders[i], &orders[k - 1 - i]], gap);
            }
        }
        loads.iter_mut().for_each(|load| *load *= 2.0 * PRESSURE_COEFFICIENT / nu);
        let given = if k == 1 { &above } else { &still };
        let solution = problem.solve(given, &loads, &still)?;
        iterations += solution.iterations;
        orders.push(solution.values);
    }
    let velocities = orders
        .iter()
        .map(|psi| {
            let mut velocity = velocity(space, psi, gap);
            stuck.iter().for_each(|&v| velocity[v as usize] = [0.0; 2]);
            velocity
        })
        .collect();
    Ok(Series { orders, velocities, ideal_velocity, iterations })
}

/// Vertices that the flow sticks to.
fn stuck(space: &Space, walls: Walls) -> Vec<u32> {
    space.vertices_where(|side| space.mesh.plan.solid(side).is_some_and(|solid| walls.sticks(solid)))
}

/// curl ψ/b at the vertices.
fn velocity(space: &Space, psi: &[f64], gap: f64) -> Vec<[f64; 2]> {
    let [slope] = space.recovery().gradients(Model::Any, [psi]);
    slope.into_iter().map(|[x, y]| [y / gap, -x / gap]).collect()
}

/// `Σ ∫ ω V·∇φ_i`, `b V = curl ψ`, ω the mean of its corners on each triangle.
fn add_carried(space: &Space, loads: &mut [f64], psi: &[f64], omega: &[f64], gap: f64) {
    for (t, vertices) in space.mesh.triangles.iter().enumerate() {
        let (corners, vertices) = (space.corners(t), vertices.map(|v| v as usize));
        let [x, y] = gradient(corners, vertices.map(|v| psi[v]));
        let mean = vertices.iter().map(|&v| omega[v]).sum::<f64>() / 3.0;
        for (v, side) in vertices.into_iter().zip(sides(corners)) {
            // the gradient of a shape function is `side` over twice the area
            loads[v] += 0.5 * mean * dot([y / gap, -x / gap], side);
        }
    }
}

/// `−(b/2) ∫ V.W dφ_i/dt dt` along the ends, the fluid on the left of t.
fn add_ends(space: &Space, loads: &mut [f64], psi: [&Vec<f64>; 2], gap: f64) {
    let on_ends = |side| matches!(side, Side::Inlet | Side::Outlet);
    for edge in space.mesh.boundary.iter().filter(|edge| on_ends(space.mesh.side(edge))) {
        let t = edge.triangle as usize;
        let vertices = space.mesh.triangles[t].map(|v| v as usize);
        let [a, b] = psi.map(|psi| gradient(space.corners(t), vertices.map(|v| psi[v])));
        let product = 0.5 * dot(a, b) / gap;
        let [i, j] = edge.vertices.map(|v| v as usize);
        loads[j] -= product;
        loads[i] += product;
    }
}

/// The walls along which the flow slips, and the ends between them.
struct Slipping {
    /// Whether a vertex is on one.
    vertices: Vec<bool>,
    /// Each wall's vertices in the order of x, with the sign of what it adds to ψ.
    walls: Vec<(Vec<u32>, f64)>,
    /// Fixed vertices of the ends between their lowest and highest.
    ends: Vec<Vec<u32>>,
}

impl Slipping {
    fn new(space: &Space, ends: Ends, walls: Walls, conditions: &Conditions) -> Slipping {
        let mut vertices = vec![false; space.mesh.points.len()];
        let mut list = Vec::new();
        for (wall, solid, sign) in [(Wall::Lower, Solid::Lower, 1.0), (Wall::Upper, Solid::Upper, -1.0)] {
            if walls.sticks(solid) {
                continue;
            }
            let mut along = space.vertices_where(|side| side == Side::Wall(wall));
            along.sort_unstable_by(|&a, &b| {
                space.mesh.points[a as usize][0].total_cmp(&space.mesh.points[b as usize][0])
            });
            along.iter().for_each(|&v| vertices[v as usize] = true);
            list.push((along, sign));
        }
        let of_ends = match ends {
            Ends::HeldPressure => Vec::new(),
            Ends::GivenInflow => [Side::Inlet, Side::Outlet]
                .map(|end| {
                    let mut across = space.vertices_where(|side| side == end);
                    across.retain(|&v| conditions.is_fixed(v as usize));
                    across.sort_unstable_by(|&a, &b| {
                        space.mesh.points[a as usize][1].total_cmp(&space.mesh.points[b as usize][1])
                    });
                    across
                })
                .into(),
        };
        Slipping { vertices, walls: list, ends: of_ends }
    }

    /// Adds what walls of speed u and slope du/dx bring to the given values, `of(u, du/dx)` on the lower one and its opposite on the upper,
    /// and on the ends in proportion between them.
    fn add(&self, space: &Space, start: &mut [f64], velocity: &[[f64; 2]], of: impl Fn(f64, f64) -> f64) {
        let mut added = vec![0.0; start.len()];
        let x = |v: u32| space.mesh.points[v as usize][0];
        let u = |v: u32| velocity[v as usize][0];
        for (wall, sign) in &self.walls {
            for (k, &v) in wall.iter().enumerate() {
                let [a, b] = [wall[k.saturating_sub(1)], wall[(k + 1).min(wall.len() - 1)]];
                added[v as usize] = sign * of(u(v), (u(b) - u(a)) / (x(b) - x(a)));
            }
        }
        for end in &self.ends {
            let (Some(&low), Some(&high)) = (end.first(), end.last()) else { continue };
            let [from, to] = [low, high].map(|v| space.mesh.points[v as usize][1]);
            let [low, high] = [low, high].map(|v| added[v as usize]);
            for &v in end {
                let part = (space.mesh.points[v as usize][1] - from) / (to - from);
                added[v as usize] = low + part * (high - low);
            }
        }
        start.iter_mut().zip(&added).for_each(|(s, a)| *s += a);
    }
}
