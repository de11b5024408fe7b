//! Drawings as files: SVG and PDF with the fonts inside and text as text, PNG at any resolution.

use super::canvas::{Canvas, escaped, number};
use super::font::{FAMILY, Weight};
use super::style::{Ink, resolve};
use crate::base::{Error, Result};
use crate::report::write_whole;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::{tiny_skia, usvg};
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

/// Most pixels of a picture.
const MOST_PIXELS: f64 = 4e8;
/// Points per millimetre.
const POINT: f64 = 72.0 / 25.4;

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
        let paper = if page {
            String::new()
        } else {
            format!("<rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n", Ink::Paper.token())
        };
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\"{size} viewBox=\"0 0 {w} {h}\" role=\"img\" {}>\n<title>{}</title>\n{head}{paper}{}</svg>\n",
            Canvas::family(),
            escaped(&self.title),
            self.body
        );
        resolve(&text, self.style.palette, page)
    }

    /// Writes the drawing as SVG.
    ///
    /// # Errors
    /// [`Error::File`] if the file cannot be written.
    pub fn write_svg(&self, path: &Path) -> Result<()> {
        write_whole(path, |out| out.write_all(self.svg().as_bytes()))
    }

    /// Writes the drawing as PDF; text stays text.
    ///
    /// # Errors
    /// [`Error::Failed`] if a letter would be lost, [`Error::File`] if the file cannot be written.
    pub fn write_pdf(&self, path: &Path) -> Result<()> {
        let bytes = self.pdf()?;
        write_whole(path, |out| out.write_all(&bytes))
    }

    /// Writes the drawing as PNG with so many pixels per inch.
    ///
    /// # Errors
    /// [`Error::Failed`] if a letter would be lost or the picture would be too large; [`Error::File`] if the file cannot be written.
    pub fn write_png(&self, path: &Path, dpi: f64) -> Result<()> {
        let bytes = self.png(dpi)?;
        write_whole(path, |out| out.write_all(&bytes))
    }

    /// The drawing as PDF.
    ///
    /// # Errors
    /// [`Error::Failed`] if a letter would be lost.
    pub fn pdf(&self) -> Result<Vec<u8>> {
        let tree = self.tree([Weight::Regular.file(), Weight::Bold.file()])?;
        let failed = |what: &str| {
            Error::failed(format!("the figure {} cannot be written as PDF: {what}", self.name), "write SVG instead")
        };
        let size = krilla::geom::Size::from_wh((self.width * POINT) as f32, (self.height * POINT) as f32)
            .ok_or_else(|| failed("it has no size"))?;
        let mut document = krilla::Document::new();
        let mut page = document.start_page_with(krilla::page::PageSettings::new(size));
        let mut surface = page.surface();
        let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
        surface.finish();
        page.finish();
        drawn.ok_or_else(|| failed("the drawing is not understood"))?;
        document.finish().map_err(|e| failed(&format!("{e:?}")))
    }

    /// The drawing as PNG with so many pixels per inch.
    ///
    /// # Errors
    /// [`Error::Failed`] if a letter would be lost or the picture would have more than 400 million pixels.
    pub fn png(&self, dpi: f64) -> Result<Vec<u8>> {
        let tree = self.tree([Weight::Regular.file(), Weight::Bold.file()])?;
        let [width, height] = [self.width, self.height].map(|x| (x / 25.4 * dpi).round().max(1.0));
        if !(dpi > 0.0 && width * height <= MOST_PIXELS) {
            return Err(Error::failed(
                format!("{dpi} pixels per inch make {width} x {height} pixels, more than {MOST_PIXELS:e} in all"),
                "ask for fewer; 300 to 600 are usual",
            ));
        }
        let failed = |what: String| {
            Error::failed(format!("the figure {} cannot be drawn: {what}", self.name), "ask for fewer pixels per inch")
        };
        let mut map =
            tiny_skia::Pixmap::new(width as u32, height as u32).ok_or_else(|| failed("it has no pixels".into()))?;
        let scale =
            tiny_skia::Transform::from_scale(width as f32 / tree.size().width(), height as f32 / tree.size().height());
        resvg::render(&tree, scale, &mut map.as_mut());
        map.encode_png().map_err(|e| failed(e.to_string()))
    }

    /// The drawing as understood by the writers, with every letter accounted for.
    fn tree(&self, fonts: [&'static [u8]; 2]) -> Result<usvg::Tree> {
        let mut library = usvg::fontdb::Database::new();
        fonts.into_iter().for_each(|font| library.load_font_data(font.to_vec()));
        let options = usvg::Options { fontdb: Arc::new(library), ..usvg::Options::default() };
        let tree = usvg::Tree::from_str(&self.assemble("", false), &options).map_err(|e| {
            Error::failed(format!("the figure {} is not understood: {e}", self.name), "report this as a fault")
        })?;
        let (wanted, found) = (self.texts.iter().map(|t| t.glyphs).sum::<usize>(), glyphs(tree.root()));
        if wanted == found {
            return Ok(tree);
        }
        Err(Error::failed(
            format!(
                "the figure {} would show {found} of its {wanted} letters: the font is missing or damaged",
                self.name
            ),
            "build the program afresh",
        ))
    }
}

