//! SVG and DXF drawings against exact areas, and what is repaired, chosen and refused.
//!
//! `parts.dxf` and `older.dxf` come from another program's writer (`files/make_parts.py`); the SVG files are written by hand.

use crate::*;
use std::f64::consts::PI;
use twinplate::geometry::Curve;
use twinplate::input::drawing::{Drawing, read_drawing};

const MM: f64 = 1e-3;

fn path(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outline/files").join(file)
}

fn shape(file: &Path, size: OutlineSize, reading: ReadOptions) -> Shape {
    let placing = Placing::Centred { centre: [1.0, 0.5], size, angle: 0.0, mirror: false };
    Shape::OutlineFile { file: file.to_owned(), placing, reading }
}

/// A drawing that stands in a cell of two by one metres, true to size.
fn standing(file: &str, reading: ReadOptions) -> Plan {
    free(vec![shape(&path(file), OutlineSize::Stated, reading)]).unwrap_or_else(|problems| panic!("{problems}"))
}

fn layer(name: &str) -> ReadOptions {
    ReadOptions { layer: Some(name.into()), ..ReadOptions::default() }
}

fn id(name: &str) -> ReadOptions {
    ReadOptions { id: Some(name.into()), ..ReadOptions::default() }
}

/// Rounding of the cell's area of 2 m2 is 1e-15 or so for each of a few terms.
const ROUNDING: f64 = 1e-14;

