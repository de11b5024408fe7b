//! A drawing in millimetres: a list of what lies on the paper, the same for the same calls.

use super::font::{CAPITAL, DEPTH};
use super::item::{Item, Path, Words};
use super::lettering::{Anchor, Lettering};
use super::style::{Ink, Pen, Style};
use crate::base::plane;
use crate::base::{Point, Result};
use crate::report::Origin;

/// A text of a drawing and the box it takes: left, top, right, bottom, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The text.
    pub text: String,
    /// Its box.
    pub area: [f64; 4],
}

/// A drawing; x to the right, y down, mm from the left upper corner.
#[derive(Debug, Clone)]
pub struct Canvas {
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// How it looks.
    pub style: Style,
    pub(super) name: String,
    pub(super) title: String,
    pub(super) items: Vec<Item>,
    pub(super) origin: Origin,
    texts: Vec<Placed>,
}

impl Canvas {
    /// An empty drawing. The name becomes that of its files, the title tells what it shows to who cannot see it.
    pub fn new(name: &str, title: &str, height: f64, style: Style) -> Canvas {
        Canvas {
            width: style.column.width(),
            height,
            style,
            name: name.to_owned(),
            title: title.to_owned(),
            items: Vec::new(),
            origin: Origin::default(),
            texts: Vec::new(),
        }
    }

    /// The same with the hash over the case and every file it reads, which stands in the metadata of its files.
    pub fn stamped(mut self, origin: &Origin) -> Canvas {
        self.origin = origin.clone();
        self
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What it shows.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Its texts and the boxes they take.
    pub fn texts(&self) -> &[Placed] {
        &self.texts
    }

    /// What is wrong with its texts: those that reach out of the drawing, and pairs that overlap.
    pub fn crowded(&self) -> Vec<String> {
        let mut faults = Vec::new();
        for (k, a) in self.texts.iter().enumerate() {
            let [left, top, right, bottom] = a.area;
            if left < 0.0 || top < 0.0 || right > self.width || bottom > self.height {
                faults.push(format!("{}: \"{}\" reaches out of the drawing", self.name, a.text));
            }
            for b in &self.texts[k + 1..] {
                let apart = right <= b.area[0] || b.area[2] <= left || bottom <= b.area[1] || b.area[3] <= top;
                if !apart {
                    faults.push(format!("{}: \"{}\" and \"{}\" overlap", self.name, a.text, b.text));
                }
            }
        }
        faults
    }

    /// A line through places.
    pub fn line(&mut self, places: &[Point], pen: Pen) {
        self.lines([places], pen);
    }

    /// Many lines with one pen.
    pub fn lines<'a>(&mut self, lines: impl IntoIterator<Item = &'a [Point]>, pen: Pen) {
        self.path(Path::open(lines), None, Some(pen));
    }

