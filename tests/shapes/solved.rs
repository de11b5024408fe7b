//! What is computed in cells that are no rectangle.

use crate::cells::{Grid, orders, study, uniform_ladder};
use crate::{BEND, STEP, case};
use std::f64::consts::FRAC_PI_2;
use std::sync::Arc;
use twinplate::geometry::Side;
use twinplate::input::case::Ends;
use twinplate::numerics::mesh::Gate;
use twinplate::study::{Settings, Study};
use twinplate::theory::bubbles::Ended;
use twinplate::theory::convergence::sharpest_corner;
use twinplate::theory::edge_layer::displacement_thickness;
use twinplate::theory::ideal::Goal;
use twinplate::theory::streaklines::Ending;

fn solved(cell: &str, more: &str, triangles: usize) -> Study {
    let (case, plan) = case(cell, more);
    study(case, plan, triangles, false)
}

/// The exact squares of a step from 1 to 1/2 and of a bend of three squares (`validation/contraction`) lie within the bounds, which are strict
/// for straight outlines; what the held ends mirror of the step is exp(-8 pi) of what it adds.
#[test]
fn bounds_hold_for_steps_and_bends() {
    let right = BEND.replace('}', ", towards = \"right\" }");
    for (cell, squares) in [(STEP, 4.124_916_292_8), (BEND, 2.558_523_142_342_013), (&right, 2.558_523_142_342_013)] {
        let shape = solved(cell, "", 4000).pattern.shape_factor;
        assert!(shape.lower <= 1.0 / squares && 1.0 / squares <= shape.upper, "{cell}: {shape:?}");
        assert!(shape.relative_half_width < 2e-3, "{shape:?}");
    }
}

/// U is the flow over the inlet, wherever that is the wide end or the narrow one: at the far end of a step the mean speed is that times the
/// ratio of the widths, to the error of the nodal velocities there, which the bracket's half-width is a rough measure of.
#[test]
fn the_mean_speed_is_that_over_the_inlet() {
    for (width_in, width_out) in [(1.0, 0.5), (0.5, 1.0)] {
        let cell = format!(
            "contraction = {{ length_in = {:?}, width_in = {width_in:?}, length = 0.5, length_out = {:?}, width_out = {width_out:?}, \
             shape = \"cosine\" }}",
            2.0 * width_in,
            2.0 * width_out
        );
        let end = 2.0 * width_in + 0.5 + 2.0 * width_out;
        let probe = |name: &str, x: f64| format!("[[probe]]\nname = \"{name}\"\nat = [{x:?}, {:?}]\n", 0.5 * width_in);
        let study = solved(&cell, &(probe("in", 1e-3) + &probe("out", end - 1e-3)), 6000);
        let drive = &study.pattern.drive;
        assert!((drive.flow_rate - 1e-3 * width_in * 1e-3).abs() < 1e-18 && (drive.mean_speed - 1e-3).abs() < 1e-15);
        for (place, ratio) in study.probe_values().into_iter().zip([1.0, width_in / width_out]) {
            let found = place.velocity[0] / 1e-3;
            assert!((found / ratio - 1.0).abs() < 3e-3, "{width_in} {width_out}: {found} {ratio}");
        }
    }
}

/// In a bend lines start across the inlet, from the lower wall to the upper, and leave through the outlet at the top; time lines are cut off
/// there; a bubble leaves there; the flow through a line across the second arm is Q. Equal shares: the ends of all lines are as evenly spaced as
/// their starts far from the corner, to exp(-pi) of a spacing at a square from it.
#[test]
fn the_flow_turns_with_the_bend() {
    let more = "[streaklines]\ncount = 9\ntimes = [\"200 s\", \"1500 s\"]\n[[line]]\nname = \"second arm\"\nfrom = [0.9, 1.7]\nto = [2.1, 1.7]\n\
                [[line]]\nname = \"beyond\"\nfrom = [1.5, 1.5]\nto = [1.5, 2.5]\n[[bubble]]\nname = \"b\"\ncentre = [0.2, 0.6]\ndiameter = 0.02\n";
    let cell = "bend = { length_in = 1, width_in = 1, length_out = 1, width_out = 1, inner_radius = 0.3 }";
    let study = solved(cell, more, 6000);
    assert_eq!(study.lines.len(), 9);
    for (k, line) in study.lines.iter().enumerate() {
        let (start, end) = (line.points[0], line.points[line.points.len() - 1]);
        let across = (k as f64 + 0.5) / 9.0;
        assert!(start[0].abs() < 1e-12 && (start[1] - across).abs() < 0.02, "{k}: {start:?}");
        assert_eq!(line.ending, Ending::Outlet, "{k}");
        assert!((end[1] - 2.0).abs() < 1e-9 && (end[0] - (2.0 - across)).abs() < 0.02, "{k}: {end:?}");
    }
    let lines = &study.time_lines.list;
    assert_eq!(lines.len(), 2);
    // after 200 s at 1.5 mm/s in mid-gap the dye is 0.3 m behind the inlet; after 1500 s some has left, and none is beyond the outlet
    assert!(lines[0].pieces.iter().flat_map(|piece| &piece.points).any(|p| (p[0] - 0.3).abs() < 0.02));
    let late: Vec<_> = lines[1].pieces.iter().flat_map(|piece| &piece.points).collect();
    assert!(late.iter().all(|p| p[1] < 2.0 + 1e-9) && late.iter().any(|p| (p[1] - 2.0).abs() < 1e-9), "{late:?}");
    assert_eq!(study.bubbles[0].ended, Ended::Outlet);
    let end = study.bubbles[0].points[study.bubbles[0].points.len() - 1];
    assert!((end[1] - 2.0).abs() < 1e-6 && end[0] > 1.0 && end[0] < 2.0, "{end:?}");
    let flow = study.profiles[0].flow.expect("the flow through a line between walls").value;
    assert!((flow.abs() / study.pattern.drive.flow_rate - 1.0).abs() < 1e-9, "{flow}");
    assert!(study.profiles[1].flow.is_none(), "it ends beyond the outlet");
}

