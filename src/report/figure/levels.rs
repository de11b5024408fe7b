//! Lines between the classes of a map, with their values written at them: what keeps a map in greys readable.

use super::canvas::Canvas;
use super::cell::{CellMap, extremes};
use super::frame::{Classes, MapFrame};
use super::lettering::{Anchor, Lettering};
use super::scale::{Scale, label};
use super::style::{Ink, Palette, Pen, SMALL};
use crate::base::plane::{self, inside};
use crate::base::{Point, Result};
use crate::numerics::contour::iso_lines;
use rayon::prelude::*;

/// Room kept round a value, mm.
const ROOM: f64 = 0.6;
/// Room kept from the edges of the map, mm.
const EDGE: f64 = 2.0;
/// Places tried along each line.
const TRIED: usize = 60;

/// The lines of one value on the drawing.
struct Level {
    value: f64,
    name: String,
    lines: Vec<Vec<Point>>,
}

impl CellMap<'_> {
    /// In greys draws the lines between the classes of a vertex field, dashed below zero and heavier at zero, and writes each value
    /// at the longest of its lines where there is room. In colour nothing is drawn.
    pub(super) fn levels(
        &self,
        canvas: &mut Canvas,
        frame: &MapFrame,
        values: &[f64],
        classes: &Classes,
    ) -> Result<()> {
        if self.style.palette == Palette::Colour || classes.limits.len() < 3 {
            return Ok(());
        }
        let inner = &classes.limits[1..classes.limits.len() - 1];
        let levels = self.lines_at(frame, values, inner, classes.limits[1] - classes.limits[0]);
        for level in &levels {
            let pen = match level.value {
                0.0 if classes.limits[0] < 0.0 => Pen::new(0.45, Ink::Text),
                v if v < 0.0 => Pen::new(0.18, Ink::Text).dashed(1.1, 0.7),
                _ => Pen::new(0.18, Ink::Text),
            };
            canvas.lines(level.lines.iter().map(Vec::as_slice), pen);
        }
        self.name_levels(canvas, frame, &levels, &self.obstacles_on(frame), false)
    }

    /// Draws lines of a vertex field at round values, about so many, and writes each value at the longest of its lines where there is room.
    /// Returns their step.
    pub(super) fn isolines(
        &self,
        canvas: &mut Canvas,
        frame: &MapFrame,
        values: &[f64],
        count: usize,
        pen: Pen,
    ) -> Result<f64> {
        let range = extremes(values.iter().copied());
        let ticks: Vec<f64> = Scale::linear(range, count).ticks(count).iter().map(|tick| tick.value).collect();
        let step = ticks.windows(2).map(|w| w[1] - w[0]).fold(f64::INFINITY, f64::min);
        // a line on an end of the cell is that end
        let within = |x: &f64| *x > range[0] + 1e-3 * step && *x < range[1] - 1e-3 * step;
        let inner: Vec<f64> = ticks.into_iter().filter(within).collect();
        let levels = self.lines_at(frame, values, &inner, step);
        canvas.lines(levels.iter().flat_map(|level| &level.lines).map(Vec::as_slice), pen);
        self.name_levels(canvas, frame, &levels, &self.obstacles_on(frame), true)?;
        Ok(step)
    }

    fn lines_at(&self, frame: &MapFrame, values: &[f64], levels: &[f64], step: f64) -> Vec<Level> {
        let of = |&value: &f64| {
            // zero is drawn as such, whatever rounding made of it
            let value = if value.abs() < 1e-9 * step { 0.0 } else { value };
            let chains = iso_lines(self.mesh, values, value);
            let line = |chain: &crate::numerics::contour::Chain| {
                let mut places = chain.points(&self.mesh.points);
                places.extend(chain.closed.then(|| places.first().copied()).flatten());
                self.drawn_line(frame, &places)
            };
            Level { value, name: label(value, step), lines: chains.iter().map(line).collect() }
        };
        levels.par_iter().map(of).collect()
    }

    /// The outlines of the obstacles on the drawing.
    pub(super) fn obstacles_on(&self, frame: &MapFrame) -> Vec<Vec<Point>> {
        self.outlines.iter().map(|(_, line)| line.iter().map(|&p| frame.at(p)).collect()).collect()
    }

    fn name_levels(
        &self,
        canvas: &mut Canvas,
        frame: &MapFrame,
        levels: &[Level],
        obstacles: &[Vec<Point>],
        on_paper: bool,
    ) -> Result<()> {
        let lettering = Lettering { ink: Ink::Text, ..Lettering::small(Anchor::Middle) }.rimmed();
        let [low, _, high, _] = frame.corners();
        // marks of probes come on top later
        let probes = self.marked.names.iter().flatten().map(|(_, at)| around(frame.at(*at), [1.2; 2]));
        let mut taken: Vec<[f64; 4]> = probes.collect();
        for (k, level) in levels.iter().enumerate() {
            let half = [0.5 * lettering.width(&level.name)? + ROOM, 0.5 * SMALL + ROOM];
            let fits = |p: &Point| {
                let [left, top, right, bottom] = around(*p, half);
                let apart = |b: &[f64; 4]| right <= b[0] || b[2] <= left || bottom <= b[1] || b[3] <= top;
                let within = [left - low[0], high[0] - right, top - high[1], low[1] - bottom];
                within.iter().all(|room| *room >= EDGE) && taken.iter().all(apart)
            };
            let longest = level.lines.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
            let Some(line) = longest.filter(|line| length(line) > 5.0 * half[0]) else { continue };
            let others =
                || levels.iter().enumerate().filter(|(j, _)| *j != k).flat_map(|(_, l)| &l.lines).chain(obstacles);
            let room = |p: &Point| others().map(|other| distance(*p, other)).fold(f64::INFINITY, f64::min);
            let best = along(line, TRIED)
                .into_iter()
                .filter(fits)
                .map(|p| (room(&p), p))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|(room, p)| *room > half[1] && !obstacles.iter().any(|o| inside(o, *p)));
            if let Some((_, p)) = best {
                if on_paper {
                    // a line along the letters would pass for a part of them
                    let [left, top, right, bottom] = around(p, [half[0] - 0.3, half[1] - 0.3]);
                    canvas.rectangle([left, top, right - left, bottom - top], Ink::Paper, None);
                }
                canvas.text([p[0], p[1] + 0.36 * SMALL], &level.name, lettering)?;
                taken.push(around(p, half));
            }
        }
        Ok(())
    }
}

