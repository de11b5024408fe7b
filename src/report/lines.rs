//! Wedges through the gap and paths of bubbles as VTK files.

use super::vtk::{Array, Cells, Data, Fields, Grid, Places, WEDGE, write_vtp, write_vtu};
use crate::base::Result;
use crate::theory::bubbles;
use crate::theory::wedges::LayerGrid;
use std::path::Path;

/// Writes the wedges as `.vtu` with `velocity`, `height` and `pressure` at the points, encoded and stamped as `stored`.
///
/// # Errors
/// As [`write_vtu`].
pub fn write_wedges(path: &Path, wedges: &LayerGrid, stored: &Fields) -> Result<()> {
    let count = wedges.vertices() as u32;
    let layers = wedges.heights.len().saturating_sub(1) as u32;
    let wedge = |j: u32, t: &[u32; 3]| {
        let [a, b, c] = t.map(|v| v + j * count);
        [a, b, c, a + count, b + count, c + count]
    };
    let connectivity: Vec<u32> =
        (0..layers).flat_map(|j| wedges.triangles.iter().flat_map(move |t| wedge(j, t))).collect();
    let cells = connectivity.len() / 6;
    let offsets: Vec<u32> = (1..=cells as u32).map(|k| 6 * k).collect();
    let types = vec![WEDGE; cells];
    let height: Vec<f64> = wedges.heights.iter().flat_map(|&zeta| (0..count).map(move |_| zeta)).collect();
    let grid = Grid {
        points: Places::Space(&wedges.points),
        cells: Cells::Mixed { types: &types, connectivity: &connectivity, offsets: &offsets },
    };
    let point = [
        Array { name: "velocity", unit: "m/s", data: Data::Space(&wedges.velocity) },
        Array { name: "height", unit: "1", data: Data::Scalar(&height) },
        Array { name: "pressure", unit: "Pa", data: Data::Scalar(&wedges.pressure) },
    ];
    write_vtu(path, &grid, &Fields { point: &point, meaning: &[wedges.meaning], ..*stored })
}

/// Writes paths of bubbles as polylines with `time` and `speed` at the points, `bubble` and `diameter` of each.
///
/// # Errors
/// As [`write_vtp`].
pub fn write_bubble_paths(path: &Path, paths: &[bubbles::Path], stored: &Fields) -> Result<()> {
    let places: Vec<Vec<[f64; 3]>> =
        paths.iter().map(|path| path.points.iter().map(|p| [p[0], p[1], 0.0]).collect()).collect();
    let time: Vec<f64> = paths.iter().flat_map(|path| path.times.iter().copied()).collect();
    let speed: Vec<f64> = paths.iter().flat_map(|path| path.speeds.iter().copied()).collect();
    let point = [
        Array { name: "time", unit: "s", data: Data::Scalar(&time) },
        Array { name: "speed", unit: "m/s", data: Data::Scalar(&speed) },
    ];
    let numbers: Vec<i32> = (1..=paths.len() as i32).collect();
    let diameters: Vec<f64> = paths.iter().map(|path| path.bubble.diameter).collect();
    let cell = [
        Array { name: "bubble", unit: "1", data: Data::Int32(&numbers) },
        Array { name: "diameter", unit: "m", data: Data::Scalar(&diameters) },
    ];
    let meaning = ["bubble: its number in the case; points: its centre"];
    write_vtp(path, &places, &Fields { point: &point, cell: &cell, meaning: &meaning, ..*stored })
}
