//! Figures of a comparison with the bench: the picture under theory, the shifts in place, what is left along the lines, the marks.

use super::axes::{Axes, Entry, legend};
use super::canvas::Canvas;
use super::cell::CellMap;
use super::frame::{Classes, MapFrame};
use super::lettering::{Anchor, Lettering};
use super::pixels::encoded;
use super::scale::Scale;
use super::style::{Ink, LETTER, Pen, SMALL, Style};
use crate::base::plane::distance;
use crate::base::{Point, Result};
use crate::numerics::contour::iso_lines;

/// Radius of a station, mm.
const STATION: f64 = 0.3;
/// Least distance of drawn stations, mm.
const APART: f64 = 1.8;
/// Height of a chart, mm.
const CHART: f64 = 46.0;
/// Side of an enlarged mark, mm.
const ENLARGED: f64 = 38.0;
/// Dark and light of lines over a photograph, which must be seen on any of its tones.
const DARK: Ink = Ink::Rgb([20, 20, 24]);
const LIGHT: Ink = Ink::Rgb([255, 255, 255]);

/// Pixels of a picture: columns, rows, red, green and blue of each pixel from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tiles {
    /// Columns and rows.
    pub size: [u32; 2],
    /// Three bytes a pixel.
    pub rgb: Vec<u8>,
}

impl Tiles {
    /// As a PNG file.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if they do not fill the size.
    pub fn png(&self) -> Result<Vec<u8>> {
        encoded(self.size, png::ColorType::Rgb, &self.rgb)
    }
}

/// A place of a traced line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Traced {
    /// Where, m.
    pub at: Point,
    /// Shift to the left of the flow, m.
    pub shift: f64,
    /// Direction of the flow there, of length one.
    pub along: [f64; 2],
}

/// A picture over theory.
#[derive(Debug, Clone, Copy)]
pub struct Overlay<'a> {
    /// The picture as seen from above, over the whole cell; none where lines came from a table.
    pub picture: Option<&'a Tiles>,
    /// Stream function of the ideal pattern at the vertices of the map, and its values on the lines.
    pub stream: &'a [f64],
    /// See `stream`.
    pub levels: &'a [f64],
    /// Traced lines.
    pub lines: &'a [Vec<Traced>],
    /// By how much shifts are drawn larger.
    pub magnified: f64,
}

