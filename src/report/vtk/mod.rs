//! Files for VTK viewers: `.vtu` (triangles and other cells), `.vtp` (lines), `.pvd` (a series).
//!
//! Layout: VTK XML, little endian, 64-bit lengths, uncompressed; vertex indices Int32, fields Float64. The unit of each
//! array stands once in the array `units` of FieldData, as "name unit", one a line; what needs words stands in `meaning`, the hashes over
//! the case with its files and over the settings in `combined_sha256` and `settings_sha256`. Each text is an array of the codes of its
//! letters (UInt8, UTF-8), which every reader takes.
//! Source: VTK User's Guide, "XML file formats".

mod check;
mod data;
mod document;
mod on_mesh;
mod values;

pub use data::{Array, Cells, Data, Encoding, Fields, Grid, Places, TRIANGLE, WEDGE};
pub use on_mesh::{write_fields, write_on_mesh};

use super::atomic::write_whole;
use super::origin::Origin;
use super::xml::escaped;
use crate::base::Result;
use document::Document;
use std::io::Write;
use std::path::Path;
use values::Values;

/// Writes a grid with its fields as `.vtu`.
///
/// # Errors
/// [`crate::base::Error::Failed`] if an array has another length than points or cells, two arrays share a name, a vertex index
/// is out of range or a count exceeds 2^31 - 1; [`crate::base::Error::File`] if the file cannot be written.
///
/// ```
/// # fn main() -> twinplate::Result<()> {
/// # let path = std::env::temp_dir().join("twinplate_doc.vtu");
/// use twinplate::report::vtk::*;
/// let grid = Grid {
///     points: Places::Plane(&[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]),
///     cells: Cells::Triangles(&[[0, 1, 2]]),
/// };
/// let pressure = [Array { name: "pressure", unit: "Pa", data: Data::Scalar(&[2.0, 0.0, 2.0]) }];
/// write_vtu(&path, &grid, &Fields { point: &pressure, ..Fields::default() })?;
/// assert!(path.is_file());
/// # Ok(()) }
/// ```
pub fn write_vtu(path: &Path, grid: &Grid, fields: &Fields) -> Result<()> {
    check::grid(path, grid)?;
    let points = grid.points.values();
    let (connectivity, offsets, types) = match grid.cells {
        Cells::Triangles(t) => (
            Values::Index(t.as_flattened()),
            Values::Ends { count: t.len(), each: 3 },
            Values::Same { count: t.len(), value: TRIANGLE },
        ),
        Cells::Mixed { types, connectivity, offsets } => {
            (Values::Index(connectivity), Values::Index(offsets), Values::UInt8(types))
        }
    };
    check::fields(path, fields, points.len(), types.len())?;
    write_whole(path, |w| {
        let mut document = Document::begin(w, "UnstructuredGrid", fields)?;
        document.open(&format!("Piece NumberOfPoints=\"{}\" NumberOfCells=\"{}\"", points.len(), types.len()))?;
        document.arrays("PointData", fields.point)?;
        document.arrays("CellData", fields.cell)?;
        document.values("Points", &[("Points", points)])?;
        document.values("Cells", &[("connectivity", connectivity), ("offsets", offsets), ("types", types)])?;
        document.close("Piece")?;
        document.end()
    })
}

/// Writes polylines as `.vtp`. Point arrays run through the lines one after the other; cell arrays have one entry per line.
/// A closed outline repeats its first point at the end.
///
/// # Errors
/// As [`write_vtu`].
pub fn write_vtp<L: AsRef<[[f64; 3]]>>(path: &Path, lines: &[L], fields: &Fields) -> Result<()> {
    let points: Vec<[f64; 3]> = lines.iter().flat_map(|line| line.as_ref().iter().copied()).collect();
    check::count(path, points.len())?;
    let mut ends: Vec<u32> = Vec::with_capacity(lines.len());
    let mut end = 0;
    for line in lines {
        end += line.as_ref().len() as u32;
        ends.push(end);
    }
    check::fields(path, fields, points.len(), lines.len())?;
    write_whole(path, |w| {
        let mut document = Document::begin(w, "PolyData", fields)?;
        document.open(&format!(
            "Piece NumberOfPoints=\"{}\" NumberOfVerts=\"0\" NumberOfLines=\"{}\" NumberOfStrips=\"0\" NumberOfPolys=\"0\"",
            points.len(),
            lines.len()
        ))?;
        document.arrays("PointData", fields.point)?;
        document.arrays("CellData", fields.cell)?;
        document.values("Points", &[("Points", Values::Space(&points))])?;
        document.values(
            "Lines",
            &[("connectivity", Values::Numbers { count: points.len() }), ("offsets", Values::Index(&ends))],
        )?;
        document.close("Piece")?;
        document.end()
    })
}

/// Writes a `.pvd` that lists files as a series, each with its value of the swept quantity; what it was made from stands in a comment.
///
/// # Errors
/// [`crate::base::Error::Failed`] if a value is not finite; [`crate::base::Error::File`] if the file cannot be written.
pub fn write_pvd(path: &Path, series: &[(f64, &str)], origin: Option<&Origin>) -> Result<()> {
    for (value, file) in series {
        check::finite(path, &format!("the value of {file}"), *value)?;
    }
    write_whole(path, |w| {
        writeln!(w, "<?xml version=\"1.0\"?>")?;
        writeln!(w, "<VTKFile type=\"Collection\" version=\"1.0\" byte_order=\"LittleEndian\">")?;
        if let Some(origin) = origin {
            writeln!(w, "<!-- {} -->", escaped(&origin.line()))?;
        }
        writeln!(w, "<Collection>")?;
        for (value, file) in series {
            let file = escaped(file);
            writeln!(w, "<DataSet timestep=\"{value}\" group=\"\" part=\"0\" file=\"{file}\"/>")?;
        }
        writeln!(w, "</Collection>\n</VTKFile>")
    })
}
