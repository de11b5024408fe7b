//! Speeds against exact patterns.

use crate::cells::{Grid, cell, circle, ellipse, ladder, orders, study};
use crate::suite::unbounded::{joukowski, times};
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::{Curve, Plan};
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};

/// Shoulder speed over U of a circle centred in a long channel, from rows of images of multipoles (series evaluated to the digits
/// given).
const SHOULDER: [(f64, f64); 5] =
    [(0.1, 2.01666792), (0.2, 2.06940028), (0.3, 2.16724786), (0.5, 2.58949469), (0.8, 5.40996617)];

/// The same plan with the joint of a circle's arc at its shoulder, so that every mesh has a vertex there.
fn with_vertex_on_the_shoulder(plan: &Plan) -> Arc<Plan> {
    let mut plan = plan.clone();
    for piece in &mut plan.pieces {
        if let Curve::Arc { rotation, .. } = &mut piece.curve {
            *rotation += FRAC_PI_2;
        }
    }
    Arc::new(plan)
}

fn speed_at(grid: &Grid, velocity: &[[f64; 2]], at: Point) -> f64 {
    let v = grid.vectors_at(velocity, &[at])[0];
    v[0].hypot(v[1])
}

/// Second order: graded base of about 2000 triangles, refined three times to 128 000. The ends 1.5 W away change the speed by the
/// order of exp(-6 pi) = 7e-9.
#[test]
fn shoulder_speed_of_a_circle_converges_at_second_order() {
    for (diameter, exact) in SHOULDER {
        let (case, plan) = cell(3.0, 1.0, HeldPressure, &circle([1.5, 0.5], diameter));
        let plan = with_vertex_on_the_shoulder(&plan);
        let errors: Vec<f64> = ladder(&case, &plan, 2000, 4)
            .iter()
            .map(|grid| {
                let velocity = grid.pattern(&case).velocity;
                speed_at(grid, &velocity, [1.5, 0.5 + 0.5 * diameter]) / 1e-3 - exact
            })
            .collect();
        let orders = orders(&errors);
        println!("circle {diameter}: {errors:?} orders {orders:.2?}");
        let mean = (errors[0] / errors[3]).abs().log2() / 3.0;
        assert!(mean > 1.8, "circle {diameter}: order {mean} from {errors:?}");
        assert!(errors[3].abs() < 1e-3 * exact, "circle {diameter}: {errors:?}");
    }
}

/// What images of a slender body's dipole in both walls add to the stream: V(z) of a dipole of strength m U, image spacing W,
/// gives U (pi^2/3) m/W^2 at its place for each body (sum of 2 m/(n W)^2).
fn blockage(dipole: f64, width: f64) -> f64 {
    PI * PI / 3.0 * dipole / (width * width)
}

/// Ellipse A, B aligned with an unbounded stream: largest speed 1 + B/A (Lamb 1932). In the channel the stream round it is raised
/// by the images of its dipole B (A + B)/2; what is left is of the order of the square of that and, since the images' field is
/// not uniform, of the fourth power of the size over the width.
#[test]
fn ellipse_in_a_wide_cell() {
    for [a, b] in [[0.04, 0.02], [0.02, 0.04]] {
        let (case, plan) = cell(3.0, 1.0, HeldPressure, &ellipse([1.5, 0.5], [a, b], 0.0));
        let raised = blockage(0.5 * b * (a + b), 1.0);
        let left = raised * raised + PI.powi(4) / 15.0 * (a.max(b)).powi(4) * 2.0;
        let exact = (1.0 + b / a) * (1.0 + raised);
        let speeds: Vec<f64> = ladder(&case, &plan, 4000, 3)
            .iter()
            .map(|grid| speed_at(grid, &grid.pattern(&case).velocity, [1.5, 0.5 + b]) / 1e-3)
            .collect();
        // second order: the finest misses by a third of the last change; the probe lies between two vertices, so take all of it
        let mesh = (speeds[2] - speeds[1]).abs();
        println!("ellipse {a} {b}: {speeds:?} exact {exact} left {left:.1e}");
        assert!((speeds[2] - exact).abs() < mesh + left * exact, "{speeds:?} {exact}");
        assert!(mesh < 5e-3 * exact && raised > 3.0 * left, "{speeds:?} {raised} {left}");
    }
}

