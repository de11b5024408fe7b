//! Maps of departures from the ideal pattern, and the mesh with its error indicator.

use super::canvas::Canvas;
use super::cell::{CellMap, extremes};
use super::colour::ColourMap;
use super::flow::ROW;
use super::frame::Classes;
use super::lettering::{Anchor, Lettering};
use super::raster::{Shade, shaded};
use super::scale::short;
use super::style::{Ink, Palette, Pen, SMALL};
use crate::base::plane;
use crate::base::{Point, Result};
use crate::numerics::mesh::Mesh;

/// Triangles of a mesh beyond which only the edges of a coarser level are drawn.
const MOST_DRAWN: usize = 15_000;

/// What a map of departures shows.
#[derive(Debug, Clone, Copy)]
pub struct DepartureMap<'a> {
    /// Name of the file.
    pub name: &'a str,
    /// What it is, for readers who cannot see it.
    pub title: &'a str,
    /// Name of the bar with its unit.
    pub bar: &'a str,
    /// Values at the vertices.
    pub values: &'a [f64],
    /// Distance of the vertices from solid edges, m, scaled where the gap is not the widest.
    pub distance: &'a [f64],
    /// Distance within which nothing is measured, m.
    pub band: f64,
    /// That in words.
    pub left_out: &'a str,
    /// Where the speed changes most, m, and by how much, % of U.
    pub largest: Option<(Point, f64)>,
}

/// Where the words of a key above the map start, mm.
const TEXT: f64 = 8.0;

