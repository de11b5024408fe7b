//! Maps of the flow: streaklines, pressure coefficient, speed, layers, circulation.

use super::axes::{Entry, Mark, draw_mark, legend};
use super::canvas::Canvas;
use super::cell::{CellMap, extremes};
use super::contour::iso_lines;
use super::frame::{Classes, MapFrame};
use super::lettering::{Anchor, Lettering};
use super::spacing::evenly_spaced;
use super::style::{Ink, LETTER, Palette, Pen, SMALL};
use crate::base::plane::{self, Rect};
use crate::base::{Point, Result};
use crate::numerics::mesh::Locator;
use crate::theory::streaklines::Streakline;

/// Width of a streakline, mm.
const LINE: f64 = 0.32;
/// Length of arrow heads on lines, mm.
const HEAD: f64 = 1.9;
/// Largest enlargement of a place where lines part.
const LARGEST: f64 = 500.0;
/// Lines that part by less than this even so, mm, are not worth a picture.
const LEAST_PARTING: f64 = 0.8;
/// About so many isobars are drawn.
const ISOBARS: usize = 20;
/// Every so many lines get arrow heads.
const EVERY: usize = 3;

impl CellMap<'_> {
    /// Streaklines of equal flux over the obstacles. With the mean speed of their layer, m/s, they are coloured by speed over it.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn streaks(&self, lines: &[Streakline], coloured_by: Option<f64>) -> Result<Canvas> {
        let title = "Streaklines, the same flow between any two neighbours";
        let Some(mean) = coloured_by else {
            let (mut canvas, frame) = self.start("streaklines", title, 0.0, false)?;
            let places: Vec<&[Point]> = lines.iter().map(|line| line.points.as_slice()).collect();
            self.plain_lines(&mut canvas, &frame, &places)?;
            frame.note(&mut canvas, "equal flow between neighbours")?;
            return Ok(canvas);
        };
        let (mut canvas, frame) = self.start("streaklines_by_speed", title, 0.0, true)?;
        let range = extremes(lines.iter().flat_map(|line| &line.speeds).map(|s| s / mean));
        let classes = Classes::for_lines(&canvas, range, [0.0, 2.5], 7);
        self.coloured_lines(&mut canvas, &frame, lines, mean, &classes)?;
        self.finish(&mut canvas, &frame)?;
        let broader = if self.style.palette == Palette::Grey { ", faster is broader" } else { "" };
        frame.bar(&mut canvas, &classes, &format!("speed over the mean speed of the layer (1){broader}"))?;
        Ok(canvas)
    }

    /// Streamlines about `spacing` apart everywhere, m.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn even_lines(&self, stream: &[f64], spacing: f64) -> Result<Canvas> {
        let (mut canvas, frame) = self.start("lines_evenly_spaced", "Streamlines at even spacing", 0.0, false)?;
        let lines = evenly_spaced(self.mesh, &Locator::new(self.mesh), stream, spacing);
        let places: Vec<&[Point]> = lines.iter().map(Vec::as_slice).collect();
        self.plain_lines(&mut canvas, &frame, &places)?;
        frame.note(&mut canvas, &format!("lines about {} mm apart", (1e4 * spacing).round() / 10.0))?;
        Ok(canvas)
    }

    fn plain_lines(&self, canvas: &mut Canvas, frame: &MapFrame, lines: &[&[Point]]) -> Result<()> {
        let drawn: Vec<Vec<Point>> = lines.iter().map(|line| self.drawn_line(frame, line)).collect();
        canvas.clipped([&frame.corners()[..]], |canvas| {
            canvas.lines(drawn.iter().map(Vec::as_slice), Pen::new(LINE, Ink::Series(0)));
            heads(canvas, &drawn, Ink::Series(0));
            Ok(())
        })?;
        self.finish(canvas, frame)
    }

    fn coloured_lines(
        &self,
        canvas: &mut Canvas,
        frame: &MapFrame,
        lines: &[Streakline],
        mean: f64,
        classes: &Classes,
    ) -> Result<()> {
        let mut runs: Vec<Vec<Vec<Point>>> = vec![Vec::new(); classes.colours.len()];
        let class = |speed: f64| {
            let inner = &classes.limits[1..classes.colours.len().max(1)];
            inner.iter().filter(|&&limit| speed / mean >= limit).count()
        };
        for line in lines {
            let mut last = None;
            for (pair, speeds) in line.points.windows(2).zip(line.speeds.windows(2)) {
                let k = class(0.5 * (speeds[0] + speeds[1]));
                if last != Some(k) {
                    runs[k].push(vec![pair[0]]);
                    last = Some(k);
                }
                if let Some(run) = runs[k].last_mut() {
                    run.push(pair[1]);
                }
            }
        }
        let whole: Vec<Vec<Point>> = lines.iter().map(|line| self.drawn_line(frame, &line.points)).collect();
        // dark lines must be seen on a dark page as well
        canvas.area([&frame.corners()[..]], Ink::Rgb([255, 255, 255]), None);
        canvas.clipped([&frame.corners()[..]], |canvas| {
            for (k, (runs, &colour)) in runs.iter().zip(&classes.colours).enumerate() {
                let drawn: Vec<Vec<Point>> = runs.iter().map(|run| self.drawn_line(frame, run)).collect();
                let times = match self.style.palette {
                    Palette::Colour => 1.4,
                    // greys of lines are hard to tell apart: fast ones are broader as well
                    Palette::Grey => 0.5 + 2.0 * k as f64 / classes.colours.len() as f64,
                };
                canvas.lines(drawn.iter().map(Vec::as_slice), Pen::new(times * LINE, Ink::Rgb(colour)));
            }
            let [r, g, b] = Ink::Soft.colour(self.style.palette);
            heads(canvas, &whole, Ink::Rgb([r, g, b]));
            Ok(())
        })
    }

    /// Filled contours of the pressure coefficient 1 - (|V|/U)^2 of the inviscid flow, centred on zero.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn pressure_coefficient(&self, values: &[f64]) -> Result<Canvas> {
        let (mut canvas, frame) = self.start(
            "pressure_coefficient",
            "Pressure coefficient of the inviscid flow with these lines",
            0.0,
            true,
        )?;
        let range = extremes(values.iter().copied());
        let usual = self.usual(values, |_| true);
        let classes = Classes::about_zero(&canvas, range, [usual[0].max(-4.0), usual[1].min(1.0)], 10);
        self.fill(&mut canvas, &frame, values, &classes)?;
        self.levels(&mut canvas, &frame, values, &classes)?;
        self.finish(&mut canvas, &frame)?;
        frame.bar(&mut canvas, &classes, "pressure coefficient 1 − (|V|/U)² (1), inviscid flow with these lines")?;
        Ok(canvas)
    }

    /// Isobars of the cell's own pressure, Pa, at round steps.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn isobars(&self, pressure: &[f64]) -> Result<Canvas> {
        let (mut canvas, frame) = self.start("pressure", "Isobars of the cell's own pressure", 0.0, false)?;
        let [low, high] = extremes(pressure.iter().copied());
        let (factor, unit) = match low.abs().max(high.abs()) {
            most if most < 1.0 => (1e3, "mPa"),
            most if most < 1e4 => (1.0, "Pa"),
            _ => (1e-3, "kPa"),
        };
        let scaled: Vec<f64> = pressure.iter().map(|p| factor * p).collect();
        let step = self.isolines(&mut canvas, &frame, &scaled, ISOBARS, Pen::new(0.25, Ink::Series(0)))?;
        self.finish(&mut canvas, &frame)?;
        let step = super::scale::label(step, step);
        frame.note(&mut canvas, &format!("an isobar every {step} {unit}, the outlet at 0"))?;
        Ok(canvas)
    }

    /// Filled contours of the speed over the mean speed.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn speed_ratio(&self, values: &[f64]) -> Result<Canvas> {
        let (mut canvas, frame) = self.start("speed_ratio", "Speed over the mean speed", 0.0, true)?;
        let usual = self.usual(values, |_| true);
        let classes = Classes::rising(&canvas, extremes(values.iter().copied()), usual, 10);
        self.fill(&mut canvas, &frame, values, &classes)?;
        self.levels(&mut canvas, &frame, values, &classes)?;
        self.finish(&mut canvas, &frame)?;
        frame.bar(&mut canvas, &classes, "speed over the mean speed |V|/U (1)")?;
        Ok(canvas)
    }

    /// Streaklines from the same places at several heights, laid over one another, with the place where they part most drawn larger.
    /// Lines of one height stand together in `lines`, in the order of `heights`, the same number for each.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn layers(&self, lines: &[Streakline], heights: &[f64]) -> Result<Canvas> {
        let entries: Vec<Entry> = heights
            .iter()
            .enumerate()
            .map(|(k, height)| {
                let text = match *height {
                    0.0 => "mid-gap".to_owned(),
                    z => format!("{} of the way to a plate", (100.0 * z).round() / 100.0),
                };
                Entry { text, pen: Some(self.layer_pen(k)), mark: None }
            })
            .collect();
        let width = self.style.column.width() - 3.0;
        let above = legend(None, [0.0; 2], width, &entries)?;
        let title = "Streaklines at several heights in the gap";
        let (mut canvas, frame) = self.start("layers", title, above, false)?;
        legend(Some(&mut canvas), [1.5, 0.5], width, &entries)?;
        let sets: Vec<&[Streakline]> = lines.chunks(lines.len().div_ceil(heights.len().max(1)).max(1)).collect();
        self.draw_layers(&mut canvas, &frame, &sets)?;
        self.finish(&mut canvas, &frame)?;
        let (at, apart) = widest_parting(&sets);
        let seen = apart * frame.scale * LARGEST >= LEAST_PARTING;
        let hint = if seen { "" } else { ", too little to be seen" };
        frame.note(&mut canvas, &format!("largest distance {}{hint}", short(apart)))?;
        if seen {
            self.enlarge(&mut canvas, &frame, at, apart, &sets)?;
        }
        Ok(canvas)
    }

    fn layer_pen(&self, k: usize) -> Pen {
        // later ones on top, thinner and darker, of one hue, so that lines which coincide are all seen and do not mix to a colour of none
        match (self.style.palette, k) {
            (Palette::Colour, 0) => Pen::new(1.2, Ink::Pale),
            (Palette::Colour, 1) => Pen::new(0.5, Ink::Series(0)),
            (Palette::Colour, _) => Pen::new(0.14, Ink::Text),
            (Palette::Grey, 0) => Pen::new(1.1, Ink::Pale),
            (Palette::Grey, 1) => Pen::new(0.4, Ink::Text).dashed(1.4, 1.0),
            (Palette::Grey, _) => Pen::new(0.12, Ink::Text),
        }
    }

    fn draw_layers(&self, canvas: &mut Canvas, frame: &MapFrame, sets: &[&[Streakline]]) -> Result<()> {
        for (k, set) in sets.iter().enumerate() {
            let drawn: Vec<Vec<Point>> = set.iter().map(|line| self.drawn_line(frame, &line.points)).collect();
            canvas.lines(drawn.iter().map(Vec::as_slice), self.layer_pen(k));
        }
        Ok(())
    }

    /// Draws the neighbourhood of a place below the map, enlarged until a distance is seen.
    fn enlarge(
        &self,
        canvas: &mut Canvas,
        frame: &MapFrame,
        at: Point,
        apart: f64,
        sets: &[&[Streakline]],
    ) -> Result<()> {
        let times = super::scale::round_step((2.5 / (apart * frame.scale).max(1e-12)).clamp(4.0, LARGEST));
        let [width, height] = [canvas.width - 3.0, 0.32 * canvas.width];
        let size = [width / times, height / times];
        let corner: Point = std::array::from_fn(|k| {
            let most = self.extent[k] - size[k] / frame.scale;
            (at[k] - 0.5 * size[k] / frame.scale).clamp(0.0, most.max(0.0))
        });
        let [left, top] = [1.5, canvas.height + 2.0 + LETTER];
        canvas.height = top + height + 1.5;
        let place = frame.at(corner);
        let window = [place[0], place[1] - size[1], size[0], size[1]];
        canvas.line(&closed(window), Pen::new(0.35, Ink::Text));
        if size[0] < 3.0 {
            let middle = [window[0] + 0.5 * size[0], window[1] + 0.5 * size[1]];
            canvas.line(&closed([middle[0] - 1.5, middle[1] - 1.5, 3.0, 3.0]), Pen::new(0.35, Ink::Text));
        }
        let text = format!("the marked place, {times} times larger");
        canvas.text([left, top - 1.2], &text, Lettering::small(Anchor::Start))?;
        let scale = times * frame.scale;
        let origin = [left - scale * corner[0], top + height + scale * corner[1]];
        let near = MapFrame { origin, scale, extent: frame.extent, below: 0.0 };
        let edges = closed([left, top, width, height]);
        let window = Rect::of([corner, [0, 1].map(|k| corner[k] + size[k] / frame.scale)]);
        canvas.clipped([&edges[..4]], |canvas| {
            for (k, set) in sets.iter().enumerate() {
                let runs = set.iter().flat_map(|line| curved_within(&line.points, window));
                let drawn: Vec<Vec<Point>> = runs.map(|run| self.drawn_line(&near, &run)).collect();
                canvas.lines(drawn.iter().map(Vec::as_slice), self.layer_pen(k));
            }
            self.solids_within(canvas, &near, window);
            Ok(())
        })?;
        canvas.line(&edges, Pen::new(0.25, Ink::Soft));
        Ok(())
    }

    /// The pattern of the cell, without circulation, and the one with a smooth tail, as lines of equal flux of both stream functions.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn circulation(&self, streams: [&[f64]; 2], count: usize, tails: &[Point]) -> Result<Canvas> {
        let pens = [Pen::new(LINE, Ink::Series(0)), Pen::new(LINE, Ink::Series(1)).dashed(1.5, 0.7)];
        let texts = ["in the cell: no circulation", "inviscid flow that leaves the tail smoothly (not in the cell)"];
        let mut entries: Vec<Entry> = pens
            .iter()
            .zip(texts)
            .map(|(&pen, text)| Entry { text: text.into(), pen: Some(pen), mark: None })
            .collect();
        entries.push(Entry { text: "the tail".into(), pen: None, mark: Some((Mark::Triangle, Ink::Limit)) });
        let width = self.style.column.width() - 3.0;
        let above = legend(None, [0.0; 2], width, &entries)?;
        let title = "The pattern without and with circulation";
        let (mut canvas, frame) = self.start("circulation", title, above, false)?;
        legend(Some(&mut canvas), [1.5, 0.5], width, &entries)?;
        for (stream, pen) in streams.into_iter().zip(pens) {
            let [low, high] = extremes(stream.iter().copied());
            let levels = (0..count).map(|k| low + (k as f64 + 0.5) / count as f64 * (high - low));
            let lines: Vec<Vec<Point>> = levels
                .flat_map(|level| iso_lines(self.mesh, stream, level))
                .filter(|chain| !chain.closed)
                .map(|chain| self.drawn_line(&frame, &chain.points(&self.mesh.points)))
                .collect();
            canvas.lines(lines.iter().map(Vec::as_slice), pen);
        }
        self.finish(&mut canvas, &frame)?;
        tails.iter().for_each(|&tail| draw_mark(&mut canvas, frame.at(tail), Mark::Triangle, Ink::Limit));
        Ok(canvas)
    }
}