/// A channel of width w loses 2 delta*/w of its flow to the edge layer, to first order. The variant with moved edges, which grows the walls of
/// a bend and of a contraction into the fluid, differs from that by second order in b/L.
#[test]
fn walls_of_any_cell_grow_into_the_fluid() {
    for cell in [
        "bend = { length_in = 0.2, width_in = 0.1, length_out = 0.2, width_out = 0.1, inner_radius = 0.05, towards = \"right\" }",
        "contraction = { length_in = 0.2, width_in = 0.1, length = 0.1, length_out = 0.2, width_out = 0.06, shape = \"arc\" }",
    ] {
        let (case, plan) = case(cell, "");
        let squares = case.cell.shape.squares();
        let settings = Settings { goal: Some(Goal::Triangles(6000)), edge_layer: true, ..Settings::default() };
        let study = Study::solve(case, plan, settings, &|_| {}).unwrap();
        let ideal = study.pattern.shape_factor.value;
        // one-dimensional channels with rounded changes: the squares are right within some hundredths
        assert!((ideal * squares - 1.0).abs() < 0.06, "{cell}: {ideal} {squares}");
        let first = study.edge_layer.as_ref().unwrap().shape_factor / ideal - 1.0;
        let moved = (**study.moved.as_ref().unwrap()).as_ref().unwrap_or_else(|e| panic!("{cell}: {e}")).shape_factor;
        // a channel of width w loses 2 delta*/w of its flow, more where it is narrow; the next order is its square
        let delta = displacement_thickness(1e-3);
        assert!((-2.2 * 2.0 * delta / 0.06..-2.0 * delta / 0.1 * 0.8).contains(&first), "{cell}: {first}");
        let second = (moved / ideal - 1.0 - first).abs();
        assert!(second < 3.0 * first * first, "{cell}: {first} {second}");
    }
}

/// The corner of a bend sets the exponent 2/3, so do the two edges of a step, and a rounded corner does not; the bounds close with the order
/// 4/3 on evenly halved meshes, to the 0.1 by which smooth parts of order 2 still show (`validation/corner_order`).
#[test]
fn corners_of_the_cell_set_the_order() {
    let sharpest = |cell: &str| sharpest_corner(&case(cell, "").1, Ends::HeldPressure);
    for (cell, places) in [(BEND, vec![[1.0, 1.0]]), (STEP, vec![[2.0, 0.25], [2.0, 0.75]])] {
        let corner = sharpest(cell).unwrap();
        assert!((corner.exponent - 2.0 / 3.0).abs() < 1e-12 && places.contains(&corner.at), "{corner:?}");
    }
    assert_eq!(sharpest(&BEND.replace('}', ", inner_radius = 0.2 }")), None);
    let widths: Vec<f64> = uniform_ladder(&case(BEND, "").1, 0.15, 5).iter().map(Grid::width).collect();
    let order = *orders(&widths).last().unwrap();
    assert!((order - 4.0 / 3.0).abs() < 0.1, "{order}");
}

/// An inlet on the mesh is walked from wall to wall whatever its direction, and the outlet of a bend faces up or down.
#[test]
fn ends_face_out_of_the_cell() {
    for (towards, angle) in [("left", FRAC_PI_2), ("right", -FRAC_PI_2)] {
        let (_, plan) = case(&BEND.replace('}', &format!(", towards = \"{towards}\" }}")), "");
        let end = plan.end(Side::Outlet).unwrap();
        assert!((end.outwards[1].atan2(end.outwards[0]) - angle).abs() < 1e-12, "{end:?}");
        let size = twinplate::numerics::mesh::SizeField::new(0.2, 0.3, vec![]);
        let mesh = twinplate::numerics::mesh::Mesh::generate(&Arc::clone(&plan), &size, 10_000).unwrap();
        let gate = Gate::of(&mesh, Side::Outlet);
        assert!((gate.width() - 1.0).abs() < 1e-15);
        let facing = gate.direction(Side::Outlet).unwrap();
        assert!((facing[1] - angle.sin()).abs() < 1e-12 && facing[0].abs() < 1e-12);
    }
}
