//! Maps of the cell: what is common to all of them.

use super::canvas::Canvas;
use super::edge::Edge;
use super::frame::{Classes, MapFrame};
use super::names::Names;
use super::raster::{Shade, shaded};
use super::simplify::{simplified, simplified_outline};
use super::style::{Ink, Pen, Style};
use crate::base::plane::Rect;
use crate::base::{Point, Result};
use crate::geometry::{Curve, Plan, Side};
use crate::numerics::contour::{Chain, region, regions};
use crate::numerics::mesh::Mesh;

/// What a drawing may be off from the field, mm: less than a device dot of fine print.
const RESOLUTION: f64 = 0.02;
/// Part of the area whose values may lie beyond the classes of a map, at either end.
const RARE: f64 = 0.005;
/// Places taken along a curved piece of an outline.
const PIECE_PLACES: usize = 96;

/// What stands on and round every map of a cell beyond the cell itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Marked {
    /// Rulers round the frame, in millimetres.
    pub axes: bool,
    /// The names of the obstacles, and these probes with their names and places, m.
    pub names: Option<Vec<(String, Point)>>,
}

/// A cell whose maps are drawn.
#[derive(Debug, Clone)]
pub struct CellMap<'a> {
    /// Its mesh.
    pub mesh: &'a Mesh,
    /// The box round it.
    pub bounds: Rect,
    /// Its walls and ends.
    pub edge: Edge,
    /// Outlines of the obstacles, m, each with the number of its obstacle.
    pub outlines: Vec<(usize, Vec<Point>)>,
    /// How maps look.
    pub style: Style,
    /// Pixels per inch of coloured areas that are drawn as a picture inside the frame; none draws them as outlines.
    pub raster: Option<f64>,
    /// What stands on and round every map.
    pub marked: Marked,
}

