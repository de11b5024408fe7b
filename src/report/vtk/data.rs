//! What goes into a file: points, cells, arrays with their units.

use crate::base::Point;
use crate::base::field::{Field, Values};
use crate::report::Origin;

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

impl<'a> From<&'a Field<'_>> for Array<'a> {
    fn from(field: &'a Field<'_>) -> Array<'a> {
        let data = match &field.values {
            Values::Scalar(values) => Data::Scalar(values),
            Values::Plane(values) => Data::Plane(values),
        };
        Array { name: field.name, unit: field.unit, data }
    }
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
    /// Sentences on what arrays hold, written once as the array `meaning` of FieldData.
    pub meaning: &'a [&'a str],
    /// What it was made from, written as the arrays `combined_sha256` and `settings_sha256` of FieldData.
    pub origin: Option<&'a Origin>,
    /// The value this file has in a series, shown by viewers as time.
    pub time: Option<f64>,
    /// How the numbers are stored.
    pub encoding: Encoding,
}
