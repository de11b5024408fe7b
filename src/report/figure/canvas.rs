//! A drawing in millimetres, written as text that is the same for the same drawing: fixed decimals, no clock, no random names.

use super::font::{CAPITAL, DEPTH, FAMILY, Weight, text_width};
use super::style::{Ink, LETTER, Pen, SMALL, Style};
use crate::base::{Point, Result};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fmt::Write;

/// Where a text stands from its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It starts there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Size, mm.
    pub size: f64,
    /// Where it stands from its place.
    pub anchor: Anchor,
    /// Weight.
    pub weight: Weight,
    /// Ink.
    pub ink: Ink,
    /// Whether it runs upwards.
    pub upwards: bool,
    /// Whether it stands on a rim of paper, over lines and areas.
    pub rim: bool,
}

impl Lettering {
    /// Labels.
    pub fn label(anchor: Anchor) -> Self {
        Lettering { size: LETTER, anchor, weight: Weight::Regular, ink: Ink::Text, upwards: false, rim: false }
    }

    /// Ticks and notes.
    pub fn small(anchor: Anchor) -> Self {
        Lettering { size: SMALL, ink: Ink::Soft, ..Lettering::label(anchor) }
    }

    /// The same in bold.
    pub fn bold(self) -> Self {
        Lettering { weight: Weight::Bold, ..self }
    }

    /// The same, upwards.
    pub fn upwards(self) -> Self {
        Lettering { upwards: true, ..self }
    }

    /// The same on a rim of paper.
    pub fn rimmed(self) -> Self {
        Lettering { rim: true, ..self }
    }

    /// The same in another ink.
    pub fn ink(self, ink: Ink) -> Self {
        Lettering { ink, ..self }
    }

    /// Width of a text, mm.
    ///
    /// # Errors
    /// As [`text_width`].
    pub fn width(&self, text: &str) -> Result<f64> {
        Ok(self.size * text_width(text, self.weight)?)
    }
}

/// A text of a drawing and the box it takes: left, top, right, bottom, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The text.
    pub text: String,
    /// Its box.
    pub area: [f64; 4],
    /// Characters with a glyph of their own, all but blanks.
    pub glyphs: usize,
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
    pub(super) body: String,
    pub(super) texts: Vec<Placed>,
    clips: usize,
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
            body: String::new(),
            texts: Vec::new(),
            clips: 0,
        }
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
        if places.len() > 1 {
            let path = path(std::iter::once(places), false);
            self.stroke(&path, pen);
        }
    }

    /// Many lines with one pen.
    pub fn lines<'a>(&mut self, lines: impl IntoIterator<Item = &'a [Point]>, pen: Pen) {
        let path = path(lines.into_iter().filter(|line| line.len() > 1), false);
        if !path.is_empty() {
            self.stroke(&path, pen);
        }
    }

    /// The edges of closed outlines.
    pub fn edges<'a>(&mut self, outlines: impl IntoIterator<Item = &'a [Point]>, pen: Pen) {
        let path = path(outlines.into_iter().filter(|line| line.len() > 2), true);
        if !path.is_empty() {
            self.stroke(&path, pen);
        }
    }

    /// The area inside closed outlines, even and odd: an outline within another is a hole.
    pub fn area<'a>(&mut self, outlines: impl IntoIterator<Item = &'a [Point]>, fill: Ink, edge: Option<Pen>) {
        let path = path(outlines.into_iter().filter(|line| line.len() > 2), true);
        if path.is_empty() {
            return;
        }
        let _ = write!(self.body, "<path d=\"{path}\" fill=\"{}\" fill-rule=\"evenodd\"", fill.token());
        if let Some(pen) = edge {
            let _ = write!(self.body, "{}", stroke_of(pen));
        }
        self.body += "/>\n";
    }

    /// A rectangle: left, top, width, height.
    pub fn rectangle(&mut self, [x, y, w, h]: [f64; 4], fill: Ink, edge: Option<Pen>) {
        self.area([&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]][..]], fill, edge);
    }

    /// A disc.
    pub fn disc(&mut self, at: Point, radius: f64, fill: Ink, edge: Option<Pen>) {
        let [x, y, r] = [at[0], at[1], radius].map(number);
        let _ = write!(self.body, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{}\"", fill.token());
        if let Some(pen) = edge {
            let _ = write!(self.body, "{}", stroke_of(pen));
        }
        self.body += "/>\n";
    }

    /// An arrow head whose tip is at a place, pointing along a direction (in the drawing, y down).
    pub fn arrow_head(&mut self, tip: Point, along: [f64; 2], length: f64, ink: Ink) {
        let norm = along[0].hypot(along[1]);
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
        let _ = write!(self.body, "<text font-size=\"{}\" fill=\"{}\"", number(lettering.size), lettering.ink.token());
        if lettering.weight == Weight::Bold {
            let _ = write!(self.body, " font-weight=\"{}\"", Weight::Bold.number());
        }
        if lettering.rim {
            let rim = number(0.22 * lettering.size);
            let _ = write!(
                self.body,
                " stroke=\"{}\" stroke-width=\"{rim}\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
                Ink::Paper.token()
            );
        }
        let [x, y] = start.map(number);
        if lettering.upwards {
            let _ = write!(self.body, " transform=\"translate({x} {y}) rotate(-90)\"");
        } else {
            let _ = write!(self.body, " x=\"{x}\" y=\"{y}\"");
        }
        let _ = writeln!(self.body, ">{}</text>", escaped(&text));
        let glyphs = text.chars().filter(|c| !c.is_whitespace()).count();
        self.texts.push(Placed { text, area, glyphs });
        Ok(())
    }

    /// Draws with everything outside closed outlines (even and odd) cut off.
    pub fn clipped<'a>(
        &mut self,
        outlines: impl IntoIterator<Item = &'a [Point]>,
        draw: impl FnOnce(&mut Canvas) -> Result<()>,
    ) -> Result<()> {
        self.clips += 1;
        let id = format!("{}-clip{}", self.name, self.clips);
        let path = path(outlines.into_iter().filter(|line| line.len() > 2), true);
        let _ = writeln!(
            self.body,
            "<clipPath id=\"{id}\"><path d=\"{path}\" clip-rule=\"evenodd\"/></clipPath>\n<g clip-path=\"url(#{id})\">"
        );
        let drawn = draw(self);
        self.body += "</g>\n";
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
    pub fn picture(&mut self, [x, y, w, h]: [f64; 4], png: &[u8]) {
        let [x, y, w, h] = [x, y, w, h].map(number);
        let _ = writeln!(
            self.body,
            "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\"/>",
            STANDARD.encode(png)
        );
    }

    fn stroke(&mut self, path: &str, pen: Pen) {
        let _ = writeln!(self.body, "<path d=\"{path}\" fill=\"none\"{}/>", stroke_of(pen));
    }

    /// The attributes every drawing starts with.
    pub(super) fn family() -> String {
        format!("font-family=\"'{FAMILY}'\" stroke-linejoin=\"round\" stroke-linecap=\"butt\"")
    }
}

