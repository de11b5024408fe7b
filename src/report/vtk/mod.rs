//! Files for VTK viewers: `.vtu` (triangles and other cells), `.vtp` (lines), `.pvd` (a series).
//!
//! Layout: VTK XML, little endian, 64-bit lengths, uncompressed; vertex indices Int32, fields Float64. The unit of each
//! array stands once in the string array `units` of FieldData, as "name unit"; what needs words stands in `meaning`.
//! Source: VTK User's Guide, "XML file formats".

mod check;
mod document;
mod values;

use super::write_whole;
use crate::base::{Point, Result};
use document::{Document, escape};
use std::borrow::Cow;
use std::io::Write;
use std::path::Path;
use values::Values;

/// Cell type number of a triangle.
pub const TRIANGLE: u8 = 5;
/// Cell type number of a wedge (six vertices).
pub const WEDGE: u8 = 13;

/// A named array with its unit, attached to points or cells.
#[derive(Debug, Clone, Copy)]
pub struct Array<'a> {
    /// Lower case with underscores, no unit.
    pub name: &'a str,
    /// SI unit, "1" for a plain number.
    pub unit: &'a str,
    /// The values.
    pub data: Data<'a>,
}

/// The values of an array, one entry per point or cell.
#[derive(Debug, Clone, Copy)]
pub enum Data<'a> {
    /// Numbers.
    Scalar(&'a [f64]),
    /// Vectors in the plane, written with a third component 0.
    Plane(&'a [[f64; 2]]),
    /// Vectors in space.
    Space(&'a [[f64; 3]]),
    /// Small integers with sign.
    Int8(&'a [i8]),
    /// Small integers.
    UInt8(&'a [u8]),
    /// Integers.
    Int32(&'a [i32]),
}

/// Where the points of a grid are, m.
#[derive(Debug, Clone, Copy)]
pub enum Places<'a> {
    /// In the plane, z = 0.
    Plane(&'a [Point]),
    /// In space.
    Space(&'a [[f64; 3]]),
}

/// The cells of a grid.
#[derive(Debug, Clone, Copy)]
pub enum Cells<'a> {
    /// Triangles.
    Triangles(&'a [[u32; 3]]),
    /// Any cells: their VTK type numbers, vertices one cell after the other, and where each cell ends in that list.
    Mixed {
        /// VTK type numbers, such as [`TRIANGLE`] and [`WEDGE`].
        types: &'a [u8],
        /// Vertices of all cells.
        connectivity: &'a [u32],
        /// For each cell, how many vertices stand before its end.
        offsets: &'a [u32],
    },
}

/// Points and the cells between them.
#[derive(Debug, Clone, Copy)]
pub struct Grid<'a> {
    /// The points.
    pub points: Places<'a>,
    /// The cells.
    pub cells: Cells<'a>,
}

/// How the numbers are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Encoding {
    /// Base64 inside the XML; every reader of the format takes it.
    #[default]
    Base64,
    /// LZ4-compressed blocks appended to the XML: about 0.55 of the default's size, read by VTK itself but not by every reader.
    Compressed,
    /// Raw bytes appended to the XML; a quarter smaller and faster, but not every reader takes it.
    Raw,
}

/// What is attached to a grid or to lines, and how it is stored.
#[derive(Debug, Clone, Copy, Default)]
pub struct Fields<'a> {
    /// Arrays with one entry per point.
    pub point: &'a [Array<'a>],
    /// Arrays with one entry per cell or line.
    pub cell: &'a [Array<'a>],
    /// Sentences on what arrays hold, written once as the string array `meaning` of FieldData.
    pub meaning: &'a [&'a str],
    /// The value this file has in a series, shown by viewers as time.
    pub time: Option<f64>,
    /// How the numbers are stored.
    pub encoding: Encoding,
}

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
/// assert_eq!(read(&path)?.points.len(), 3);
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

/// Writes a `.pvd` that lists files as a series, each with its value of the swept quantity.
///
/// # Errors
/// [`crate::base::Error::Failed`] if a value is not finite; [`crate::base::Error::File`] if the file cannot be written.
pub fn write_pvd(path: &Path, series: &[(f64, &str)]) -> Result<()> {
    for (value, file) in series {
        check::finite(path, &format!("the value of {file}"), *value)?;
    }
    write_whole(path, |w| {
        writeln!(w, "<?xml version=\"1.0\"?>")?;
        writeln!(w, "<VTKFile type=\"Collection\" version=\"1.0\" byte_order=\"LittleEndian\">")?;
        writeln!(w, "<Collection>")?;
        for (value, file) in series {
            let file: Cow<str> = escape(file);
            writeln!(w, "<DataSet timestep=\"{value}\" group=\"\" part=\"0\" file=\"{file}\"/>")?;
        }
        writeln!(w, "</Collection>\n</VTKFile>")
    })
}
