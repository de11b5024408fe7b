//! Charts: a frame with two scales, lines, bands, limits, slopes, and a legend that stands outside the frame.

use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::scale::Scale;
use super::style::{Ink, LETTER, Pen, SMALL};
use crate::base::{Point, Result};

/// The frame of a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axes {
    /// Left, top, width, height, mm.
    pub frame: [f64; 4],
    /// Scale to the right.
    pub x: Scale,
    /// Scale upwards.
    pub y: Scale,
}

/// A sign at data points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A disc.
    Disc,
    /// A ring.
    Ring,
    /// A square.
    Square,
    /// A triangle.
    Triangle,
    /// A square on its corner.
    Diamond,
    /// A cross.
    Cross,
}

/// Half the width of the ends of lines of errors, mm.
const ERROR_END: f64 = 0.6;

impl Mark {
    /// The mark of a series, counted from 0; the first six differ.
    pub fn series(k: usize) -> Mark {
        [Mark::Disc, Mark::Square, Mark::Triangle, Mark::Ring, Mark::Diamond, Mark::Cross][k % 6]
    }
}

/// An entry of a legend.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What it is.
    pub text: String,
    /// Its line, if it has one.
    pub pen: Option<Pen>,
    /// Its mark, if it has one.
    pub mark: Option<(Mark, Ink)>,
}

impl Axes {
    /// Where a pair of values stands.
    pub fn at(&self, x: f64, y: f64) -> Point {
        let [left, top, width, height] = self.frame;
        [left + width * self.x.part(x), top + height * (1.0 - self.y.part(y))]
    }