/// Arrow heads along every few lines.
fn heads(canvas: &mut Canvas, lines: &[Vec<Point>], ink: Ink) {
    for line in lines.iter().skip(EVERY / 2).step_by(EVERY) {
        let lengths: Vec<f64> = line.windows(2).map(|w| plane::distance(w[0], w[1])).collect();
        let whole: f64 = lengths.iter().sum();
        if whole < 6.0 * HEAD {
            continue;
        }
        for part in [0.3, 0.75] {
            let mut left = part * whole;
            for (w, &length) in line.windows(2).zip(&lengths) {
                if left <= length && length > 0.0 {
                    let along = [w[1][0] - w[0][0], w[1][1] - w[0][1]];
                    let s = left / length;
                    canvas.arrow_head([w[0][0] + s * along[0], w[0][1] + s * along[1]], along, HEAD, ink);
                    break;
                }
                left -= length;
            }
        }
    }
}

/// Where lines of the same start part most, and how far, m: each line's ordinate against that of the first height at the same
/// distance along the cell.
fn widest_parting(sets: &[&[Streakline]]) -> (Point, f64) {
    let mut widest = ([0.0; 2], 0.0);
    let Some((first, others)) = sets.split_first() else { return widest };
    for set in others {
        for (a, b) in first.iter().zip(set.iter()) {
            let mut k = 0;
            for p in &b.points {
                while k + 2 < a.points.len() && a.points[k + 1][0] < p[0] {
                    k += 1;
                }
                let [q, r] = [a.points[k], a.points[(k + 1).min(a.points.len() - 1)]];
                let step = [r[0] - q[0], r[1] - q[1]];
                let norm = plane::length(step);
                if !(q[0] <= p[0] && p[0] <= r[0] && norm > 0.0) {
                    continue;
                }
                let apart = ((p[1] - q[1]) * step[0] - (p[0] - q[0]) * step[1]).abs() / norm;
                if apart > widest.1 {
                    widest = (*p, apart);
                }
            }
        }
    }
    widest
}

