//! One shape from many kinds of files gives one pattern.

use crate::*;
use std::sync::Arc;
use twinplate::study::{Settings, Study};
use twinplate::theory::ideal::Goal;

/// Lower and upper bound of the shape factor, each moved by the outline allowance, to a half-width of 1e-4.
fn bounds(case: Case) -> [f64; 2] {
    let plan = Arc::new(plan_of(&case).unwrap_or_else(|problems| panic!("{problems}")));
    let goal = Goal::Error { relative: 1e-4, most_triangles: 1_000_000 };
    let study = Study::solve(case, plan, Settings { goal: Some(goal), ..Settings::default() }, &|_| {}).unwrap();
    let shape = study.pattern.shape_factor;
    [shape.lower - shape.outline_allowance, shape.upper + shape.outline_allowance]
}

/// The bounds, widened by what the outlines may differ by, must overlap.
fn assert_same(name: &str, a: [f64; 2], b: [f64; 2], outline: f64) {
    let slack = outline * a[1];
    assert!(a[0] <= b[1] + slack && b[0] <= a[1] + slack, "{name}: {a:?} against {b:?}");
}

/// A post of radius 25 mm in a cell of 200 by 100 mm, as drawn in every way there is.
///
/// A change of the radius by a share d changes the shape factor by a share of about 2 d times twice the share of the area, 0.1, by
/// the field of a dipole, here a few times more because of the walls: below d. The spline is fitted to 2e-7 of the radius, the
/// four cubics stray by 2.7e-4.
#[test]
fn a_circle_from_any_file_gives_one_shape_factor() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outline/files");
    let cell = |shape| case(0.2, 0.1, vec![(shape, None)]);
    let exact = bounds(cell(circle(0.1, 0.05, 0.05)));
    for (file, key, name, outline) in [
        ("parts.dxf", "layer", "bulges", 1e-12),
        ("parts.dxf", "layer", "arcs", 1e-12),
        ("parts.dxf", "layer", "rational", 2e-7),
        ("circle_arcs.svg", "id", "arcs", 1e-12),
        ("circle_arcs.svg", "id", "beziers", 2.8e-4),
    ] {
        let named = Some(name.to_owned());
        let (id, layer) = if key == "id" { (named, None) } else { (None, named) };
        let reading = ReadOptions { id, layer, ..ReadOptions::default() };
        let shape = Shape::OutlineFile {
            file: folder.join(file),
            placing: Placing::Centred { centre: [0.1, 0.05], size: OutlineSize::Stated, angle: 0.3, mirror: false },
            reading,
        };
        assert_same(name, exact, bounds(cell(shape)), outline);
    }
}

/// The seal of the demo from its list of points, and from the drawings of the spline through them, scaled and true to size.
#[test]
fn the_seal_from_any_file_gives_one_shape_factor() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/seal.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let from = |name: &str, sized: bool| {
        let mut text = text.replace("\"seal.csv\"", &format!("\"{name}\""));
        if !sized {
            text = text.replace("width = \"130 mm\"", "");
        }
        bounds(twinplate::input::case::parse(&text, &file).into_result().unwrap())
    };
    let listed = from("seal.csv", true);
    for (name, sized) in [("seal.svg", true), ("seal.dxf", true), ("seal.svg", false), ("seal.dxf", false)] {
        // Coordinates have eleven decimals.
        assert_same(name, listed, from(name, sized), 1e-10);
    }
    // The picture has five pixels to the millimetre and shows its edge to 0.05 pixels: of the height of 325 pixels, at both ends, a
    // share of 3e-4, and of the width half as much.
    assert_same("seal.png", listed, from("seal.png", true), 5e-4);
}
