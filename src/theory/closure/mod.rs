//! The closure: gap-averaged flow with in-plane viscosity and no slip, up to the edge and round any corner.
//!
//! `(54/35) ρ (V·∇)V = −∇p + (6/5) μ ΔV − (12 μ/b²) V`, `∇·V = 0`, `V = 0` on solids. 54/35 is the weight of inertia that the layer equation
//! asks for (Ruyer-Quil 2001, C. R. Acad. Sci. Paris IIb 329, 337); 6/5 gives the displacement thickness b/√10, 0.35 % above the exact one.
//! With `b V = curl ψ` and `ω = −Δψ` it reads `S ψ = (54/35)(1/ν) c(ψ, ω)`, `S = (6/5) L M⁻¹ L + (12/b²) L`, `c_i = ∫ ω V·∇φ_i`, solved as
//! a power series in U/ν up to third order ([`series`]) on a mesh with eight elements in a gap at obstacles ([`mesh`]).
//!
//! Side walls further than five gaps from every obstacle slip, and hold the flow back by what is known to first order of straight edges.
//!
//! Range: uniform gap. Three-dimensional solutions past a round post, b/a = 0.1 and 0.2, differ from its inertia departure by 2.0, 1.7 % at
//! Re* = 0.04, by 5.5, 2.9 % at 0.27 and by 13, 5.9 % at 0.6 (`validation/three_dimensions`); it lacks the layers of second order, which count
//! where b/a is small.

mod compare;
pub mod mesh;
mod rows;
pub mod series;
#[cfg(test)]
mod tests;

pub use compare::{BySeries, Cause, Compared, Comparison, Part, Standing};
pub use mesh::PER_GAP;

use crate::base::plane::{differences, middle, sums};
use crate::base::{Point, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, Gap};
use crate::numerics::fem::Space;
use crate::theory::ideal::{Probes, Stage};
use series::{Series, solve_series};
use std::sync::Arc;

/// The flow by the closure at the mean speed of the ideal pattern.
#[derive(Debug)]
pub struct Closure {
    /// Elements on its own mesh.
    pub space: Space,
    /// The stream function, all orders together, m3/s.
    pub stream_function: Vec<f64>,
    /// Velocity of the ideal flow on the same mesh, m/s.
    pub ideal: Vec<[f64; 2]>,
    /// Velocity of each order in U/ν from 0, m/s; extrapolated from this mesh and one of half as many elements in a gap.
    pub orders: Vec<Vec<[f64; 2]>>,
    /// What the extrapolation changed of the departure at order 0, and of the orders above together, m/s.
    pub corrections: [Vec<[f64; 2]>; 2],
    /// Iterations of all orders on the finest mesh.
    pub iterations: usize,
}

/// The departure by the closure at places, m/s.
#[derive(Debug, Clone)]
pub struct Departure {
    /// What no slip changes of the ideal velocity.
    pub edge_layer: Vec<[f64; 2]>,
    /// What inertia changes further, all orders.
    pub inertia: Vec<[f64; 2]>,
    /// What the extrapolation from two meshes changed of either.
    pub corrections: [Vec<[f64; 2]>; 2],
}

/// Refuses a case that the closure does not hold for or is too large for, before anything is solved.
///
/// # Errors
/// As [`solve_closure`].
pub fn check_closure(case: &Case, plan: &Plan) -> Result<()> {
    let gap = mesh::uniform_gap(case)?;
    mesh::check_size(&mesh::size_field(case, plan, gap, mesh::Walls::of(plan, gap))?, plan).map(|_| ())
}

/// Solves the closure of a case at a flow rate, m3/s.
///
/// # Errors
/// [`crate::base::Error::Failed`] where the gap is not uniform or the mesh would be too large, [`crate::base::Error::Memory`],
/// [`crate::base::Error::Mesh`] and [`crate::base::Error::NoConvergence`] as for the pattern.
pub fn solve_closure(case: &Case, plan: &Arc<Plan>, flow_rate: f64, watch: &dyn Fn(Stage)) -> Result<Closure> {
    let gap = mesh::uniform_gap(case)?;
    let walls = mesh::Walls::of(plan, gap);
    let coarse = mesh::coarse_mesh(case, plan, gap, walls, watch)?;
    let fine = coarse.refined();
    watch(Stage::Solving(fine.triangles.len()));
    let setting = series::Setting { ends: case.drive.ends, fluid: &case.fluid, flow_rate, gap, walls };
    let on = |mesh| -> Result<(Space, Series)> {
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(gap), gap);
        let series = solve_series(&space, &setting)?;
        Ok((space, series))
    };
    let (coarse, fine) = rayon::join(|| on(coarse), || on(fine));
    let ((_, coarse), (space, fine)) = (coarse?, fine?);
    Ok(extrapolated(space, fine, &coarse))
}

/// Adds to every field a third of what it differs by on the mesh twice as coarse: they converge with the square of the size.
fn extrapolated(space: Space, fine: Series, coarse: &Series) -> Closure {
    let third = |fine: &[[f64; 2]], coarse: &[[f64; 2]]| -> Vec<[f64; 2]> {
        let mut third: Vec<[f64; 2]> = differences(&fine[..coarse.len()], coarse);
        third.iter_mut().for_each(|d| *d = d.map(|x| x / 3.0));
        // vertices of the finer mesh halve edges of the coarser
        let parents = &space.mesh.parents[space.mesh.parents.len() - (fine.len() - coarse.len())..];
        let halved: Vec<[f64; 2]> =
            parents.iter().map(|ends| middle(third[ends[0] as usize], third[ends[1] as usize])).collect();
        third.extend(halved);
        third
    };
    let of_ideal = third(&fine.ideal_velocity, &coarse.ideal_velocity);
    let of_orders: Vec<_> = fine.velocities.iter().zip(&coarse.velocities).map(|(f, c)| third(f, c)).collect();
    let above = together(&of_orders[1..], space.mesh.points.len());
    Closure {
        stream_function: fine.stream_function(),
        orders: fine.velocities.iter().zip(&of_orders).map(|(v, c)| sums(v, c)).collect(),
        ideal: sums(&fine.ideal_velocity, &of_ideal),
        corrections: [differences(&of_orders[0], &of_ideal), above],
        iterations: fine.iterations,
        space,
    }
}

impl Closure {
    /// Velocity, all orders together, m/s.
    pub fn velocity(&self) -> Vec<[f64; 2]> {
        together(&self.orders, self.ideal.len())
    }

    /// The departure at places; between a curved outline and its chord the nearest triangle serves.
    pub fn departure_at(&self, places: &[Point]) -> Departure {
        let locator = self.space.locator();
        let mut hint = None;
        let mut located = |&place: &Point| {
            let at = locator.place(place, hint);
            hint = Some(at.0);
            at
        };
        let located: Vec<_> = places.iter().map(&mut located).collect();
        let at = Probes { space: &self.space, named: Vec::new(), places: &located };
        let orders: Vec<Vec<[f64; 2]>> = self.orders.iter().map(|order| at.vector(order)).collect();
        Departure {
            edge_layer: differences(&orders[0], &at.vector(&self.ideal)),
            inertia: together(&orders[1..], places.len()),
            corrections: self.corrections.each_ref().map(|field| at.vector(field)),
        }
    }
}

/// The sum of fields at so many places.
fn together(fields: &[Vec<[f64; 2]>], count: usize) -> Vec<[f64; 2]> {
    fields.iter().fold(vec![[0.0; 2]; count], |all, one| sums(&all, one))
}