/// The parts of a line that pass through a window, with places between its own on a cubic that leaves each as the parabola through it and
/// its neighbours does: enlarged, the straight steps of the line would show.
fn curved_within(line: &[Point], window: Rect) -> Vec<Vec<Point>> {
    const BETWEEN: usize = 16;
    let way = |k: usize| plane::way(line[k], line[k + 1]);
    // slope over the step from k on, in units of that step's length, at one of its ends
    let slope = |at: usize, step: f64| -> Point {
        let of = |k: usize| (way(k), plane::length(way(k)));
        match (at.checked_sub(1).map(of), (at + 1 < line.len()).then(|| of(at))) {
            (Some((a, p)), Some((b, q))) if p > 0.0 && q > 0.0 => {
                [0, 1].map(|i| step * (a[i] / p * q + b[i] / q * p) / (p + q))
            }
            (_, Some((d, length))) | (Some((d, length)), _) if length > 0.0 => d.map(|x| step * x / length),
            _ => [0.0; 2],
        }
    };
    let mut runs: Vec<Vec<Point>> = Vec::new();
    let mut last = None;
    for k in 0..line.len().saturating_sub(1) {
        let step = plane::length(way(k));
        if !Rect::of([line[k], line[k + 1]]).grown(step).overlaps(&window) {
            continue;
        }
        if last != Some(k) {
            runs.push(vec![line[k]]);
        }
        last = Some(k + 1);
        let (a, b) = (slope(k, step), slope(k + 1, step));
        let Some(run) = runs.last_mut() else { continue };
        run.extend((1..=BETWEEN).map(|n| {
            let s = n as f64 / BETWEEN as f64;
            let (whole, rest) = (s * s * (3.0 - 2.0 * s), 1.0 - s);
            [0, 1].map(|i| {
                let straight = line[k][i] + whole * (line[k + 1][i] - line[k][i]);
                straight + s * rest * (rest * a[i] - s * b[i])
            })
        }));
    }
    runs
}

