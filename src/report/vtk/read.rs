//! Files read back through an XML reader written by others, vtkio: for later drawing, and as a check of the writer.

use crate::base::{Error, Result};
use std::io::Read;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use vtkio::model::{Attribute, Attributes, DataSet, IOBuffer, PieceData, VertexNumbers, Vtk};

/// A `.vtu` or `.vtp` read back.
#[derive(Debug, Clone, PartialEq)]
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
#[derive(Debug, Clone, PartialEq)]
pub struct ReadArray {
    /// Its name.
    pub name: String,
    /// Numbers per entry.
    pub components: usize,
    /// The numbers, entry by entry; integers become floating-point numbers exactly.
    pub values: Vec<f64>,
}

impl ReadFile {
    /// The point array of that name.
    pub fn point_array(&self, name: &str) -> Option<&ReadArray> {
        self.point.iter().find(|array| array.name == name)
    }

    /// The cell array of that name.
    pub fn cell_array(&self, name: &str) -> Option<&ReadArray> {
        self.cell.iter().find(|array| array.name == name)
    }
}

/// Reads a `.vtu` or `.vtp` of one piece stored inline, as written with [`super::Encoding::Base64`].
///
/// # Errors
/// [`Error::File`] if it cannot be opened, [`Error::Failed`] if it is no such file.
pub fn read(path: &Path) -> Result<ReadFile> {
    let unread = |source| Error::File { action: "read", path: path.to_owned(), source };
    let mut head = Vec::new();
    std::fs::File::open(path).map_err(unread)?.take(512).read_to_end(&mut head).map_err(unread)?;
    let refuse = |why: String| {
        Error::failed(
            format!("{} cannot be read as a VTK file: {why}", path.display()),
            "give a .vtu or .vtp with numbers stored inline, neither appended nor compressed, as this program writes by default",
        )
    };
    if String::from_utf8_lossy(&head).contains(" compressor=") {
        return Err(refuse("its numbers are compressed".to_owned()));
    }
    // The reader indexes unchecked into damaged files.
    let read = catch_unwind(AssertUnwindSafe(|| Vtk::import(path).map_err(|e| e.to_string()).and_then(content)));
    read.unwrap_or_else(|_| Err("it is damaged".to_owned())).map_err(refuse)
}

fn content(vtk: Vtk) -> std::result::Result<ReadFile, String> {
    let (points, cells, data) = match vtk.data {
        DataSet::UnstructuredGrid { pieces, .. } => {
            let piece = only(pieces)?;
            (piece.points, split(Some(piece.cells.cell_verts))?, piece.data)
        }
        DataSet::PolyData { pieces, .. } => {
            let piece = only(pieces)?;
            (piece.points, split(piece.lines)?, piece.data)
        }
        _ => return Err("it holds neither cells nor lines".to_owned()),
    };
    let points = numbers(&points)?.as_chunks().0.to_vec();
    let Attributes { point, cell } = data;
    Ok(ReadFile { points, cells, point: arrays(point)?, cell: arrays(cell)? })
}

fn only<P: PieceData>(pieces: Vec<vtkio::model::Piece<P>>) -> std::result::Result<P, String> {
    let mut pieces = pieces.into_iter();
    match (pieces.next(), pieces.next()) {
        (Some(piece), None) => piece.into_loaded_piece_data(None).map_err(|e| e.to_string()),
        _ => Err("it holds no piece, or several".to_owned()),
    }
}

fn split(vertices: Option<VertexNumbers>) -> std::result::Result<Vec<Vec<usize>>, String> {
    let Some(vertices) = vertices else { return Ok(Vec::new()) };
    let (connectivity, offsets) = vertices.into_xml();
    let mut start = 0;
    let mut cells = Vec::with_capacity(offsets.len());
    for end in offsets {
        let end = usize::try_from(end).unwrap_or(usize::MAX);
        let cell = connectivity.get(start..end).ok_or("its cell offsets leave the list of vertices")?;
        cells.push(cell.iter().map(|&vertex| vertex as usize).collect());
        start = end;
    }
    Ok(cells)
}

fn arrays(attributes: Vec<Attribute>) -> std::result::Result<Vec<ReadArray>, String> {
    let mut arrays = Vec::new();
    for attribute in attributes {
        if let Attribute::DataArray(array) = attribute {
            let components = array.num_comp();
            arrays.push(ReadArray { components, values: numbers(&array.data)?, name: array.name });
        }
    }
    Ok(arrays)
}

fn numbers(buffer: &IOBuffer) -> std::result::Result<Vec<f64>, String> {
    buffer.cast_into::<f64>().ok_or_else(|| "its numbers are of a kind not understood".to_owned())
}
