//! Cells whose outline the user draws, with ends marked on it.

use crate::cells::study;
use crate::{mistakes, text};
use std::f64::consts::{FRAC_PI_2, LN_2};
use std::path::Path;
use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::{Case, Ends, Gap};
use twinplate::study::{Settings, Study, read_text};
use twinplate::theory::ideal::Goal;
use twinplate::theory::streaklines::Ending;

/// A square with an inlet on its left side and an outlet on its right one, both of half a side.
const SQUARE: &str = "outline = { points = [[0, 0], [1, 0], [1, 1], [0, 1]] }";
const INLET: &str = "[[end]]\nrole = \"inlet\"\nfrom = [0, 0.75]\nto = [0, 0.25]\n";
const OUTLET: &str = "[[end]]\nrole = \"outlet\"\nfrom = [1, 0.25]\nto = [1, 0.75]\n";

fn end(role: &str, from: [f64; 2], to: [f64; 2]) -> String {
    format!("[[end]]\nrole = \"{role}\"\nfrom = {from:?}\nto = {to:?}\n")
}

fn solved(cell: &str, more: &str) -> Study {
    let (case, plan) = crate::case(cell, more);
    study(case, plan, 5000, false)
}

/// A rectangle of 2 by 1, turned by 30 degrees and walked either way, has the shape factor 1/2, the speed U all over along its own length, and
/// lines that start evenly along its inlet and end at its outlet. Everything is linear, so that rounding alone is left: 1e-9 of iteration.
#[test]
fn a_turned_rectangle_is_a_rectangle() {
    let turned = |[x, y]: [f64; 2]| {
        let (sin, cos) = (FRAC_PI_2 / 3.0).sin_cos();
        [cos * x - sin * y + 0.3, sin * x + cos * y - 0.2]
    };
    let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]].map(turned);
    for reversed in [false, true] {
        let mut listed = corners.to_vec();
        if reversed {
            listed.reverse();
        }
        let cell = format!("outline = {{ points = {listed:?} }}");
        let probe = format!("[[probe]]\nname = \"off the middle\"\nat = {:?}\n", turned([0.7, 0.8]));
        let [a, b, c, d] = corners;
        let ends = end("inlet", d, a) + &end("outlet", b, c);
        let study = solved(&cell, &(ends + &probe + "[streaklines]\ncount = 4\n"));
        let shape = study.pattern.shape_factor;
        assert!(
            (shape.value - 0.5).abs() < 1e-9 && shape.lower <= 0.5 + 1e-12 && shape.upper >= 0.5 - 1e-12,
            "{shape:?}"
        );
        let v = study.probe_values()[0].velocity;
        let along = [(FRAC_PI_2 / 3.0).cos(), (FRAC_PI_2 / 3.0).sin()];
        assert!((0..2).all(|k| (v[k] / 1e-3 - along[k]).abs() < 1e-6), "{v:?}");
        for (k, line) in study.lines.iter().enumerate() {
            let start = turned([0.0, (k as f64 + 0.5) / 4.0]);
            let stop = turned([2.0, (k as f64 + 0.5) / 4.0]);
            let (p, q) = (line.points[0], line.points[line.points.len() - 1]);
            assert!((p[0] - start[0]).hypot(p[1] - start[1]) < 1e-9, "{k}: {p:?} {start:?}");
            assert!((q[0] - stop[0]).hypot(q[1] - stop[1]) < 1e-5, "{k}: {q:?} {stop:?}");
            assert_eq!(line.ending, Ending::Outlet);
        }
    }
}

