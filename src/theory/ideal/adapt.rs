//! Adaptive cycles: solve, let the computable error set the size of the next mesh, solve again.
//!
//! On smooth parts the share of a triangle is `eta_T = c A_T²` with c set by the solution. For a wanted sum E the best areas are
//! `a = √(lambda/c)` with `√(lambda) = E/S`, `S = sum √(eta_T)`, and the number of triangles is `S²/E`. Large meshes are made by
//! uniform refinement of a base mesh of that grading, which gives the multigrid levels.

use super::goal::{Cycle, Goal, Stage, first_size_field};
use super::order::Order;
use super::{Pair, check_memory, solve_pair};
use crate::base::stop::go_on;
use crate::base::{Point, Result};
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::numerics::fem::Space;
use crate::numerics::mesh::Mesh;
use std::sync::Arc;
use std::time::Instant;

/// Most cycles before the error is taken to be out of reach.
const MOST_CYCLES: usize = 7;

/// The pair on the last mesh, and how it was reached.
#[derive(Debug)]
pub struct Solved {
    /// The last mesh, ready for computing.
    pub space: Space,
    /// The pair on it.
    pub pair: Pair,
    /// All cycles.
    pub cycles: Vec<Cycle>,
    /// Whether the goal was reached.
    pub reached: bool,
}

/// Solves the ideal pattern of a case to the goal. `watch` is told what is going on.
///
/// # Errors
/// [`crate::base::Error::Memory`] if a mesh does not fit the memory, [`crate::base::Error::Mesh`] if it cannot be made,
/// [`crate::base::Error::NoConvergence`] if a solver does not come to its end.
pub fn solve_ideal(plan: &Arc<Plan>, case: &Case, goal: Goal, watch: &(dyn Fn(Stage) + Sync)) -> Result<Solved> {
    solve_ideal_with_room(plan, case, goal, 0.0, watch)
}

/// The same, refusing meshes whose corrections, of so many `bytes` more for each triangle, would not fit the memory.
///
/// # Errors
/// As [`solve_ideal`].
pub fn solve_ideal_with_room(
    plan: &Arc<Plan>,
    case: &Case,
    goal: Goal,
    bytes: f64,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Solved> {
    let geometry = first_size_field(plan, case, goal)?;
    let reference_gap = case.cell.middle_gap();
    let estimate = geometry.estimate_triangles(plan)?;
    let mut order = Order::first(goal, plan, estimate);
    let mut field = order.of_plan(&geometry);
    let mut cycles = Vec::new();
    let mut before: Option<Arc<Mesh>> = None;
    let mut expected = 1e-3;
    loop {
        let clock = Instant::now();
        go_on()?;
        check_memory(order.triangles(), bytes)?;
        watch(Stage::Meshing(order.triangles()));
        let mesh = Arc::new(order.mesh(plan, &field, before.as_deref())?);
        let meshing = clock.elapsed();
        watch(Stage::Solving(mesh.triangles.len()));
        let space = Space::new(mesh, &case.cell.gap, reference_gap);
        let pair = solve_pair(&space, case.drive.ends, expected)?;
        let cycle = Cycle {
            triangles: space.mesh.triangles.len(),
            levels: order.levels,
            relative_half_width: (pair.upper - pair.lower) / (pair.upper + pair.lower),
            iterations: pair.iterations,
            meshing,
            solving: clock.elapsed() - meshing,
        };
        watch(Stage::Done(cycle));
        cycles.push(cycle);
        let met = match goal {
            Goal::Error { relative, .. } => cycle.relative_half_width <= relative,
            Goal::Triangles(_) => order.last,
        };
        if met || order.last || cycles.len() == MOST_CYCLES {
            return Ok(Solved { space, pair, cycles, reached: met });
        }
        let indicator = Indicator::new(&space, &pair);
        order = Order::next(goal, plan, |relative| indicator.needed(relative), cycle.triangles);
        expected = indicator.expected(order.triangles());
        field = order.of_plan(&geometry).with_sources(indicator.sizes(&space, order.base));
        before = Some(space.mesh);
    }
}

/// The computable error, ready to set sizes.
struct Indicator {
    /// S: sum of the square roots of the shares.
    root_sum: f64,
    /// c at the vertices.
    coefficient: Vec<f64>,
    value: f64,
}

impl Indicator {
    fn new(space: &Space, pair: &Pair) -> Self {
        let shares = &pair.bracket_density;
        let root_sum = shares.iter().map(|eta| eta.max(0.0).sqrt()).sum();
        let coefficient = (0..space.mesh.points.len())
            .map(|v| {
                let of = space.stars.of(v).iter().map(|&t| t as usize);
                let (eta, square) = of.fold((0.0, 0.0), |(eta, square), t| {
                    let area = space.area(t);
                    (eta + shares[t].max(0.0), square + area * area)
                });
                eta / square
            })
            .collect();
        Indicator { root_sum, coefficient, value: 0.5 * (pair.upper + pair.lower) }
    }

    /// Triangles for a relative half-width.
    fn needed(&self, relative: f64) -> f64 {
        self.root_sum * self.root_sum / (2.0 * self.value * relative)
    }

    /// Relative half-width to expect with so many triangles.
    fn expected(&self, triangles: usize) -> f64 {
        self.root_sum * self.root_sum / (2.0 * self.value * triangles as f64)
    }

    /// Sizes at the vertices for so many triangles.
    fn sizes(&self, space: &Space, triangles: usize) -> Vec<(Point, f64)> {
        let root_lambda = self.root_sum / triangles as f64;
        let size = |c: f64| (4.0 / 3f64.sqrt() * root_lambda / c.sqrt()).sqrt();
        let points = space.mesh.points.iter().zip(&self.coefficient);
        points.filter(|(_, c)| **c > 0.0).map(|(&p, &c)| (p, size(c))).collect()
    }
}
