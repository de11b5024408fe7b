//! A placing template: the cell with its obstacles at true size, to lay under the plate; on sheets of A4 with calibration crosses, or whole.

use super::canvas::Canvas;
use super::edge::Edge;
use super::lettering::{Anchor, Lettering};
use super::names::Names;
use super::scale::short;
use super::style::{Ink, LETTER, Pen, Style};
use crate::base::plane::Rect;
use crate::base::{Point, Result};

/// A sheet of A4, lying, mm.
const SHEET: [f64; 2] = [297.0, 210.0];
/// Distances of the crosses on a sheet along and across, mm.
const CROSSES: [f64; 2] = [260.0, 170.0];
/// By how much a sheet shows what the next one shows, mm.
const OVERLAP: f64 = 10.0;
/// Free paper round the whole cell on one sheet, mm.
const RIM: f64 = 20.0;
/// Most sheets: more are laid out better by a plotter.
const MOST: usize = 64;
/// Distance of the lines of the grid, mm.
const GRID: f64 = 50.0;
/// Half the length of the arms of a cross, mm.
const ARM: f64 = 4.0;

/// What is placed; lengths in m.
#[derive(Debug, Clone)]
pub struct Placing<'a> {
    /// Name of the files.
    pub name: &'a str,
    /// Title of the case.
    pub title: &'a str,
    /// The box round the cell.
    pub cell: Rect,
    /// Its walls and ends.
    pub edge: Edge,
    /// Name and outline of each obstacle.
    pub obstacles: Vec<(String, Vec<Point>)>,
}

