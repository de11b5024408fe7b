//! Drawings as PDF: each a page of the size of the drawing, text as text with the letters it needs inside.
//!
//! Source: ISO 32000-1:2008, sections 8.4 (graphics), 8.9 (images), 9.7 (fonts of more than 256 characters), 9.10 (back to characters).

use super::canvas::Canvas;
use super::font::{Step, Weight, glyphs};
use super::item::{Item, Words, circle};
use super::pdf_font::{Letters, packed, write_font};
use super::pixels::{Pixels, decoded};
use super::style::{Ink, Palette, Pen};
use crate::base::{Error, Result};
use crate::report::Origin;
use pdf_writer::types::LineJoinStyle;
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// Points per millimetre.
const POINT: f64 = 72.0 / 25.4;
/// Names of the two weights of the font.
const FONTS: [(Name, Weight); 2] = [(Name(b"R"), Weight::Regular), (Name(b"B"), Weight::Bold)];

impl Canvas {
    /// The drawing as PDF.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if a letter or a picture would be lost.
    pub fn pdf(&self) -> Result<Vec<u8>> {
        pdf_of(std::slice::from_ref(self))
    }
}

/// Drawings as the pages of one document, under the title and the hash of the first.
///
/// # Errors
/// As [`Canvas::pdf`]; also if there is no drawing.
pub fn pdf_of(drawings: &[Canvas]) -> Result<Vec<u8>> {
    let Some(first) = drawings.first() else {
        return Err(Error::argument("a document without a page", "draw at least one"));
    };
    let mut page = Page::new(first.style.palette);
    let mut sheets = Vec::new();
    for drawing in drawings {
        let size = [drawing.width, drawing.height];
        page.begin(size);
        page.items(&drawing.items)?;
        sheets.push((size, packed(&std::mem::replace(&mut page.content, Content::new()).finish())));
    }
    page.document(&sheets, &first.title, &first.origin)
}

/// The page that is drawn, with what all pages share.
struct Page<'a> {
    content: Content,
    palette: Palette,
    letters: [Letters; 2],
    pictures: Vec<&'a [u8]>,
}

impl<'a> Page<'a> {
    fn new(palette: Palette) -> Self {
        Page { content: Content::new(), palette, letters: Default::default(), pictures: Vec::new() }
    }

    fn begin(&mut self, [width, height]: [f64; 2]) {
        // mm from the left upper corner, y down
        self.content.transform([POINT, 0.0, 0.0, -POINT, 0.0, height * POINT].map(|x| x as f32));
        self.content.set_line_join(LineJoinStyle::RoundJoin);
        self.fill(Ink::Paper);
        self.content.rect(0.0, 0.0, width as f32, height as f32);
        self.content.fill_nonzero();
    }

    fn items(&mut self, items: &'a [Item]) -> Result<()> {
        for item in items {
            match item {
                Item::Path { path, fill, edge } => self.area(path.steps(), *fill, *edge),
                Item::Disc { at, radius, fill, edge } => self.area(circle(*at, *radius), Some(*fill), *edge),
                Item::Text(words) => self.words(words)?,
                Item::Clip { path, items } => {
                    self.content.save_state();
                    self.path(path.steps());
                    self.content.clip_even_odd().end_path();
                    self.items(items)?;
                    self.content.restore_state();
                }
                Item::Picture { area, png } => self.picture(*area, png),
            }
        }
        Ok(())
    }

    fn fill(&mut self, ink: Ink) {
        let [r, g, b] = ink.colour(self.palette).map(part);
        self.content.set_fill_rgb(r, g, b);
    }

    fn pen(&mut self, pen: Pen) {
        let [r, g, b] = pen.ink.colour(self.palette).map(part);
        self.content.set_stroke_rgb(r, g, b).set_line_width(rounded(pen.width));
        self.content.set_dash_pattern(pen.dash.into_iter().flatten().map(rounded), 0.0);
    }

    fn path(&mut self, steps: impl IntoIterator<Item = Step>) {
        for step in steps {
            match step {
                Step::Move([x, y]) => self.content.move_to(rounded(x), rounded(y)),
                Step::Line([x, y]) => self.content.line_to(rounded(x), rounded(y)),
                Step::Curve(places) => {
                    let [[ax, ay], [bx, by], [x, y]] = places.map(|p| p.map(rounded));
                    self.content.cubic_to(ax, ay, bx, by, x, y)
                }
                Step::Close => self.content.close_path(),
            };
        }
    }