impl<'a> CellMap<'a> {
    /// The cell of a mesh.
    pub fn new(mesh: &'a Mesh, style: Style, raster: Option<f64>) -> CellMap<'a> {
        CellMap {
            mesh,
            bounds: Rect::of(mesh.points.iter().copied()),
            edge: Edge::of(&mesh.plan),
            outlines: outlines_within(&mesh.plan, None),
            style,
            raster,
            marked: Marked::default(),
        }
    }

    /// The same with rulers and names.
    pub fn marked(self, marked: Marked) -> Self {
        CellMap { marked, ..self }
    }

    /// An empty drawing with the frame of a map, so much room above it, mm, and room for a colour bar if it gets one.
    pub(super) fn start(&self, name: &str, title: &str, above: f64, bar: bool) -> Result<(Canvas, MapFrame)> {
        let width = self.style.column.width();
        let frame = match self.marked.axes {
            true => MapFrame::ruled(width, 1.5 + above, self.bounds, self.edge.inflow)?,
            false => MapFrame::new(width, 1.5 + above, self.bounds, self.edge.inflow),
        };
        Ok((Canvas::new(name, title, 1.5 + above + frame.full_height(width, bar), self.style), frame))
    }

    /// Walls, obstacles, flow arrow and scale bar, rulers and names: what stands on top of every map.
    pub(super) fn finish(&self, canvas: &mut Canvas, frame: &MapFrame) -> Result<()> {
        frame.draw_rulers(canvas)?;
        self.solids(canvas, frame);
        frame.strip(canvas)?;
        let Some(probes) = &self.marked.names else { return Ok(()) };
        let plan = &self.mesh.plan;
        let inks: Vec<Ink> = self
            .outlines
            .iter()
            .map(|(owner, _)| if is_bubble(plan, *owner) { Ink::Text } else { Ink::Rgb([244; 3]) })
            .collect();
        let named = |(owner, line): &(usize, Vec<Point>)| {
            let name = plan.obstacles.get(*owner).map_or_else(String::new, |obstacle| obstacle.name.clone());
            (name, line.iter().map(|&p| frame.at(p)).collect())
        };
        let names = Names {
            obstacles: self.outlines.iter().map(named).collect(),
            probes: probes.iter().map(|(name, at)| (name.clone(), frame.at(*at))).collect(),
            within: Some(Rect::of(frame.corners())),
        };
        // obstacles are dark on a dark page as well
        names.draw(canvas, |k| inks[k])
    }

    /// Walls and obstacles.
    pub(super) fn solids(&self, canvas: &mut Canvas, frame: &MapFrame) {
        self.draw_solids(canvas, frame, &self.outlines);
    }

    /// The same for a map so large that only a window of it, m, is seen: the outlines are drawn closely there.
    pub(super) fn solids_within(&self, canvas: &mut Canvas, frame: &MapFrame, window: Rect) {
        self.draw_solids(canvas, frame, &outlines_within(&self.mesh.plan, Some(window)));
    }

    fn draw_solids(&self, canvas: &mut Canvas, frame: &MapFrame, outlines: &[(usize, Vec<Point>)]) {
        let tolerance = 0.5 * RESOLUTION / frame.scale;
        let fine = |bubbles: bool| -> Vec<Vec<Point>> {
            let own = outlines.iter().filter(|(owner, _)| is_bubble(&self.mesh.plan, *owner) == bubbles);
            own.map(|(_, line)| simplified(line, tolerance)).collect()
        };
        frame.obstacles(canvas, &fine(false));
        frame.bubbles(canvas, &fine(true));
        frame.walls(canvas, &self.edge);
    }

    /// Least and largest value of a vertex field but for those of a two hundredth of the area at either end: sharp corners would
    /// leave one class for all the rest. Only triangles whose vertices all are of interest count.
    pub(super) fn usual(&self, values: &[f64], counts: impl Fn(usize) -> bool) -> [f64; 2] {
        let areas = self.mesh.areas();
        let of = |(corners, area): (&[u32; 3], &f64)| {
            let corners = corners.map(|v| v as usize);
            let mean = corners.iter().map(|&v| values[v]).sum::<f64>() / 3.0;
            (mean.is_finite() && corners.into_iter().all(&counts)).then_some((mean, *area))
        };
        let mut list: Vec<(f64, f64)> = self.mesh.triangles.iter().zip(&areas).filter_map(of).collect();
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let least = RARE * list.iter().map(|(_, area)| area).sum::<f64>();
        match (first_beyond(list.iter(), least), first_beyond(list.iter().rev(), least)) {
            (Some(low), Some(high)) => [low, high],
            _ => [0.0, 1.0],
        }
    }

    /// Areas of a vertex field in classes. Each class is painted over all lower ones, so that no seam can show between two.
    pub(super) fn fill(&self, canvas: &mut Canvas, frame: &MapFrame, values: &[f64], classes: &Classes) -> Result<()> {
        if let Some(dpi) = self.raster {
            return shaded(canvas, frame, self.mesh, &Shade::Vertices(values), classes, dpi);
        }
        let Some(&lowest) = classes.colours.first() else { return Ok(()) };
        self.ground(canvas, frame, Ink::Rgb(lowest));
        let inner = &classes.limits[1..classes.colours.len().max(1)];
        let outlines: Vec<Vec<Vec<Point>>> =
            regions(self.mesh, values, inner).iter().map(|chains| self.drawn_outlines(frame, chains)).collect();
        for (outlines, &colour) in outlines.iter().zip(&classes.colours[1..]) {
            canvas.area(outlines.iter().map(Vec::as_slice), Ink::Rgb(colour), None);
        }
        Ok(())
    }

    /// All of the cell in one ink.
    pub(super) fn ground(&self, canvas: &mut Canvas, frame: &MapFrame, ink: Ink) {
        let outline: Vec<Point> = self.edge.outline.iter().map(|&p| frame.at(p)).collect();
        canvas.area([&outline[..]], ink, None);
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

/// The first value at which so much area has been passed.
fn first_beyond<'a>(mut list: impl Iterator<Item = &'a (f64, f64)>, least: f64) -> Option<f64> {
    let mut sum = 0.0;
    let found = list.find(|(_, area)| {
        sum += area;
        sum >= least
    });
    found.map(|(value, _)| *value)
}

/// Outlines of the obstacles of a plan, from its exact curves, m. Of an obstacle on a side wall the part inside the fluid.
pub fn outlines(plan: &Plan) -> Vec<Vec<Point>> {
    outlines_within(plan, None).into_iter().map(|(_, line)| line).collect()
}

/// The same with the numbers of their obstacles, closely where they pass through a window.
fn outlines_within(plan: &Plan, window: Option<Rect>) -> Vec<(usize, Vec<Point>)> {
    let mut list: Vec<(usize, Vec<Point>)> = Vec::new();
    for range in &plan.loops {
        let mut owner = None;
        for piece in &plan.pieces[range.clone()] {
            let Side::Obstacle(k) = piece.side else {
                owner = None;
                continue;
            };
            if owner != Some(k) {
                list.push((k as usize, vec![piece.point(0.0)]));
                owner = Some(k);
            }
            let Some((_, line)) = list.last_mut() else { continue };
            let count = if matches!(piece.curve, Curve::Line { .. }) { 1 } else { PIECE_PLACES };
            for i in 0..count {
                let [from, to] = [i, i + 1].map(|i| i as f64 / count as f64);
                let ends = Rect::of([piece.point(from), piece.point(to)]);
                let seen = window.is_some_and(|window| ends.grown(0.1 * ends.extent()).overlaps(&window));
                let parts = if seen && count > 1 { PIECE_PLACES } else { 1 };
                line.extend((1..=parts).map(|k| piece.point(from + (to - from) * k as f64 / parts as f64)));
            }
        }
    }
    list
}

fn is_bubble(plan: &Plan, owner: usize) -> bool {
    plan.rim(owner as u32).is_some()
}

/// Least and largest finite value.
pub(super) fn extremes(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let finite = values.into_iter().filter(|x| x.is_finite());
    let [low, high] = finite.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], x| [a.min(x), b.max(x)]);
    if low <= high { [low, high] } else { [0.0, 1.0] }
}