impl Placing<'_> {
    /// The whole template on one sheet as large as it takes.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn whole(&self) -> Result<Canvas> {
        let size = self.cell.size().map(|x| 1e3 * x);
        // crosses a round number of centimetres apart, outside the cell
        let apart = size.map(|x| 10.0 * ((x + 10.0) / 10.0).ceil());
        let paper = apart.map(|x| x + 2.0 * RIM);
        let corner = [0.5 * (paper[0] - size[0]), 0.5 * (paper[1] + size[1])];
        let mut canvas = self.empty(paper);
        let first = [0, 1].map(|k| 0.5 * (paper[k] - apart[k]));
        self.sheet(&mut canvas, corner, [first, apart], Rect { low: [0.0; 2], high: paper })?;
        let said = format!("{}: placing template at true size", Lettering::label(Anchor::Start).known(self.title));
        self.words(&mut canvas, &said, apart)?;
        Ok(canvas)
    }

    /// The same on sheets of A4, row by row from the upper wall; none if it takes more than 64 of them.
    ///
    /// # Errors
    /// As [`Placing::whole`].
    pub fn sheets(&self) -> Result<Vec<Canvas>> {
        let size = self.cell.size().map(|x| 1e3 * x);
        let free = CROSSES.map(|x| x - 2.0 * ARM);
        let counts = [0, 1].map(|k| ((size[k] - free[k]) / (free[k] - OVERLAP)).ceil().max(0.0) as usize + 1);
        let all = counts[0].saturating_mul(counts[1]);
        if all > MOST {
            return Ok(Vec::new());
        }
        let first = [0, 1].map(|k| 0.5 * (SHEET[k] - CROSSES[k]));
        let low = first.map(|x| x + ARM);
        let window = Rect { low, high: [low[0] + free[0], low[1] + free[1]] };
        let mut sheets = Vec::new();
        for row in 0..counts[1] {
            for column in 0..counts[0] {
                // on a single sheet in its middle
                let start = |k: usize, n: usize| match counts[k] {
                    1 => low[k] + 0.5 * (free[k] - size[k]),
                    _ => low[k] - n as f64 * (free[k] - OVERLAP),
                };
                let corner = [start(0, column), start(1, row) + size[1]];
                let mut canvas = self.empty(SHEET);
                self.sheet(&mut canvas, corner, [first, CROSSES], window)?;
                let at = match all {
                    1 => String::new(),
                    _ => format!(", sheet {} of {all}: row {}, column {}", sheets.len() + 1, row + 1, column + 1),
                };
                let said =
                    format!("{}: placing template at true size{at}", Lettering::label(Anchor::Start).known(self.title));
                self.words(&mut canvas, &said, CROSSES)?;
                sheets.push(canvas);
            }
        }
        Ok(sheets)
    }

    fn empty(&self, [width, height]: [f64; 2]) -> Canvas {
        let title = format!("Placing template of {}", self.title);
        let mut canvas = Canvas::new(self.name, &title, height, Style::default());
        canvas.width = width;
        canvas
    }

    /// Draws what a window shows of the cell, its left lower corner at a place, and four crosses: the first and their distances.
    fn sheet(&self, canvas: &mut Canvas, corner: Point, [first, apart]: [Point; 2], window: Rect) -> Result<()> {
        let size = self.cell.size().map(|x| 1e3 * x);
        let low = self.cell.low;
        let at = |[x, y]: Point| [corner[0] + 1e3 * (x - low[0]), corner[1] - 1e3 * (y - low[1])];
        let [left, bottom] = corner;
        let (right, top) = (left + size[0], bottom - size[1]);
        let ([wl, wt], [wr, wb]) = (window.low, window.high);
        let outlines: Vec<Vec<Point>> =
            self.obstacles.iter().map(|(_, line)| line.iter().map(|&p| at(p)).collect()).collect();
        canvas.clipped([&[[wl, wt], [wr, wt], [wr, wb], [wl, wb]][..]], |canvas| {
            let lines = |k: usize| (1..(size[k] / GRID).ceil() as usize).map(|n| GRID * n as f64);
            for x in lines(0) {
                canvas.line(&[[left + x, top], [left + x, bottom]], Pen::new(0.1, Ink::Soft));
            }
            for y in lines(1) {
                canvas.line(&[[left, bottom - y], [right, bottom - y]], Pen::new(0.1, Ink::Soft));
            }
            for outline in &outlines {
                canvas.area([outline.as_slice()], Ink::Grid, Some(Pen::new(0.2, Ink::Text)));
            }
            let drawn = |line: &Vec<Point>| line.iter().map(|&p| at(p)).collect::<Vec<_>>();
            self.edge.walls.iter().for_each(|wall| canvas.line(&drawn(wall), Pen::new(0.5, Ink::Text)));
            let dashed = Pen::new(0.2, Ink::Text).dashed(2.0, 1.5);
            self.edge.ends.iter().for_each(|end| canvas.line(&drawn(end), dashed));
            Ok(())
        })?;
        // what the grid counts, where its lines meet the window
        let seen = Rect { low: [wl.max(left), wt.max(top)], high: [wr.min(right), wb.min(bottom)] };
        let small = Lettering::small(Anchor::Start).rimmed();
        for n in 1..(size[0] / GRID).ceil() as usize {
            let x = left + GRID * n as f64;
            if x > seen.low[0] && x + 12.0 < seen.high[0] {
                canvas.text(
                    [x + 0.6, seen.high[1] - 1.0],
                    &format!("x {}", short(1e3 * low[0] + GRID * n as f64, 6)),
                    small,
                )?;
            }
        }
        for n in 1..(size[1] / GRID).ceil() as usize {
            let y = bottom - GRID * n as f64;
            if y - 4.0 > seen.low[1] && y + 6.0 < seen.high[1] {
                canvas.text(
                    [seen.low[0] + 1.0, y - 0.8],
                    &format!("y {}", short(1e3 * low[1] + GRID * n as f64, 6)),
                    small,
                )?;
            }
        }
        let [x, y] = [seen.low[0] + 4.0, seen.low[1] + 6.0];
        canvas.line(&[[x, y], [x + 12.0, y]], Pen::new(0.5, Ink::Text));
        canvas.arrow_head([x + 14.0, y], [1.0, 0.0], 3.0, Ink::Text);
        canvas.text([x + 15.5, y + 0.36 * LETTER], "flow", small.ink(Ink::Text))?;
        // a name that stands outside the window belongs to another sheet
        let named = self.obstacles.iter().map(|(name, _)| small.known(name)).zip(outlines);
        let here = named.filter(|(_, line)| seen.holds(&Rect::of(line.iter().copied())));
        let names = Names { obstacles: here.collect(), within: Some(seen), ..Names::default() };
        names.draw(canvas, |_| Ink::Text)?;
        for corner in [first, [first[0] + apart[0], first[1]], [first[0], first[1] + apart[1]]] {
            cross(canvas, corner);
        }
        cross(canvas, [first[0] + apart[0], first[1] + apart[1]]);
        Ok(())
    }

    /// What the sheet is, and what to measure on it.
    fn words(&self, canvas: &mut Canvas, said: &str, apart: [f64; 2]) -> Result<()> {
        let left = 0.5 * (canvas.width - apart[0]);
        canvas.text([left, 8.0], said, Lettering::label(Anchor::Start).bold())?;
        let check = format!(
            "Print at 100 %. The crosses are {} mm apart along and {} mm across: measure them. Lines every {} mm of the cell.",
            short(apart[0], 6),
            short(apart[1], 6),
            short(GRID, 6)
        );
        let size = [Lettering::label(Anchor::Start), Lettering::small(Anchor::Start)];
        let room = canvas.width - left - 1.0;
        let below = canvas.height - 5.0;
        if size[0].width(&check)? <= room {
            return canvas.text([left, below], &check, size[0]);
        }
        let (one, other) = check.split_once(": ").unwrap_or((&check, ""));
        canvas.text([left, below - 1.5 * LETTER], &format!("{one}:"), size[1])?;
        canvas.text([left, below], other, size[1])
    }
}

