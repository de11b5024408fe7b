//! Drawings as SVG: text that is the same for the same drawing, with fixed decimals, no clock and no random names.

use super::canvas::Canvas;
use super::font::{FAMILY, Weight};
use super::item::{Item, Path, Words};
use super::style::{Ink, Palette, Pen};
use crate::report::xml::escaped;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fmt::Write;

impl Canvas {
    /// The drawing as SVG with the fonts inside.
    pub fn svg(&self) -> String {
        let faces: String = [Weight::Regular, Weight::Bold].iter().map(|&weight| font_face(weight)).collect();
        self.assemble(&format!("<style>{faces}</style>\n"), false)
    }

    /// The drawing for a page that brings the fonts ([`font_face`]) and may set the inks by variables.
    pub fn for_page(&self) -> String {
        self.assemble("", true)
    }

    fn assemble(&self, head: &str, page: bool) -> String {
        let [w, h] = [self.width, self.height].map(number);
        let size = if page { String::new() } else { format!(" width=\"{w}mm\" height=\"{h}mm\"") };
        let mut out = Writer { palette: self.style.palette, page, name: &self.name, clips: 0, text: String::new() };
        let _ = writeln!(
            out.text,
            "<svg xmlns=\"http://www.w3.org/2000/svg\"{size} viewBox=\"0 0 {w} {h}\" role=\"img\" font-family=\"'{FAMILY}'\" \
             stroke-linejoin=\"round\" stroke-linecap=\"butt\">\n<title>{}</title>",
            escaped(&self.title)
        );
        let origin = self.origin.line();
        if !page && !origin.is_empty() {
            let _ = writeln!(out.text, "<metadata>{}</metadata>", escaped(&origin));
        }
        out.text += head;
        if !page {
            let _ = writeln!(out.text, "<rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>", out.ink(Ink::Paper));
        }
        out.items(&self.items);
        out.text + "</svg>\n"
    }
}

struct Writer<'a> {
    palette: Palette,
    page: bool,
    name: &'a str,
    clips: usize,
    text: String,
}

impl Writer<'_> {
    fn ink(&self, ink: Ink) -> String {
        ink.css(self.palette, self.page)
    }

    fn items(&mut self, items: &[Item]) {
        for item in items {
            match item {
                Item::Path { path, fill, edge } => self.path(path, *fill, *edge),
                Item::Disc { at, radius, fill, edge } => {
                    let [x, y, r] = [at[0], at[1], *radius].map(number);
                    let (fill, edge) = (self.ink(*fill), self.stroke(*edge));
                    let _ = writeln!(self.text, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\"{edge}/>");
                }
                Item::Text(words) => self.words(words),
                Item::Clip { path, items } => {
                    self.clips += 1;
                    let (id, data) = (format!("{}-clip{}", self.name, self.clips), data(path));
                    let _ = writeln!(
                        self.text,
                        "<clipPath id=\"{id}\"><path d=\"{data}\" clip-rule=\"evenodd\"/></clipPath>\n<g clip-path=\"url(#{id})\">"
                    );
                    self.items(items);
                    self.text += "</g>\n";
                }
                Item::Picture { area, png } => {
                    let [x, y, w, h] = area.map(number);
                    let _ = writeln!(
                        self.text,
                        "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" \
                         href=\"data:image/png;base64,{}\"/>",
                        STANDARD.encode(png)
                    );
                }
            }
        }
    }

    fn path(&mut self, path: &Path, fill: Option<Ink>, edge: Option<Pen>) {
        let fill = match fill {
            Some(ink) => format!("{}\" fill-rule=\"evenodd", self.ink(ink)),
            None => "none".to_owned(),
        };
        let (data, edge) = (data(path), self.stroke(edge));
        let _ = writeln!(self.text, "<path d=\"{data}\" fill=\"{fill}\"{edge}/>");
    }

    fn stroke(&self, pen: Option<Pen>) -> String {
        let Some(pen) = pen else { return String::new() };
        let mut text = format!(" stroke=\"{}\" stroke-width=\"{}\"", self.ink(pen.ink), number(pen.width));
        if let Some([dash, gap]) = pen.dash {
            let _ = write!(text, " stroke-dasharray=\"{} {}\"", number(dash), number(gap));
        }
        text
    }

    fn words(&mut self, words: &Words) {
        let lettering = &words.lettering;
        let (size, ink) = (number(lettering.size), self.ink(lettering.ink));
        let _ = write!(self.text, "<text font-size=\"{size}\" fill=\"{ink}\"");
        if lettering.weight == Weight::Bold {
            let _ = write!(self.text, " font-weight=\"{}\"", Weight::Bold.number());
        }
        if let Some(rim) = words.rim() {
            let (paper, rim) = (self.ink(Ink::Paper), number(rim));
            let _ = write!(
                self.text,
                " stroke=\"{paper}\" stroke-width=\"{rim}\" stroke-linejoin=\"round\" paint-order=\"stroke\""
            );
        }
        let [x, y] = words.start.map(number);
        let _ = match lettering.upwards {
            true => write!(self.text, " transform=\"translate({x} {y}) rotate(-90)\""),
            false => write!(self.text, " x=\"{x}\" y=\"{y}\""),
        };
        let _ = writeln!(self.text, ">{}</text>", escaped(&words.text));
    }
}

/// The style rule that brings a weight of the font into a page.
pub fn font_face(weight: Weight) -> String {
    format!(
        "@font-face{{font-family:'{FAMILY}';font-weight:{};src:url(data:font/ttf;base64,{}) format('truetype')}}",
        weight.number(),
        STANDARD.encode(weight.file())
    )
}

/// A length with a micrometre's digits and no more.
fn number(x: f64) -> String {
    let rounded = (1000.0 * x).round() / 1000.0;
    // no minus zero
    if rounded == 0.0 || !rounded.is_finite() { "0".to_owned() } else { format!("{rounded}") }
}

/// Path data in micrometres' digits: first place whole, then steps.
fn data(path: &Path) -> String {
    let mut data = String::new();
    for line in &path.lines {
        let mut last = [0; 2];
        for (k, here) in line.iter().enumerate() {
            let [x, y] = [here[0] - last[0], here[1] - last[1]];
            if k == 0 {
                let _ = write!(data, "M{} {}", thousandths(x), thousandths(y));
            } else {
                let gap = if y < 0 { "" } else { " " };
                let _ = write!(data, "l{}{gap}{}", thousandths(x), thousandths(y));
            }
            last = *here;
        }
        if path.closed {
            data.push('z');
        }
    }
    data
}

fn thousandths(n: i32) -> String {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Anchor, Lettering, Style};

    #[test]
    fn paths_end_where_their_steps_lead() {
        let line = [[0.5, 1.0], [0.4994, 1.0], [-2.25, 0.0], [10.0, 0.0]];
        assert_eq!(data(&Path::closed([&line[..]])), "M.5 1l-.001 0l-2.749-1l12.25 0z");
        assert_eq!(data(&Path::open([&[[f64::NAN, f64::INFINITY]; 2][..]])), "M0 0");
        assert_eq!((number(-0.0001), number(2.0 / 3.0)), ("0".into(), "0.667".into()));
    }

    #[test]
    fn what_a_user_writes_stays_text() {
        let mut canvas = Canvas::new("a", "b", 10.0, Style::default());
        canvas.text([1.0, 5.0], "<script>\u{1}ink\u{2} & \"so\"", Lettering::label(Anchor::Start)).unwrap();
        let svg = canvas.svg();
        assert!(svg.contains(">&lt;script&gt; ink  &amp; &quot;so&quot;</text>"), "{svg}");
    }
}