fn stroke_of(pen: Pen) -> String {
    let mut text = format!(" stroke=\"{}\" stroke-width=\"{}\"", pen.ink.token(), number(pen.width));
    if let Some([dash, gap]) = pen.dash {
        let _ = write!(text, " stroke-dasharray=\"{} {}\"", number(dash), number(gap));
    }
    text
}

/// A length with a micrometre's digits and no more.
pub(super) fn number(x: f64) -> String {
    let rounded = (1000.0 * x).round() / 1000.0;
    // no minus zero
    if rounded == 0.0 || !rounded.is_finite() { "0".to_owned() } else { format!("{rounded}") }
}

/// Path data in micrometres' digits: first place whole, then steps.
fn path<'a>(lines: impl IntoIterator<Item = &'a [Point]>, closed: bool) -> String {
    let mut data = String::new();
    for line in lines {
        let mut last = [0_i64; 2];
        for (k, place) in line.iter().enumerate() {
            let here = place.map(|x| if x.is_finite() { (1000.0 * x).round().clamp(-1e9, 1e9) as i64 } else { 0 });
            let step = [here[0] - last[0], here[1] - last[1]];
            if k == 0 {
                let _ = write!(data, "M{} {}", thousandths(here[0]), thousandths(here[1]));
            } else if step != [0, 0] {
                let gap = if step[1] < 0 { "" } else { " " };
                let _ = write!(data, "l{}{gap}{}", thousandths(step[0]), thousandths(step[1]));
            }
            last = here;
        }
        if closed {
            data.push('z');
        }
    }
    data
}

fn thousandths(n: i64) -> String {
    let sign = if n < 0 { "-" } else { "" };
    let (whole, rest) = (n.unsigned_abs() / 1000, n.unsigned_abs() % 1000);
    let digits = format!("{rest:03}");
    let digits = digits.trim_end_matches('0');
    match (whole, digits) {
        (_, "") => format!("{sign}{whole}"),
        (0, _) => format!("{sign}.{digits}"),
        _ => format!("{sign}{whole}.{digits}"),
    }
}

/// Text as XML writes it.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_end_where_their_steps_lead() {
        let line = [[0.5, 1.0], [0.4994, 1.0], [-2.25, 0.0], [10.0, 0.0]];
        assert_eq!(path([&line[..]], true), "M.5 1l-.001 0l-2.749-1l12.25 0z");
        assert_eq!(path([&[[f64::NAN, f64::INFINITY]; 2][..]], false), "M0 0");
        assert_eq!((number(-0.0001), number(2.0 / 3.0)), ("0".into(), "0.667".into()));
    }

    #[test]
    fn what_a_user_writes_stays_text() {
        let mut canvas = Canvas::new("a", "b", 10.0, Style::default());
        canvas.text([1.0, 5.0], "<script>\u{1}ink\u{2} & \"so\"", Lettering::label(Anchor::Start)).unwrap();
        assert!(canvas.body.contains(">&lt;script&gt; ink  &amp; &quot;so&quot;</text>"), "{}", canvas.body);
        assert!(canvas.text([1.0, 5.0], "船", Lettering::label(Anchor::Start)).is_err());
    }

    #[test]
    fn hatching_stays_inside_its_box() {
        let mut canvas = Canvas::new("a", "b", 10.0, Style::default());
        let area = vec![vec![[1.0, 1.0], [5.0, 1.0], [5.0, 3.0], [1.0, 3.0]]];
        canvas.hatch(&area, 1.0, Pen::new(0.1, Ink::Text)).unwrap();
        assert_eq!(canvas.body.matches('M').count(), 1 + 4);
    }
}
