//! Files read back through a VTK XML reader written by others, vtkio.

use std::path::Path;
use vtkio::model::{Attribute, Attributes, DataSet, IOBuffer, Piece, PieceData, VertexNumbers, Vtk};

/// A `.vtu` or `.vtp` of one piece whose numbers stand inline.
#[derive(Debug, PartialEq)]
pub struct ReadFile {
    /// The points, m.
    pub points: Vec<[f64; 3]>,
    /// The vertices of each cell or line.
    pub cells: Vec<Vec<usize>>,
    /// Arrays with one entry per point.
    pub point: Vec<ReadArray>,
    /// Arrays with one entry per cell or line.
    pub cell: Vec<ReadArray>,
}

/// An array read back.
#[derive(Debug, PartialEq)]
pub struct ReadArray {
    /// Its name.
    pub name: String,
    /// Numbers per entry.
    pub components: usize,
    /// The numbers, entry by entry; integers become floating-point numbers exactly.
    pub values: Vec<f64>,
}

impl ReadFile {
    /// The numbers of the point array of that name.
    pub fn at_points(&self, name: &str) -> &[f64] {
        &self.point.iter().find(|array| array.name == name).unwrap().values
    }

    /// The numbers of the cell array of that name.
    pub fn at_cells(&self, name: &str) -> &[f64] {
        &self.cell.iter().find(|array| array.name == name).unwrap().values
    }
}

pub fn read(path: &Path) -> ReadFile {
    let (points, cells, Attributes { point, cell }) = match Vtk::import(path).unwrap().data {
        DataSet::UnstructuredGrid { pieces, .. } => {
            let piece = only(pieces);
            (piece.points, split(piece.cells.cell_verts), piece.data)
        }
        DataSet::PolyData { pieces, .. } => {
            let piece = only(pieces);
            (piece.points, split(piece.lines.unwrap()), piece.data)
        }
        _ => panic!("neither cells nor lines"),
    };
    ReadFile { points: numbers(points).as_chunks().0.to_vec(), cells, point: arrays(point), cell: arrays(cell) }
}

fn only<P: PieceData>(pieces: Vec<Piece<P>>) -> P {
    let [piece]: [Piece<P>; 1] = pieces.try_into().ok().unwrap();
    piece.into_loaded_piece_data(None).unwrap()
}

fn split(vertices: VertexNumbers) -> Vec<Vec<usize>> {
    let (connectivity, offsets) = vertices.into_xml();
    let ends: Vec<usize> = offsets.into_iter().map(|end| end as usize).collect();
    let starts = std::iter::once(0).chain(ends.iter().copied());
    let cell =
        |(start, &end): (usize, &usize)| connectivity[start..end].iter().map(|&vertex| vertex as usize).collect();
    starts.zip(&ends).map(cell).collect()
}

fn arrays(attributes: Vec<Attribute>) -> Vec<ReadArray> {
    let array = |attribute| match attribute {
        Attribute::DataArray(array) => {
            Some(ReadArray { components: array.num_comp(), name: array.name, values: numbers(array.data) })
        }
        Attribute::Field { .. } => None,
    };
    attributes.into_iter().filter_map(array).collect()
}

fn numbers(buffer: IOBuffer) -> Vec<f64> {
    buffer.cast_into().unwrap()
}
