//! What a viewer would choke on is refused before anything is written.

use super::data::{Cells, Fields, Grid};
use crate::base::{Error, Result};
use std::collections::BTreeSet;
use std::path::Path;

const LARGEST: usize = i32::MAX as usize;

fn refuse(path: &Path, what: &str, remedy: &str) -> Error {
    Error::failed(format!("{} was not written: {what}", path.display()), remedy)
}

/// A count that fits the 32-bit indices of the file.
pub(super) fn count(path: &Path, count: usize) -> Result<()> {
    if count > LARGEST {
        let what = format!("it would hold {count} points or cell corners, more than {LARGEST}");
        return Err(refuse(path, &what, "use a coarser mesh or fewer lines"));
    }
    Ok(())
}

/// A value that may stand in the XML text.
pub(super) fn finite(path: &Path, what: &str, value: f64) -> Result<()> {
    if !value.is_finite() {
        return Err(refuse(path, &format!("{what} is {value}"), "give a finite number"));
    }
    Ok(())
}

/// Every vertex exists, and offsets rise to the end of the connectivity.
pub(super) fn grid(path: &Path, grid: &Grid) -> Result<()> {
    let points = grid.points.values().len();
    let connectivity = match grid.cells {
        Cells::Triangles(triangles) => triangles.as_flattened(),
        Cells::Mixed { types, connectivity, offsets } => {
            let rising = offsets.is_sorted() && offsets.last().map_or(0, |&end| end as usize) == connectivity.len();
            if types.len() != offsets.len() || !rising {
                let what = format!(
                    "{} cell types, {} offsets and {} cell corners do not belong together",
                    types.len(),
                    offsets.len(),
                    connectivity.len()
                );
                return Err(refuse(path, &what, "give one type and one rising offset per cell, the last at the end"));
            }
            connectivity
        }
    };
    count(path, points)?;
    count(path, connectivity.len())?;
    match connectivity.iter().find(|&&vertex| vertex as usize >= points) {
        Some(vertex) => {
            let what = format!("a cell names vertex {vertex}, but there are only {points} points");
            Err(refuse(path, &what, "number the vertices from 0"))
        }
        None => Ok(()),
    }
}

/// Every array has one entry per point or cell and a name of its own; the time is finite.
pub(super) fn fields(path: &Path, fields: &Fields, points: usize, cells: usize) -> Result<()> {
    for (arrays, wanted, of) in [(fields.point, points, "points"), (fields.cell, cells, "cells")] {
        let mut names = BTreeSet::new();
        for array in arrays {
            let found = array.values().len();
            if found != wanted {
                let what = format!("array \"{}\" has {found} entries for {wanted} {of}", array.name);
                return Err(refuse(path, &what, "give one entry for each"));
            }
            if array.name.is_empty()
                || array.name.contains(|c: char| c.is_control() || c.is_whitespace())
                || !names.insert(array.name)
            {
                let what =
                    format!("the name \"{}\" of an array on {of} is empty, holds a blank or is used twice", array.name);
                return Err(refuse(path, &what, "give each array a name of its own"));
            }
        }
    }
    fields.time.map_or(Ok(()), |time| finite(path, "the time", time))
}
