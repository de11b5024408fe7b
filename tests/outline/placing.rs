//! Where drawings and polygons come to stand in the cell.

use crate::*;
use std::f64::consts::PI;
use twinplate::geometry::Curve;
use twinplate::input::Outline;
use twinplate::input::drawing::read_drawing;

/// A page of 200 mm by 100 mm in units of 2 mm whose box starts at (-10, 5): the bollard's corner stands 12 units right of and 40 below
/// the upper left corner of the page.
const PAGE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="-10 5 100 50">
    <rect id="bollard" x="2" y="45" width="5" height="3"/><rect id="pier" x="40" y="15" width="10" height="20"/></svg>"#;

fn curves(file: &str, text: &str, placing: Placing, reading: ReadOptions) -> Result<Vec<Outline>, Problems> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(file), text).unwrap();
    let shape = Shape::OutlineFile { file: file.into(), placing, reading };
    let (name, tail) = ("pier".to_owned(), twinplate::geometry::TailChoice::Clear);
    let obstacle = Obstacle { name, shape, on_wall: None, tail, bubble: None, place: 0..1 };
    Outline::of(&obstacle, &folder.path().join("case.toml"))
}

fn bounds(curves: &[Curve]) -> [f64; 4] {
    let at = |k: usize| curves.iter().map(move |curve| curve.point(0.0)[k]);
    let least = |k| at(k).fold(f64::INFINITY, f64::min);
    let most = |k| at(k).fold(f64::NEG_INFINITY, f64::max);
    [least(0), least(1), most(0), most(1)]
}

fn assert_bounds(curves: &[Curve], expected: [f64; 4]) {
    for (found, expected) in bounds(curves).into_iter().zip(expected) {
        // a few roundings of 0.2 m
        approx::assert_abs_diff_eq!(found, expected, epsilon = 1e-15);
    }
}

#[test]
fn as_drawn_the_corner_of_the_page_is_that_of_the_cell() {
    let pier = [0.1, 0.04, 0.12, 0.08];
    let found = curves("page.svg", PAGE, Placing::AsDrawn, ReadOptions::default()).unwrap();
    assert_bounds(&found[0].curves, pier);
    let every = ReadOptions { every: true, ..ReadOptions::default() };
    let found = curves("page.svg", PAGE, Placing::AsDrawn, every).unwrap();
    assert_bounds(&found[0].curves, [0.024, 0.014, 0.034, 0.02]);
    assert_bounds(&found[1].curves, pier);
    // a box of another shape than the page stands in its middle: 200 mm by 200 mm leave 50 mm below it
    let tall = PAGE.replace("height=\"100mm\"", "height=\"200mm\"");
    let found = curves("page.svg", &tall, Placing::AsDrawn, ReadOptions::default()).unwrap();
    assert_bounds(&found[0].curves, [0.1, 0.09, 0.12, 0.13]);
    // lists are drawn from their origin, y up
    let found = curves("pier.csv", "x [mm],y [mm]\n5,6\n9,6\n9,8\n", Placing::AsDrawn, ReadOptions::default()).unwrap();
    assert_bounds(&found[0].curves, [0.005, 0.006, 0.009, 0.008]);
}

#[test]
fn as_drawn_needs_a_unit_and_a_page() {
    let plain = ReadOptions::default();
    let no_unit = curves("pier.csv", "5,6\n9,6\n9,8\n", Placing::AsDrawn, plain.clone()).unwrap_err();
    assert_says(&no_unit.list[0].message, &["no unit of length"]);
    let no_page = PAGE.replace(" height=\"100mm\"", "").replace(" viewBox=\"-10 5 100 50\"", "");
    let no_page = curves("page.svg", &no_page, Placing::AsDrawn, plain.clone()).unwrap_err();
    assert_says(&no_page.list[0].message, &["page", "height"]);
    // a box by itself is the page
    let boxed = PAGE.replace(" width=\"200mm\" height=\"100mm\"", "");
    let boxed = curves("page.svg", &boxed, Placing::AsDrawn, ReadOptions { unit: Some(2e-3), ..plain }).unwrap();
    assert_bounds(&boxed[0].curves, [0.1, 0.04, 0.12, 0.08]);
}

