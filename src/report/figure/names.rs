//! Names of obstacles and probes on a drawing: inside an obstacle where it is large enough, otherwise beside it, where nothing else is written.

use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::style::{Ink, Pen, SMALL};
use crate::base::plane::{self, Rect, inside};
use crate::base::{Point, Result};

/// Places tried along each side of the box round an obstacle.
const GRID: usize = 24;
/// Distances tried for a name beside what it names, mm.
const BESIDE: [f64; 6] = [0.8, 2.0, 4.0, 7.0, 11.0, 16.0];
/// Names further off than this have a line to what they name, mm.
const NEAR: f64 = 0.8;
/// Height of the letters of a name over its size, and how far they reach below their line.
const CAPITAL: f64 = 0.72;
const DEPTH: f64 = 0.2;
/// Most obstacles of a drawing that are named beside: among more nobody could tell which name is whose.
const MOST_BESIDE: usize = 200;
/// Radius of the mark of a probe, mm.
const MARK: f64 = 0.9;

/// What is named on a drawing; places on the drawing, mm.
#[derive(Debug, Clone, Default)]
pub(super) struct Names {
    /// Name and outline of each obstacle.
    pub obstacles: Vec<(String, Vec<Point>)>,
    /// Name and place of each probe.
    pub probes: Vec<(String, Point)>,
    /// What names must stay within.
    pub within: Option<Rect>,
}