/// Area of a closed uniform cubic spline on the corners of a hexagon of radius r, by the explicit matrix of its pieces (de
/// Boor 1978, A Practical Guide to Splines) and Simpson's rule, which at 2000 steps is exact to rounding.
fn hexagon_spline_area(r: f64) -> f64 {
    let corner = |k: usize| [r * (k as f64 * PI / 3.0).cos(), r * (k as f64 * PI / 3.0).sin()];
    let piece = |k: usize, t: f64| {
        let (s, d) = (1.0 - t, t * t);
        let b = [s * s * s, 3.0 * t * d - 6.0 * d + 4.0, -3.0 * t * d + 3.0 * d + 3.0 * t + 1.0, t * d];
        let c = [-3.0 * s * s, 9.0 * d - 12.0 * t, -9.0 * d + 6.0 * t + 3.0, 3.0 * d];
        let sum = |w: [f64; 4]| [0, 1].map(|i| (0..4).map(|j| w[j] * corner(k + j)[i] / 6.0).sum::<f64>());
        let (p, v) = (sum(b), sum(c));
        0.5 * (p[0] * v[1] - p[1] * v[0])
    };
    let n = 2000;
    let weight = |j: usize| {
        if j == 0 || j == n {
            1.0
        } else if j % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    let one = |k: usize| (0..=n).map(|j| weight(j) * piece(k, j as f64 / n as f64)).sum::<f64>() / (3.0 * n as f64);
    (0..6).map(one).sum()
}

#[test]
fn parts_of_a_dxf_have_their_areas() {
    let disc = 625.0 * PI;
    // The rational spline is fitted to 1e-7 of its size of 50, all round.
    let fit = 50.0 * PI * 50e-7 * MM * MM;
    for (name, area, tolerance) in [
        ("bulges", disc, ROUNDING),
        ("arcs", disc, ROUNDING),
        ("rational", disc, fit),
        ("slot", 800.0 + 100.0 * PI, ROUNDING),
        ("ellipse", 500.0 * PI, ROUNDING),
        ("ring", 400.0 * PI, ROUNDING),
        ("piles", 32.0, ROUNDING),
        ("cubic", hexagon_spline_area(20.0), ROUNDING),
        ("below", 25.0 * PI, ROUNDING),
    ] {
        let plan = standing("parts.dxf", layer(name));
        assert_sound(&plan);
        let found = 2.0 - plan.area();
        assert!((found - area * MM * MM).abs() < tolerance, "{name}: {found} for {area} mm2");
    }
    let ring = read(&path("parts.dxf"), &layer("ring"));
    assert_eq!(ring.loops.len(), 1);
    assert_notes(&ring, &["not used: 1 POINT, 1 text, which is no outline", "1 hole inside the outline is filled"]);
    let below = read(&path("parts.dxf"), &layer("below"));
    assert!(below.loops[0].curves.iter().all(|curve| curve.point(0.5)[0] < 1e-15));
    // The bulges are arcs of their circle, not approximations.
    let bulges = read(&path("parts.dxf"), &layer("bulges"));
    assert!(bulges.scaled);
    for curve in &bulges.loops[0].curves {
        let Curve::Arc { centre, semi_axes, .. } = curve else { panic!("an arc") };
        approx::assert_abs_diff_eq!(centre[0], 0.1, epsilon = 1e-15);
        approx::assert_relative_eq!(semi_axes[0], 0.025, max_relative = 1e-15);
    }
}

#[test]
fn arrays_of_blocks_become_obstacles() {
    let every = ReadOptions { every: true, ..layer("piles") };
    let plan = standing("parts.dxf", every);
    assert_eq!(plan.obstacles.len(), 6);
    approx::assert_abs_diff_eq!(plan.area(), 2.0 - 6.0 * 32.0 * MM * MM, epsilon = ROUNDING);
    let mut names: Vec<&str> = plan.obstacles.iter().map(|o| o.name.as_str()).collect();
    names.dedup();
    assert_eq!(names.len(), 6);
    // Along the turned columns the distance is the spacing.
    let drawing = read(&path("parts.dxf"), &ReadOptions { every: true, ..id("pile") });
    let start = |k: usize| drawing.loops[k].curves[0].point(0.0);
    approx::assert_abs_diff_eq!((start(1)[0] - start(0)[0]) / MM, 20.0 * (PI / 6.0).cos(), epsilon = 1e-9);
    approx::assert_abs_diff_eq!((start(1)[1] - start(0)[1]) / MM, 10.0, epsilon = 1e-9);
}

#[test]
fn drawings_without_a_unit_need_one() {
    let file = path("older.dxf");
    let message = only_mistake(free(vec![shape(&file, OutlineSize::Stated, ReadOptions::default())])).0;
    assert_says(&message, &["no unit of length", "pier 0"]);
    // A rectangle of 2 by 1 with half a disc of radius 1 on its long side.
    let area = 2.0 + 0.5 * PI;
    let inches = ReadOptions { unit: Some(0.0254), ..ReadOptions::default() };
    approx::assert_abs_diff_eq!(standing("older.dxf", inches).area(), 2.0 - area * 0.0254 * 0.0254, epsilon = ROUNDING);
    let wide = free(vec![shape(&file, OutlineSize::Width(0.5), ReadOptions::default())]).unwrap();
    approx::assert_abs_diff_eq!(wide.area(), 2.0 - area / 16.0, epsilon = ROUNDING);
}

#[test]
fn shapes_of_an_svg_have_their_areas() {
    let unit = 0.01 * 0.0254;
    for (name, area) in [
        ("rounded", 2400.0 - (4.0 - PI) * 100.0),
        ("oval", 2.0 * PI * 96.0),
        ("triangle", 400.0),
        ("bent", 200.0),
        ("leaning", 400.0),
        ("marker", PI * 225.0),
        ("frame", 3200.0),
        ("hull", 2400.0 - (4.0 - PI) * 100.0),
    ] {
        let plan = standing("shapes.svg", id(name));
        assert_sound(&plan);
        let found = (2.0 - plan.area()) / (unit * unit);
        // Rounding of 2 m2 in units of 6.5e-8 m2.
        assert!((found - area).abs() < ROUNDING / (unit * unit), "{name}: {found} for {area}");
    }
    let drawing = read(&path("shapes.svg"), &ReadOptions::default());
    assert_eq!(drawing.loops[0].name, "frame");
    let names: Vec<String> = read(&path("shapes.svg"), &ReadOptions { every: true, ..ReadOptions::default() })
        .loops
        .into_iter()
        .map(|l| l.name)
        .collect();
    assert_eq!(names, ["rounded", "oval", "triangle", "leaning", "marker", "frame", "bent"]);
    assert_notes(
        &drawing,
        &[
            "1 element without fill and stroke",
            "1 hidden element",
            "1 image",
            "1 text",
            "1 hole inside",
            "of 7 outlines the largest, \"frame\", is taken",
            "does not close",
        ],
    );
    assert_eq!(read(&path("shapes.svg"), &ReadOptions { every: true, ..layer("Ship") }).loops.len(), 4);
    // An ellipse under a shear is an ellipse: its axes have the product of the area.
    let oval = read(&path("shapes.svg"), &id("oval"));
    for curve in &oval.loops[0].curves {
        let Curve::Arc { semi_axes, .. } = curve else { panic!("an arc") };
        approx::assert_relative_eq!(semi_axes[0] * semi_axes[1], 192.0 * unit * unit, max_relative = 1e-14);
    }
    // y points up: the frame, low on the page, is low here as well.
    let height = |name: &str| read(&path("shapes.svg"), &id(name)).loops[0].curves[0].point(0.0)[1];
    assert!(height("frame") < height("rounded"));
    let message = only(read_drawing(&path("shapes.svg"), &id("keel"))).0;
    assert_says(&message, &["no outline has the id \"keel\""]);
}

#[test]
fn arcs_are_exact_and_the_usual_beziers_are_not() {
    let arcs = standing("circle_arcs.svg", id("arcs"));
    approx::assert_abs_diff_eq!(arcs.area(), 2.0 - 625.0 * PI * MM * MM, epsilon = ROUNDING);
    // Four cubics with the usual constant stray outwards by up to 2.7e-4 of the radius.
    let beziers = standing("circle_arcs.svg", id("beziers"));
    let excess = (arcs.area() - beziers.area()) / (625.0 * PI * MM * MM);
    assert!(excess > 1e-5 && excess < 2.0 * 2.8e-4, "{excess}");
}

fn read(file: &Path, options: &ReadOptions) -> Drawing {
    read_drawing(file, options).unwrap_or_else(|problems| panic!("{problems}"))
}

fn assert_notes(drawing: &Drawing, words: &[&str]) {
    assert_says(&drawing.notes.join("\n"), words);
}

/// The one mistake: message, and line if it has a place.
fn only(result: Result<Drawing, Problems>) -> (String, Option<usize>) {
    let problems = result.expect_err("a drawing came out of a wrong file");
    assert!(!problems.render(false).is_empty());
    let problem = &problems.list[0];
    (problem.message.clone(), problems.line_and_column(problem).map(|(line, _)| line))
}

fn written(name: &str, content: &[u8], options: &ReadOptions) -> Result<Drawing, Problems> {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join(name);
    std::fs::write(&file, content).expect("a file");
    read_drawing(&file, options)
}

fn svg(body: &str, options: &ReadOptions) -> Result<Drawing, Problems> {
    let text =
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" viewBox=\"0 0 100 100\">\n{body}\n</svg>\n");
    written("pier.svg", text.as_bytes(), options)
}

