//! Arrays of the VTK files that the program itself writes.
//!
//! Layout: [`crate::report::vtk`]; arrays as text, in base64, appended as they are, or appended in LZ4 blocks; 64-bit lengths, little endian.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use roxmltree::{Document, Node};
use std::borrow::Cow;

/// What is wrong with a file.
pub(super) type Fault = String;

/// How the arrays of a file are stored.
pub(super) struct Stored<'a> {
    appended: &'a [u8],
    is_compressed: bool,
    /// Most bytes of an array.
    most: usize,
}

/// Reads a file of a kind; `other` is said of one of another kind.
///
/// # Errors
/// A file that is none, or stored in a way that is not read.
pub(super) fn read_file<T>(
    bytes: &[u8],
    kind: &str,
    other: &str,
    most: usize,
    read: impl FnOnce(Node<'_, '_>, &Stored) -> Result<T, Fault>,
) -> Result<T, Fault> {
    // appended bytes are no text
    let start = find(bytes, b"<AppendedData");
    let (head, appended) = bytes.split_at(start.unwrap_or(bytes.len()));
    let mut text = Cow::Borrowed(std::str::from_utf8(head).map_err(|_| "it is no XML text")?);
    if start.is_some() {
        text += "</VTKFile>";
    }
    let document = Document::parse(&text).map_err(|error| format!("it is no XML: {error}"))?;
    let root = document.root_element();
    let is = |name: &str, wanted: &str| root.attribute(name).is_none_or(|value| value == wanted);
    if !root.has_tag_name("VTKFile") || root.attribute("type") != Some(kind) {
        return Err(other.into());
    }
    if !is("byte_order", "LittleEndian") || root.attribute("header_type") != Some("UInt64") {
        return Err("its numbers are not little endian with 64-bit lengths".into());
    }
    if !is("compressor", "vtkLZ4DataCompressor") {
        return Err("its compression is not LZ4".into());
    }
    let appended = match find(appended, b"_") {
        Some(from) if find(&appended[..from], b"raw").is_some() => &appended[from + 1..],
        None if appended.is_empty() => appended,
        _ => return Err("its appended data are not raw".into()),
    };
    read(root, &Stored { appended, is_compressed: root.attribute("compressor").is_some(), most })
}

fn find(bytes: &[u8], what: &[u8]) -> Option<usize> {
    bytes.windows(what.len()).position(|window| window == what)
}

/// The element of a name in a piece.
pub(super) fn part<'a, 'i>(piece: Node<'a, 'i>, name: &str) -> Option<Node<'a, 'i>> {
    piece.children().find(|node| node.has_tag_name(name))
}

impl Stored<'_> {
    /// The numbers of the array of a name in an element, if it is there.
    pub fn array(&self, part: Node<'_, '_>, name: &str) -> Result<Option<Vec<f64>>, Fault> {
        let found = part.children().find(|node| node.attribute("Name") == Some(name));
        found.map(|node| self.numbers(node)).transpose()
    }

    /// The numbers of an array.
    pub fn numbers(&self, array: Node<'_, '_>) -> Result<Vec<f64>, Fault> {
        let name = array.attribute("Name").unwrap_or("an array");
        let text = array.text().unwrap_or_default();
        let bytes = match array.attribute("format") {
            Some("ascii") => {
                let numbers: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
                return numbers.map_err(|_| format!("{name} holds what is no number"));
            }
            Some("binary") if !self.is_compressed => {
                let letters: String = text.split_whitespace().collect();
                let bytes = STANDARD.decode(letters).map_err(|_| format!("{name} is not in base64"))?;
                self.plain(&bytes).map(<[u8]>::to_vec)
            }
            Some("appended") => {
                let offset = array.attribute("offset").and_then(|text| text.parse().ok());
                let from = offset.and_then(|offset: usize| self.appended.get(offset..));
                let own =
                    |from| if self.is_compressed { self.blocks(from) } else { self.plain(from).map(<[u8]>::to_vec) };
                from.and_then(own)
            }
            _ => None,
        };
        let bytes = bytes.ok_or_else(|| format!("{name} is cut off, or stored in a way that is not read"))?;
        let kind = array.attribute("type").unwrap_or_default();
        Ok(match kind {
            "Float64" => of_size(&bytes, f64::from_le_bytes),
            "Float32" => of_size(&bytes, |b| f64::from(f32::from_le_bytes(b))),
            "Int32" => of_size(&bytes, |b| f64::from(i32::from_le_bytes(b))),
            "Int64" => of_size(&bytes, |b| i64::from_le_bytes(b) as f64),
            "UInt8" => of_size(&bytes, |[b]: [u8; 1]| f64::from(b)),
            "Int8" => of_size(&bytes, |b| f64::from(i8::from_le_bytes(b))),
            _ => return Err(format!("{name} is of the type {kind:?}, which is not read")),
        })
    }

    /// A length that stands at a place among others.
    fn length(&self, bytes: &[u8], place: usize) -> Option<usize> {
        let own = bytes.get(place.checked_mul(8)?..)?.first_chunk::<8>()?;
        usize::try_from(u64::from_le_bytes(*own)).ok().filter(|&length| length <= self.most)
    }

    /// Bytes behind their length.
    fn plain<'b>(&self, bytes: &'b [u8]) -> Option<&'b [u8]> {
        bytes.get(8..8usize.checked_add(self.length(bytes, 0)?)?)
    }

    /// Bytes in blocks behind the count of blocks, the size of a full one, that of the last if it is not full, and what each has become.
    fn blocks(&self, bytes: &[u8]) -> Option<Vec<u8>> {
        let [count, full, last] = [self.length(bytes, 0)?, self.length(bytes, 1)?, self.length(bytes, 2)?];
        if count.checked_mul(full)? > self.most.max(full) {
            return None;
        }
        let mut at = 8 * (3 + count);
        let mut all = Vec::new();
        for k in 0..count {
            let stored = self.length(bytes, 3 + k)?;
            let size = if k + 1 == count && last > 0 { last } else { full };
            let own = bytes.get(at..at.checked_add(stored)?)?;
            all.extend(lz4_flex::block::decompress(own, size).ok().filter(|block| block.len() == size)?);
            at += stored;
        }
        Some(all)
    }
}

fn of_size<const N: usize>(bytes: &[u8], number: impl Fn([u8; N]) -> f64) -> Vec<f64> {
    bytes.as_chunks::<N>().0.iter().map(|&chunk| number(chunk)).collect()
}