/// A case in a folder of its own beside a drawing of a quarter of a ring, radii 20 and 40 mm.
fn quarter_ring(ends: &str) -> (Case, Arc<Plan>) {
    let folder = std::env::temp_dir().join(format!("twinplate_ring_{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let drawing = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"50mm\" height=\"50mm\" viewBox=\"0 0 50 50\">\
                   <path d=\"M 20 50 A 20 20 0 0 0 0 30 L 0 10 A 40 40 0 0 1 40 50 Z\"/></svg>";
    std::fs::write(folder.join("ring.svg"), drawing).unwrap();
    let cell = "outline = { file = \"ring.svg\", as_drawn = true }";
    read_text(&text(cell, ends), &folder.join("case.toml")).unwrap_or_else(|e| panic!("{e}"))
}

/// A quarter of a ring between radii 1 and 2: along it, between its two straight ends, S = ln 2/(pi/2); outwards, between its two arcs, S =
/// (pi/2)/ln 2 (Lamb 1932, art. 62). Arcs stay arcs: half the bracket and the outline allowance are the error. The file counts among what the
/// case reads.
#[test]
fn a_drawn_ring_has_its_shape_factor_either_way() {
    // the page's lower left corner is the origin: the ring lies about it
    let along = end("inlet", [0.0, 0.04], [0.0, 0.02]) + &end("outlet", [0.02, 0.0], [0.04, 0.0]);
    let outwards = end("inlet", [0.0, 0.02], [0.02, 0.0]) + &end("outlet", [0.04, 0.0], [0.0, 0.04]);
    for (ends, exact) in [(along, LN_2 / FRAC_PI_2), (outwards, FRAC_PI_2 / LN_2)] {
        let (case, plan) = quarter_ring(&ends);
        assert_eq!(case.inputs.len(), 1);
        let study = study(case, plan, 4000, false);
        let shape = study.pattern.shape_factor;
        let error = shape.half_width() + shape.outline_allowance;
        assert!((shape.value - exact).abs() < error && error < 3e-3 * exact, "{exact}: {shape:?}");
    }
}

/// Places near a corner are the corner, places near the outline are moved onto it, and closed ends are wall.
#[test]
fn ends_snap_onto_the_outline() {
    let exact = solved(SQUARE, &(end("inlet", [0.0, 1.0], [0.0, 0.0]) + &end("outlet", [1.0, 0.0], [1.0, 1.0])));
    let closed = "[[end]]\nname = \"old gate\"\nkind = \"closed\"\nfrom = [0.3, 0]\nto = [0.6, 0]\n";
    let near = end("inlet", [5e-4, 1.0003], [-4e-4, 5e-4]) + &end("outlet", [1.0005, -3e-4], [1.0, 0.9996]) + closed;
    let snapped = solved(SQUARE, &near);
    for study in [&exact, &snapped] {
        assert!((study.pattern.shape_factor.value - 1.0).abs() < 1e-9, "{:?}", study.pattern.shape_factor);
    }
    let (case, plan) = crate::case(SQUARE, &(INLET.to_owned() + OUTLET));
    assert!((case.cell.inlet_width() - 0.5).abs() < 1e-15 && (plan.area() - 1.0).abs() < 1e-15);
}

/// Where a held end meets its wall in line the speed goes as the root of the inverse distance, and what inertia takes of the pressure there has
/// no limit: on ever finer meshes it grew to ten times U. It is refused with the place; given inflow has no such rim.
#[test]
fn inertia_has_no_limit_at_ends_in_line_with_a_wall() {
    let (case, plan) = crate::case(SQUARE, &(INLET.to_owned() + OUTLET));
    let settings = Settings { goal: Some(Goal::Triangles(500)), edge_layer: true, inertia: true };
    let why = Study::solve(case.clone(), plan.clone(), settings, &|_| {}).unwrap_err().to_string();
    assert!(why.contains("inertia has no limit at the rim of the end near (") && why.contains("180 degrees"), "{why}");
    let mut given = case;
    given.drive.ends = twinplate::input::case::Ends::GivenInflow;
    assert!(Study::solve(given, plan, settings, &|_| {}).is_ok());
}

/// Where an end meets its wall in line, the walls cannot be grown by the displacement thickness: that variant says so, and the first order
/// stands. The dye still crosses from mouth to mouth, and the same cell filled dry has a front.
#[test]
fn ends_in_line_with_a_wall_leave_the_moved_edges_out() {
    let (case, plan) = crate::case(SQUARE, &(INLET.to_owned() + OUTLET + "[streaklines]\ncount = 5\n"));
    let settings = Settings { goal: Some(Goal::Triangles(3000)), edge_layer: true, inertia: false };
    let study = Study::solve(case, plan, settings, &|_| {}).unwrap();
    let why = (*study.moved.clone().unwrap()).as_ref().unwrap_err().to_string();
    assert!(why.contains("at a right angle"), "{why}");
    assert!(study.edge_layer.as_ref().unwrap().shape_factor < study.pattern.shape_factor.value);
    assert!(
        study.lines.iter().all(|line| line.ending == Ending::Outlet),
        "{:?}",
        study.lines.iter().map(|l| l.ending).collect::<Vec<_>>()
    );
    // the two halves above and below the axis are mirror images: the middle line stays on it
    let middle = &study.lines[2].points;
    assert!(middle.iter().all(|p| (p[1] - 0.5).abs() < 5e-3), "{middle:?}");
}

/// The kind of ends may stand at the ends or in the drive; a slope is about the middle of the box, which is known once the outline is.
#[test]
fn kinds_and_slopes_come_into_the_case() {
    let given = INLET.replace("from", "kind = \"given-inflow\"\nfrom")
        + &OUTLET.replace("from", "kind = \"given-inflow\"\nfrom");
    assert_eq!(crate::case(SQUARE, &given).0.drive.ends, Ends::GivenInflow);
    assert_eq!(crate::case(SQUARE, &(INLET.to_owned() + OUTLET)).0.drive.ends, Ends::HeldPressure);
    let sloped =
        text(SQUARE, &(INLET.to_owned() + OUTLET)).replace("gap = 0.001", "gap = { at = 0.001, slope = [1e-3, 0] }");
    let (case, _) = read_text(&sloped, Path::new("case.toml")).unwrap();
    assert!(matches!(case.cell.gap, Gap::Linear { middle: [0.5, 0.5], .. }), "{:?}", case.cell.gap);
    assert!((case.cell.middle_gap() - 0.001).abs() < 1e-18);
    let steep = sloped.replace("1e-3, 0", "3e-3, 0");
    let error = read_text(&steep, Path::new("case.toml")).unwrap_err().to_string();
    assert!(error.contains("case.toml:4:") && error.contains("the gap is"), "{error}");
}

/// Every mistake has its line: the outline stands in line 3, ends from line 10 on.
#[test]
fn outlines_and_ends_that_cannot_be_are_told() {
    let ends = INLET.to_owned() + OUTLET;
    for (cell, more, said, line) in [
        (SQUARE, String::new(), "the cell has no inlet, so that nothing flows", 3),
        (SQUARE, INLET.to_owned(), "the cell has no outlet, so that nothing flows: of its 1 ends 1 is open", 3),
        (SQUARE, ends.clone() + &INLET.replace("0.75", "0.2").replace("0.25", "0.1"), "is another inlet beside", 18),
        (
            SQUARE,
            end("inlet", [0.0, 0.75], [0.1, 0.25]) + OUTLET,
            "to at (0.1 m, 0.25 m) is 100 mm off the outline",
            10,
        ),
        (SQUARE, end("inlet", [0.0, 0.75], [0.0, 0.75]) + OUTLET, "has no width", 10),
        (SQUARE, INLET.to_owned() + &end("outlet", [0.0, 0.3], [0.5, 0.0]), "overlap or meet at (0 m, 0.3 m)", 14),
        (SQUARE, INLET.to_owned() + &end("outlet", [0.0, 0.25], [0.5, 0.0]), "overlap or meet at (0 m, 0.25 m)", 14),
        // the wrong way round: it goes all the way about and over the inlet
        (SQUARE, INLET.to_owned() + &end("outlet", [1.0, 0.75], [1.0, 0.25]), "may be the wrong way round", 14),
        (SQUARE, INLET.replace("role = \"inlet\"", "") + OUTLET, "has no role", 10),
        (SQUARE, INLET.replace("from", "kind = \"closed\"\nfrom") + OUTLET, "is closed and has a role", 11),
        (
            SQUARE,
            INLET.replace("from", "kind = \"given-inflow\"\nfrom")
                + &OUTLET.replace("from", "kind = \"held-pressure\"\nfrom"),
            "is of another kind",
            15,
        ),
        (SQUARE, ends.clone() + "[streaklines]\nstarts = [0.5]", "a height across the inlet", 19),
        (
            SQUARE,
            ends.clone() + "[[obstacle]]\ncircle = { centre = [0, 0.5], diameter = 0.1 }",
            "reaches the inlet near (0 m, 0.",
            19,
        ),
        (
            SQUARE,
            ends.clone() + "[[obstacle]]\ncircle = { centre = [3, 0.5], diameter = 0.1 }",
            "stands outside the cell",
            19,
        ),
        (
            "outline = { points = [[0, 0], [1, 1], [1, 0], [0, 1.5]] }",
            INLET.to_owned() + &end("outlet", [1.0, 0.75], [1.0, 0.25]),
            "the edge of the cell meets itself",
            3,
        ),
        ("outline = { points = [[0, 0], [1, 1]] }", ends.clone(), "an outline needs at least 3", 3),
        ("outline = { file = \"nowhere.svg\", as_drawn = true }", ends.clone(), "nowhere.svg", 3),
        ("length = 1\nwidth = 1", INLET.to_owned(), "this cell has none", 11),
    ] {
        let found = mistakes(cell, &more);
        assert!(
            found.contains(said) && found.contains(&format!("case.toml:{line}:")),
            "{cell}\n{more}\nwanted {said} in {line}\n{found}"
        );
    }
}
