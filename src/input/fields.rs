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
    /// Reads the fields of these names, of so many components each.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if the file cannot be read, [`crate::base::Error::Failed`] if it is no such file.
    pub fn read(file: &Path, wanted: &[(&'static str, usize)]) -> crate::base::Result<StoredFields> {
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

fn fields(root: Node<'_, '_>, stored: &Stored, wanted: &[(&'static str, usize)]) -> Result<StoredFields, Fault> {
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
    for &(name, components) in wanted {
        let Some(numbers) = stored.array(data, name)? else { continue };
        if numbers.len() != components * points.len() {
            return Err(format!("{name} has another length than the points"));
        }
        arrays.push((name, numbers));
    }
    Ok(StoredFields { points, triangles, arrays })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two triangles of a unit square with a field of numbers and one of vectors, in the text form that every writer of the format has.
    const SQUARE: &str = r#"<?xml version="1.0"?>
<VTKFile type="UnstructuredGrid" version="1.0" byte_order="LittleEndian" header_type="UInt64">
<UnstructuredGrid><Piece NumberOfPoints="4" NumberOfCells="2">
<PointData><DataArray type="Float64" Name="pressure" format="ascii">1 2 3 4</DataArray>
<DataArray type="Float64" Name="velocity" NumberOfComponents="3" format="ascii">1 2 0 3 4 0 5 6 0 7 8 0</DataArray></PointData>
<Points><DataArray type="Float64" Name="Points" NumberOfComponents="3" format="ascii">0 0 0 1 0 0 1 1 0 0 1 0</DataArray></Points>
<Cells><DataArray type="Int32" Name="connectivity" format="ascii">0 1 2 0 2 3</DataArray>
<DataArray type="Int32" Name="offsets" format="ascii">3 6</DataArray></Cells>
</Piece></UnstructuredGrid></VTKFile>"#;

    fn read(text: &str) -> crate::base::Result<StoredFields> {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("fields.vtu");
        std::fs::write(&file, text).unwrap();
        StoredFields::read(&file, &[("velocity", 3), ("pressure", 1), ("edge_layer_velocity", 3)])
    }

    #[test]
    fn triangles_and_the_fields_that_are_there_are_read() {
        let found = read(SQUARE).unwrap();
        assert_eq!(found.points, [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
        assert_eq!(found.triangles, [[0, 1, 2], [0, 2, 3]]);
        assert_eq!(found.numbers("pressure"), Some(&[1.0, 2.0, 3.0, 4.0][..]));
        assert_eq!(found.vectors("velocity").unwrap(), [[1.0, 2.0], [3.0, 4.0], [5.0, 6.0], [7.0, 8.0]]);
        assert!(found.numbers("edge_layer_velocity").is_none());
    }

    #[test]
    fn what_is_broken_is_told() {
        for (broken, said) in [
            (SQUARE.replace("UnstructuredGrid", "PolyData"), "no VTK file of triangles"),
            (SQUARE.replace("0 1 2 0 2 3", "0 1 2 0 2 4"), "no triangles"),
            (SQUARE.replace("0 1 2 0 2 3", "0 1 2 0 2"), "no triangles"),
            (SQUARE.replace("NumberOfCells=\"2\"", "NumberOfCells=\"3\""), "no triangles"),
            (SQUARE.replace("1 2 3 4<", "1 2 3<"), "another length"),
            (SQUARE.replace("1 2 0 3 4 0 5 6 0 7 8 0<", "1 2 3 4<"), "another length"),
            (SQUARE.replace("0 0 0 1 0 0", "0 0 0 inf 0 0"), "not finite"),
            (SQUARE.replace("PointData", "CellData"), "no PointData"),
            ("solid".into(), "no XML"),
        ] {
            let told = read(&broken).unwrap_err().to_string();
            assert!(told.contains(said), "{said}: {told}");
        }
    }
}
