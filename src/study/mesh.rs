//! A mesh for its own sake: made and measured, with nothing solved on it.

use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::numerics::mesh::{Mesh, Quality};
use crate::theory::ideal::{Stage, first_mesh};
use std::sync::Arc;

/// The mesh of a case and its measures.
#[derive(Debug)]
pub struct Meshed {
    /// The case.
    pub case: Case,
    /// The mesh.
    pub mesh: Mesh,
    /// Its measures.
    pub quality: Quality,
}

/// Makes the mesh that the plan of a case asks for, or one of about so many triangles graded likewise. `watch` is told what is going on.
///
/// # Errors
/// As [`first_mesh`].
pub fn make_mesh(case: Case, plan: &Arc<Plan>, triangles: Option<usize>, watch: &dyn Fn(Stage)) -> Result<Meshed> {
    let mesh = first_mesh(plan, &case, triangles, watch)?;
    let quality = mesh.quality();
    Ok(Meshed { case, mesh, quality })
}
