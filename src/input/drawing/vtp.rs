//! Closed lines and polygons of a `.vtp` file, as the program itself writes them: the air that a filling leaves.
//!
//! Layout: [`crate::report::vtk`]; arrays as text, in base64, appended as they are, or appended in LZ4 blocks; 64-bit lengths, little endian.
//! Coordinates are metres from the corner of the cell. An outline is called by the array `pocket` of its cell data, "pocket 1", or by its
//! number.

use super::load;
use super::names::Names;
use super::stroke::{MOST_CURVES, Sheet, Stroke};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::geometry::Curve;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use roxmltree::{Document, Node};
use std::path::Path;

/// Largest file read, bytes.
const MAX_BYTES: u64 = 256 << 20;
/// Largest array, bytes: three coordinates of every point, and as much again.
const MOST_BYTES: usize = 48 * (MOST_CURVES + 1);

/// What is wrong with a file.
type Fault = String;

/// Reads every closed line and polygon.
///
/// # Errors
/// A file that is no such file, or holds no outlines.
pub(super) fn read(file: &Path) -> Result<Sheet, Problems> {
    let bytes = load::bytes(file, MAX_BYTES)?;
    let fail = |fault: Fault| {
        let remedy = "give a .vtp file of closed outlines, such as the program writes of trapped air";
        Problems::one(file, format!("the file cannot be used: {fault}"), remedy)
    };
    let strokes = strokes(&bytes).map_err(fail)?;
    if strokes.is_empty() {
        return Err(fail("it holds no closed outline".into()));
    }
    let sha256 = sha256(&bytes);
    Ok(Sheet { strokes, unit: Some(1.0), page: Some([0.0; 2]), sha256, ..Sheet::default() })
}

fn strokes(bytes: &[u8]) -> Result<Vec<Stroke>, Fault> {
    // appended bytes are no text
    let start = find(bytes, b"<AppendedData");
    let (head, appended) = bytes.split_at(start.unwrap_or(bytes.len()));
    let mut text = std::str::from_utf8(head).map_err(|_| "it is no XML text")?.to_owned();
    if start.is_some() {
        text += "</VTKFile>";
    }
    let document = Document::parse(&text).map_err(|error| format!("it is no XML: {error}"))?;
    let root = document.root_element();
    let is = |name: &str, wanted: &str| root.attribute(name).is_none_or(|value| value == wanted);
    if !root.has_tag_name("VTKFile") || root.attribute("type") != Some("PolyData") {
        return Err("it is no VTK file of lines (PolyData)".into());
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
    let file = Stored { appended, is_compressed: root.attribute("compressor").is_some() };
    let mut strokes = Vec::new();
    for piece in root.descendants().filter(|node| node.has_tag_name("Piece")) {
        file.piece(piece, &mut strokes)?;
    }
    Ok(strokes)
}

fn find(bytes: &[u8], what: &[u8]) -> Option<usize> {
    bytes.windows(what.len()).position(|window| window == what)
}

/// How the arrays of a file are stored.
struct Stored<'a> {
    appended: &'a [u8],
    is_compressed: bool,
}

