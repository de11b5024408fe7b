//! Where dye is that was let in all at once, over the lines along which it goes.

use super::canvas::Canvas;
use super::cell::CellMap;
use super::style::{Ink, Pen};
use crate::base::{Point, Result};
use crate::theory::streaklines::{Streakline, TimeLines};

impl CellMap<'_> {
    /// Time lines over streaklines; the note tells their times.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn at_times(&self, lines: &[Streakline], times: &TimeLines, note: &str) -> Result<Canvas> {
        let title = "Time lines: where dye is that was let in all at once";
        let (mut canvas, frame) = self.start("timelines", title, 0.0, false)?;
        canvas.clipped([&frame.corners()[..]], |canvas| {
            let along: Vec<Vec<Point>> = lines.iter().map(|line| self.drawn_line(&frame, &line.points)).collect();
            canvas.lines(along.iter().map(Vec::as_slice), Pen::new(0.2, Ink::Pale));
            let pieces = times.list.iter().flat_map(|line| &line.pieces);
            let across: Vec<Vec<Point>> = pieces.map(|piece| self.drawn_line(&frame, &piece.points)).collect();
            canvas.lines(across.iter().map(Vec::as_slice), Pen::new(0.3, Ink::Series(0)));
            Ok(())
        })?;
        self.finish(&mut canvas, &frame)?;
        frame.note(&mut canvas, note)?;
        Ok(canvas)
    }
}