    /// The edges of closed outlines.
    pub fn edges<'a>(&mut self, outlines: impl IntoIterator<Item = &'a [Point]>, pen: Pen) {
        self.path(Path::closed(outlines), None, Some(pen));
    }

    /// The area inside closed outlines, even and odd: an outline within another is a hole.
    pub fn area<'a>(&mut self, outlines: impl IntoIterator<Item = &'a [Point]>, fill: Ink, edge: Option<Pen>) {
        self.path(Path::closed(outlines), Some(fill), edge);
    }

    fn path(&mut self, path: Path, fill: Option<Ink>, edge: Option<Pen>) {
        if !path.lines.is_empty() {
            self.items.push(Item::Path { path, fill, edge });
        }
    }

    /// A rectangle: left, top, width, height.
    pub fn rectangle(&mut self, [x, y, w, h]: [f64; 4], fill: Ink, edge: Option<Pen>) {
        self.area([&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]][..]], fill, edge);
    }

    /// A disc.
    pub fn disc(&mut self, at: Point, radius: f64, fill: Ink, edge: Option<Pen>) {
        self.items.push(Item::Disc { at, radius, fill, edge });
    }

    /// An arrow head whose tip is at a place, pointing along a direction (in the drawing, y down).
    pub fn arrow_head(&mut self, tip: Point, along: [f64; 2], length: f64, ink: Ink) {
        let norm = plane::length(along);
        if norm == 0.0 || !norm.is_finite() {
            return;
        }
        let [c, s] = [along[0] / norm, along[1] / norm];
        let at = |back: f64, side: f64| [tip[0] - back * c - side * s, tip[1] - back * s + side * c];
        let shape = [tip, at(length, 0.36 * length), at(0.72 * length, 0.0), at(length, -0.36 * length)];
        self.area([&shape[..]], ink, None);
    }

    /// A text; its place is on the base line.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks one of its characters.
    pub fn text(&mut self, at: Point, text: &str, lettering: Lettering) -> Result<()> {
        let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let width = lettering.width(&text)?;
        let before = match lettering.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5 * width,
            Anchor::End => width,
        };
        let (above, below) = (CAPITAL * lettering.size, DEPTH * lettering.size);
        let [x, y] = at;
        let area = if lettering.upwards {
            [x - above, y - width + before, x + below, y + before]
        } else {
            [x - before, y - above, x - before + width, y + below]
        };
        let start = if lettering.upwards { [x, y + before] } else { [x - before, y] };
        self.texts.push(Placed { text: text.clone(), area });
        self.items.push(Item::Text(Words { start, text, lettering }));
        Ok(())
    }

    /// Draws with everything outside closed outlines (even and odd) cut off.
    pub fn clipped<'a>(
        &mut self,
        outlines: impl IntoIterator<Item = &'a [Point]>,
        draw: impl FnOnce(&mut Canvas) -> Result<()>,
    ) -> Result<()> {
        let before = std::mem::take(&mut self.items);
        let drawn = draw(self);
        let items = std::mem::replace(&mut self.items, before);
        self.items.push(Item::Clip { path: Path::closed(outlines), items });
        drawn
    }

    /// Slanted lines over the inside of closed outlines, so far apart.
    pub fn hatch(&mut self, outlines: &[Vec<Point>], apart: f64, pen: Pen) -> Result<()> {
        let mut range = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        for [x, y] in outlines.iter().flatten() {
            range = [range[0].min(*x), range[1].min(*y), range[2].max(*x), range[3].max(*y)];
        }
        let [left, top, right, bottom] = range;
        if left >= right || top >= bottom {
            return Ok(());
        }
        // lines x + y = c, at multiples of the spacing so that neighbouring areas go on with one another
        let step = apart * std::f64::consts::SQRT_2;
        let (first, last) = (((left + top) / step).ceil() as i64, ((right + bottom) / step).floor() as i64);
        let strokes: Vec<Vec<Point>> = (first..=last)
            .map(|k| {
                let c = k as f64 * step;
                let (x0, x1) = (left.max(c - bottom), right.min(c - top));
                vec![[x0, c - x0], [x1, c - x1]]
            })
            .collect();
        self.clipped(outlines.iter().map(Vec::as_slice), |canvas| {
            canvas.lines(strokes.iter().map(Vec::as_slice), pen);
            Ok(())
        })
    }

    /// A picture (PNG) over a rectangle: left, top, width, height.
    pub fn picture(&mut self, area: [f64; 4], png: Vec<u8>) {
        self.items.push(Item::Picture { area, png });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_of_letters_the_font_lacks_is_refused() {
        let mut canvas = Canvas::new("a", "b", 10.0, Style::default());
        assert!(canvas.text([1.0, 5.0], "船", Lettering::label(Anchor::Start)).is_err());
        assert!(canvas.items.is_empty() && canvas.texts().is_empty());
    }

    #[test]
    fn hatching_stays_inside_its_box() {
        let mut canvas = Canvas::new("a", "b", 10.0, Style::default());
        let area = vec![vec![[1.0, 1.0], [5.0, 1.0], [5.0, 3.0], [1.0, 3.0]]];
        canvas.hatch(&area, 1.0, Pen::new(0.1, Ink::Text)).unwrap();
        let [Item::Clip { items, .. }] = &canvas.items[..] else { panic!("{:?}", canvas.items) };
        let [Item::Path { path, .. }] = &items[..] else { panic!("{items:?}") };
        // x + y = k sqrt 2 for 2 < x + y < 8
        assert_eq!(path.lines.len(), 4);
        for [x, y] in path.lines.iter().flatten() {
            assert!((1000..=5000).contains(x) && (1000..=3000).contains(y), "{x} {y}");
        }
    }
}
