//! Closed lines and polygons of a `.vtp` file, as the program itself writes them: the air that a filling leaves.
//!
//! Coordinates are metres from the corner of the cell. An outline is called by the array `pocket` of its cell data, "pocket 1", or by its
//! number.

use super::load;
use super::names::Names;
use super::stroke::{MOST_CURVES, Sheet, Stroke};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::geometry::Curve;
use crate::input::vtk::{Fault, Stored, part, read_file};
use roxmltree::Node;
use std::path::Path;

/// Largest file read, bytes.
const MAX_BYTES: u64 = 256 << 20;
/// Largest array, bytes: three coordinates of every point, and as much again.
const MOST_BYTES: usize = 48 * (MOST_CURVES + 1);

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
    let no_lines = "it is no VTK file of lines (PolyData)";
    read_file(bytes, "PolyData", no_lines, MOST_BYTES, |root, stored| {
        let mut strokes = Vec::new();
        for node in root.descendants().filter(|node| node.has_tag_name("Piece")) {
            piece(stored, node, &mut strokes)?;
        }
        Ok(strokes)
    })
}

fn piece(stored: &Stored, piece: Node<'_, '_>, strokes: &mut Vec<Stroke>) -> Result<(), Fault> {
    let Some(points) = part(piece, "Points").and_then(|node| node.children().find(Node::is_element)) else {
        return Ok(());
    };
    let points: Vec<Point> = stored.numbers(points)?.chunks_exact(3).map(|p| [p[0], p[1]]).collect();
    let pockets = part(piece, "CellData").map_or(Ok(None), |node| stored.array(node, "pocket"))?.unwrap_or_default();
    let count = |name: &str| piece.attribute(name).and_then(|text| text.parse::<usize>().ok()).unwrap_or(0);
    let mut cell = count("NumberOfVerts");
    for (name, is_polygon) in [("Lines", false), ("Polys", true)] {
        let Some(cells) = part(piece, name) else { continue };
        let list = |name: &str| Ok::<_, Fault>(stored.array(cells, name)?.unwrap_or_default());
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