/// Area of the first outline, m2.
fn area(drawing: &Drawing) -> f64 {
    twinplate::geometry::survey::Survey::of(&drawing.loops[0].curves).unwrap().area
}

fn list(text: &str) -> Result<Drawing, Problems> {
    written("pier.csv", text.as_bytes(), &ReadOptions::default())
}

#[test]
fn a_valid_outline_is_never_moved() {
    let points: Vec<Point> = (0..500)
        .map(|k| {
            let a = f64::from(k) * PI / 250.0;
            let r = 1.0 + 0.3 * (7.0 * a).sin() + 1e-9 * (91.0 * a).cos();
            [1e6 + r * a.cos(), r * a.sin() / 3.0]
        })
        .collect();
    let text: String = points.iter().map(|p| format!("{:?} {:?}\n", p[0], p[1])).collect();
    let drawing = list(&text).unwrap();
    assert!(drawing.notes.is_empty() && !drawing.scaled, "{:?}", drawing.notes);
    let found: Vec<Point> = drawing.loops[0].curves.iter().map(|curve| curve.point(0.0)).collect();
    assert_eq!(found, points);
    // Also one with edges of 1e-8 of its size, below the tolerance, and a corner as thin.
    let fine = "0 0\n1 0\n1 1\n0.50000001 1\n0.5 1.00000001\n0.49999999 1\n0 1\n";
    assert!(list(fine).unwrap().notes.is_empty());
    assert_eq!(list(fine).unwrap().loops[0].curves.len(), 7);
}

#[test]
fn headers_state_units() {
    for (text, size) in [
        ("x [mm], y [mm]\n0,0\n4,0\n4,2\n", 4e-3),
        ("x (in); y (in)\n0;0\n4;0\n4;2\n", 4.0 * 0.0254),
        ("x [m] y [m]\n0 0\n4 0\n4 2\n", 4.0),
        ("x_mm,y_mm\n0,0\n4,0\n4,2\n", 4e-3),
        ("caisson\nx,y\nmm,mm\n0,0\n4,0\n4,2\n", 4e-3),
        ("y_mm,x_mm\n0,0\n0,4\n2,4\n", 4e-3),
    ] {
        let drawing = list(text).unwrap();
        assert!(drawing.scaled);
        approx::assert_relative_eq!(drawing.loops[0].curves[0].point(1.0)[0], size, max_relative = 1e-15);
    }
    assert_says(&only(list("x [mm], y [cm]\n0,0\n1,0\n1,1\n")).0, &["two units"]);
    assert_says(&only(list("x [s], y [s]\n0,0\n1,0\n1,1\n")).0, &["header's unit"]);
}