/// Letters that a group shows, blanks aside.
fn glyphs(group: &usvg::Group) -> usize {
    let of = |node: &usvg::Node| match node {
        usvg::Node::Group(group) => glyphs(group),
        usvg::Node::Text(text) => {
            let spans = text.layouted().iter();
            let shown = |g: &&usvg::layout::PositionedGlyph| g.id.0 != 0 && !g.text.trim().is_empty();
            spans.map(|span| span.positioned_glyphs.iter().filter(shown).count()).sum()
        }
        _ => 0,
    };
    group.children().iter().map(of).sum()
}

/// The style rule that brings a weight of the font into a page.
pub fn font_face(weight: Weight) -> String {
    format!(
        "@font-face{{font-family:'{FAMILY}';font-weight:{};src:url(data:font/ttf;base64,{}) format('truetype')}}",
        weight.number(),
        STANDARD.encode(weight.file())
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Anchor, Lettering, Pen, Style};

    fn drawing() -> Canvas {
        let mut canvas = Canvas::new("sample", "A sample", 20.0, Style::default());
        canvas.line(&[[1.0, 1.0], [80.0, 15.0]], Pen::new(0.3, Ink::Series(0)));
        canvas.text([5.0, 10.0], "ζ = −0.5, 10⁻³ fi fl", Lettering::label(Anchor::Start)).unwrap();
        canvas.text([2.0, 10.0], "bold", Lettering::label(Anchor::Middle).bold().upwards().rimmed()).unwrap();
        canvas
    }

    #[test]
    fn a_missing_font_is_an_error_and_not_a_picture_without_text() {
        let canvas = drawing();
        assert!(canvas.tree([Weight::Regular.file(), Weight::Bold.file()]).is_ok());
        let error = canvas.tree([b"no font", b"no font"]).unwrap_err().to_string();
        assert!(error.contains("letters"), "{error}");
    }

    #[test]
    fn text_stays_text_with_its_fonts_inside() {
        let svg = drawing().svg();
        assert_eq!((svg.matches("<text").count(), svg.matches("@font-face").count()), (2, 2));
        assert!([Weight::Regular, Weight::Bold].iter().all(|weight| svg.contains(&STANDARD.encode(weight.file()))));
        assert!(svg.contains(">ζ = −0.5, 10⁻³ fi fl</text>"));
        let pdf = drawing().pdf().unwrap();
        let count = |what: &[u8]| pdf.windows(what.len()).filter(|w| *w == what).count();
        // of each weight the glyphs, and the way back from glyphs to characters
        assert_eq!((count(b"/FontFile2"), count(b"/ToUnicode")), (2, 2));
    }

    #[test]
    fn the_page_has_the_size_of_the_drawing() {
        let png = drawing().png(254.0).unwrap();
        let size: Vec<u32> = png[16..24].chunks(4).map(|b| u32::from_be_bytes(b.try_into().unwrap())).collect();
        assert_eq!(size, [1750, 200]);
        assert!(drawing().png(1e9).is_err() && drawing().png(f64::NAN).is_err());
        let pdf = drawing().pdf().unwrap();
        assert!(pdf.starts_with(b"%PDF") && pdf == drawing().pdf().unwrap());
    }
}
