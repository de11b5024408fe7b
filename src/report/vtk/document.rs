//! The XML around the numbers, and the numbers themselves, in pieces of bounded size.

use super::super::origin::Origin;
use super::super::xml::escaped;
use super::data::{Array, Encoding, Fields};
use super::values::Values;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use rayon::prelude::*;
use std::io::{self, Write};

/// Bytes per piece: a multiple of 3, so that the letters of pieces can be joined, and of 8, so that no number is cut.
const PIECE: usize = 24 * 8192;
/// Pieces encoded side by side before they are written.
const BATCH: usize = 16;

/// Bytes that are compressed by themselves, before compression.
const BLOCK: usize = 1 << 18;

/// A VTK XML file being written.
pub(super) struct Document<'w, 'a, W: Write> {
    out: &'w mut W,
    kind: &'static str,
    encoding: Encoding,
    appended: Vec<Values<'a>>,
    compressed: Vec<Vec<u8>>,
    offset: usize,
    batches: [Vec<Piece>; 2],
}

/// Room for one piece.
#[derive(Default)]
struct Piece {
    bytes: Vec<u8>,
    letters: String,
}

impl<'w, 'a, W: Write + Send> Document<'w, 'a, W> {
    /// Writes the head with the field data.
    pub(super) fn begin(out: &'w mut W, kind: &'static str, fields: &Fields) -> io::Result<Self> {
        writeln!(out, "<?xml version=\"1.0\"?>")?;
        writeln!(
            out,
            "<VTKFile type=\"{kind}\" version=\"1.0\" byte_order=\"LittleEndian\" header_type=\"UInt64\"{}>\n<{kind}>",
            if fields.encoding == Encoding::Compressed { " compressor=\"vtkLZ4DataCompressor\"" } else { "" }
        )?;
        let units: Vec<String> =
            fields.point.iter().chain(fields.cell).map(|array| format!("{} {}", array.name, array.unit)).collect();
        let (units, meaning) = (units.join("\n"), fields.meaning.join("\n"));
        let hashes = fields.origin.into_iter().flat_map(Origin::known);
        let texts: Vec<(&str, &str)> = [("units", &*units), ("meaning", &*meaning)].into_iter().chain(hashes).collect();
        let texts: Vec<_> = texts.into_iter().filter(|(_, text)| !text.is_empty()).collect();
        if !texts.is_empty() || fields.time.is_some() {
            writeln!(out, "<FieldData>")?;
            for (name, text) in texts {
                codes(out, name, text)?;
            }
            if let Some(time) = fields.time {
                writeln!(
                    out,
                    "<DataArray type=\"Float64\" Name=\"TimeValue\" NumberOfTuples=\"1\" format=\"ascii\">\
                     {time}</DataArray>"
                )?;
            }
            writeln!(out, "</FieldData>")?;
        }
        Ok(Document {
            out,
            kind,
            encoding: fields.encoding,
            appended: Vec::new(),
            compressed: Vec::new(),
            offset: 0,
            batches: Default::default(),
        })
    }

    /// Opens an element.
    pub(super) fn open(&mut self, element: &str) -> io::Result<()> {
        writeln!(self.out, "<{element}>")
    }

    /// Closes an element.
    pub(super) fn close(&mut self, element: &str) -> io::Result<()> {
        writeln!(self.out, "</{element}>")
    }

