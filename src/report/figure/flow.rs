//! Maps of the flow: streaklines, pressure coefficient, speed, layers, circulation.

use super::axes::{Entry, Mark, draw_mark, legend};
use super::canvas::Canvas;
use super::cell::{CellMap, extremes};
use super::frame::{Classes, MapFrame};
use super::spacing::evenly_spaced;
use super::style::{Ink, Palette, Pen, SMALL};
use crate::base::plane;
use crate::base::{Point, Result};
use crate::numerics::contour::iso_lines;
use crate::numerics::mesh::{Locator, Mesh};
use crate::theory::streaklines::{Band, Streakline};

/// Width of a streakline, mm.
const LINE: f64 = 0.32;
/// Width of the line in the middle of dye that is drawn to scale, mm: it is seen where the dye is thinner.
const MIDDLE: f64 = 0.1;
/// Length of arrow heads on lines, mm.
const HEAD: f64 = 1.9;
/// About so many isobars are drawn.
const ISOBARS: usize = 20;
/// Every so many lines get arrow heads.
const EVERY: usize = 3;

/// Dye lines, and what is to be said of them.
#[derive(Debug, Clone, Copy)]
pub struct Streaks<'a> {
    /// The lines.
    pub lines: &'a [Streakline],
    /// The dye to scale, of needles that have a diameter.
    pub bands: &'a [Band],
    /// What they are.
    pub title: &'a str,
    /// How their starts were chosen.
    pub note: &'a str,
}

impl CellMap<'_> {
    /// Streaklines over the obstacles. With the mean speed of their layer, m/s, they are coloured by speed over it.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn streaks(&self, streaks: &Streaks, coloured_by: Option<f64>) -> Result<Canvas> {
        let Streaks { lines, bands, title, note } = *streaks;
        let Some(mean) = coloured_by else {
            let (mut canvas, frame) = self.start("streaklines", title, 0.0, false)?;
            let places: Vec<&[Point]> = lines.iter().map(|line| line.points.as_slice()).collect();
            let pen = self.bands(&mut canvas, &frame, bands)?;
            self.plain_lines(&mut canvas, &frame, &places, pen)?;
            frame.note(&mut canvas, note)?;
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
        self.plain_lines(&mut canvas, &frame, &places, Pen::new(LINE, Ink::Series(0)))?;
        frame.note(&mut canvas, &format!("lines about {} mm apart", (1e4 * spacing).round() / 10.0))?;
        Ok(canvas)
    }

    /// The dye to scale, and the pen for the lines in its middle.
    fn bands(&self, canvas: &mut Canvas, frame: &MapFrame, bands: &[Band]) -> Result<Pen> {
        if bands.is_empty() {
            return Ok(Pen::new(LINE, Ink::Series(0)));
        }
        canvas.clipped([&frame.corners()[..]], |canvas| {
            // one by one: where two lie over one another even and odd would leave a hole
            for band in bands {
                canvas.area([&self.drawn_line(frame, &band.outline())[..]], Ink::Series(0), None);
            }
            Ok(())
        })?;
        Ok(Pen::new(MIDDLE, Ink::Series(0)))
    }

    fn plain_lines(&self, canvas: &mut Canvas, frame: &MapFrame, lines: &[&[Point]], pen: Pen) -> Result<()> {
        let drawn: Vec<Vec<Point>> = lines.iter().map(|line| self.drawn_line(frame, line)).collect();
        canvas.clipped([&frame.corners()[..]], |canvas| {
            canvas.lines(drawn.iter().map(Vec::as_slice), pen);
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
        self.ground(canvas, frame, Ink::Rgb([255, 255, 255]));
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

    /// The pattern with the bubbles that stand in the cell, over the one without them on a mesh of its own, as lines of equal flux of both
    /// stream functions, m3/s.
    ///
    /// # Errors
    /// As [`CellMap::streaks`].
    pub fn bubbles(&self, with: &[f64], without: (&Mesh, &[f64]), count: usize) -> Result<Canvas> {
        let pens = [Pen::new(LINE, Ink::Series(1)).dashed(1.5, 0.7), Pen::new(LINE, Ink::Series(0))];
        let texts = ["without the bubbles", "with them"];
        let entry = |(&pen, text): (&Pen, &str)| Entry { text: text.into(), pen: Some(pen), mark: None };
        let mut entries: Vec<Entry> = pens.iter().zip(texts).map(entry).collect();
        entries.push(Entry { text: "a bubble".into(), pen: None, mark: Some((Mark::Ring, Ink::Soft)) });
        let width = self.style.column.width() - 3.0;
        let above = legend(None, [0.0; 2], width, &entries)?;
        let (mut canvas, frame) = self.start("bubble", "The pattern with and without bubbles", above, false)?;
        legend(Some(&mut canvas), [1.5, 0.5], width, &entries)?;
        let [low, high] = extremes(with.iter().copied());
        for ((mesh, stream), pen) in [without, (self.mesh, with)].into_iter().zip(pens) {
            let levels = (0..count).map(|k| low + (k as f64 + 0.5) / count as f64 * (high - low));
            let lines: Vec<Vec<Point>> = levels
                .flat_map(|level| iso_lines(mesh, stream, level))
                .filter(|chain| !chain.closed)
                .map(|chain| self.drawn_line(&frame, &chain.points(&mesh.points)))
                .collect();
            canvas.lines(lines.iter().map(Vec::as_slice), pen);
        }
        self.finish(&mut canvas, &frame)?;
        frame.note(&mut canvas, "equal flow between neighbours")?;
        Ok(canvas)
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

/// Height of a row of small lettering, mm.
pub(super) const ROW: f64 = 1.5 * SMALL;

#[cfg(test)]
mod tests;