    /// Draws frame, grid, ticks and the names of the axes with their units.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn draw(&self, canvas: &mut Canvas, x_name: &str, y_name: &str) -> Result<()> {
        self.ticks_along(canvas)?;
        self.ticks_upwards(canvas)?;
        self.named(canvas, x_name, y_name, 1.2 + SMALL)
    }

    /// Draws grid and ticks of x.
    ///
    /// # Errors
    /// As [`Axes::draw`].
    pub(super) fn ticks_along(&self, canvas: &mut Canvas) -> Result<()> {
        let [left, top, width, height] = self.frame;
        let small = Lettering::small(Anchor::Middle);
        let mut edge = f64::NEG_INFINITY;
        for tick in self.x.ticks((width / if self.x.log { 9.0 } else { 16.0 }).max(2.0) as usize) {
            let x = left + width * self.x.part(tick.value);
            if !tick.label.is_empty() {
                canvas.line(&[[x, top], [x, top + height]], Pen::new(0.12, Ink::Grid));
                let half = 0.5 * small.width(&tick.label)?;
                if x - half > edge + 1.0 {
                    canvas.text([x, top + height + 1.2 + SMALL], &tick.label, small)?;
                    edge = x + half;
                }
            }
            let length = if tick.label.is_empty() { 0.7 } else { 1.2 };
            canvas.line(&[[x, top + height], [x, top + height + length]], Pen::new(0.2, Ink::Soft));
        }
        Ok(())
    }

    /// Draws grid and ticks of y.
    ///
    /// # Errors
    /// As [`Axes::draw`].
    pub(super) fn ticks_upwards(&self, canvas: &mut Canvas) -> Result<()> {
        let [left, top, width, height] = self.frame;
        let mut edge = f64::INFINITY;
        for tick in self.y.ticks((height / 9.0).max(2.0) as usize) {
            let y = top + height * (1.0 - self.y.part(tick.value));
            if !tick.label.is_empty() {
                canvas.line(&[[left, y], [left + width, y]], Pen::new(0.12, Ink::Grid));
                if y + 0.6 * SMALL < edge {
                    canvas.text([left - 1.7, y + 0.36 * SMALL], &tick.label, Lettering::small(Anchor::End))?;
                    edge = y - 0.6 * SMALL;
                }
            }
            let length = if tick.label.is_empty() { 0.7 } else { 1.2 };
            canvas.line(&[[left - length, y], [left, y]], Pen::new(0.2, Ink::Soft));
        }
        Ok(())
    }

    /// Draws the frame and the names of the axes, that of x below what takes so much room under the frame, mm.
    ///
    /// # Errors
    /// As [`Axes::draw`].
    pub(super) fn named(&self, canvas: &mut Canvas, x_name: &str, y_name: &str, depth: f64) -> Result<()> {
        let [left, top, width, height] = self.frame;
        canvas.line(&[[left, top], [left, top + height], [left + width, top + height]], Pen::new(0.25, Ink::Soft));
        let middle = Lettering::label(Anchor::Middle);
        let below = depth + 0.4 - SMALL + 2.1 * LETTER;
        canvas.text([left + 0.5 * width, top + height + below], x_name, middle)?;
        let over = Lettering::label(Anchor::Start);
        canvas.text([(left - 12.0).max(1.0), top - 2.2], y_name, over)
    }

    /// Draws a line through pairs of values; what is not finite breaks it, what is outside the frame is cut off.
    pub fn line(&self, canvas: &mut Canvas, values: &[[f64; 2]], pen: Pen) -> Result<()> {
        let places: Vec<Vec<Point>> = values
            .split(|[x, y]| !self.shows(*x, *y))
            .map(|run| run.iter().map(|&[x, y]| self.at(x, y)).collect())
            .collect();
        self.inside(canvas, |canvas| {
            canvas.lines(places.iter().map(Vec::as_slice), pen);
            Ok(())
        })
    }

    /// Draws marks at pairs of values within the frame.
    pub fn marks(&self, canvas: &mut Canvas, values: &[[f64; 2]], mark: Mark, ink: Ink) {
        for &[x, y] in values.iter().filter(|[x, y]| self.shows(*x, *y)) {
            let within = |part: f64| (-1e-9..=1.0 + 1e-9).contains(&part);
            if within(self.x.part(x)) && within(self.y.part(y)) {
                draw_mark(canvas, self.at(x, y), mark, ink);
            }
        }
    }

    /// Draws upright lines as long as the errors of values, to both sides, with short ends: x, y and error each.
    pub fn errors(&self, canvas: &mut Canvas, values: &[[f64; 3]], ink: Ink) -> Result<()> {
        let pen = Pen::new(0.25, ink);
        self.inside(canvas, |canvas| {
            for &[x, y, error] in values.iter().filter(|[x, y, error]| self.shows(*x, *y) && *error > 0.0) {
                let foot = if self.y.log { (y - error).max(1e-3 * self.y.from) } else { y - error };
                let [low, high] = [self.at(x, foot), self.at(x, y + error)];
                let ends = [low, high].map(|[x, y]| [[x - ERROR_END, y], [x + ERROR_END, y]]);
                canvas.lines([&[low, high][..], &ends[0], &ends[1]], pen);
            }
            Ok(())
        })
    }

    /// Fills the band between two values of y.
    pub fn band(&self, canvas: &mut Canvas, low: f64, high: f64, ink: Ink) -> Result<()> {
        let [left, _, width, _] = self.frame;
        let (a, b) = (self.at(self.x.from, high)[1], self.at(self.x.from, low)[1]);
        self.inside(canvas, |canvas| {
            canvas.rectangle([left, a, width, b - a], ink, None);
            Ok(())
        })
    }

    /// Fills what lies between two lines over the same x.
    pub fn between(&self, canvas: &mut Canvas, low: &[[f64; 2]], high: &[[f64; 2]], ink: Ink) -> Result<()> {
        let shown = |line: &[[f64; 2]]| -> Vec<Point> {
            line.iter().filter(|[x, y]| self.shows(*x, *y)).map(|&[x, y]| self.at(x, y)).collect()
        };
        let outline: Vec<Point> = shown(low).into_iter().chain(shown(high).into_iter().rev()).collect();
        self.inside(canvas, |canvas| {
            canvas.area([outline.as_slice()], ink, None);
            Ok(())
        })
    }

    /// Draws a limit across the frame, if it is within, with its name, if any, above its right end.
    pub fn limit(&self, canvas: &mut Canvas, y: f64, name: &str) -> Result<()> {
        if !(0.0..=1.0).contains(&self.y.part(y)) {
            return Ok(());
        }
        let [left, _, width, _] = self.frame;
        let at = self.at(self.x.from, y)[1];
        canvas.line(&[[left, at], [left + width, at]], Pen::new(0.35, Ink::Limit).dashed(1.8, 0.9));
        if name.is_empty() {
            return Ok(());
        }
        let lettering = Lettering::small(Anchor::End).ink(Ink::Limit).rimmed();
        canvas.text([left + width - 0.8, at - 0.9], name, lettering)
    }

    /// Draws a triangle whose long side has a slope in logarithmic scales, its left corner at a pair of values and as wide as a
    /// factor of x, with the slope written at its upright side.
    pub fn slope(&self, canvas: &mut Canvas, corner: [f64; 2], factor: f64, slope: f64, name: &str) -> Result<()> {
        let [x, y] = corner;
        let [a, b, c] = [self.at(x, y), self.at(x * factor, y), self.at(x * factor, y * factor.powf(slope))];
        canvas.area([&[a, b, c][..]], Ink::Grid, Some(Pen::new(0.2, Ink::Soft)));
        let lettering = Lettering::small(Anchor::Start);
        canvas.text([b[0] + 0.8, 0.5 * (b[1] + c[1]) + 0.36 * SMALL], name, lettering)
    }

    /// Draws with everything outside the frame cut off.
    pub fn inside(&self, canvas: &mut Canvas, draw: impl FnOnce(&mut Canvas) -> Result<()>) -> Result<()> {
        let [x, y, w, h] = self.frame;
        canvas.clipped([&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]][..]], draw)
    }

    fn shows(&self, x: f64, y: f64) -> bool {
        let good = |value: f64, scale: &Scale| value.is_finite() && (!scale.log || value > 0.0);
        good(x, &self.x) && good(y, &self.y)
    }
}

