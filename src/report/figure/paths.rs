//! Where bubbles drift: their paths over streamlines, with the bubble at equal times.

use super::canvas::Canvas;
use super::cell::{CellMap, extremes};
use super::lettering::{Anchor, Lettering};
use super::style::{Ink, Pen};
use crate::base::units::Dimension;
use crate::base::{Point, Result, plane};
use crate::numerics::contour::iso_lines;
use crate::theory::bubbles::Path;

/// Streamlines under the paths.
const LINES: usize = 24;
/// Times at which a bubble is drawn along its path.
const TIMES: usize = 6;

impl CellMap<'_> {
    /// Paths of bubbles over streamlines of the ideal pattern; rings are the bubbles at equal times, each at its true size.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn bubble_paths(&self, stream: &[f64], paths: &[Path]) -> Result<Canvas> {
        let title = "Where bubbles drift, over streamlines of the ideal pattern";
        let (mut canvas, frame) = self.start("bubble_paths", title, 0.0, false)?;
        let top = stream.iter().copied().fold(0.0, f64::max);
        let levels = (1..=LINES).map(|k| (k as f64 - 0.5) / LINES as f64 * top);
        let step = paths.iter().filter_map(|path| path.times.last()).copied().fold(0.0, f64::max) / TIMES as f64;
        canvas.clipped([&frame.corners()[..]], |canvas| {
            for level in levels {
                let chains = iso_lines(self.mesh, stream, level);
                let lines: Vec<Vec<Point>> =
                    chains.iter().map(|chain| self.drawn_line(&frame, &chain.points(&self.mesh.points))).collect();
                canvas.lines(lines.iter().map(Vec::as_slice), Pen::new(0.2, Ink::Pale));
            }
            for (k, path) in paths.iter().enumerate() {
                let pen = Pen::new(0.4, Ink::Series(k));
                canvas.line(&self.drawn_line(&frame, &path.points), pen);
                let radius = frame.scale * 0.5 * path.bubble.diameter;
                for at in (0..=TIMES).filter_map(|n| place(path, n as f64 * step)) {
                    canvas.disc(frame.at(at), radius.max(0.5), Ink::Rgb([255; 3]), Some(pen));
                }
            }
            Ok(())
        })?;
        self.finish(&mut canvas, &frame)?;
        let lettering = Lettering::small(Anchor::Start).ink(Ink::Text).rimmed();
        for path in paths {
            let at = frame.at(path.bubble.centre);
            let name = lettering.known(&path.bubble.name);
            let off = frame.scale * 0.5 * path.bubble.diameter + 0.8;
            let left = at[0].min(canvas.width - 2.0 - lettering.width(&name)?);
            canvas.text([left, at[1] - off], &name, lettering)?;
        }
        frame.note(&mut canvas, &format!("bubbles every {}", Dimension::Time.show_to(step, 3)))?;
        Ok(canvas)
    }

    /// Lines of the flow at the moment at which a bubble is let go, seen by one who goes with it.
    ///
    /// # Errors
    /// As [`CellMap::bubble_paths`].
    pub fn seen_from_bubble(&self, number: usize, path: &Path, seen: &[f64]) -> Result<Canvas> {
        let name = format!("bubble_frame_{}", number + 1);
        let title = format!("Seen from the bubble \"{}\": one moment", path.bubble.name);
        let (mut canvas, frame) = self.start(&name, &title, 0.0, false)?;
        let [low, high] = extremes(seen.iter().copied());
        canvas.clipped([&frame.corners()[..]], |canvas| {
            for k in 0..2 * LINES {
                let level = low + (k as f64 + 0.5) / (2 * LINES) as f64 * (high - low);
                let chains = iso_lines(self.mesh, seen, level);
                let lines: Vec<Vec<Point>> =
                    chains.iter().map(|chain| self.drawn_line(&frame, &chain.points(&self.mesh.points))).collect();
                canvas.lines(lines.iter().map(Vec::as_slice), Pen::new(0.3, Ink::Series(0)));
            }
            Ok(())
        })?;
        self.finish(&mut canvas, &frame)?;
        frame.note(&mut canvas, "equal flow between neighbours")?;
        Ok(canvas)
    }
}

/// Where a bubble is at a time; none once its path has ended.
fn place(path: &Path, time: f64) -> Option<Point> {
    let next = path.times.iter().position(|&t| t >= time)?;
    let Some(before) = next.checked_sub(1) else { return path.points.first().copied() };
    let part = (time - path.times[before]) / (path.times[next] - path.times[before]);
    Some(plane::between(path.points[before], path.points[next], part))
}
