//! `mesh`: triangulate only.

use super::args::Common;
use super::exit::Exit;
use super::job::Job;
use super::tell::tell;
use crate::base::Result;
use crate::study::make_mesh;
use std::path::Path;

/// Makes the mesh that the plan asks for, or one of about so many triangles, and prints its measures.
pub fn mesh(path: &Path, triangles: Option<usize>, common: &Common) -> Result<Exit> {
    let Job { case, plan, folder, progress, .. } = Job::begin(path, common)?;
    let meshed = make_mesh(case, &plan, triangles, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let file = meshed.write(folder)?;
    progress.end();
    tell(common, true, &meshed.sections(), &format!("The mesh is in {}", file.display()))
}