/// Draws a mark.
pub fn draw_mark(canvas: &mut Canvas, [x, y]: Point, mark: Mark, ink: Ink) {
    match mark {
        Mark::Disc => canvas.disc([x, y], 0.75, ink, None),
        Mark::Ring => canvas.disc([x, y], 0.75, Ink::Paper, Some(Pen::new(0.3, ink))),
        Mark::Square => canvas.rectangle([x - 0.65, y - 0.65, 1.3, 1.3], ink, None),
        Mark::Triangle => canvas.area([&[[x - 0.8, y + 0.6], [x + 0.8, y + 0.6], [x, y - 0.8]][..]], ink, None),
        Mark::Diamond => canvas.area([&[[x - 0.9, y], [x, y - 0.9], [x + 0.9, y], [x, y + 0.9]][..]], ink, None),
        Mark::Cross => {
            let [a, b] = [[[x - 0.7, y - 0.7], [x + 0.7, y + 0.7]], [[x - 0.7, y + 0.7], [x + 0.7, y - 0.7]]];
            canvas.lines([&a[..], &b[..]], Pen::new(0.35, ink));
        }
    }
}

/// Draws the entries of a legend in rows from a place on, within a width, mm; returns the height it takes, mm. With no canvas to draw
/// on it only measures. An entry with neither line nor mark is a text alone. A text wider than the width ends in dots.
pub fn legend(canvas: Option<&mut Canvas>, at: Point, width: f64, entries: &[Entry]) -> Result<f64> {
    const SAMPLE: f64 = 6.0;
    let row = 1.5 * LETTER;
    let lettering = Lettering { ink: Ink::Text, ..Lettering::small(Anchor::Start) };
    let (mut x, mut y) = (0.0, 0.0);
    let mut canvas = canvas;
    for entry in entries {
        let sample = if entry.pen.is_some() || entry.mark.is_some() { SAMPLE + 1.2 } else { 0.0 };
        let text = shortened(&entry.text, width - sample, lettering)?;
        let needs = sample + lettering.width(&text)?;
        if x > 0.0 && x + needs > width {
            (x, y) = (0.0, y + row);
        }
        if let Some(canvas) = canvas.as_deref_mut() {
            let [left, base] = [at[0] + x, at[1] + y + 0.5 * row];
            if let Some(pen) = entry.pen {
                canvas.line(&[[left, base], [left + SAMPLE, base]], pen);
            }
            if let Some((mark, ink)) = entry.mark {
                draw_mark(canvas, [left + 0.5 * SAMPLE, base], mark, ink);
            }
            canvas.text([left + sample, base + 0.36 * SMALL], &text, lettering)?;
        }
        x += needs + 4.0;
    }
    Ok(if entries.is_empty() { 0.0 } else { y + row })
}

/// A text, its end replaced by dots if it is wider than so many millimetres.
pub(super) fn shortened(text: &str, width: f64, lettering: Lettering) -> Result<String> {
    let mut kept = text;
    let mut shown = text.to_owned();
    while !kept.is_empty() && lettering.width(&shown)? > width {
        kept = kept.char_indices().next_back().map_or("", |(last, _)| &kept[..last]);
        shown = format!("{}…", kept.trim_end());
    }
    Ok(shown)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Column, Palette, Style};

    #[test]
    fn a_legend_stays_within_its_width() {
        let style = Style { palette: Palette::Colour, column: Column::Single };
        let entry = |text: &str| Entry { text: text.into(), pen: Some(style.series(0)), mark: None };
        let entries = [entry("short"), entry(&"a name without an end ".repeat(9)), entry("short")];
        let height = legend(None, [1.5, 1.0], 82.0, &entries).unwrap();
        assert!((height - 3.0 * 1.5 * LETTER).abs() < 1e-12, "three rows: {height}");
        let mut canvas = Canvas::new("a", "b", 1.0 + height, style);
        legend(Some(&mut canvas), [1.5, 1.0], 82.0, &entries).unwrap();
        assert!(canvas.crowded().is_empty() && canvas.texts()[1].text.ends_with("an…"), "{:?}", canvas.texts());
    }
}
