//! When to stop, what is told on the way, and the sizes to begin with.

use super::pair::Iterations;
use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::numerics::mesh::{SizeField, SizeOptions};
use std::f64::consts::PI;
use std::time::Duration;

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// The relative half-width of the bracket is below this, or a mesh would need more than so many triangles.
    Error {
        /// Relative half-width.
        relative: f64,
        /// Most triangles.
        most_triangles: usize,
    },
    /// One mesh of about so many triangles.
    Triangles(usize),
}

/// One cycle, as printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycle {
    /// Triangles of its mesh.
    pub triangles: usize,
    /// Nested levels, 1 for a single mesh.
    pub levels: usize,
    /// Relative half-width of its bracket.
    pub relative_half_width: f64,
    /// Conjugate gradient iterations on the finest level.
    pub iterations: Iterations,
    /// Time for the mesh.
    pub meshing: Duration,
    /// Time for both problems.
    pub solving: Duration,
}

/// What the program is doing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stage {
    /// Making a mesh of about so many triangles.
    Meshing(usize),
    /// Solving on so many triangles.
    Solving(usize),
    /// A cycle is done.
    Done(Cycle),
    /// Filling the dry cell, of whose volume this part is wet.
    Filling(f64),
}

/// The size field of the plan alone, graded into its re-entrant corners so that the error there stays a small part of the goal.
///
/// # Errors
/// [`crate::base::Error::Mesh`] if the outlines ask for far more triangles than the goal and the case allow.
pub fn first_size_field(plan: &Plan, case: &Case, goal: Goal) -> Result<SizeField> {
    let (error, most) = match goal {
        Goal::Error { relative, most_triangles } => (relative, most_triangles),
        Goal::Triangles(n) => ((5.0 / n as f64).min(1e-2), n.max(case.mesh.max_triangles)),
    };
    let share = 0.02 * error;
    let corner = move |fluid_angle: f64, size: f64| {
        // the energy within r of a corner goes as r^(2 pi/omega); ten sizes stand for the extent of the corner's field, and slight
        // corners have a weak field
        let strength = ((fluid_angle - PI) / (PI / 3.0)).clamp(0.0, 1.0);
        size * (10.0 * share.powf(fluid_angle / (2.0 * PI))).min(1.0).powf(strength)
    };
    SizeField::from_plan(
        plan,
        &SizeOptions {
            growth: case.mesh.growth,
            max_edge: case.mesh.max_edge,
            corner_size: Some(Box::new(corner)),
            most_triangles: most as f64,
            ..SizeOptions::default()
        },
    )
}