#[cfg(test)]
mod tests {
    use super::super::style::{Column, Palette};
    use super::*;
    use crate::numerics::contour::tests::mesh;
    use crate::report::figure::DepartureMap;

    /// x of the centre of a disc.
    fn centre(line: &str) -> Option<f64> {
        line.split("cx=\"").nth(1)?.split('"').next()?.parse().ok()
    }

    /// Of a field that only rises along the cell every row of pixels only gets darker: paper that showed through between two classes
    /// would be lighter than the one before. The slanted lines between the classes cross the pixels at every angle that 3 to 1 gives.
    #[test]
    fn no_seam_shows_between_classes() {
        let mesh = mesh();
        for palette in [Palette::Colour, Palette::Grey] {
            let map = CellMap::new(&mesh, Style { palette, column: Column::Single }, None);
            let (mut canvas, frame) = map.start("a", "b", 0.0, false).unwrap();
            let values: Vec<f64> = mesh.points.iter().map(|p| 3.0 * p[0] + p[1]).collect();
            let classes = Classes::rising(&canvas, [0.0, 7.0], [0.0, 7.0], 14);
            assert!(classes.colours.len() >= 10);
            map.fill(&mut canvas, &frame, &values, &classes).unwrap();
            let pixels = canvas.painted(300.0).unwrap();
            let at = |x: f64| x / 25.4 * 300.0;
            let [low, _, high, _] = frame.corners();
            // rows above the hole, off the rim of the map
            let rows = (at(high[1]) as u32 + 2)..(at(frame.at([0.0, 0.72])[1]) as u32);
            for y in rows {
                let light: Vec<u32> = (at(low[0]) as u32 + 2..at(high[0]) as u32 - 2)
                    .map(|x| pixels.pixel(x, y).unwrap())
                    .map(|c| u32::from(c.red()) + u32::from(c.green()) + u32::from(c.blue()))
                    .collect();
                // rounding of mixed pixels may lose one of each colour
                assert!(light.windows(2).all(|w| w[1] <= w[0] + 3), "row {y}");
                assert!(light[0] > light[light.len() - 1] + 200);
            }
        }
    }