#[test]
fn small_faults_are_repaired_and_listed() {
    let clockwise = list("0 0\n0 1\n1 1\n1 0\n").unwrap();
    assert_notes(&clockwise, &["1 outline runs clockwise"]);
    let repeated = list("0 0\n1 0\n1 0\n1 1\n1 1\n0 1\n0 0\n").unwrap();
    assert_notes(&repeated, &["2 repeated points dropped"]);
    assert_eq!(repeated.loops[0].curves.len(), 4);
    // A spike and a loop of some 2e-7 of the size.
    let spike = list("0 0\n1 0\n1 1\n0.5 1\n0.5 1.0000002\n0.5 1\n0 1\n").unwrap();
    assert_notes(&spike, &["1 spike cut off"]);
    assert_eq!(spike.loops[0].curves.len(), 5);
    let crossing =
        list("0 0\n1 0\n1 1\n0.5 1\n0.5 1.0000001\n0.5000001 1.0000001\n0.5000001 0.9999999\n0 0.99\n").unwrap();
    assert_notes(&crossing, &["1 small loop cut off"]);
    // The same a thousand times larger are errors at their line.
    let (message, line) = only(list("0 0\n1 0\n1 1\n0.5 1\n0.5 1.0002\n0.5 1\n0 1\n"));
    assert_says(&message, &["itself near (0.5"]);
    assert!(line == Some(4) || line == Some(5), "{line:?}");
    let (message, line) = only(list("0 0\n1 0\n1 1\n0.5 1\n0.5 1.0001\n0.5001 1.0001\n0.5001 0.9999\n0 0.99\n"));
    assert_says(&message, &["itself near", "the tolerance 1"]);
    assert_eq!(line, Some(6));
    // the tolerance that is named for it does it
    let looped = "0 0\n1 0\n1 1\n0.5 1\n0.5 1.0001\n0.5001 1.0001\n0.5001 0.9999\n0 0.99\n";
    let remedy = list(looped).unwrap_err().list[0].remedy.clone();
    let named = remedy.split("tolerance = ").nth(1).and_then(|rest| rest.split(' ').next()?.parse().ok());
    let named = ReadOptions { tolerance: named.unwrap_or_else(|| panic!("{remedy}")), ..ReadOptions::default() };
    assert_notes(&written("pier.csv", looped.as_bytes(), &named).unwrap(), &["1 small loop cut off"]);
    let bow_tie = only(list("0 0\n1 0\n0.1 1\n1 1.5\n"));
    assert!(!list("0 0\n1 0\n0.1 1\n1 1.5\n").unwrap_err().list[0].remedy.contains("tolerance ="));
    assert_says(&bow_tie.0, &["crosses itself near"]);
    assert!(bow_tie.1.is_some());
    let eased = ReadOptions { tolerance: 0.01, ..ReadOptions::default() };
    let text = b"0 0\n1 0\n1 1\n0.5 1\n0.5 1.0002\n0.5 1\n0 1\n";
    assert_notes(&written("pier.csv", text, &eased).unwrap(), &["1 spike cut off"]);
}

#[test]
fn open_lines_are_chained_within_the_tolerance() {
    let usual = ReadOptions::default();
    let lines = "<path d='M10 10h50'/><path d='M60 60v-50'/>\n<path d='M60 60.00001L10 10'/>";
    let drawing = svg(lines, &usual).unwrap();
    assert_eq!(drawing.loops[0].curves.len(), 3);
    assert_notes(&drawing, &["1 hairline gap closed, the largest"]);
    let (message, line) = only(svg("<path d='M10 10h50v50' fill='none' stroke='black'/>", &usual));
    assert_says(&message, &["does not close", "apart", "70.71 mm"]);
    assert_eq!(line, Some(2));
    let twice = "<path d='M10 10h50'/><path d='M60 10h-50'/><path d='M60 10v50l-50 -50'/>";
    assert_notes(&svg(twice, &usual).unwrap(), &["stand there twice"]);
    // A gap between two arcs gets a line.
    let arcs = "<path d='M10 50a20 20 0 0 1 40 0'/><path d='M50 50.00001a20 20 0 0 1 -40 0'/>";
    let drawing = svg(arcs, &usual).unwrap();
    assert_notes(&drawing, &["hairline gap"]);
}

