//! Names at even places along an axis: values that are words, or fields of a mosaic.

use super::axes::shortened;
use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::style::{Ink, Pen, SMALL};
use crate::base::Result;

/// Longest name, mm.
const LONGEST: f64 = 30.0;
/// Length of a tick, mm.
const TICK: f64 = 1.2;

/// Names along an axis, in the middle of as many equal parts of it; where they are too many, every so many of them.
pub(super) struct NamedTicks {
    names: Vec<String>,
    every: usize,
    upwards: bool,
    /// Room that they take beside the frame, mm.
    pub depth: f64,
}

impl NamedTicks {
    /// Names below a frame of this width, mm: level where all of them fit, else upwards.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn below(names: &[String], width: f64) -> Result<NamedTicks> {
        let (names, widest) = fitted(names)?;
        let each = width / names.len().max(1) as f64;
        // numbers may be thinned out, words are all told if need be upwards
        let upwards = widest + 1.5 > each && names.iter().any(|name| name.contains(char::is_alphabetic));
        let needs = if upwards { 1.25 * SMALL } else { widest + 1.5 };
        let depth = TICK + if upwards { widest + 0.6 } else { SMALL };
        Ok(NamedTicks { every: every(needs, each), names, upwards, depth })
    }

    /// Names on the left of a frame of this height, mm.
    ///
    /// # Errors
    /// As [`NamedTicks::below`].
    pub fn beside(names: &[String], height: f64) -> Result<NamedTicks> {
        let (names, widest) = fitted(names)?;
        let each = height / names.len().max(1) as f64;
        Ok(NamedTicks { every: every(1.15 * SMALL, each), names, upwards: false, depth: TICK + 0.6 + widest })
    }

    /// Draws them below a frame.
    ///
    /// # Errors
    /// As [`NamedTicks::below`].
    pub fn draw_below(&self, canvas: &mut Canvas, [left, top, width, height]: [f64; 4]) -> Result<()> {
        let bottom = top + height;
        for (name, part) in self.shown() {
            let x = left + width * part;
            canvas.line(&[[x, bottom], [x, bottom + TICK]], Pen::new(0.2, Ink::Soft));
            if self.upwards {
                let lettering = Lettering::small(Anchor::End).upwards();
                canvas.text([x + 0.36 * SMALL, bottom + TICK + 0.5], name, lettering)?;
            } else {
                canvas.text([x, bottom + TICK + SMALL], name, Lettering::small(Anchor::Middle))?;
            }
        }
        Ok(())
    }

    /// Draws them on the left of a frame, the first at its lower end.
    ///
    /// # Errors
    /// As [`NamedTicks::below`].
    pub fn draw_beside(&self, canvas: &mut Canvas, [left, top, _, height]: [f64; 4]) -> Result<()> {
        for (name, part) in self.shown() {
            let y = top + height * (1.0 - part);
            canvas.line(&[[left - TICK, y], [left, y]], Pen::new(0.2, Ink::Soft));
            canvas.text([left - TICK - 0.5, y + 0.36 * SMALL], name, Lettering::small(Anchor::End))?;
        }
        Ok(())
    }

    fn shown(&self) -> impl Iterator<Item = (&str, f64)> {
        let count = self.names.len() as f64;
        let all = self.names.iter().enumerate().map(move |(k, name)| (name.as_str(), (k as f64 + 0.5) / count));
        all.step_by(self.every)
    }
}

/// Names of bearable length, and the width of the widest, mm.
fn fitted(names: &[String]) -> Result<(Vec<String>, f64)> {
    let lettering = Lettering::small(Anchor::End);
    let mut widest = 0.0_f64;
    let mut fitted = Vec::with_capacity(names.len());
    for name in names {
        let name = shortened(name, LONGEST, lettering)?;
        widest = widest.max(lettering.width(&name)?);
        fitted.push(name);
    }
    Ok((fitted, widest))
}

fn every(needs: f64, each: f64) -> usize {
    (needs / each.max(1e-9)).ceil().max(1.0) as usize
}