impl Names {
    /// Marks the probes and writes the names. A name inside an obstacle has the ink given for its number; one for which there is no room is left out.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn draw(&self, canvas: &mut Canvas, on_solid: impl Fn(usize) -> Ink) -> Result<()> {
        for (_, at) in &self.probes {
            canvas.disc(*at, MARK, Ink::Paper, Some(Pen::new(0.3, Ink::Text)));
            canvas.line(&[[at[0] - MARK, at[1]], [at[0] + MARK, at[1]]], Pen::new(0.2, Ink::Text));
            canvas.line(&[[at[0], at[1] - MARK], [at[0], at[1] + MARK]], Pen::new(0.2, Ink::Text));
        }
        let mut last = "";
        for (k, (name, outline)) in self.obstacles.iter().enumerate() {
            // of an obstacle that a wall cuts in two, one part is named
            if name == last || outline.len() < 3 {
                continue;
            }
            last = name;
            let size = size_of(name)?;
            if let Some(at) = room_inside(outline, size) {
                write(canvas, at, name, Lettering::small(Anchor::Middle).ink(on_solid(k)))?;
                continue;
            }
            if self.obstacles.len() <= MOST_BESIDE {
                self.beside(canvas, name, size, Rect::of(outline.iter().copied()))?;
            }
        }
        for (name, at) in &self.probes {
            self.beside(canvas, name, size_of(name)?, Rect::of([*at]).grown(MARK))?;
        }
        Ok(())
    }

    /// Writes a name as near to a box as nothing else stands.
    fn beside(&self, canvas: &mut Canvas, name: &str, [width, height]: [f64; 2], around: Rect) -> Result<()> {
        let middle = around.middle();
        let ways =
            [[1.0, 0.0], [-1.0, 0.0], [0.0, -1.0], [0.0, 1.0], [1.0, -1.0], [-1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
        let places = BESIDE.iter().flat_map(|off| ways.map(|way| (*off, way))).map(|(off, way)| {
            let half = [0.5 * (around.size()[0] + width) + off, 0.5 * (around.size()[1] + height) + off];
            (off, [0, 1].map(|k| middle[k] + way[k] * half[k]))
        });
        let free = |(_, p): &(f64, Point)| {
            let area = box_at(*p, [width, height]);
            let off_texts = canvas.texts().iter().all(|text| {
                let [left, top, right, bottom] = text.area;
                !area.overlaps(&Rect { low: [left, top], high: [right, bottom] })
            });
            let off_marks = self.probes.iter().all(|(_, at)| !area.grown(MARK).overlaps(&Rect::of([*at])));
            let off_solids = self.obstacles.iter().all(|(_, outline)| {
                !Rect::of(outline.iter().copied()).overlaps(&area)
                    || !edge_of(area).iter().any(|q| inside(outline, *q)) && !outline.iter().any(|q| holds(area, *q))
            });
            off_texts && off_marks && off_solids && self.within.is_none_or(|within| within.holds(&area.grown(0.4)))
        };
        let Some((off, at)) = places.into_iter().find(free) else { return Ok(()) };
        if off > NEAR {
            // from the nearest place of the name to what it names
            let area = box_at(at, [width, height]);
            let end = [0, 1].map(|k| middle[k].clamp(area.low[k], area.high[k]));
            let way = plane::way(middle, end);
            let start = plane::stepped(middle, (MARK / plane::length(way)).min(1.0), way);
            canvas.line(&[start, end], Pen::new(0.15, Ink::Text));
        }
        write(canvas, at, name, Lettering::small(Anchor::Middle).ink(Ink::Text).rimmed())
    }
}

/// Writes a name with the middle of its box at a place.
fn write(canvas: &mut Canvas, [x, y]: Point, name: &str, lettering: Lettering) -> Result<()> {
    canvas.text([x, y + 0.5 * (CAPITAL - DEPTH) * SMALL], name, lettering)
}

/// Width and height of a name, mm.
fn size_of(name: &str) -> Result<[f64; 2]> {
    Ok([Lettering::small(Anchor::Middle).width(name)? + 0.6, (CAPITAL + DEPTH) * SMALL + 0.6])
}

fn box_at([x, y]: Point, [width, height]: [f64; 2]) -> Rect {
    Rect { low: [x - 0.5 * width, y - 0.5 * height], high: [x + 0.5 * width, y + 0.5 * height] }
}

/// Corners of a box, and places between them.
fn edge_of(area: Rect) -> Vec<Point> {
    let at = |k: usize, part: f64| area.low[k] + part * area.size()[k];
    let parts = (0..=8).map(|n| f64::from(n) / 8.0);
    parts.flat_map(|s| [[at(0, s), area.low[1]], [at(0, s), area.high[1]], [at(0, s), area.middle()[1]]]).collect()
}

fn holds(area: Rect, p: Point) -> bool {
    area.holds(&Rect::of([p]))
}

/// The place inside an outline furthest from its edge at which a box of this size is inside; none if there is none.
fn room_inside(outline: &[Point], size: [f64; 2]) -> Option<Point> {
    let around = Rect::of(outline.iter().copied());
    let at = |k: usize, n: usize| around.low[k] + (n as f64 + 0.5) / GRID as f64 * around.size()[k];
    let places = (0..GRID).flat_map(|i| (0..GRID).map(move |j| [i, j])).map(|[i, j]| [at(0, i), at(1, j)]);
    let fits = |p: &Point| {
        let area = box_at(*p, size);
        around.holds(&area)
            && edge_of(area).iter().all(|q| inside(outline, *q))
            && !outline.iter().any(|q| holds(area, *q))
    };
    let room = |p: &Point| {
        let sides = (0..outline.len()).map(|k| [outline[k], outline[(k + 1) % outline.len()]]);
        sides.map(|side| plane::distance_to_segment(*p, side)).fold(f64::INFINITY, f64::min)
    };
    places.filter(fits).map(|p| (room(&p), p)).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, p)| p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::Style;

    fn square([x, y]: Point, side: f64) -> Vec<Point> {
        vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]]
    }

    /// A name stands inside a large obstacle and beside a small one; names of probes stay off marks, obstacles and one another, inside
    /// the map; one for which no room is left is not written over anything.
    #[test]
    fn names_stand_where_nothing_else_does() {
        let within = Rect { low: [0.0, 0.0], high: [80.0, 40.0] };
        let obstacles =
            vec![("caisson".to_owned(), square([10.0, 10.0], 20.0)), ("buoy".to_owned(), square([38.0, 19.0], 2.0))];
        // to the right of the shoulder is the buoy, to its left the caisson, and above it another probe
        let probes = vec![
            ("shoulder".to_owned(), [33.0, 20.0]),
            ("crown".to_owned(), [33.0, 17.0]),
            ("rim".to_owned(), [79.0, 39.0]),
        ];
        let names = Names { obstacles: obstacles.clone(), probes: probes.clone(), within: Some(within) };
        let mut canvas = Canvas::new("a", "b", 40.0, Style::default());
        names.draw(&mut canvas, |_| Ink::Paper).unwrap();
        let area = |text: &str| {
            let placed = canvas.texts().iter().find(|t| t.text == text).unwrap_or_else(|| panic!("{text}"));
            Rect { low: [placed.area[0], placed.area[1]], high: [placed.area[2], placed.area[3]] }
        };
        let solid = |k: usize| Rect::of(obstacles[k].1.iter().copied());
        assert!(solid(0).holds(&area("caisson")) && !solid(1).overlaps(&area("buoy")));
        assert!(area("buoy").distance(&solid(1)) < 2.0);
        for (name, _) in &probes {
            assert!(within.holds(&area(name)) && (0..2).all(|k| !solid(k).overlaps(&area(name))));
            assert!(probes.iter().all(|(_, at)| !area(name).overlaps(&Rect::of([*at]))));
        }
        assert!(canvas.crowded().is_empty());
        let tight = Names { within: Some(Rect { low: [32.0, 18.0], high: [34.0, 22.0] }), ..names };
        let mut canvas = Canvas::new("a", "b", 40.0, Style::default());
        tight.draw(&mut canvas, |_| Ink::Paper).unwrap();
        assert_eq!(canvas.texts().len(), 1, "{:?}", canvas.texts());
        // of very many obstacles those alone are named that have room for it
        let dot = |k: usize| (format!("dot {k}"), square([0.2 * k as f64, 1.0], 0.1));
        let many = Names { obstacles: obstacles.into_iter().chain((0..199).map(dot)).collect(), ..Names::default() };
        let mut canvas = Canvas::new("a", "b", 40.0, Style::default());
        many.draw(&mut canvas, |_| Ink::Paper).unwrap();
        assert_eq!(canvas.texts().iter().map(|t| t.text.as_str()).collect::<Vec<_>>(), ["caisson"]);
    }
}