/// SVG 2, 13.4: what is painted is closed by a straight line. Drawing programs paint a shape and its shading over it.
#[test]
fn what_is_painted_is_read_as_it_is_seen() {
    let usual = ReadOptions::default();
    // half a disc of radius 20 without its diameter
    let half = svg("<path d='M10 30a20 20 0 0 1 40 0'/>", &usual).unwrap();
    approx::assert_relative_eq!(area(&half), 0.5 * PI * 400.0 * MM * MM, max_relative = 1e-12);
    assert_notes(&half, &["1 open line whose inside is painted is closed by a straight line"]);
    // an outline that closes by itself without saying so, twice, and a speck: the outline is taken, once
    let outline = "<path d='M10 10H50V40H10V10'/>";
    let drawing = svg(&format!("{outline}{outline}<path d='M1 1h1v1z'/>"), &usual).unwrap();
    approx::assert_relative_eq!(area(&drawing), 1200.0 * MM * MM, max_relative = 1e-12);
    assert_notes(&drawing, &["1 lines that stand there twice"]);
    assert_eq!(drawing.found.len(), 2);
    // the same walked the other way and from another corner
    let drawing = svg(&format!("{outline}<path d='M50 40V10H10V40H50'/>"), &usual).unwrap();
    assert_eq!(drawing.found.len(), 1);
    // two circles of one path, radius 10 and 10 apart, share (2 pi/3 - sqrt 3/2) 100; whatever the rule and the sense
    let circle = |x: f64, sweep: u8| format!("M{} 50a10 10 0 0 {sweep} 20 0a10 10 0 0 {sweep} -20 0z", x - 10.0);
    let both = 200.0 * PI - 100.0 * (2.0 * PI / 3.0 - 0.5 * 3f64.sqrt());
    for (sweep, rule) in [(0, "nonzero"), (1, "nonzero"), (0, "evenodd")] {
        let path = format!("<path id='piles' fill-rule='{rule}' d='{}{}'/>", circle(40.0, 0), circle(50.0, sweep));
        let drawing = svg(&path, &usual).unwrap();
        approx::assert_relative_eq!(area(&drawing), both * MM * MM, max_relative = 1e-8);
        assert_notes(&drawing, &["outlines of \"piles\" that cross are united, as painted: 1 of 2 left"]);
        assert!(drawing.loops[0].curves.iter().all(|curve| matches!(curve, Curve::Arc { .. })));
    }
    // one inside the other crosses nothing, and two elements are two
    assert_eq!(svg(&format!("<path d='{}M38 48h4v4h-4z'/>", circle(40.0, 0)), &usual).unwrap().found.len(), 2);
    let two = format!("<path d='{}'/><path d='{}'/>", circle(40.0, 0), circle(50.0, 0));
    assert_eq!(svg(&two, &usual).unwrap().found.len(), 2);
    // what closes within the tolerance is closed, though another line starts at its end
    let nearly = "<g fill='none' stroke='black'><path d='M10 10H50V40H10V10.00001'/><path d='M10 10.00001h-5v-5'/></g>";
    let drawing = svg(nearly, &usual).unwrap();
    approx::assert_relative_eq!(area(&drawing), 1200.0 * MM * MM, max_relative = 1e-6);
    assert_notes(&drawing, &["left out: the line"]);
    // a line alone goes round nothing
    assert!(svg("<path d='M10 10h50'/>", &usual).is_err());
}

#[test]
fn straight_cubics_are_lines() {
    let drawing = svg("<path d='M10 10C10 10 60 10 60 10L60 60z'/>", &ReadOptions::default()).unwrap();
    assert!(drawing.loops[0].curves.iter().all(|curve| matches!(curve, Curve::Line { .. })));
}

/// Names with an escape sequence in them (a C1 control character is allowed in XML) would steer the terminal they are printed on.
#[test]
fn names_hold_no_control_characters() {
    let lines = "<g id='quay&#x9b;31m'><path id='pi&#x85;er' d='M10 10h50v50z'/></g>";
    let drawing = svg(lines, &ReadOptions::default()).unwrap();
    assert_eq!(drawing.loops[0].name, "pi\u{fffd}er");
    assert_eq!(drawing.loops[0].layer.as_deref(), Some("quay\u{fffd}31m"));
}

/// Some writers part what they draw into several sections of one name.
#[test]
fn every_section_of_entities_is_read() {
    let circle = |x: u8| format!("0\nCIRCLE\n8\npiles\n10\n{x}\n20\n0\n40\n1\n");
    let section = |inner: String| format!("0\nSECTION\n2\nENTITIES\n{inner}0\nENDSEC\n");
    let text = format!("{}{}0\nEOF\n", section(circle(0)), section(circle(5) + &circle(9)));
    let every = ReadOptions { every: true, ..ReadOptions::default() };
    assert_eq!(written("piles.dxf", text.as_bytes(), &every).unwrap().loops.len(), 3);
}