fn around([x, y]: Point, [a, b]: [f64; 2]) -> [f64; 4] {
    [x - a, y - b, x + a, y + b]
}

fn length(line: &[Point]) -> f64 {
    line.windows(2).map(|w| plane::distance(w[0], w[1])).sum()
}

/// Places at equal distances along a line, its ends left out.
fn along(line: &[Point], count: usize) -> Vec<Point> {
    let step = length(line) / (count + 1) as f64;
    let (mut places, mut left) = (Vec::new(), step);
    for w in line.windows(2) {
        let whole = plane::distance(w[0], w[1]);
        while left <= whole && places.len() < count && whole > 0.0 {
            places.push(plane::between(w[0], w[1], left / whole));
            left += step;
        }
        left -= whole;
    }
    places
}

/// Distance of a place from a line.
fn distance(p: Point, line: &[Point]) -> f64 {
    line.windows(2).map(|w| plane::distance_to_segment(p, [w[0], w[1]])).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_along_a_line_are_equally_far_apart() {
        let line = [[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]];
        assert_eq!(along(&line, 6), [[1.0, 0.0], [2.0, 0.0], [3.0, 0.0], [3.0, 1.0], [3.0, 2.0], [3.0, 3.0]]);
        assert!(along(&line[..1], 6).is_empty());
        assert_eq!((distance([1.0, 2.0], &line), distance([4.0, 5.0], &line)), (2.0, f64::sqrt(2.0)));
        assert!(inside(&line, [2.0, 1.0]) && !inside(&line, [1.0, 2.0]));
    }
}