fn closed([x, y, w, h]: [f64; 4]) -> [Point; 5] {
    [[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]]
}

/// A small length with three digits.
fn short(x: f64) -> String {
    let (factor, unit) = if x < 1e-5 { (1e6, "µm") } else { (1e3, "mm") };
    format!("{} {unit}", crate::base::units::significant(factor * x, 3))
}

/// Height of a row of small lettering, mm.
pub(super) const ROW: f64 = 1.5 * SMALL;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Column, Style};

    /// Lines of several heights differ in breadth by half or more, and in greys in lightness or dashes as well, so that each is known where
    /// they part and seen where they coincide: the broad ones are drawn first.
    #[test]
    fn heights_are_told_apart_in_any_palette() {
        let (case, plan) = crate::study::read("meshes/wall_pier.toml".as_ref()).unwrap();
        let goal = crate::theory::ideal::Goal::Triangles(500);
        let size = crate::theory::ideal::first_size_field(&plan, &case, goal).unwrap();
        let mesh = crate::numerics::mesh::Mesh::generate_with_count(&plan, &size, 500).unwrap();
        for palette in [Palette::Colour, Palette::Grey] {
            let map = CellMap::new(&mesh, Style { palette, column: Column::Double }, None);
            let pens = [0, 1, 2].map(|k| map.layer_pen(k));
            for pair in pens.windows(2) {
                assert!(pair[0].width >= 1.5 * pair[1].width, "{pens:?}");
                assert!(pair[0].ink != pair[1].ink || pair[0].dash != pair[1].dash, "{pens:?}");
            }
            // red never outweighs blue, as it does in brown
            for pen in pens {
                let [r, _, b] = pen.ink.colour(palette);
                assert!(r <= b, "{pen:?}");
            }
        }
    }

    /// A pressure that falls evenly from 2 Pa over a cell 2 m long: each value stands on its isobar, where the pressure is that, and nothing says
    /// that it is a coefficient; the bar of the coefficient says whose it is.
    #[test]
    fn isobars_carry_the_pressure_of_the_cell() {
        let mesh = super::super::contour::tests::mesh();
        for column in [Column::Single, Column::Double] {
            let map = CellMap::new(&mesh, Style { palette: Palette::Colour, column }, None);
            let pressure: Vec<f64> = mesh.points.iter().map(|p| 2.0 - p[0]).collect();
            let drawn = map.isobars(&pressure).unwrap();
            let (_, frame) = map.start("a", "b", 0.0, false).unwrap();
            let mut count = 0;
            for text in drawn.texts() {
                let Ok(value) = text.text.parse::<f64>() else { continue };
                let middle = 0.5 * (text.area[0] + text.area[2]);
                assert!((middle - frame.at([2.0 - value, 0.5])[0]).abs() < 0.05, "{text:?}");
                count += 1;
            }
            assert!(count >= 8 && drawn.texts().iter().any(|t| t.text == "an isobar every 0.1 Pa, the outlet at 0"));
            let coefficient = map.pressure_coefficient(&pressure).unwrap();
            let whose = coefficient.texts().iter().filter(|t| t.text.ends_with("inviscid flow with these lines"));
            assert_eq!(whose.count(), 1);
            assert!(drawn.crowded().is_empty() && coefficient.crowded().is_empty());
        }
    }

    /// A circle in steps of 10 degrees: chords stand off it by 1 - cos 5° = 4e-3 of its radius, the cubics by less than a twentieth of that, save in the first
    /// and last step, where one end has the slope of the chord. Only what the window sees is drawn.
    #[test]
    fn enlarged_lines_have_no_facets() {
        let circle: Vec<Point> = (0..37).map(|k| f64::from(10 * k).to_radians()).map(|a| [a.cos(), a.sin()]).collect();
        let whole = curved_within(&circle, Rect::of([[-2.0, -2.0], [2.0, 2.0]]));
        assert_eq!((whole.len(), whole[0].len()), (1, 1 + 36 * 16));
        let off = whole[0][16..35 * 16].iter().map(|p| (plane::length(*p) - 1.0).abs()).fold(0.0, f64::max);
        assert!(off < 2e-4, "{off}");
        let right = curved_within(&circle, Rect::of([[0.9, -0.2], [1.1, 0.2]]));
        assert_eq!(right.len(), 2, "the circle starts and ends there");
        assert!(right.iter().flatten().all(|p| p[0] > 0.8));
    }
}