impl CellMap<'_> {
    /// Filled contours of a departure, centred on zero; the band along solid edges in which nothing is measured is hatched, and the colours
    /// span the values outside it. The place where the speed changes most is marked.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn departure(&self, map: &DepartureMap) -> Result<Canvas> {
        let said = map.largest.map(|([x, y], value)| {
            let mm = |x: f64| short(1e3 * x, 4);
            format!("largest: {} % of U at x = {} mm, y = {} mm", short(value, 3), mm(x), mm(y))
        });
        let lettering = Lettering { ink: Ink::Text, ..Lettering::small(Anchor::Start) };
        // beside what is left out where there is room for both
        let beside = TEXT + lettering.width(map.left_out)? + 6.0;
        let needs = said.as_ref().map_or(Ok(0.0), |text| lettering.width(text))?;
        let fits = beside + TEXT + needs <= self.style.column.width();
        let [left, down] = if fits { [beside, 0.0] } else { [0.0, ROW] };
        let above = if said.is_some() { ROW + down } else { ROW };
        let (mut canvas, frame) = self.start(map.name, map.title, above, true)?;
        let [low, high] = self.usual(map.values, |v| map.distance[v] >= map.band);
        let range = extremes(map.values.iter().copied());
        let reach = low.abs().max(high.abs()).max(1e-12);
        let within = match self.style.palette {
            // as far on both sides: zero is in the middle of the bar
            Palette::Colour => [-reach, reach],
            Palette::Grey => [low, high.max(low + 1e-12)],
        };
        let mut classes = Classes::about_zero(&canvas, within, within, 10);
        let ends = [classes.limits[0], classes.limits[classes.limits.len() - 1]];
        classes.beyond = [range[0] < ends[0], range[1] > ends[1]];
        self.fill(&mut canvas, &frame, map.values, &classes)?;
        // distances beyond their limit are infinite
        let distance: Vec<f64> = map.distance.iter().map(|d| d.min(1e3 * map.band)).collect();
        self.hatch_below(&mut canvas, &frame, &distance, map.band)?;
        self.levels(&mut canvas, &frame, map.values, &classes)?;
        self.finish(&mut canvas, &frame)?;
        frame.bar(&mut canvas, &classes, map.bar)?;
        let box_at = [1.5, 0.9, 5.0, 0.8 * SMALL];
        let corners = rectangle(box_at);
        canvas.hatch(&[corners.to_vec()], 1.1, Pen::new(0.15, Ink::Text))?;
        canvas.line(&[corners[0], corners[1], corners[2], corners[3], corners[0]], Pen::new(0.15, Ink::Text));
        let base = 0.9 + 0.76 * SMALL;
        canvas.text([TEXT, base], map.left_out, lettering)?;
        if let (Some((place, _)), Some(text)) = (map.largest, said) {
            target(&mut canvas, frame.at(place));
            target(&mut canvas, [left + 4.0, down + 0.9 + 0.4 * SMALL]);
            canvas.text([left + TEXT, down + base], &text, lettering)?;
        }
        Ok(canvas)
    }

    /// The mesh, coloured by the share of the bracket's width per area of each triangle over the mean, in decades.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn indicator(&self, shares: &[f64]) -> Result<Canvas> {
        let (mut canvas, frame) = self.start("mesh", "The mesh and the computable share of the error", 0.0, true)?;
        let areas = self.mesh.areas();
        let mean = shares.iter().map(|s| s.max(0.0)).sum::<f64>() / areas.iter().sum::<f64>();
        let decades: Vec<f64> = shares.iter().zip(&areas).map(|(s, a)| (s / a / mean).max(1e-30).log10()).collect();
        let limits: Vec<f64> = (-3..=3).map(f64::from).collect();
        let count = limits.len() - 1;
        let colours = (0..count)
            .map(|k| ColourMap::Rising.at((k as f64 + 0.5) / count as f64 * 0.8, canvas.style.palette))
            .collect();
        let range = extremes(decades.iter().copied());
        let beyond = [range[0] < limits[0], range[1] > limits[count]];
        let classes = Classes { limits, colours, beyond };
        let dpi = self.raster.unwrap_or(300.0);
        shaded(&mut canvas, &frame, self.mesh, &Shade::Triangles(&decades), &classes, dpi)?;
        let (triangles, whole) = drawn_level(self.mesh);
        let edges: Vec<[Point; 2]> = edges(triangles)
            .into_iter()
            .map(|[a, b]| [a, b].map(|v| frame.at(self.mesh.points[v as usize])))
            .filter(|[p, q]| plane::distance(*p, *q) > 0.05)
            .collect();
        canvas.lines(edges.iter().map(|edge| &edge[..]), Pen::new(0.06, Ink::Text));
        self.finish(&mut canvas, &frame)?;
        let name = if whole {
            "error share per area over its mean (powers of ten)"
        } else {
            "error share per area over its mean (powers of ten; coarser edges)"
        };
        frame.bar(&mut canvas, &classes, name)?;
        Ok(canvas)
    }
}

/// Triangles of the finest level that can be drawn, and whether that is the mesh itself.
fn drawn_level(mesh: &Mesh) -> (&[[u32; 3]], bool) {
    if mesh.triangles.len() <= MOST_DRAWN || mesh.coarser.is_empty() {
        return (&mesh.triangles, true);
    }
    let fits = mesh.coarser.iter().rev().find(|level| level.triangles.len() <= MOST_DRAWN);
    (fits.or(mesh.coarser.first()).map_or(&mesh.triangles, |level| &level.triangles), false)
}

/// Every edge once, in the order of the triangles.
fn edges(triangles: &[[u32; 3]]) -> Vec<[u32; 2]> {
    let all = triangles.iter().flat_map(|t| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]]);
    let mut list: Vec<[u32; 2]> = all.map(|[a, b]| [a.min(b), a.max(b)]).collect();
    list.sort_unstable();
    list.dedup();
    list
}

/// Marks a place on whatever lies under it.
fn target(canvas: &mut Canvas, at: Point) {
    canvas.disc(at, 1.0, Ink::Paper, Some(Pen::new(0.3, Ink::Text)));
    canvas.disc(at, 0.4, Ink::Limit, None);
}

fn rectangle([x, y, w, h]: [f64; 4]) -> [Point; 4] {
    [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
}