    /// Of x on a cell of length 2 a two hundredth of the area lies below 0.01 and above 1.99, to the size of a triangle, 0.05; a spike
    /// at one place changes nothing.
    #[test]
    fn rare_values_do_not_stretch_the_classes() {
        let mesh = mesh();
        let map = CellMap::new(&mesh, Style::default(), None);
        let mut values: Vec<f64> = mesh.points.iter().map(|p| p[0]).collect();
        let spike = (0..values.len()).find(|&v| mesh.points[v] == [1.2, 0.7]).unwrap();
        values[spike] = 1e3;
        let [low, high] = map.usual(&values, |_| true);
        assert!((low - 0.01).abs() < 0.05 && (high - 1.99).abs() < 0.05, "{low} {high}");
        let [low, high] = map.usual(&values, |v| mesh.points[v][0] < 0.5);
        assert!(low < 0.06 && (high - 0.5).abs() < 0.06, "{low} {high}");
        assert_eq!(map.usual(&values, |_| false), [0.0, 1.0]);
    }

    /// Zero stands in the middle of the bar of a departure that is positive nearly everywhere, and its sign shows in the labels; in greys
    /// the bar spends its classes on what occurs, and the lines carry their values.
    #[test]
    fn departures_are_centred_on_zero() {
        let mesh = mesh();
        let values: Vec<f64> = mesh.points.iter().map(|p| 4.0 * p[0] - 0.5).collect();
        let distance = mesh.wall_distance(1.0);
        let bar = |palette: Palette| {
            let map = CellMap::new(&mesh, Style { palette, column: Column::Double }, None);
            let (name, title, bar) = ("departure_total", "b", "c (% of U)");
            let drawn = DepartureMap {
                name,
                title,
                bar,
                values: &values,
                distance: &distance,
                band: 0.02,
                left_out: "left out",
                largest: Some(([1.7, 0.8], 6.25)),
            };
            map.departure(&drawn).unwrap()
        };
        let canvas = bar(Palette::Colour);
        let middle = |text: &str| {
            let found = canvas.texts().iter().find(|t| t.text == text);
            found.map(|t| 0.5 * (t.area[0] + t.area[2])).unwrap_or_else(|| panic!("{text}: {:?}", canvas.texts()))
        };
        assert!((middle("−8") + middle("8") - 2.0 * middle("0")).abs() < 1e-9);
        // the place of the largest stands where it is, 1.7 m of 2 along the width less the margins, and beside its value
        let discs: Vec<f64> = canvas.svg().lines().filter(|l| l.starts_with("<circle")).filter_map(centre).collect();
        assert!(discs.iter().any(|x| (x - (1.5 + 0.85 * 172.0)).abs() < 2e-3), "{discs:?}");
        assert!(canvas.texts().iter().any(|t| t.text == "largest: 6.25 % of U at x = 1700 mm, y = 800 mm"));
        assert!(canvas.texts().iter().all(|t| t.text != "−0"));
        let grey = bar(Palette::Grey);
        let count = |text: &str| grey.texts().iter().filter(|t| t.text == text).count();
        assert_eq!((count("−8"), count("4"), count("0")), (0, 2, 2), "{:?}", grey.texts());
        assert!(grey.crowded().is_empty(), "{:?}", grey.crowded());
        let svg = grey.svg();
        let lines = |what: &str| svg.lines().filter(|l| l.contains("fill=\"none\"") && l.contains(what)).count();
        assert!(lines("stroke-width=\"0.45\"") > 0, "zero is heavier");
    }
}
