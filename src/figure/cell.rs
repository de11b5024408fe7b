//! Maps of the cell: what is common to all of them.

use super::canvas::Canvas;
use super::contour::{Chain, region, regions, simplified, simplified_outline};
use super::frame::{Classes, MapFrame};
use super::raster::{Shade, shaded};
use super::style::{Ink, Palette, Pen, Style};
use crate::mesh::Mesh;
use crate::outline::{Curve, Plan, Side};
use crate::{Point, Result};

/// What a drawing may be off from the field, mm: less than a device dot of fine print.
const RESOLUTION: f64 = 0.02;
/// Places taken along a curved piece of an outline.
const PIECE_PLACES: usize = 96;

/// A cell whose maps are drawn.
#[derive(Debug, Clone)]
pub struct CellMap<'a> {
    /// Its mesh.
    pub mesh: &'a Mesh,
    /// Length and width, m.
    pub extent: [f64; 2],
    /// Outlines of the obstacles, m.
    pub outlines: Vec<Vec<Point>>,
    /// How maps look.
    pub style: Style,
    /// Pixels per inch of coloured areas that are drawn as a picture inside the frame; none draws them as outlines.
    pub raster: Option<f64>,
}

impl<'a> CellMap<'a> {
    /// The cell of a mesh.
    pub fn new(mesh: &'a Mesh, style: Style, raster: Option<f64>) -> CellMap<'a> {
        let far = mesh.points.iter().fold([0.0_f64; 2], |[x, y], p| [x.max(p[0]), y.max(p[1])]);
        CellMap { mesh, extent: far, outlines: outlines(&mesh.plan), style, raster }
    }

    /// An empty drawing with the frame of a map, so much room above it, mm, and room for a colour bar if it gets one.
    pub(super) fn start(&self, name: &str, title: &str, above: f64, bar: bool) -> (Canvas, MapFrame) {
        let width = self.style.column.width();
        let frame = MapFrame::new(width, 1.5 + above, self.extent);
        (Canvas::new(name, title, 1.5 + above + frame.full_height(width, bar), self.style), frame)
    }

    /// Walls, obstacles, flow arrow and scale bar: what stands on top of every map.
    pub(super) fn finish(&self, canvas: &mut Canvas, frame: &MapFrame) -> Result<()> {
        self.solids(canvas, frame);
        frame.strip(canvas)
    }

    /// Walls and obstacles.
    pub(super) fn solids(&self, canvas: &mut Canvas, frame: &MapFrame) {
        let tolerance = 0.5 * RESOLUTION / frame.scale;
        let fine: Vec<Vec<Point>> = self.outlines.iter().map(|line| simplified(line, tolerance)).collect();
        frame.obstacles(canvas, &fine);
        frame.walls(canvas);
    }

    /// Areas of a vertex field in classes. Each class is painted over all lower ones, so that no seam can show between two.
    pub(super) fn fill(&self, canvas: &mut Canvas, frame: &MapFrame, values: &[f64], classes: &Classes) -> Result<()> {
        if let Some(dpi) = self.raster {
            return shaded(canvas, frame, self.mesh, &Shade::Vertices(values), classes, dpi);
        }
        let Some(&lowest) = classes.colours.first() else { return Ok(()) };
        canvas.area([&frame.corners()[..]], Ink::Rgb(lowest), None);
        let inner = &classes.limits[1..classes.colours.len().max(1)];
        let outlines: Vec<Vec<Vec<Point>>> =
            regions(self.mesh, values, inner).iter().map(|chains| self.drawn_outlines(frame, chains)).collect();
        for (outlines, &colour) in outlines.iter().zip(&classes.colours[1..]) {
            canvas.area(outlines.iter().map(Vec::as_slice), Ink::Rgb(colour), None);
        }
        if canvas.style.palette == Palette::Grey {
            let pen = Pen::new(0.1, Ink::Text);
            for outlines in &outlines {
                canvas.edges(outlines.iter().map(Vec::as_slice), pen);
            }
        }
        Ok(())
    }

    /// Hatches the region in which a vertex field is below a limit.
    pub(super) fn hatch_below(&self, canvas: &mut Canvas, frame: &MapFrame, values: &[f64], limit: f64) -> Result<()> {
        let turned: Vec<f64> = values.iter().map(|x| -x).collect();
        let outlines = self.drawn_outlines(frame, &region(self.mesh, &turned, -limit));
        canvas.hatch(&outlines, 1.1, Pen::new(0.15, Ink::Text))?;
        canvas.edges(outlines.iter().map(Vec::as_slice), Pen::new(0.15, Ink::Text));
        Ok(())
    }

    /// Outlines on the drawing, as fine as it can show.
    fn drawn_outlines(&self, frame: &MapFrame, chains: &[Chain]) -> Vec<Vec<Point>> {
        let tolerance = RESOLUTION / frame.scale;
        chains
            .iter()
            .map(|chain| simplified_outline(&chain.points(&self.mesh.points), tolerance))
            .filter(|line| line.len() > 2)
            .map(|line| line.into_iter().map(|p| frame.at(p)).collect())
            .collect()
    }

    /// A line on the drawing, as fine as it can show.
    pub(super) fn drawn_line(&self, frame: &MapFrame, line: &[Point]) -> Vec<Point> {
        simplified(line, 0.5 * RESOLUTION / frame.scale).into_iter().map(|p| frame.at(p)).collect()
    }
}

/// Outlines of the obstacles of a plan, from its exact curves, m. Of an obstacle on a side wall the part inside the fluid.
fn outlines(plan: &Plan) -> Vec<Vec<Point>> {
    let mut list: Vec<Vec<Point>> = Vec::new();
    for range in &plan.loops {
        let mut owner = None;
        for piece in &plan.pieces[range.clone()] {
            let Side::Obstacle(k) = piece.side else {
                owner = None;
                continue;
            };
            if owner != Some(k) {
                list.push(vec![piece.point(0.0)]);
                owner = Some(k);
            }
            let count = if matches!(piece.curve, Curve::Line { .. }) { 1 } else { PIECE_PLACES };
            let places = (1..=count).map(|i| piece.point(i as f64 / count as f64));
            if let Some(line) = list.last_mut() {
                line.extend(places);
            }
        }
    }
    list
}

/// Least and largest finite value.
pub(super) fn extremes(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let finite = values.into_iter().filter(|x| x.is_finite());
    let [low, high] = finite.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], x| [a.min(x), b.max(x)]);
    if low <= high { [low, high] } else { [0.0, 1.0] }
}