    fn area(&mut self, steps: impl IntoIterator<Item = Step>, fill: Option<Ink>, edge: Option<Pen>) {
        if let Some(ink) = fill {
            self.fill(ink);
        }
        if let Some(pen) = edge {
            self.pen(pen);
        }
        self.path(steps);
        match (fill, edge) {
            (Some(_), Some(_)) => self.content.fill_even_odd_and_stroke(),
            (Some(_), None) => self.content.fill_even_odd(),
            (None, Some(_)) => self.content.stroke(),
            (None, None) => self.content.end_path(),
        };
    }

    /// The rim is drawn by outlines, so that each text stands in the file once.
    fn words(&mut self, words: &Words) -> Result<()> {
        if let Some(width) = words.rim() {
            self.area(words.steps()?, None, Some(Pen::new(width, Ink::Paper)));
        }
        let lettering = &words.lettering;
        let shown = glyphs(&words.text, lettering.weight)?;
        let which = lettering.weight as usize;
        let codes: Vec<u8> = shown.iter().flat_map(|glyph| self.letters[which].code(glyph).to_be_bytes()).collect();
        self.fill(lettering.ink);
        self.content.begin_text();
        self.content.set_font(FONTS[which].0, rounded(lettering.size));
        self.content.set_text_matrix(words.matrix().map(rounded));
        self.content.show(Str(&codes));
        self.content.end_text();
        Ok(())
    }

    fn picture(&mut self, [x, y, w, h]: [f64; 4], png: &'a [u8]) {
        self.pictures.push(png);
        self.content.save_state();
        // a picture fills the unit square, y up
        self.content.transform([w, 0.0, 0.0, -h, x, y + h].map(rounded));
        self.content.x_object(Name(picture_name(self.pictures.len()).as_bytes()));
        self.content.restore_state();
    }

    fn document(self, sheets: &[([f64; 2], Vec<u8>)], title: &str, origin: &Origin) -> Result<Vec<u8>> {
        let Page { letters, pictures, .. } = self;
        let mut last = Ref::new(1);
        let mut next = || last.bump();
        let [catalogue, pages, info] = [(); 3].map(|()| next());
        let sheets: Vec<_> = sheets.iter().map(|sheet| (sheet, [next(), next()])).collect();
        let fonts = FONTS.map(|(name, weight)| (name, weight, next()));
        let used = |weight: Weight| !letters[weight as usize].is_empty();
        let pictures: Vec<(&[u8], Ref, Ref)> = pictures.into_iter().map(|png| (png, next(), next())).collect();
        let mut pdf = Pdf::new();
        pdf.catalog(catalogue).pages(pages);
        let mut about = pdf.document_info(info);
        about.title(TextStr(title));
        for (name, hash) in origin.known() {
            about.pair(Name(name.as_bytes()), TextStr(hash));
        }
        about.finish();
        pdf.pages(pages).kids(sheets.iter().map(|(_, [page, _])| *page)).count(sheets.len() as i32);
        for (([width, height], content), [page, stream]) in &sheets {
            let mut sheet = pdf.page(*page);
            sheet.parent(pages).contents(*stream);
            sheet.media_box(Rect::new(0.0, 0.0, (width * POINT) as f32, (height * POINT) as f32));
            let mut resources = sheet.resources();
            let mut named = resources.fonts();
            for (name, _, font) in fonts.iter().filter(|(_, weight, _)| used(*weight)) {
                named.pair(*name, *font);
            }
            named.finish();
            let mut named = resources.x_objects();
            for (k, (_, picture, _)) in pictures.iter().enumerate() {
                named.pair(Name(picture_name(k + 1).as_bytes()), *picture);
            }
            named.finish();
            resources.finish();
            sheet.finish();
            pdf.stream(*stream, content).filter(Filter::FlateDecode);
        }
        for (_, weight, font) in fonts {
            if used(weight) {
                write_font(&mut pdf, font, weight, &letters[weight as usize], &mut next)?;
            }
        }
        for (png, picture, opacity) in pictures {
            write_picture(&mut pdf, [picture, opacity], decoded(png)?);
        }
        Ok(pdf.finish())
    }
}

