//! The XML around the numbers, and the numbers themselves, in pieces of bounded size.

use super::base64::encode;
use super::values::Values;
use super::{Array, Encoding, Fields};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use rayon::prelude::*;
use std::borrow::Cow;
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
    offset: usize,
    pieces: Vec<Piece>,
}

/// Room for one piece.
#[derive(Default)]
struct Piece {
    bytes: Vec<u8>,
    letters: Vec<u8>,
}

impl<'w, 'a, W: Write> Document<'w, 'a, W> {
    /// Writes the head with the field data.
    pub(super) fn begin(out: &'w mut W, kind: &'static str, fields: &Fields) -> io::Result<Self> {
        writeln!(out, "<?xml version=\"1.0\"?>")?;
        writeln!(
            out,
            "<VTKFile type=\"{kind}\" version=\"1.0\" byte_order=\"LittleEndian\" header_type=\"UInt64\"{}>\n<{kind}>",
            if fields.encoding == Encoding::Compressed { " compressor=\"vtkZLibDataCompressor\"" } else { "" }
        )?;
        let units: Vec<String> =
            fields.point.iter().chain(fields.cell).map(|array| format!("{} {}", array.name, array.unit)).collect();
        if !units.is_empty() || !fields.meaning.is_empty() || fields.time.is_some() {
            writeln!(out, "<FieldData>")?;
            if !units.is_empty() {
                strings(out, "units", &units)?;
            }
            if !fields.meaning.is_empty() {
                strings(out, "meaning", fields.meaning)?;
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
        Ok(Document { out, kind, encoding: fields.encoding, appended: Vec::new(), offset: 0, pieces: Vec::new() })
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
        let name = escape(name);
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
                writeln!(self.out, " format=\"binary\">")?;
                self.compressed(values)?;
                writeln!(self.out, "\n</DataArray>")
            }
            Encoding::Raw => {
                writeln!(self.out, " format=\"appended\" offset=\"{}\"/>", self.offset)?;
                self.offset += values.stored_bytes();
                self.appended.push(values);
                Ok(())
            }
        }
    }

    /// The head (number of blocks, bytes of a full block, bytes of the last one if it is shorter, compressed bytes of each) and the
    /// blocks, both as letters.
    fn compressed(&mut self, values: Values<'a>) -> io::Result<()> {
        let (end, size) = (values.bytes(), values.kind().1);
        let blocks: Vec<Vec<u8>> = (0..end.div_ceil(BLOCK))
            .into_par_iter()
            .map_init(Vec::new, |bytes, k| {
                bytes.clear();
                values.append(k * BLOCK / size..((k + 1) * BLOCK).min(end) / size, bytes);
                let mut encoder = ZlibEncoder::new(Vec::with_capacity(bytes.len() / 2), Compression::fast());
                encoder.write_all(bytes)?;
                encoder.finish()
            })
            .collect::<io::Result<_>>()?;
        let head = [blocks.len(), BLOCK, end % BLOCK].into_iter().chain(blocks.iter().map(Vec::len));
        let head: Vec<u8> = head.flat_map(|n| (n as u64).to_le_bytes()).collect();
        let mut letters = Vec::new();
        for bytes in [head, blocks.concat()] {
            encode(&bytes, &mut letters);
            self.out.write_all(&letters)?;
        }
        Ok(())
    }

    fn letters(&mut self, values: Values<'a>) -> io::Result<()> {
        let end = values.stored_bytes();
        self.pieces.resize_with(BATCH, Piece::default);
        for start in (0..end).step_by(BATCH * PIECE) {
            let count = (end - start).div_ceil(PIECE).min(BATCH);
            let pieces = &mut self.pieces[..count];
            pieces.par_iter_mut().enumerate().for_each(|(k, piece)| {
                let from = start + k * PIECE;
                piece.bytes.clear();
                values.append_stored(from..(from + PIECE).min(end), &mut piece.bytes);
                encode(&piece.bytes, &mut piece.letters);
            });
            for piece in pieces {
                self.out.write_all(&piece.letters)?;
            }
        }
        Ok(())
    }

    /// Closes the file, after the appended bytes if there are any.
    pub(super) fn end(self) -> io::Result<()> {
        let Document { out, kind, encoding, appended, .. } = self;
        writeln!(out, "</{kind}>")?;
        if encoding == Encoding::Raw {
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
            writeln!(out, "\n</AppendedData>")?;
        }
        writeln!(out, "</VTKFile>")
    }
}

/// A string array: the codes of each string, then a zero.
fn strings(out: &mut impl Write, name: &str, strings: &[impl AsRef<str>]) -> io::Result<()> {
    let count = strings.len();
    writeln!(out, "<Array type=\"String\" Name=\"{name}\" NumberOfTuples=\"{count}\" format=\"ascii\">")?;
    for string in strings {
        for code in string.as_ref().bytes() {
            write!(out, "{code} ")?;
        }
        writeln!(out, "0")?;
    }
    writeln!(out, "</Array>")
}

/// A text fit for an XML attribute.
pub(super) fn escape(text: &str) -> Cow<'_, str> {
    if !text.contains(['&', '<', '>', '"', '\'']) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&apos;"),
            _ => escaped.push(c),
        }
    }
    Cow::Owned(escaped)
}
