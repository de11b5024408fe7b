//! Coloured areas of a map as a picture inside the vector frame: for values by triangle, and for meshes of any size.

use super::canvas::Canvas;
use super::frame::{Classes, MapFrame};
use super::pixels::encoded;
use crate::base::plane;
use crate::base::{Error, Result};
use crate::numerics::mesh::Mesh;

/// Values that colour the triangles.
#[derive(Debug, Clone, Copy)]
pub enum Shade<'a> {
    /// At the vertices, linear between them.
    Vertices(&'a [f64]),
    /// One per triangle.
    Triangles(&'a [f64]),
}

/// Most pixels of a picture.
const MOST_PIXELS: f64 = 1e8;

/// Draws the classes of values over the map as a picture of so many pixels per inch. A pixel takes the value at its middle.
///
/// # Errors
/// [`Error::Failed`] if the picture would have more than 100 million pixels.
pub fn shaded(
    canvas: &mut Canvas,
    frame: &MapFrame,
    mesh: &Mesh,
    shade: &Shade,
    classes: &Classes,
    dpi: f64,
) -> Result<()> {
    let size = [frame.scale * frame.extent[0], frame.height()];
    let count = size.map(|mm| (mm / 25.4 * dpi).ceil().max(1.0));
    if !(dpi > 0.0 && count[0] * count[1] <= MOST_PIXELS) {
        let what =
            format!("{dpi} pixels per inch make {} x {} pixels, more than {MOST_PIXELS:e} in all", count[0], count[1]);
        return Err(Error::failed(what, "ask for fewer; 300 to 600 are usual"));
    }
    let [columns, rows] = count.map(|n| n as usize);
    let mut data = vec![0; 4 * columns * rows];
    // pixel (i, j) has its middle ((i + 1/2)/px, (rows - j - 1/2)/py) from the lower left corner
    let per_metre = [count[0] / frame.extent[0], count[1] / frame.extent[1]];
    for (t, corners) in mesh.triangles.iter().enumerate() {
        let places = corners.map(|v| {
            let p = plane::way(frame.low, mesh.points[v as usize]);
            [p[0] * per_metre[0] - 0.5, count[1] - p[1] * per_metre[1] - 0.5]
        });
        let value = match shade {
            Shade::Vertices(values) => corners.map(|v| values[v as usize]),
            Shade::Triangles(values) => [values[t]; 3],
        };
        let span = |k: usize, most: usize| {
            let [low, high] = [
                places.map(|p| p[k]).into_iter().fold(f64::INFINITY, f64::min),
                places.map(|p| p[k]).into_iter().fold(f64::NEG_INFINITY, f64::max),
            ];
            (low.ceil().max(0.0) as usize)..((high.floor() + 1.0).clamp(0.0, most as f64) as usize)
        };
        for j in span(1, rows) {
            for i in span(0, columns) {
                let w = plane::barycentric([i as f64, j as f64], places);
                if w.iter().all(|&w| w >= -1e-9) {
                    let [r, g, b] = classes.colour((0..3).map(|k| w[k] * value[k]).sum());
                    let at = 4 * (j * columns + i);
                    data[at..at + 4].copy_from_slice(&[r, g, b, 255]);
                }
            }
        }
    }
    let png = encoded([columns as u32, rows as u32], png::ColorType::Rgba, &data)?;
    let [left, top] = frame.at([frame.low[0], frame.low[1] + frame.extent[1]]);
    canvas.picture([left, top, size[0], size[1]], png);
    Ok(())
}
