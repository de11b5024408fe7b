//! Files for a cutter, read back.

use crate::*;
use std::f64::consts::PI;
use twinplate::geometry::kerf::ARC_ERROR;
use twinplate::geometry::survey::Survey;
use twinplate::geometry::{Curve, periodic_spline};
use twinplate::geometry::{TailChoice, Wall};
use twinplate::input::Outline;
use twinplate::input::drawing::read_drawing;
use twinplate::report::cut::CutSheet;
use twinplate::report::{CutSettings, Kept, case_sheet, outline_sheet};

fn outline(shape: Shape) -> Vec<Curve> {
    let obstacle =
        Obstacle { name: "part".into(), shape, on_wall: None, tail: TailChoice::Clear, bubble: None, place: 0..1 };
    Outline::of(&obstacle, Path::new("case.toml")).unwrap().remove(0).curves
}

/// Area and perimeter of what a layer of the SVG and the DXF file hold.
fn read_back(sheet: &CutSheet, layer: &str) -> [[f64; 2]; 2] {
    let folder = tempfile::tempdir().unwrap();
    let names = sheet.write(folder.path(), "part").unwrap();
    assert_eq!(names, ["part_cut.svg", "part_cut.dxf"]);
    [0, 1].map(|k| {
        let reading = ReadOptions { layer: Some(layer.into()), ..ReadOptions::default() };
        let drawing = read_drawing(&folder.path().join(&names[k]), &reading).unwrap_or_else(|p| panic!("{p}"));
        assert!(drawing.scaled && drawing.loops.len() == 1);
        let survey = Survey::of(&drawing.loops[0].curves).unwrap();
        [survey.area, survey.perimeter]
    })
}

fn parts() -> Vec<(Vec<Curve>, bool)> {
    let bean: Vec<Point> = (0..30)
        .map(|k| 2.0 * PI * f64::from(k) / 30.0)
        .map(|t| {
            let r = 0.03 + 0.008 * (2.0 * t).cos();
            [0.1 + r * t.cos(), 0.05 + r * t.sin()]
        })
        .collect();
    let exact = true;
    vec![
        (outline(polygon(&[[0.01, 0.01], [0.07, 0.02], [0.03, 0.06]])), exact),
        (outline(circle(0.05, 0.05, 0.04)), exact),
        (outline(Shape::Ellipse { centre: [0.1, 0.1], semi_axes: [0.05, 0.02], angle: 0.4 }), !exact),
        (outline(Shape::Teardrop { length: 0.1, diameter: 0.03, nose: [0.0, 0.0], angle: 0.1 }), !exact),
        (periodic_spline(&bean), !exact),
    ]
}

/// Lines and circles are exact; in DXF other curves keep within half a micrometre, so the area within that times the perimeter.
#[test]
fn without_kerf_the_area_comes_back() {
    for (curves, exact) in parts() {
        let sheet = outline_sheet("part", std::slice::from_ref(&curves), &CutSettings::default()).unwrap();
        let wanted = Survey::of(&curves).unwrap();
        let [svg, dxf] = read_back(&sheet, "outline");
        assert!((svg[0] / wanted.area - 1.0).abs() < 1e-12, "{} {}", svg[0], wanted.area);
        let slack = if exact { 1e-12 * wanted.area } else { ARC_ERROR * wanted.perimeter };
        assert!((dxf[0] - wanted.area).abs() < slack, "{} {}", dxf[0], wanted.area);
    }
}

