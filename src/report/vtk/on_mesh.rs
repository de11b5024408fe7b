//! Fields of the program on one of its meshes.

use super::{Array, Cells, Fields, Grid, Places, write_vtu};
use crate::base::{Result, field};
use crate::numerics::mesh::Mesh;
use std::path::Path;

/// Writes a mesh with arrays on its vertices and triangles as `.vtu`.
///
/// # Errors
/// As [`write_vtu`].
pub fn write_on_mesh(path: &Path, mesh: &Mesh, fields: &Fields) -> Result<()> {
    write_vtu(path, &Grid { points: Places::Plane(&mesh.points), cells: Cells::Triangles(&mesh.triangles) }, fields)
}

/// Writes what a study calls its fields, with further arrays on the triangles.
///
/// # Errors
/// As [`write_vtu`].
pub fn write_fields(path: &Path, mesh: &Mesh, fields: &field::Fields, more: Vec<Array>, stored: &Fields) -> Result<()> {
    let point: Vec<Array> = fields.vertices.iter().map(Array::from).collect();
    let cell: Vec<Array> = fields.triangles.iter().map(Array::from).chain(more).collect();
    write_on_mesh(path, mesh, &Fields { point: &point, cell: &cell, meaning: &fields.meaning, ..*stored })
}
