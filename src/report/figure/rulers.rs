//! Rulers round a map: ticks at round lengths on all four sides, figures below and on the left, the unit at the corner they share.

use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::scale::{label, round_step};
use super::style::{Ink, Pen, SMALL};
use crate::base::{Point, Result};

/// Length of a tick, mm.
const TICK: f64 = 1.0;
/// Least distance between two ticks along and across, mm.
const APART: [f64; 2] = [22.0, 14.0];

/// Rulers of a rectangle on a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rulers<'a> {
    /// Coordinates of its left lower corner, in the unit that is printed.
    pub from: Point,
    /// Coordinates of its right upper corner.
    pub to: Point,
    /// Millimetres of the drawing per unit.
    pub scale: f64,
    /// The name of the unit.
    pub unit: &'a str,
}

impl Rulers<'_> {
    /// Coordinate and figures of every tick along x or y.
    fn ticks(&self, axis: usize) -> Vec<(f64, String)> {
        let step = round_step(APART[axis] / self.scale);
        let (first, last) = ((self.from[axis] / step - 1e-9).ceil(), (self.to[axis] / step + 1e-9).floor());
        let count = (last - first).clamp(0.0, 1000.0) as usize;
        (0..=count).map(|k| (first + k as f64) * step).map(|at| (at, label(at, step))).collect()
    }

    /// Room that the figures take on the left and below, mm.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn room(&self) -> Result<[f64; 2]> {
        let lettering = Lettering::small(Anchor::End);
        // the unit stands beside the first figure of x
        let first = self.ticks(0).first().map_or(Ok(0.0), |(_, name)| lettering.width(name))?;
        let mut widest = lettering.width(self.unit)? + (0.5 * first - TICK).max(0.0);
        for (_, name) in self.ticks(1) {
            widest = widest.max(lettering.width(&name)?);
        }
        Ok([widest + TICK + 0.8, SMALL + TICK + 0.8])
    }

    /// Draws them round a rectangle whose left lower corner is at a place of the drawing.
    ///
    /// # Errors
    /// As [`Rulers::room`].
    pub fn draw(&self, canvas: &mut Canvas, [left, bottom]: Point) -> Result<()> {
        let size = [0, 1].map(|k| self.scale * (self.to[k] - self.from[k]));
        let (right, top) = (left + size[0], bottom - size[1]);
        let pen = Pen::new(0.2, Ink::Soft);
        canvas.line(&[[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]], pen);
        let base = bottom + TICK + 0.5 + 0.72 * SMALL;
        for (value, name) in self.ticks(0) {
            let x = left + self.scale * (value - self.from[0]);
            canvas.line(&[[x, bottom], [x, bottom + TICK]], pen);
            canvas.line(&[[x, top], [x, top - TICK]], pen);
            let lettering = Lettering::small(Anchor::Middle);
            // the last one stays inside the drawing
            let half = 0.5 * lettering.width(&name)? + 0.2;
            canvas.text([x.min(canvas.width - half), base], &name, lettering)?;
        }
        for (value, name) in self.ticks(1) {
            let y = bottom - self.scale * (value - self.from[1]);
            canvas.line(&[[left, y], [left - TICK, y]], pen);
            canvas.line(&[[right, y], [right + TICK, y]], pen);
            canvas.text([left - TICK - 0.6, y + 0.36 * SMALL], &name, Lettering::small(Anchor::End))?;
        }
        // beside the first figure of x, below the first of y
        let first = self.ticks(0).first().map_or(Ok(0.0), |(_, name)| Lettering::small(Anchor::End).width(name))?;
        canvas.text([left - f64::max(TICK + 0.6, 0.5 * first + 0.8), base], self.unit, Lettering::small(Anchor::End))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::Style;

    /// Ticks stand at the places whose figures they carry, on both sides, and no figure covers another.
    #[test]
    fn ticks_stand_where_their_figures_say() {
        let rulers = Rulers { from: [0.0, 0.0], to: [400.0, 200.0], scale: 0.4, unit: "mm" };
        let mut canvas = Canvas::new("a", "b", 100.0, Style::default());
        let [left, below] = rulers.room().unwrap();
        rulers.draw(&mut canvas, [1.5 + left, 90.0]).unwrap();
        assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
        let middle = |text: &str, k: usize| -> Vec<f64> {
            let found = canvas.texts().iter().filter(|t| t.text == text);
            found.map(|t| 0.5 * (t.area[k] + t.area[k + 2])).collect()
        };
        // 22 mm are 55 units: ticks every 100; 14 mm are 35: every 50
        for (text, at) in [("100", 40.0), ("300", 120.0), ("400", 160.0)] {
            assert!(middle(text, 0).iter().any(|x| (x - (1.5 + left + at)).abs() < 1e-9), "{text}");
        }
        assert!(middle("150", 1).iter().any(|y| (y - (90.0 - 60.0)).abs() < 0.5));
        assert_eq!(canvas.texts().iter().filter(|t| t.text == "mm").count(), 1);
        let texts = canvas.texts().iter();
        assert!(texts.clone().all(|t| t.area[0] >= 1.5 && t.area[3] <= 90.0 + below + 1.0));
        // five along x and y each, at both sides, and the frame
        assert_eq!(canvas.svg().lines().filter(|l| l.starts_with("<path")).count(), 2 * (5 + 5) + 1);
    }
}
