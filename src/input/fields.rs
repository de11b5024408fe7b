//! Fields on a mesh, read back from a `.vtu` file of the program.

use super::vtk::{Fault, Stored, part, read_file};
use crate::base::Point;
use roxmltree::Node;
use std::path::Path;

/// Largest array read, bytes.
const MOST_BYTES: usize = 32 << 30;

/// Triangles with fields at their vertices.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredFields {
    /// The vertices, m.
    pub points: Vec<Point>,
    /// The triangles, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// The fields that were asked for and are there: name, and as many numbers for each vertex as it has components.
    pub arrays: Vec<(&'static str, Vec<f64>)>,
}

impl StoredFields {
    /// Reads the fields of these names.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if the file cannot be read, [`crate::base::Error::Failed`] if it is no such file.
    pub fn read(file: &Path, wanted: &[&'static str]) -> crate::base::Result<StoredFields> {
        use crate::base::Error;
        let failed = |source| Error::File { action: "read", path: file.to_owned(), source };
        let bytes = std::fs::read(file).map_err(failed)?;
        let other = "it is no VTK file of triangles (UnstructuredGrid)";
        read_file(&bytes, "UnstructuredGrid", other, MOST_BYTES, |root, stored| fields(root, stored, wanted)).map_err(
            |fault| {
                Error::failed(
                    format!("{} cannot be used: {fault}", file.display()),
                    "run the command that wrote it again",
                )
            },
        )
    }

    /// The numbers of a field.
    pub fn numbers(&self, name: &str) -> Option<&[f64]> {
        self.arrays.iter().find(|(own, _)| *own == name).map(|(_, numbers)| numbers.as_slice())
    }

    /// The components along the plates of a field of vectors in space.
    pub fn vectors(&self, name: &str) -> Option<Vec<[f64; 2]>> {
        self.numbers(name).map(|numbers| numbers.chunks_exact(3).map(|v| [v[0], v[1]]).collect())
    }
}

fn fields(root: Node<'_, '_>, stored: &Stored, wanted: &[&'static str]) -> Result<StoredFields, Fault> {
    let mut pieces = root.descendants().filter(|node| node.has_tag_name("Piece"));
    let (Some(piece), None) = (pieces.next(), pieces.next()) else { return Err("it has not one piece".into()) };
    let own = |name: &str| part(piece, name).ok_or_else(|| format!("it has no {name}"));
    let places = own("Points")?.children().find(Node::is_element).ok_or("it has no points")?;
    let points: Vec<Point> = stored.numbers(places)?.chunks_exact(3).map(|p| [p[0], p[1]]).collect();
    if points.iter().flatten().any(|x| !x.is_finite()) {
        return Err("a point is not finite".into());
    }
    let corners = stored.array(own("Cells")?, "connectivity")?.unwrap_or_default();
    let cells = piece.attribute("NumberOfCells").and_then(|text| text.parse::<usize>().ok());
    let known = |k: &f64| *k >= 0.0 && (*k as usize) < points.len();
    if corners.is_empty()
        || cells.and_then(|cells| cells.checked_mul(3)) != Some(corners.len())
        || !corners.iter().all(known)
    {
        return Err("its cells are no triangles".into());
    }
    let triangles = corners.chunks_exact(3).map(|c| [c[0] as u32, c[1] as u32, c[2] as u32]).collect();
    let data = own("PointData")?;
    let mut arrays = Vec::new();
    for &name in wanted {
        let Some(numbers) = stored.array(data, name)? else { continue };
        if numbers.len() != points.len() && numbers.len() != 3 * points.len() {
            return Err(format!("{name} has another length than the points"));
        }
        arrays.push((name, numbers));
    }
    Ok(StoredFields { points, triangles, arrays })
}