impl CellMap<'_> {
    /// The picture, lines of the ideal pattern over it, stations of the traced lines, and their shifts drawn larger.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn overlay(&self, overlay: &Overlay) -> Result<Canvas> {
        let (mut canvas, frame) = self.start("overlay", "Traced lines over the ideal pattern", 0.0, false)?;
        if let Some(picture) = overlay.picture {
            let [left, top] = frame.at([frame.low[0], frame.low[1] + frame.extent[1]]);
            canvas.picture([left, top, frame.scale * frame.extent[0], frame.height()], picture.png()?);
        }
        canvas.clipped([&frame.corners()[..]], |canvas| {
            let points = &self.mesh.points;
            let ideal: Vec<Vec<Point>> = overlay
                .levels
                .iter()
                .flat_map(|level| iso_lines(self.mesh, overlay.stream, *level))
                .map(|chain| self.drawn_line(&frame, &chain.points(points)))
                .collect();
            let ideal = || ideal.iter().map(Vec::as_slice);
            canvas.lines(ideal(), Pen::new(0.55, LIGHT));
            canvas.lines(ideal(), Pen::new(0.25, Ink::Series(0)));
            let larger: Vec<Vec<Point>> =
                overlay.lines.iter().map(|line| self.larger(&frame, line, overlay.magnified)).collect();
            let larger = || larger.iter().map(Vec::as_slice);
            canvas.lines(larger(), Pen::new(0.75, LIGHT));
            canvas.lines(larger(), Pen::new(0.4, Ink::Series(1)).dashed(1.2, 0.7));
            for station in overlay.lines.iter().flat_map(|line| thinned(&frame, line)) {
                canvas.disc(frame.at(station.at), STATION, LIGHT, Some(Pen::new(0.15, DARK)));
            }
            Ok(())
        })?;
        // the photograph shows its own solids
        if overlay.picture.is_some() {
            frame.draw_rulers(&mut canvas)?;
            frame.walls(&mut canvas, &self.edge);
            frame.strip(&mut canvas)?;
        } else {
            self.finish(&mut canvas, &frame)?;
        }
        let factor = overlay.magnified;
        frame.note(
            &mut canvas,
            &format!("rings: stations; solid: ideal; dashed: shifts drawn {factor} times as large"),
        )?;
        Ok(canvas)
    }

    /// A traced line where it would be if its shifts were so many times as large; broken where stations are missing.
    fn larger(&self, frame: &MapFrame, line: &[Traced], factor: f64) -> Vec<Point> {
        let moved = |station: &Traced| {
            let [u, v] = station.along;
            let by = (factor - 1.0) * station.shift;
            frame.at([station.at[0] - by * v, station.at[1] + by * u])
        };
        line.iter().map(moved).collect()
    }

    /// Shifts against the ideal pattern where they were measured.
    ///
    /// # Errors
    /// As [`CellMap::overlay`].
    pub fn shift_map(&self, lines: &[Vec<Traced>]) -> Result<Canvas> {
        let title = "Shift of traced lines from the ideal pattern, to the left of the flow";
        let (mut canvas, frame) = self.start("shift_map", title, 0.0, true)?;
        let shifts: Vec<f64> = lines.iter().flatten().map(|station| 1e3 * station.shift).collect();
        let largest = shifts.iter().fold(1e-3, |a: f64, x| a.max(x.abs()));
        let classes = Classes::about_zero(&canvas, [-largest, largest], [-largest, largest], 9);
        canvas.clipped([&frame.corners()[..]], |canvas| {
            let tracks: Vec<Vec<Point>> =
                lines.iter().map(|line| line.iter().map(|station| frame.at(station.at)).collect()).collect();
            canvas.lines(tracks.iter().map(Vec::as_slice), Pen::new(0.15, Ink::Soft));
            for station in lines.iter().flatten() {
                let colour = Ink::Rgb(classes.colour(1e3 * station.shift));
                canvas.disc(frame.at(station.at), 3.0 * STATION, colour, None);
            }
            Ok(())
        })?;
        self.finish(&mut canvas, &frame)?;
        frame.bar(&mut canvas, &classes, "shift from the ideal pattern, to the left of the flow (mm)")?;
        Ok(canvas)
    }
}

/// The stations of a line that have room on the paper.
fn thinned<'t>(frame: &MapFrame, line: &'t [Traced]) -> Vec<&'t Traced> {
    let mut kept: Vec<&Traced> = Vec::new();
    for station in line {
        let is_free = |last: &&Traced| distance(frame.at(last.at), frame.at(station.at)) >= APART;
        if kept.last().is_none_or(is_free) {
            kept.push(station);
        }
    }
    kept
}

/// What is left of shifts along lines: arcs and shifts of each line, m.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// Against what.
    pub name: String,
    /// Pairs of x in the cell and shift, line by line, m.
    pub lines: Vec<Vec<[f64; 2]>>,
}

/// Charts of shifts over the way along the cell, one for each theory, with a band of two standard deviations of a station, m.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn residual_along(style: Style, charts: &[Left], sigma: f64) -> Result<Canvas> {
    let width = style.column.width();
    let (above, below) = (9.0, 2.1 * LETTER + 6.0);
    let foot = legend(None, [0.0; 2], width - 18.0, &entries(style, sigma))? + 4.0;
    let height = charts.len() as f64 * (CHART + above + below) + foot;
    let mut canvas = Canvas::new("residual_along", "Shifts of traced lines along the cell", height, style);
    let all = || charts.iter().flat_map(|chart| &chart.lines).flatten();
    let range = |k: usize| {
        all().map(|pair| 1e3 * pair[k]).fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], x| [a.min(x), b.max(x)])
    };
    let largest = range(1).map(f64::abs).into_iter().fold(2e3 * sigma, f64::max).max(1e-3);
    for (k, chart) in charts.iter().enumerate() {
        let top = above + k as f64 * (CHART + above + below);
        let axes = Axes {
            frame: [15.0, top, width - 18.0, CHART],
            x: Scale::linear(range(0), 6),
            y: Scale::linear([-largest, largest], 5),
        };
        axes.draw(&mut canvas, "x in the cell, mm", &format!("shift against {}, mm", chart.name))?;
        axes.band(&mut canvas, -2e3 * sigma, 2e3 * sigma, Ink::Grid)?;
        for line in &chart.lines {
            let values: Vec<[f64; 2]> = line.iter().map(|pair| pair.map(|x| 1e3 * x)).collect();
            axes.line(&mut canvas, &values, Pen::new(0.25, Ink::Series(0)))?;
        }
    }
    legend(Some(&mut canvas), [15.0, height - foot + 2.0], width - 18.0, &entries(style, sigma))?;
    Ok(canvas)
}