/// A + P k/2 + pi k^2/4 for convex outlines (Steiner); inwards the sign of the second term turns where all corners are smooth.
#[test]
fn half_a_kerf_moves_the_edge() {
    let k = 2e-4;
    for (curves, _) in parts().into_iter().take(3) {
        let wanted = Survey::of(&curves).unwrap();
        let settings = CutSettings { kerf: k, ..CutSettings::default() };
        let sheet = outline_sheet("part", std::slice::from_ref(&curves), &settings).unwrap();
        let exact = wanted.area + 0.5 * k * wanted.perimeter + 0.25 * PI * k * k;
        for [area, _] in read_back(&sheet, "outline") {
            assert!((area - exact).abs() < 2.0 * ARC_ERROR * wanted.perimeter, "{area} {exact}");
        }
    }
    let round = outline(circle(0.05, 0.05, 0.04));
    let hole = CutSettings { kerf: k, kept: Kept::Hole, ..CutSettings::default() };
    let [svg, dxf] = read_back(&outline_sheet("part", &[round], &hole).unwrap(), "outline");
    for [area, _] in [svg, dxf] {
        assert!((area / (PI * (0.02 - 0.5 * k).powi(2)) - 1.0).abs() < 1e-9);
    }
    let thin = outline(polygon(&[[0.0, 0.0], [0.05, 0.0], [0.05, 1e-4], [0.0, 1e-4]]));
    assert!(outline_sheet("part", &[thin], &hole).is_err());
}

/// The opening of the frame is the cell less what stands on its walls, and a plenum of twice the port's diameter at each end.
#[test]
fn a_case_has_a_frame_with_ports() {
    let half = polygon(&[[0.08, -0.01], [0.12, -0.01], [0.12, 0.02], [0.08, 0.02]]);
    let case = case(0.2, 0.1, vec![(circle(0.05, 0.05, 0.02), None), (half, Some(Wall::Lower))]);
    let plan = Plan::new(&case, &mut Problems::default()).unwrap();
    let sheet = case_sheet(&case, &plan, &CutSettings::default()).unwrap();
    for (layer, area) in [
        ("obstacle", PI * 1e-4),
        ("opening", 0.2 * 0.1 - 0.04 * 0.02 + 2.0 * 0.012 * 0.1),
        ("frame", (0.2 + 0.024 + 0.04) * 0.14),
        ("port", PI * 9e-6),
    ] {
        for [found, _] in read_back(&sheet, layer) {
            assert!((found / area - 1.0).abs() < 1e-12, "{layer}: {found} {area}");
        }
    }
    for text in [sheet.svg(), sheet.dxf()] {
        for word in ["chlorinated", "fumes", "burn", "trained staff"] {
            assert!(text.contains(word), "{word}");
        }
    }
}

/// The crosses stand clear of everything that is cut, a round number of centimetres apart, and the files say how far: in both they are the
/// only open lines, on a layer of their own.
#[test]
fn four_crosses_tell_whether_the_size_is_true() {
    let curves = outline(circle(0.05, 0.05, 0.04));
    let sheet = outline_sheet("part", std::slice::from_ref(&curves), &CutSettings::default()).unwrap();
    let [low, high] = sheet.crosses();
    // a disc of 40 mm about (50, 50) with at least 5 mm round it
    assert_eq!([high[0] - low[0], high[1] - low[1]], [50.0, 50.0]);
    assert!(low.iter().all(|x| *x <= 25.0) && high.iter().all(|x| *x >= 75.0), "{low:?} {high:?}");
    let said = "are 50 mm apart along x and 50 mm along y";
    let (svg, dxf) = (sheet.svg(), sheet.dxf());
    assert!(svg.contains(said) && dxf.contains(said));
    let horizontal: Vec<Vec<f64>> = svg
        .lines()
        .filter(|line| line.starts_with("<line"))
        .map(|line| line.split('"').skip(1).step_by(2).map(|x| x.parse().unwrap()).collect())
        .filter(|ends: &Vec<f64>| ends[1] == ends[3])
        .collect();
    assert_eq!(horizontal.len(), 4);
    let middle = |ends: &[f64]| [0.5 * (ends[0] + ends[2]), ends[1]];
    let places: Vec<[f64; 2]> = horizontal.iter().map(|ends| middle(ends)).collect();
    let apart = |k: usize| {
        let of = places.iter().map(|p| p[k]);
        of.clone().fold(f64::MIN, f64::max) - of.fold(f64::MAX, f64::min)
    };
    assert_eq!([apart(0), apart(1)], [50.0, 50.0]);
    assert_eq!(dxf.matches("\nLINE\n  8\ncalibration\n").count(), 8);
}