fn cross(canvas: &mut Canvas, [x, y]: Point) {
    canvas.line(&[[x - ARM, y], [x + ARM, y]], Pen::new(0.15, Ink::Text));
    canvas.line(&[[x, y - ARM], [x, y + ARM]], Pen::new(0.15, Ink::Text));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn template(cell: [f64; 2]) -> Placing<'static> {
        let at = |x: f64, y: f64| [x * cell[0], y * cell[1]];
        let pier = vec![at(0.2, 0.3), at(0.4, 0.3), at(0.4, 0.7), at(0.2, 0.7)];
        let (edge, cell) = (Edge::of_rectangle(cell), Rect { low: [0.0; 2], high: cell });
        Placing { name: "piers", title: "Two piers", cell, edge, obstacles: vec![("large pier".to_owned(), pier)] }
    }

    /// Ends of the lines that make crosses: straight ones of 8 mm.
    fn crosses(canvas: &Canvas) -> Vec<Point> {
        let svg = canvas.svg();
        let starts = svg.lines().filter_map(|line| {
            let data = line.strip_prefix("<path d=\"M")?.split('"').next()?;
            let (start, step) = data.split_once('l')?;
            (step == "8 0").then(|| {
                let at: Vec<f64> = start.split_whitespace().filter_map(|x| x.parse().ok()).collect();
                [at[0] + ARM, at[1]]
            })
        });
        starts.collect()
    }

    /// The crosses stand as far apart as is written; what is drawn has its own size, and the sheets together show every place of the cell.
    #[test]
    fn templates_are_true_to_size_and_say_what_to_measure() {
        let whole = template([0.4, 0.2]).whole().unwrap();
        let places = crosses(&whole);
        assert_eq!(places.len(), 4, "{}", whole.svg());
        assert_eq!([places[1][0] - places[0][0], places[2][1] - places[0][1]], [410.0, 210.0]);
        assert!(whole.texts().iter().any(|t| t.text.contains("410 mm apart along and 210 mm across")));
        assert!(whole.texts().iter().any(|t| t.text == "large pier") && whole.crowded().is_empty());
        // the pier is 80 mm by 80 mm
        assert!(whole.svg().contains("l80 0l0-80l-80 0z"), "{}", whole.svg());
        let sheets = template([0.4, 0.2]).sheets().unwrap();
        assert_eq!(sheets.len(), 4);
        for sheet in &sheets {
            assert_eq!([sheet.width, sheet.height], SHEET);
            let places = crosses(sheet);
            assert_eq!([places[1][0] - places[0][0], places[2][1] - places[0][1]], CROSSES);
            assert!(sheet.texts().iter().any(|t| t.text.contains("260 mm apart along and 170 mm across")));
            assert!(sheet.crowded().is_empty(), "{:?}", sheet.crowded());
        }
        assert_eq!(template([0.2, 0.1]).sheets().unwrap().len(), 1);
        assert!(template([9.0, 5.0]).sheets().unwrap().is_empty());
        let small = template([0.06, 0.03]).whole().unwrap();
        assert!(small.crowded().is_empty(), "{:?}", small.crowded());
    }
}