fn entries(style: Style, sigma: f64) -> Vec<Entry> {
    let band = format!("two standard deviations of a station, {:.3} mm", 2e3 * sigma);
    vec![
        Entry { text: "each traced line".into(), pen: Some(Pen { width: 0.25, ..style.series(0) }), mark: None },
        Entry { text: band, pen: Some(Pen::new(2.2, Ink::Grid)), mark: None },
    ]
}

/// A mark of a photograph, enlarged.
#[derive(Debug, Clone, PartialEq)]
pub struct Enlarged {
    /// What is written below it, in two lines.
    pub words: [String; 2],
    /// The picture round the click.
    pub tiles: Tiles,
    /// Its centre as found, columns and rows of the tiles; none if nothing was found.
    pub centre: Option<Point>,
    /// The click.
    pub click: Point,
}

/// The marks of a photograph side by side, each with its click and the centre found.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn marks(style: Style, marks: &[Enlarged]) -> Result<Canvas> {
    let width = style.column.width();
    let columns = ((width - 2.0) / (ENLARGED + 4.0)).floor().max(1.0) as usize;
    let row = ENLARGED + 2.6 * LETTER + 4.0;
    let rows = marks.len().div_ceil(columns);
    let height = rows as f64 * row + 2.4 * LETTER;
    let mut canvas = Canvas::new("marks", "The marks of the photograph and their centres as found", height, style);
    // one paper under light and dark words
    canvas.rectangle([0.0, 0.0, width, height], Ink::Paper, None);
    for (k, mark) in marks.iter().enumerate() {
        let [left, top] = [2.0 + (k % columns) as f64 * (ENLARGED + 4.0), 2.0 + (k / columns) as f64 * row];
        let [across, down] = mark.tiles.size.map(f64::from);
        let scale = ENLARGED / across.max(down).max(1.0);
        canvas.picture([left, top, scale * across, scale * down], mark.tiles.png()?);
        let at = |[u, v]: Point| [left + scale * u, top + scale * v];
        let cross = |canvas: &mut Canvas, centre: Point, arm: f64, gap: f64, pen: Pen| {
            let [x, y] = at(centre);
            for [u, v] in [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]] {
                canvas.line(&[[x + gap * u, y + gap * v], [x + arm * u, y + arm * v]], pen);
            }
        };
        let frame = [
            [left, top],
            [left + scale * across, top],
            [left + scale * across, top + scale * down],
            [left, top + scale * down],
        ];
        canvas.clipped([&frame[..]], |canvas| {
            cross(canvas, mark.click, 2.0, 1.0, Pen::new(0.5, LIGHT));
            cross(canvas, mark.click, 2.0, 1.0, Pen::new(0.25, Ink::Series(1)));
            if let Some(centre) = mark.centre {
                cross(canvas, centre, 9.0, 0.4, Pen::new(0.5, LIGHT));
                cross(canvas, centre, 9.0, 0.4, Pen::new(0.2, Ink::Limit));
            }
            Ok(())
        })?;
        canvas.edges([&frame[..]], Pen::new(0.2, Ink::Soft));
        let lettering = Lettering::small(Anchor::Start).ink(Ink::Text);
        for (line, words) in mark.words.iter().enumerate() {
            let words = super::axes::shortened(words, ENLARGED, lettering)?;
            canvas.text([left, top + ENLARGED + 1.2 + (line as f64 + 1.0) * 1.25 * SMALL], &words, lettering)?;
        }
    }
    let note = "long cross: centre as found; short cross: click";
    canvas.text([2.0, height - 0.8 * LETTER], note, Lettering::small(Anchor::Start).ink(Ink::Text))?;
    Ok(canvas)
}