    /// An element with the arrays of the user.
    pub(super) fn arrays(&mut self, element: &str, arrays: &[Array<'a>]) -> io::Result<()> {
        let named: Vec<_> = arrays.iter().map(|array| (array.name, array.values())).collect();
        self.values(element, &named)
    }

    /// An element with named arrays.
    pub(super) fn values(&mut self, element: &str, named: &[(&str, Values<'a>)]) -> io::Result<()> {
        self.open(element)?;
        for (name, values) in named {
            self.array(name, *values)?;
        }
        self.close(element)
    }

    fn array(&mut self, name: &str, values: Values<'a>) -> io::Result<()> {
        let name = escaped(name);
        write!(self.out, "<DataArray type=\"{}\" Name=\"{name}\"", values.kind().0)?;
        if values.components() > 1 {
            write!(self.out, " NumberOfComponents=\"{}\"", values.components())?;
        }
        match self.encoding {
            Encoding::Base64 => {
                writeln!(self.out, " format=\"binary\">")?;
                self.letters(values)?;
                writeln!(self.out, "\n</DataArray>")
            }
            Encoding::Compressed => {
                writeln!(self.out, " format=\"appended\" offset=\"{}\"/>", self.offset)?;
                let blocks = compressed(values);
                self.offset += blocks.iter().map(Vec::len).sum::<usize>();
                self.compressed.extend(blocks);
                Ok(())
            }
            Encoding::Raw => {
                writeln!(self.out, " format=\"appended\" offset=\"{}\"/>", self.offset)?;
                self.offset += values.stored_bytes();
                self.appended.push(values);
                Ok(())
            }
        }
    }

    /// The letters of an array: one batch of pieces is encoded while the one before is written.
    fn letters(&mut self, values: Values<'a>) -> io::Result<()> {
        let end = values.stored_bytes();
        let [mut full, mut next] = std::mem::take(&mut self.batches);
        full.clear();
        for start in (0..end).step_by(BATCH * PIECE) {
            next.resize_with((end - start).div_ceil(PIECE).min(BATCH), Piece::default);
            let encoded = || {
                next.par_iter_mut().enumerate().for_each(|(k, piece)| {
                    let from = start + k * PIECE;
                    piece.bytes.clear();
                    values.append_stored(from..(from + PIECE).min(end), &mut piece.bytes);
                    piece.letters.clear();
                    STANDARD.encode_string(&piece.bytes, &mut piece.letters);
                })
            };
            let out = &mut *self.out;
            let (written, ()) = rayon::join(|| write_letters(out, &full), encoded);
            written?;
            std::mem::swap(&mut full, &mut next);
        }
        write_letters(self.out, &full)?;
        self.batches = [full, next];
        Ok(())
    }

    /// Closes the file, after the appended bytes if there are any.
    pub(super) fn end(self) -> io::Result<()> {
        let Document { out, kind, encoding, appended, compressed, .. } = self;
        writeln!(out, "</{kind}>")?;
        if encoding != Encoding::Base64 {
            write!(out, "<AppendedData encoding=\"raw\">\n_")?;
            let mut bytes = Vec::with_capacity(PIECE);
            for values in appended {
                let end = values.stored_bytes();
                for start in (0..end).step_by(PIECE) {
                    bytes.clear();
                    values.append_stored(start..(start + PIECE).min(end), &mut bytes);
                    out.write_all(&bytes)?;
                }
            }
            for bytes in compressed {
                out.write_all(&bytes)?;
            }
            writeln!(out, "\n</AppendedData>")?;
        }
        writeln!(out, "</VTKFile>")
    }
}

/// The head (number of blocks, bytes of a full block, bytes of the last one if it is shorter, compressed bytes of each; UInt64), then the
/// blocks, each compressed by itself.
fn compressed(values: Values<'_>) -> Vec<Vec<u8>> {
    let (end, size) = (values.bytes(), values.kind().1);
    let blocks: Vec<Vec<u8>> = (0..end.div_ceil(BLOCK))
        .into_par_iter()
        .map_init(Vec::new, |bytes, k| {
            bytes.clear();
            values.append(k * BLOCK / size..((k + 1) * BLOCK).min(end) / size, bytes);
            lz4_flex::block::compress(bytes)
        })
        .collect();
    let head = [blocks.len(), BLOCK, end % BLOCK].into_iter().chain(blocks.iter().map(Vec::len));
    let head = head.flat_map(|n| (n as u64).to_le_bytes()).collect();
    std::iter::once(head).chain(blocks).collect()
}

fn write_letters(out: &mut impl Write, pieces: &[Piece]) -> io::Result<()> {
    pieces.iter().try_for_each(|piece| out.write_all(piece.letters.as_bytes()))
}

/// A text as the codes of its UTF-8 bytes: not every reader of the format knows arrays of strings.
fn codes(out: &mut impl Write, name: &str, text: &str) -> io::Result<()> {
    let count = text.len();
    writeln!(out, "<DataArray type=\"UInt8\" Name=\"{name}\" NumberOfTuples=\"{count}\" format=\"ascii\">")?;
    for line in text.split_inclusive('\n') {
        let codes: Vec<String> = line.bytes().map(|code| code.to_string()).collect();
        writeln!(out, "{}", codes.join(" "))?;
    }
    writeln!(out, "</DataArray>")
}
