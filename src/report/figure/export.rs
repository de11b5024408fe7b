//! Drawings as files.

use super::canvas::Canvas;
use crate::base::Result;
use crate::report::write_whole;
use std::io::Write;
use std::path::Path;

impl Canvas {
    /// Writes the drawing as SVG.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if the file cannot be written.
    pub fn write_svg(&self, path: &Path) -> Result<()> {
        write_whole(path, |out| out.write_all(self.svg().as_bytes()))
    }

    /// Writes the drawing as PDF; text stays text.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if a letter would be lost, [`crate::base::Error::File`] if the file cannot be written.
    pub fn write_pdf(&self, path: &Path) -> Result<()> {
        let bytes = self.pdf()?;
        write_whole(path, |out| out.write_all(&bytes))
    }

    /// Writes the drawing as PNG with so many pixels per inch.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if a letter would be lost or the picture would be too large; [`crate::base::Error::File`] if the file cannot be written.
    pub fn write_png(&self, path: &Path, dpi: f64) -> Result<()> {
        let bytes = self.png(dpi)?;
        write_whole(path, |out| out.write_all(&bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Origin;
    use crate::report::figure::{Anchor, Ink, Lettering, Pen, Style, Weight};
    use base64::Engine;
    use base64::engine::general_purpose::STANDARD;
    use std::io::Read;

    /// What a reader of files would be asked for: the letters of every kind that the texts have, µ of units beside μ of viscosity.
    const TEXTS: [&str; 3] = ["ζ = −0.5, 10⁻³ fi fl", "bold", "5 µm, μ"];

    fn drawing() -> Canvas {
        let mut canvas = Canvas::new("sample", "A sample of ζ", 20.0, Style::default());
        canvas.line(&[[1.0, 1.0], [80.0, 15.0]], Pen::new(0.3, Ink::Series(0)));
        canvas.text([5.0, 10.0], TEXTS[0], Lettering::label(Anchor::Start)).unwrap();
        canvas.text([2.0, 10.0], TEXTS[1], Lettering::label(Anchor::Middle).bold().upwards().rimmed()).unwrap();
        canvas.text([60.0, 10.0], TEXTS[2], Lettering::label(Anchor::Start)).unwrap();
        canvas
    }

    fn count(bytes: &[u8], what: &str) -> usize {
        bytes.windows(what.len()).filter(|window| *window == what.as_bytes()).count()
    }

    /// The streams of a PDF, unpacked.
    fn streams(pdf: &[u8]) -> Vec<Vec<u8>> {
        let mut streams = Vec::new();
        let mut rest = pdf;
        let find = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).position(|window| window == what);
        while let Some(at) = find(rest, b"\nstream\n") {
            rest = &rest[at + 8..];
            let end = find(rest, b"\nendstream").unwrap();
            let mut bytes = Vec::new();
            flate2::read::ZlibDecoder::new(&rest[..end]).read_to_end(&mut bytes).unwrap();
            streams.push(bytes);
            rest = &rest[end..];
        }
        streams
    }

    #[test]
    fn text_stays_text_with_its_fonts_inside() {
        let svg = drawing().svg();
        assert_eq!((svg.matches("<text").count(), svg.matches("@font-face").count()), (3, 2));
        assert!([Weight::Regular, Weight::Bold].iter().all(|weight| svg.contains(&STANDARD.encode(weight.file()))));
        assert!(svg.contains(">ζ = −0.5, 10⁻³ fi fl</text>"));
    }

    /// The numbers that the page shows lead through its own tables back to every character, and to as many shapes in the fonts inside.
    #[test]
    fn the_letters_of_a_pdf_are_characters_again() {
        let pdf = drawing().pdf().unwrap();
        assert_eq!((count(&pdf, "/FontFile2"), count(&pdf, "/ToUnicode")), (2, 2));
        let streams = streams(&pdf);
        let number = |hex: &str| u32::from_str_radix(hex, 16).unwrap();
        // of each weight, the characters by number: "<0001> <03B6>"
        let tables: Vec<Vec<(u32, char)>> = streams
            .iter()
            .filter_map(|stream| std::str::from_utf8(stream).ok()?.split_once("beginbfchar"))
            .map(|(_, list)| {
                let words: Vec<&str> = list.split_once("endbfchar").unwrap().0.split_whitespace().collect();
                let pair = |pair: &[&str]| [pair[0], pair[1]].map(|hex| number(hex.trim_matches(['<', '>'])));
                words.chunks(2).map(pair).map(|[code, letter]| (code, char::from_u32(letter).unwrap())).collect()
            })
            .collect();
        assert_eq!(tables.len(), 2);
        let shown: Vec<(usize, Vec<u32>)> = shown(&streams[0]);
        let texts: Vec<String> = shown
            .iter()
            .map(|(font, codes)| {
                let letter = |code: &u32| tables[*font].iter().find(|pair| pair.0 == *code).unwrap().1;
                codes.iter().map(letter).collect()
            })
            .collect();
        assert_eq!(texts, TEXTS);
        // each number has a shape in the font inside, but for blanks each shape an outline
        let faces: Vec<ttf_parser::Face> = streams.iter().filter_map(|s| ttf_parser::Face::parse(s, 0).ok()).collect();
        assert_eq!(faces.len(), 2);
        for (face, table) in faces.iter().zip(&tables) {
            let of_shapes = |s: &&Vec<u8>| s.len() == 2 * (table.len() + 1) && s[..2] == [0, 0];
            let shapes = streams.iter().find(of_shapes).unwrap();
            for &(code, letter) in table {
                let at = 2 * code as usize;
                let id = ttf_parser::GlyphId(u16::from_be_bytes([shapes[at], shapes[at + 1]]));
                assert_eq!(face.glyph_bounding_box(id).is_some(), letter != ' ', "{letter}");
            }
        }
    }

    /// Font and numbers of the texts in a page's stream, "/R 2.822 Tf ... (bytes) Tj", strings read by the rules of ISO 32000-1, 7.3.4.
    fn shown(stream: &[u8]) -> Vec<(usize, Vec<u32>)> {
        let mut found = Vec::new();
        let mut font = 0;
        let mut k = 0;
        while k < stream.len() {
            match stream[k] {
                b'/' => font = usize::from(stream[k + 1] == b'B'),
                b'(' => {
                    let mut bytes = Vec::new();
                    k += 1;
                    while stream[k] != b')' {
                        if stream[k] == b'\\' {
                            k += 1;
                            let escapes = [(b'n', b'\n'), (b'r', b'\r'), (b't', b'\t'), (b'b', 8), (b'f', 12)];
                            let octal = stream[k..k + 3].iter().take_while(|byte| (b'0'..b'8').contains(byte)).count();
                            if octal > 0 {
                                let digits = std::str::from_utf8(&stream[k..k + octal]).unwrap();
                                bytes.push(u8::from_str_radix(digits, 8).unwrap());
                                k += octal - 1;
                            } else {
                                let known = escapes.iter().find(|pair| pair.0 == stream[k]);
                                bytes.push(known.map_or(stream[k], |pair| pair.1));
                            }
                        } else {
                            bytes.push(stream[k]);
                        }
                        k += 1;
                    }
                    found.push((
                        font,
                        bytes.chunks(2).map(|pair| u32::from(pair[0]) << 8 | u32::from(pair[1])).collect(),
                    ));
                }
                b'<' => {
                    let end = k + stream[k..].iter().position(|&byte| byte == b'>').unwrap();
                    let hex = std::str::from_utf8(&stream[k + 1..end]).unwrap();
                    let code = |at: usize| u32::from_str_radix(&hex[at..at + 4], 16).unwrap();
                    found.push((font, (0..hex.len()).step_by(4).map(code).collect()));
                    k = end;
                }
                _ => {}
            }
            k += 1;
        }
        found
    }

    /// The hash stands as text in each format: an element of SVG, an entry of the information of a PDF, a tEXt chunk of a PNG.
    #[test]
    fn metadata_hold_the_hash() {
        let origin = Origin { combined_sha256: "0123abcd".into(), settings_sha256: String::new() };
        let (plain, stamped) = (drawing(), drawing().stamped(&origin));
        assert!(stamped.svg().contains("<metadata>combined_sha256 0123abcd</metadata>"));
        assert_eq!(count(&stamped.pdf().unwrap(), "/combined_sha256 (0123abcd)"), 1);
        let png = stamped.png(50.0).unwrap();
        assert_eq!(count(&png, "tEXtcombined_sha256\x000123abcd"), 1);
        for bytes in [plain.svg().into_bytes(), plain.pdf().unwrap(), plain.png(50.0).unwrap()] {
            assert_eq!(count(&bytes, "combined_sha256"), 0);
        }
    }

    #[test]
    fn the_page_has_the_size_of_the_drawing() {
        let png = drawing().png(254.0).unwrap();
        let size: Vec<u32> = png[16..24].chunks(4).map(|b| u32::from_be_bytes(b.try_into().unwrap())).collect();
        assert_eq!(size, [1750, 200]);
        assert!(drawing().png(1e9).is_err() && drawing().png(f64::NAN).is_err());
        let pdf = drawing().pdf().unwrap();
        assert!(pdf.starts_with(b"%PDF") && pdf == drawing().pdf().unwrap());
        // 175 mm and 20 mm in points
        let box_ = "/MediaBox [0 0 496.06";
        assert!(count(&pdf, box_) == 1 && count(&pdf, " 56.69") > 0);
    }
}
