//! Lines of several heights over one another, and the place where they part most drawn larger.

use super::axes::{Entry, legend};
use super::canvas::Canvas;
use super::cell::CellMap;
use super::frame::MapFrame;
use super::lettering::{Anchor, Lettering};
use super::style::{Ink, LETTER, Palette, Pen};
use crate::base::plane::{self, Rect};
use crate::base::{Point, Result};
use crate::theory::streaklines::Streakline;

/// Largest enlargement of a place where lines part.
const LARGEST: f64 = 500.0;
/// Lines that part by less than this even so, mm, are not worth a picture.
const LEAST_PARTING: f64 = 0.8;

impl CellMap<'_> {
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
            let (least, most) = (self.bounds.low[k], self.bounds.high[k] - size[k] / frame.scale);
            (at[k] - 0.5 * size[k] / frame.scale).clamp(least, most.max(least))
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
        let off = plane::way(frame.low, corner);
        let origin = [left - scale * off[0], top + height + scale * off[1]];
        let near = MapFrame { origin, scale, below: 0.0, ..*frame };
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
}

/// Where lines of the same start part most, and how far, m: each place against the step of the first height that it stands beside.
fn widest_parting(sets: &[&[Streakline]]) -> (Point, f64) {
    let mut widest = ([0.0; 2], 0.0);
    let Some((first, others)) = sets.split_first() else { return widest };
    for set in others {
        for (a, b) in first.iter().zip(set.iter()) {
            let mut k = 0;
            for p in &b.points {
                let ahead =
                    |k: usize| plane::dot(plane::way(a.points[k], a.points[k + 1]), plane::way(a.points[k + 1], *p));
                while k + 2 < a.points.len() && ahead(k) > 0.0 {
                    k += 1;
                }
                let [q, r] = [a.points[k], a.points[(k + 1).min(a.points.len() - 1)]];
                let step = plane::way(q, r);
                let norm = plane::length(step);
                let beside = plane::dot(step, plane::way(q, *p));
                if !(norm > 0.0 && (0.0..=norm * norm).contains(&beside)) {
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

#[cfg(test)]
mod tests;