impl Stored<'_> {
    fn piece(&self, piece: Node<'_, '_>, strokes: &mut Vec<Stroke>) -> Result<(), Fault> {
        let part = |name: &str| piece.children().find(|node| node.has_tag_name(name));
        let array = |part: Node<'_, '_>, name: &str| -> Result<Option<Vec<f64>>, Fault> {
            let found = part.children().find(|node| node.attribute("Name") == Some(name));
            found.map(|node| self.numbers(node)).transpose()
        };
        let Some(points) = part("Points").and_then(|node| node.children().find(Node::is_element)) else {
            return Ok(());
        };
        let points: Vec<Point> = self.numbers(points)?.chunks_exact(3).map(|p| [p[0], p[1]]).collect();
        let pockets = part("CellData").map_or(Ok(None), |node| array(node, "pocket"))?.unwrap_or_default();
        let count = |name: &str| piece.attribute(name).and_then(|text| text.parse::<usize>().ok()).unwrap_or(0);
        let mut cell = count("NumberOfVerts");
        for (name, is_polygon) in [("Lines", false), ("Polys", true)] {
            let Some(cells) = part(name) else { continue };
            let list = |name: &str| Ok::<_, Fault>(array(cells, name)?.unwrap_or_default());
            let (corners, ends) = (list("connectivity")?, list("offsets")?);
            let mut from = 0;
            for end in ends {
                let end = (end as usize).min(corners.len());
                let own = corners.get(from..end).unwrap_or_default();
                let places: Option<Vec<Point>> = own.iter().map(|&k| points.get(k as usize).copied()).collect();
                let places = places.ok_or("a line names a point that is not there")?;
                let number = pockets.get(cell).map_or(cell + 1, |pocket| *pocket as usize);
                strokes.extend(outline(&places, is_polygon, number, pockets.is_empty()));
                (from, cell) = (end, cell + 1);
            }
        }
        Ok(())
    }

    /// The numbers of an array.
    fn numbers(&self, array: Node<'_, '_>) -> Result<Vec<f64>, Fault> {
        let name = array.attribute("Name").unwrap_or("an array");
        let text = array.text().unwrap_or_default();
        let bytes = match array.attribute("format") {
            Some("ascii") => {
                let numbers: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
                return numbers.map_err(|_| format!("{name} holds what is no number"));
            }
            Some("binary") if !self.is_compressed => {
                let letters: String = text.split_whitespace().collect();
                plain(&STANDARD.decode(letters).map_err(|_| format!("{name} is not in base64"))?).map(<[u8]>::to_vec)
            }
            Some("appended") => {
                let offset = array.attribute("offset").and_then(|text| text.parse().ok());
                let from = offset.and_then(|offset: usize| self.appended.get(offset..));
                from.and_then(|from| if self.is_compressed { blocks(from) } else { plain(from).map(<[u8]>::to_vec) })
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
}

fn of_size<const N: usize>(bytes: &[u8], number: impl Fn([u8; N]) -> f64) -> Vec<f64> {
    bytes.as_chunks::<N>().0.iter().map(|&chunk| number(chunk)).collect()
}

/// A length that stands at a place among others.
fn length(bytes: &[u8], place: usize) -> Option<usize> {
    let own = bytes.get(8 * place..)?.first_chunk::<8>()?;
    usize::try_from(u64::from_le_bytes(*own)).ok().filter(|&length| length <= MOST_BYTES)
}

/// Bytes behind their length.
fn plain(bytes: &[u8]) -> Option<&[u8]> {
    bytes.get(8..8usize.checked_add(length(bytes, 0)?)?)
}

/// Bytes in blocks behind the count of blocks, the size of a full one, that of the last if it is not full, and what each has become.
fn blocks(bytes: &[u8]) -> Option<Vec<u8>> {
    let [count, full, last] = [length(bytes, 0)?, length(bytes, 1)?, length(bytes, 2)?];
    if count.checked_mul(full)? > MOST_BYTES.max(full) {
        return None;
    }
    let mut at = 8 * (3 + count);
    let mut all = Vec::new();
    for k in 0..count {
        let stored = length(bytes, 3 + k)?;
        let size = if k + 1 == count && last > 0 { last } else { full };
        let own = bytes.get(at..at.checked_add(stored)?)?;
        all.extend(lz4_flex::block::decompress(own, size).ok().filter(|block| block.len() == size)?);
        at += stored;
    }
    Some(all)
}

/// A stroke through the places; none of an open line or fewer than three places.
fn outline(places: &[Point], is_polygon: bool, number: usize, by_number: bool) -> Option<Stroke> {
    let repeats = places.len() > 1 && places.first() == places.last();
    let open = if repeats { &places[..places.len() - 1] } else { places };
    if open.len() < 3 || !(repeats || is_polygon) {
        return None;
    }
    let next = open.iter().skip(1).chain(open.first());
    let name = format!("{} {number}", if by_number { "outline" } else { "pocket" });
    Some(Stroke {
        curves: open.iter().zip(next).map(|(&from, &to)| Curve::Line { from, to }).collect(),
        closed: true,
        ids: Names::default().with(&name),
        name,
        ..Stroke::default()
    })
}

#[cfg(test)]
mod tests {
    use super::super::{ReadOptions, read_drawing};
    use super::*;
    use crate::geometry::Plan;
    use crate::geometry::measure::enclosed;
    use crate::input::case::{Case, Placing, Shape, parse};

    /// Two squares of 10 and 4 mm as closed lines, in the text form that every writer of the format has.
    const TWO: &str = r#"<?xml version="1.0"?>
<VTKFile type="PolyData" version="1.0" byte_order="LittleEndian" header_type="UInt64">
<PolyData><Piece NumberOfPoints="9" NumberOfVerts="0" NumberOfLines="1" NumberOfStrips="0" NumberOfPolys="1">
<CellData><DataArray type="Int32" Name="pocket" format="ascii">2 1</DataArray></CellData>
<Points><DataArray type="Float64" Name="Points" NumberOfComponents="3" format="ascii">
0.05 0.05 0 0.06 0.05 0 0.06 0.06 0 0.05 0.06 0 0.05 0.05 0 0.08 0.02 0 0.084 0.02 0 0.084 0.024 0 0.08 0.024 0
</DataArray></Points>
<Lines><DataArray type="Int32" Name="connectivity" format="ascii">0 1 2 3 4</DataArray>
<DataArray type="Int32" Name="offsets" format="ascii">5</DataArray></Lines>
<Polys><DataArray type="Int32" Name="connectivity" format="ascii">5 6 7 8</DataArray>
<DataArray type="Int32" Name="offsets" format="ascii">4</DataArray></Polys>
</Piece></PolyData></VTKFile>"#;

    fn written(name: &str, bytes: &[u8]) -> (tempfile::TempDir, std::path::PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(name);
        std::fs::write(&file, bytes).unwrap();
        (folder, file)
    }

    #[test]
    fn lines_and_polygons_are_outlines_in_metres() {
        let (_folder, file) = written("trapped.vtp", TWO.as_bytes());
        let every = ReadOptions { every: true, ..ReadOptions::default() };
        let drawing = read_drawing(&file, &every).unwrap();
        assert!(drawing.scaled && drawing.page == Some([0.0; 2]));
        let found: Vec<(String, f64)> =
            drawing.loops.iter().map(|l| (l.name.clone(), (1e6 * enclosed(&l.curves)).round())).collect();
        assert_eq!(found, [("pocket 2".to_owned(), 100.0), ("pocket 1".to_owned(), 16.0)]);
        let one = ReadOptions { id: Some("pocket 1".into()), ..ReadOptions::default() };
        assert_eq!(read_drawing(&file, &one).unwrap().loops[0].name, "pocket 1");
        let missing = ReadOptions { id: Some("pocket 3".into()), ..ReadOptions::default() };
        let told = read_drawing(&file, &missing).unwrap_err().to_string();
        assert!(told.contains("pocket 3") && told.contains("pocket 1"), "{told}");
    }

    /// The case places them where the file has them, each a bubble of its own.
    #[test]
    fn a_case_takes_them_as_bubbles_where_they_are() {
        let (folder, _file) = written("trapped.vtp", TWO.as_bytes());
        let case = |keys: &str| -> Case {
            let text = format!(
                "[cell]\nlength = 0.1\nwidth = 0.08\ngap = 1e-3\n[fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\nmean_speed = 1e-4\n\
                 [[obstacle]]\nname = \"air\"\nbubble = true\noutline = {{ file = \"trapped.vtp\"{keys} }}\n"
            );
            parse(&text, &folder.path().join("case.toml")).into_result().unwrap()
        };
        let with = case(", every = true");
        assert!(matches!(with.obstacles[0].shape, Shape::OutlineFile { placing: Placing::AsDrawn, .. }));
        let plan = Plan::new(&with, &mut Problems::default()).unwrap();
        assert_eq!(plan.bubbles().map(|(_, o)| o.name.as_str()).collect::<Vec<_>>(), ["air pocket 2", "air pocket 1"]);
        assert!((plan.area() - (0.1 * 0.08 - 1.16e-4)).abs() < 1e-12);
        assert!(!plan.contains([0.055, 0.055]) && plan.contains([0.07, 0.055]));
        // a placing that the case gives stands
        let moved = case(", centre = [0.03, 0.03], id = \"pocket 1\"");
        assert!(Plan::new(&moved, &mut Problems::default()).is_some_and(|plan| !plan.contains([0.03, 0.03])));
    }

    #[test]
    fn what_is_no_such_file_is_told() {
        for (broken, said) in [
            (TWO.replace("PolyData", "ImageData"), "no VTK file of lines"),
            (TWO.replace("LittleEndian", "BigEndian"), "little endian"),
            (TWO.replace("0 1 2 3 4<", "0 1 2 3 9<"), "not there"),
            (TWO.replace("format=\"ascii\">5<", "format=\"binary\">5<"), "offsets"),
            (
                TWO.replace("0 1 2 3 4<", "0 1 2 3<")
                    .replace(">5<", ">4<")
                    .replace(">5 6 7 8<", ">5 6<")
                    .replace(">4</DataArray></Polys", ">2</DataArray></Polys"),
                "no closed outline",
            ),
            ("solid".into(), "no XML"),
        ] {
            let (_folder, file) = written("a.vtp", broken.as_bytes());
            let told = read_drawing(&file, &ReadOptions::default()).unwrap_err().to_string();
            assert!(told.contains(said), "{said}: {told}");
        }
    }
}