/// By hand: with the side below, the extent of a triangle and of a square is the side, that of a hexagon twice the radius; the area is
/// n r^2 sin(2 pi/n)/2.
#[test]
fn regular_polygons_have_their_width_and_area() {
    let centre = [1.0, 0.5];
    for (sides, radius) in [(3, 0.1 / 3f64.sqrt()), (4, 0.1 / 2f64.sqrt()), (6, 0.05)] {
        let n = f64::from(sides);
        let shape = |angle| Shape::RegularPolygon { sides: sides as usize, centre, width: 0.1, angle };
        let plan = free(vec![shape(0.0)]).unwrap();
        let area = 0.5 * n * radius * radius * (2.0 * PI / n).sin();
        approx::assert_abs_diff_eq!(plan.area(), 2.0 - area, epsilon = 1e-14);
        let obstacle = |shape| {
            let tail = twinplate::geometry::TailChoice::Clear;
            let obstacle = Obstacle { name: "post".into(), shape, on_wall: None, tail, bubble: None, place: 0..1 };
            Outline::of(&obstacle, Path::new("case.toml")).unwrap().remove(0).curves
        };
        let [left, low, right, _] = bounds(&obstacle(shape(0.0)));
        approx::assert_abs_diff_eq!(right - left, 0.1, epsilon = 1e-15);
        // a side lies below, as far from the centre as the circle inside the polygon
        approx::assert_abs_diff_eq!(low, 0.5 - radius * (PI / n).cos(), epsilon = 1e-15);
        // half a turn of the sides brings the lowest corner to the middle
        let [_, low, ..] = bounds(&obstacle(shape(PI / n)));
        approx::assert_abs_diff_eq!(low, 0.5 - radius, epsilon = 1e-15);
    }
    assert!(free(vec![Shape::RegularPolygon { sides: 2, centre, width: 0.1, angle: 0.0 }]).is_err());
}

/// Three squares in a row, a hole with an island in the first; what lies in the hole is no hole of the square.
#[test]
fn every_outline_of_a_drawing_is_listed_with_what_it_holds() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("row.svg");
    let square = |name: &str, x: f64, side: f64| {
        format!("<rect id=\"{name}\" x=\"{x}\" y=\"{}\" width=\"{side}\" height=\"{side}\"/>", 50.0 - 0.5 * side)
    };
    let parts =
        [square("quay", 10.0, 40.0), square("pool", 20.0, 20.0), square("pile", 25.0, 10.0), square("buoy", 70.0, 5.0)];
    let text = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"><g id="harbour">{}</g></svg>"#,
        parts.concat()
    );
    std::fs::write(&file, text).unwrap();
    let drawing = read_drawing(&file, &ReadOptions::default()).unwrap().from_page();
    let listed: Vec<(&str, usize, bool)> =
        drawing.found.iter().map(|f| (f.name.as_str(), f.holes, f.is_taken)).collect();
    assert_eq!(listed, [("quay", 1, true), ("pool", 1, false), ("pile", 0, false), ("buoy", 0, false)]);
    assert!(drawing.found.iter().all(|f| f.layer.as_deref() == Some("harbour")));
    let [low, high] = drawing.found[3].bounds;
    for (found, expected) in [low, high].as_flattened().iter().zip([0.07, 0.0475, 0.075, 0.0525]) {
        approx::assert_abs_diff_eq!(*found, expected, epsilon = 1e-15);
    }
}

/// A file in millimetres that does not say so, in a cell of 2 m by 1 m.
#[test]
fn the_unit_that_fits_the_cell_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("pier.csv");
    let remedy = |size: f64| {
        std::fs::write(&file, format!("0,0\n{size},0\n{size},{}\n", 0.5 * size)).unwrap();
        let placing = Placing::Centred { centre: [1.0, 0.5], size: OutlineSize::Stated, angle: 0.0, mirror: false };
        let shape = Shape::OutlineFile { file: file.clone(), placing, reading: ReadOptions::default() };
        free(vec![shape]).unwrap_err().list[0].remedy.clone()
    };
    assert_says(&remedy(300.0), &["if mm are meant", "300 mm by 150 mm", "unit = \"mm\""]);
    assert_says(&remedy(150.0), &["if cm are meant"]);
    assert_says(&remedy(1.5), &["if m are meant"]);
    assert_says(&remedy(1e9), &["give the width or the height"]);
}