/// Symmetric and cambered Joukowski sections at incidence, chord a twentieth of the width. The dipole f^2 R^2 e^.. - f^2 is below
/// c^2/4 in size, so the walls change the stream by less than (pi^2/3)/4/400 = 2.1e-3 of U; probes at 1.1 to 2 radii of the circle.
#[test]
fn joukowski_sections_without_circulation() {
    for (camber, angle) in [(0.0, 0.0), (0.0, 8.0), (0.04, 4.0)] {
        let text = format!(
            "[[obstacle]]\njoukowski = {{ chord = 0.05, thickness = 0.15, camber = {camber:?}, nose = [1.475, 0.5], \
             angle = {angle:?} }}\n"
        );
        let (case, plan) = cell(3.0, 1.0, HeldPressure, &text);
        let map = plan.pieces.iter().find_map(|piece| match piece.curve {
            Curve::Joukowski { map, .. } => Some(map),
            _ => None,
        });
        let map = map.unwrap();
        let radius = (1.0 - map.centre[0]).hypot(map.centre[1]);
        let f2 = times(map.factor, map.factor);
        let size = map.factor[0].hypot(map.factor[1]).powi(2) * radius * radius;
        let dipole = (size - f2[0]).hypot(f2[1]);
        let walls = blockage(dipole, 1.0);
        let grids = ladder(&case, &plan, 6000, 3);
        let fields: Vec<Vec<[f64; 2]>> = grids.iter().map(|grid| grid.pattern(&case).velocity).collect();
        let mut worst: f64 = 0.0;
        let probes: Vec<(Point, [f64; 2])> =
            (0..24).map(|k| joukowski(&map, [1.1, 1.4, 2.0][k % 3], TAU * k as f64 / 24.0 + 0.05)).collect();
        let places: Vec<Point> = probes.iter().map(|probe| probe.0).collect();
        let at_probes: Vec<Vec<[f64; 2]>> =
            grids.iter().zip(&fields).map(|(grid, field)| grid.vectors_at(field, &places)).collect();
        for (k, &(at, exact)) in probes.iter().enumerate() {
            let values: Vec<[f64; 2]> = at_probes.iter().map(|values| values[k].map(|v| v / 1e-3)).collect();
            let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
            let (mesh, error) = (apart(values[2], values[1]), apart(values[2], exact));
            // the section multiplies what the walls change by its own speed ratio, at most 1 + |V|
            let confinement = walls * (1.0 + exact[0].hypot(exact[1]));
            worst = worst.max(error);
            assert!(
                error < mesh + confinement,
                "camber {camber} angle {angle} at {at:?}: {values:?} {exact:?}, mesh {mesh:.1e} walls {confinement:.1e}"
            );
            assert!(mesh + confinement < 0.02, "camber {camber} angle {angle} at {at:?}: {mesh} {confinement}");
        }
        println!("joukowski {camber} {angle}: walls {walls:.1e} worst {worst:.1e}");
    }
}

/// Both kinds of ends give the same pattern in a long cell: they differ as exp(-2 pi |x|/W) from the ends.
#[test]
fn ends_do_not_matter_far_away() {
    let speed = |ends| {
        let (case, plan) = cell(3.0, 1.0, ends, &circle([1.5, 0.5], 0.3));
        let study = study(case, plan, 24_000, false);
        let at = |p: Point| study.value_at(p).unwrap().velocity;
        [at([1.5, 0.7]), at([1.2, 0.4]), at([1.9, 0.6])]
    };
    // meshes may differ a little: their indicators do. Second-order errors of 24 000 triangles:
    // edges of 0.03 over 0.3 from the centre of the post, squared, a fifth of it for the second derivative of the speed there.
    for (a, b) in speed(HeldPressure).iter().zip(speed(GivenInflow)) {
        assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 2e-3 * 1e-3, "{a:?} {b:?}");
    }
}
