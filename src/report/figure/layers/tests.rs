//! Lines of several heights are told apart, and smooth where enlarged.

use super::*;
use crate::report::figure::{Column, Style};

/// Lines of several heights differ in breadth by half or more, and in greys in lightness or dashes as well, so that each is known where
/// they part and seen where they coincide: the broad ones are drawn first.
#[test]
fn heights_are_told_apart_in_any_palette() {
    let (case, plan) = crate::study::read("meshes/wall_pier.toml".as_ref()).unwrap();
    let goal = crate::theory::ideal::Goal::Triangles(500);
    let size = crate::theory::ideal::first_size_field(&plan, &case, goal).unwrap();
    let mesh = crate::numerics::mesh::Mesh::generate_with_count(&plan, &size, 500).unwrap();
    for palette in [Palette::Colour, Palette::Grey] {
        let map = CellMap::new(&mesh, Style { palette, column: Column::Double }, None);
        let pens = [0, 1, 2].map(|k| map.layer_pen(k));
        for pair in pens.windows(2) {
            assert!(pair[0].width >= 1.5 * pair[1].width, "{pens:?}");
            assert!(pair[0].ink != pair[1].ink || pair[0].dash != pair[1].dash, "{pens:?}");
        }
        // red never outweighs blue, as it does in brown
        for pen in pens {
            let [r, _, b] = pen.ink.colour(palette);
            assert!(r <= b, "{pen:?}");
        }
    }
}

/// A circle in steps of 10 degrees: chords stand off it by 1 - cos 5° = 4e-3 of its radius, the cubics by less than a twentieth of that, save in the first
/// and last step, where one end has the slope of the chord. Only what the window sees is drawn.
#[test]
fn enlarged_lines_have_no_facets() {
    let circle: Vec<Point> = (0..37).map(|k| f64::from(10 * k).to_radians()).map(|a| [a.cos(), a.sin()]).collect();
    let whole = curved_within(&circle, Rect::of([[-2.0, -2.0], [2.0, 2.0]]));
    assert_eq!((whole.len(), whole[0].len()), (1, 1 + 36 * 16));
    let off = whole[0][16..35 * 16].iter().map(|p| (plane::length(*p) - 1.0).abs()).fold(0.0, f64::max);
    assert!(off < 2e-4, "{off}");
    let right = curved_within(&circle, Rect::of([[0.9, -0.2], [1.1, 0.2]]));
    assert_eq!(right.len(), 2, "the circle starts and ends there");
    assert!(right.iter().flatten().all(|p| p[0] > 0.8));
}