fn write_picture(pdf: &mut Pdf, [picture, opacity]: [Ref; 2], pixels: Pixels) {
    let Pixels { size, rgba } = pixels;
    let colours: Vec<u8> = rgba.chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
    let opacities: Vec<u8> = rgba.iter().skip(3).step_by(4).copied().collect();
    let is_clear = opacities.iter().any(|&opacity| opacity < 255);
    for (id, samples) in [(picture, Some(colours)), (opacity, is_clear.then_some(opacities))] {
        let Some(samples) = samples else { continue };
        let packed = packed(&samples);
        let mut image = pdf.image_xobject(id, &packed);
        image.filter(Filter::FlateDecode);
        image.width(size[0] as i32).height(size[1] as i32).bits_per_component(8);
        if id == opacity {
            image.color_space().device_gray();
        } else {
            image.color_space().device_rgb();
            if is_clear {
                image.s_mask(opacity);
            }
        }
    }
}

fn picture_name(k: usize) -> String {
    format!("P{k}")
}

/// A part of a colour between 0 and 1.
fn part(byte: u8) -> f32 {
    rounded(f64::from(byte) / 255.0)
}

/// With a micrometre's digits and no more.
fn rounded(x: f64) -> f32 {
    ((1000.0 * x).round() / 1000.0) as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::pixels::encoded;
    use crate::report::figure::{Anchor, Lettering, Style};

    fn content(canvas: &Canvas) -> String {
        let mut page = Page::new(canvas.style.palette);
        page.begin([canvas.width, canvas.height]);
        page.items(&canvas.items).unwrap();
        page.content.finish().iter().map(|&byte| char::from(byte)).collect::<String>().replace('\n', " ")
    }

    /// The operators of ISO 32000-1, tables 57 to 60 and 74, for each kind of item.
    #[test]
    fn operators_say_what_is_drawn() {
        let mut canvas = Canvas::new("a", "b", 25.4, Style::default());
        let (black, line) = (Ink::Rgb([0; 3]), [[1.0, 2.0], [4.0, 2.0], [4.0, 6.5]]);
        canvas.line(&line, Pen::new(0.25, black).dashed(1.0, 0.5));
        canvas.area([&line[..]], Ink::Rgb([255, 0, 51]), None);
        canvas.edges([&line[..]], Pen::new(0.3, black));
        canvas
            .clipped([&line[..]], |canvas| {
                canvas.disc([2.0, 2.0], 1.0, black, Some(Pen::new(0.1, black)));
                Ok(())
            })
            .unwrap();
        canvas.text([7.0, 8.0], "a", Lettering::label(Anchor::Start).upwards()).unwrap();
        let text = content(&canvas);
        let path = "1 2 m 4 2 l 4 6.5 l";
        for part in [
            // an inch high: 72 points, y down
            " 0 72 cm 1 j 1 1 1 rg ".to_owned(),
            format!("0 0 0 RG 0.25 w [1 0.5] 0 d {path} S"),
            format!("1 0 0.2 rg {path} h f*"),
            format!("0.3 w [] 0 d {path} h S"),
            format!("q {path} h W* n 0 0 0 rg"),
            "h B* Q".to_owned(),
            "BT /R 2.822 Tf 0 -1 -1 0 7 8 Tm".to_owned(),
        ] {
            assert!(text.contains(&part), "{part}: {text}");
        }
    }

    #[test]
    fn pictures_keep_their_samples_and_their_opacity() {
        let mut canvas = Canvas::new("a", "b", 20.0, Style::default());
        let samples = [10, 20, 30, 255, 40, 50, 60, 0];
        canvas.picture([2.0, 3.0, 10.0, 5.0], encoded([2, 1], png::ColorType::Rgba, &samples).unwrap());
        canvas.picture([2.0, 9.0, 10.0, 5.0], encoded([1, 1], png::ColorType::Rgb, &[7, 8, 9]).unwrap());
        // the unit square, y up, comes to stand 2 to 12 across and 8 to 3 down
        assert!(content(&canvas).contains("q 10 0 0 -5 2 8 cm /P1 Do Q q 10 0 0 -5 2 14 cm /P2 Do Q"));
        let pdf = canvas.pdf().unwrap();
        let count = |what: &[u8]| pdf.windows(what.len()).filter(|window| *window == what).count();
        assert_eq!([count(b"/Subtype /Image"), count(b"/SMask "), count(b"/DeviceGray")], [3, 1, 1]);
        for samples in [&[10, 20, 30, 40, 50, 60][..], &[255, 0], &[7, 8, 9]] {
            assert_eq!(count(&packed(samples)), 1);
        }
    }
}
