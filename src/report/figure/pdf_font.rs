//! The fonts of a PDF: the letters that occur, and the way back from them to characters.

use super::font::{FAMILY, Glyph, Weight};
use crate::base::{Error, Result};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish, Name, Pdf, Rect, Ref, Str};
use sha2::{Digest, Sha256};
use std::io::Write;
use subsetter::{GlyphRemapper, subset};

const IDENTITY: SystemInfo = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// The characters of one weight that a page shows, numbered from 1 as they come: characters that share a shape stay apart.
#[derive(Default)]
pub(super) struct Letters(Vec<Glyph>);

impl Letters {
    /// The number of a character on this page.
    pub fn code(&mut self, glyph: &Glyph) -> u16 {
        let known = self.0.iter().position(|known| known.letter == glyph.letter);
        let at = known.unwrap_or_else(|| {
            self.0.push(*glyph);
            self.0.len() - 1
        });
        // a font has at most 65535 glyphs
        at as u16 + 1
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// Writes the font with the letters it needs; `next` gives numbers of objects.
///
/// # Errors
/// [`Error::Failed`] if the font cannot be taken apart.
pub(super) fn write_font(
    pdf: &mut Pdf,
    id: Ref,
    weight: Weight,
    letters: &Letters,
    next: &mut impl FnMut() -> Ref,
) -> Result<()> {
    let face = weight.face()?;
    let mut kept = GlyphRemapper::new();
    // the shape of each number; number 0 is none of ours
    let shapes: Vec<u16> = std::iter::once(0).chain(letters.0.iter().map(|glyph| kept.remap(glyph.id.0))).collect();
    let file = subset(weight.file(), 0, &kept).map_err(|e| {
        Error::failed(format!("the font of the figures cannot be taken apart: {e}"), "build the program afresh")
    })?;
    let name = base_font(weight, &file);
    let name = Name(name.as_bytes());
    let [cid, descriptor, stream, to_shapes, to_characters] = [(); 5].map(|()| next());
    let mut font = pdf.type0_font(id);
    font.base_font(name).encoding_predefined(Name(b"Identity-H"));
    font.descendant_font(cid).to_unicode(to_characters);
    font.finish();

    let mut font = pdf.cid_font(cid);
    font.subtype(CidFontType::Type2).base_font(name).system_info(IDENTITY);
    font.font_descriptor(descriptor).cid_to_gid_map_stream(to_shapes);
    font.widths().consecutive(1, letters.0.iter().map(|glyph| (1000.0 * glyph.advance) as f32));
    font.finish();

    let thousandth = |units: i16| 1000.0 * f32::from(units) / f32::from(face.units_per_em());
    let (box_, capital) = (face.global_bounding_box(), face.capital_height().unwrap_or_else(|| face.ascender()));
    let mut description = pdf.font_descriptor(descriptor);
    description.name(name).flags(FontFlags::SYMBOLIC).italic_angle(0.0).weight(weight.number());
    description.bbox(Rect::new(
        thousandth(box_.x_min),
        thousandth(box_.y_min),
        thousandth(box_.x_max),
        thousandth(box_.y_max),
    ));
    description.ascent(thousandth(face.ascender())).descent(thousandth(face.descender()));
    description.cap_height(thousandth(capital)).stem_v(stem(weight)).font_file2(stream);
    description.finish();

    let length = file.len() as i32;
    let file = packed(&file);
    pdf.stream(stream, &file).filter(Filter::FlateDecode).pair(Name(b"Length1"), length);
    let shapes: Vec<u8> = shapes.into_iter().flat_map(u16::to_be_bytes).collect();
    pdf.stream(to_shapes, &packed(&shapes)).filter(Filter::FlateDecode);
    let mut characters = UnicodeCmap::new(Name(b"Characters"), IDENTITY);
    for (k, glyph) in (1_u16..).zip(&letters.0) {
        characters.pair(k, glyph.letter);
    }
    pdf.cmap(to_characters, &packed(&characters.finish())).filter(Filter::FlateDecode);
    Ok(())
}

/// The name of a part of a font: six letters that differ from part to part, then the font's.
fn base_font(weight: Weight, file: &[u8]) -> String {
    let tag: String = Sha256::digest(file).iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect();
    let family = FAMILY.replace(' ', "");
    match weight {
        Weight::Regular => format!("{tag}+{family}-Regular"),
        Weight::Bold => format!("{tag}+{family}-Bold"),
    }
}

/// Width of upright stems, thousandths of the size, by which a reader without the font would choose another.
fn stem(weight: Weight) -> f32 {
    match weight {
        Weight::Regular => 80.0,
        Weight::Bold => 140.0,
    }
}

/// Bytes as the filter "FlateDecode" has them.
pub(super) fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    // memory takes every byte
    let _ = encoder.write_all(bytes);
    encoder.finish().unwrap_or_default()
}
