//! What a drawing consists of, in the order in which it is laid on the paper; each writer of files goes through the same list.

use super::font::{Step, glyph_steps, glyphs};
use super::lettering::Lettering;
use super::style::{Ink, Pen};
use crate::base::{Point, Result};

/// Something on the paper.
#[derive(Debug, Clone)]
pub(super) enum Item {
    /// Lines, or areas by even and odd.
    Path { path: Path, fill: Option<Ink>, edge: Option<Pen> },
    /// A disc.
    Disc { at: Point, radius: f64, fill: Ink, edge: Option<Pen> },
    /// A text.
    Text(Words),
    /// What stands inside closed outlines, by even and odd.
    Clip { path: Path, items: Vec<Item> },
    /// A PNG picture over left, top, width, height.
    Picture { area: [f64; 4], png: Vec<u8> },
}

/// Lines through places in micrometres, no place twice in a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Path {
    pub lines: Vec<Vec<[i32; 2]>>,
    pub closed: bool,
}

/// A text and how it is set; the start is the left end of its base line.
#[derive(Debug, Clone)]
pub(super) struct Words {
    pub start: Point,
    pub text: String,
    pub lettering: Lettering,
}

impl Path {
    /// Open lines, those of one place left out.
    pub fn open<'a>(lines: impl IntoIterator<Item = &'a [Point]>) -> Path {
        Path::of(lines.into_iter().filter(|line| line.len() > 1), false)
    }

    /// Closed outlines, those without an inside left out.
    pub fn closed<'a>(outlines: impl IntoIterator<Item = &'a [Point]>) -> Path {
        Path::of(outlines.into_iter().filter(|line| line.len() > 2), true)
    }

    fn of<'a>(lines: impl Iterator<Item = &'a [Point]>, closed: bool) -> Path {
        let micrometres = |x: f64| if x.is_finite() { (1000.0 * x).round().clamp(-1e9, 1e9) as i32 } else { 0 };
        let line = |line: &[Point]| {
            let mut places: Vec<[i32; 2]> = line.iter().map(|place| place.map(micrometres)).collect();
            places.dedup();
            places
        };
        Path { lines: lines.map(line).collect(), closed }
    }

    /// The path in mm.
    pub fn steps(&self) -> impl Iterator<Item = Step> {
        self.lines.iter().flat_map(|line| {
            let places = line.iter().map(|place| place.map(|n| f64::from(n) / 1000.0)).enumerate();
            let steps = places.map(|(k, place)| if k == 0 { Step::Move(place) } else { Step::Line(place) });
            steps.chain(self.closed.then_some(Step::Close))
        })
    }
}

impl Words {
    /// Brings places of the text, to the right and upwards from its start, onto the paper: x = a u + c v + e, y = b u + d v + f.
    pub fn matrix(&self) -> [f64; 6] {
        let [x, y] = self.start;
        match self.lettering.upwards {
            true => [0.0, -1.0, -1.0, 0.0, x, y],
            false => [1.0, 0.0, 0.0, -1.0, x, y],
        }
    }

    /// The outlines of its letters on the paper.
    ///
    /// # Errors
    /// As [`glyphs`].
    pub fn steps(&self) -> Result<Vec<Step>> {
        let (size, weight) = (self.lettering.size, self.lettering.weight);
        let [a, b, c, d, e, f] = self.matrix();
        let mut steps = Vec::new();
        let mut pen = 0.0;
        for glyph in glyphs(&self.text, weight)? {
            let place = |[u, v]: Point| {
                let [u, v] = [size * (pen + u), size * v];
                [a * u + c * v + e, b * u + d * v + f]
            };
            steps.extend(glyph_steps(glyph.id, weight)?.into_iter().map(|step| step.moved(place)));
            pen += glyph.advance;
        }
        Ok(steps)
    }

    /// Width of the pen that draws the rim of paper, if there is one.
    pub fn rim(&self) -> Option<f64> {
        self.lettering.rim.then_some(0.22 * self.lettering.size)
    }
}

/// Steps round a circle: four cubic arcs, which keep to it within 3e-4 of the radius.
pub(super) fn circle([x, y]: Point, r: f64) -> [Step; 6] {
    let k = 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0) * r;
    let arc = |[ax, ay]: Point, [bx, by]: Point, [cx, cy]: Point| {
        Step::Curve([[x + ax, y + ay], [x + bx, y + by], [x + cx, y + cy]])
    };
    [
        Step::Move([x + r, y]),
        arc([r, k], [k, r], [0.0, r]),
        arc([-k, r], [-r, k], [-r, 0.0]),
        arc([-r, -k], [-k, -r], [0.0, -r]),
        arc([k, -r], [r, -k], [r, 0.0]),
        Step::Close,
    ]
}
