//! Loads along a curved edge against integrals over the ellipse they stand for.

use super::bend::bends;
use super::next::{CURVATURE_COEFFICIENT, WEAKENING, loads};
use super::second::{EDGE_COEFFICIENTS, Edges, edge_loads};
use super::{Fluid, Operator, Setting, Space, solve_inertia};
use crate::geometry::Wall::{Lower, Upper};
use crate::geometry::{Plan, Side};
use crate::input::case::{EdgeTerm, Ends, Gap};
use crate::numerics::fem::SolidEdge;
use crate::numerics::mesh::{Mesh, SizeField};
use crate::theory::ideal::{Goal, Pattern, solve_ideal, solve_pair};
use std::f64::consts::TAU;
use std::sync::Arc;

const AXES: [f64; 2] = [0.2, 0.1];
const MIDDLE: [f64; 2] = [0.5, 0.25];
const GAP: f64 = 0.004;

fn ellipse() -> (Space, Fluid) {
    let text = format!(
        "[cell]\nlength = 1\nwidth = 0.5\ngap = {GAP}\n[fluid]\ndensity = 900\nviscosity = 2e-3\n[drive]\nmean_speed = 1e-3\n\
         [[obstacle]]\nellipse = {{ centre = {MIDDLE:?}, semi_axes = {AXES:?} }}\n"
    );
    let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
    let plan = Plan::new(&case, &mut Default::default()).unwrap();
    let size = SizeField::new(0.004, 0.3, vec![]);
    let mesh = Mesh::generate(&Arc::new(plan), &size, 1_000_000).unwrap();
    (Space::new(Arc::new(mesh), &Gap::Uniform(GAP), GAP), case.fluid)
}

/// The integral over the ellipse of Q dt/ds ds for t = x² y; Q from place, unit tangent and curvature with its derivative along the tangent.
fn integral(flux: impl Fn([f64; 2], [f64; 2], f64, f64) -> f64) -> f64 {
    let [a, b] = AXES;
    let count = 20_000;
    let at = |phi: f64| [MIDDLE[0] + a * phi.cos(), MIDDLE[1] + b * phi.sin()];
    let speed = |phi: f64| (a * phi.sin()).hypot(b * phi.cos());
    let bend = |phi: f64| a * b / speed(phi).powi(3);
    let step = 1e-5;
    let sum = (0..count).map(|k| TAU * (f64::from(k) + 0.5) / f64::from(count)).map(|phi| {
        let (p, v) = (at(phi), speed(phi));
        let tangent = [-a * phi.sin() / v, b * phi.cos() / v];
        let bending = (bend(phi + step) - bend(phi - step)) / (2.0 * step * v);
        let slope = 2.0 * p[0] * p[1] * tangent[0] + p[0] * p[0] * tangent[1];
        flux(p, tangent, bend(phi), bending) * slope * v
    });
    sum.sum::<f64>() * TAU / f64::from(count)
}

fn tested(space: &Space, loads: &[f64]) -> f64 {
    assert!(loads.iter().sum::<f64>().abs() < 1e-12 * loads.iter().fold(0.0, |m: f64, l| m.max(l.abs())));
    loads.iter().zip(&space.mesh.points).map(|(load, p)| load * p[0] * p[0] * p[1]).sum()
}

/// The curvature terms for a velocity that is no flow at all, V = (1 + y, x); no potential, no edge layer. Chords of 4 mm on radii of
/// 50 mm and more are off by (4/50)²/24 in length, slopes and means by as much again: a per cent covers both.
#[test]
fn curvature_loads_are_their_integral() {
    let (space, fluid) = ellipse();
    let velocity: Vec<[f64; 2]> = space.mesh.points.iter().map(|p| [1.0 + p[1], p[0]]).collect();
    let still = vec![[0.0; 2]; velocity.len()];
    let none = vec![0.0; velocity.len()];
    let found = tested(&space, &loads(&space, Ends::HeldPressure, &fluid, &velocity, &still, &none, &[]));
    let exact = integral(|[x, y], [u, v], bend, bending| {
        let (square, slope) = ((1.0 + y).powi(2) + x * x, 2.0 * x * u + 2.0 * (1.0 + y) * v);
        CURVATURE_COEFFICIENT * (1.5 * bend * slope + bending * square) / (1.0 + WEAKENING * bend * GAP)
    }) * GAP.powi(5)
        * fluid.density
        / fluid.viscosity;
    assert!((found / exact - 1.0).abs() < 1e-2, "{found:e} {exact:e}");
}

/// The flux of second order for a speed U = 1 + x along the ellipse, counter-clockwise; U' and U'' are those of the place.
#[test]
fn second_order_loads_are_their_integral() {
    let (space, fluid) = ellipse();
    let [a, b] = AXES;
    let speed = |p: [f64; 2]| 1.0 + p[0];
    let mut velocity = vec![[0.0; 2]; space.mesh.points.len()];
    for v in space.vertices_where(|side| matches!(side, Side::Obstacle(_))) {
        let p = space.mesh.points[v as usize];
        let across = [(p[0] - MIDDLE[0]) / (a * a), (p[1] - MIDDLE[1]) / (b * b)];
        let size = across[0].hypot(across[1]);
        velocity[v as usize] = [-across[1], across[0]].map(|x| speed(p) * x / size);
    }
    let pair = solve_pair(&space, Ends::HeldPressure, 1e-2).unwrap();
    let operator: &Operator = &pair.pressure_operator;
    let setting = Setting { space: &space, operator, ends: Ends::HeldPressure, fluid: &fluid };
    let edges: Vec<SolidEdge> = space.solid_edges().collect();
    let along = Edges { edges: &edges, bends: &bends(&edges, &space.mesh.points), edge_term: EdgeTerm::Leading };
    let [sharp, smooth] = edge_loads(&setting, &velocity, &[], &along);
    let nu = fluid.viscosity / fluid.density;
    let [of_second, of_first, of_bend] = EDGE_COEFFICIENTS;
    // U' = t_x, and U'' = kappa times the x of the normal to the left, which points inwards
    let exact = [
        integral(|p, [x, y], bend, _| {
            let u = speed(p);
            of_second * u * u * bend * -y + of_first * u * x * x
        }) * GAP.powi(6),
        integral(|p, _, bend, _| of_bend * speed(p).powi(3) * bend) * GAP.powi(5),
    ]
    .map(|x| x / (nu * nu));
    for (loads, exact) in [sharp, smooth].iter().zip(exact) {
        let found = tested(&space, loads);
        // against the mesh's own sense: the fluid is on the left, so the ellipse is walked clockwise
        assert!((found / exact - 1.0).abs() < 1e-2, "{found:e} {exact:e}");
    }
}

/// With the next term of the first order the terms with b⁵ weaken with the curvature, on either side; with the factor all do, by its square.
#[test]
fn second_order_loads_weaken_along_curved_edges() {
    let (space, fluid) = ellipse();
    let velocity: Vec<[f64; 2]> = space.mesh.points.iter().map(|p| [1.0 + p[1], p[0]]).collect();
    let pair = solve_pair(&space, Ends::HeldPressure, 1e-2).unwrap();
    let setting = Setting { space: &space, operator: &pair.pressure_operator, ends: Ends::HeldPressure, fluid: &fluid };
    let edges: Vec<SolidEdge> = space.solid_edges().collect();
    // a made-up curvature, the same everywhere: loads change by one factor
    let of = |bend: f64, edge_term: EdgeTerm| {
        let along = Edges { edges: &edges, bends: &vec![[bend; 2]; edges.len()], edge_term };
        edge_loads(&setting, &velocity, &[], &along).map(|loads| tested(&space, &loads))
    };
    for bend in [50.0, -50.0] {
        let [sharp, smooth] = of(bend, EdgeTerm::Leading);
        let next = of(bend, EdgeTerm::Next);
        assert!((next[0] / sharp - 1.0 / (1.0 + 2.5 * 50.0 * GAP)).abs() < 1e-12 && next[1] == smooth, "{next:?}");
        let factor = of(bend, EdgeTerm::Factor);
        let q = if bend > 0.0 { (1.0 + 1.9 * 50.0 * GAP) / (1.0 + 2.7 * 50.0 * GAP) } else { 1.0 };
        assert!((factor[0] / sharp - q * q).abs() < 1e-12 && (factor[1] / smooth - q * q).abs() < 1e-12, "{factor:?}");
    }
}

/// What the bands at the corners of a square decide is told of both orders: V2 goes with the speed beside V1, and its bands weigh the more; past
/// an ellipse, which has none, nothing is told.
#[test]
fn the_bands_of_both_orders_are_tried() {
    let sensitivity = |speed: f64, shape: &str| {
        let text = format!(
            "[cell]\nlength = 1\nwidth = 0.5\ngap = {GAP}\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = {speed}\n\
             [[obstacle]]\n{shape}\n"
        );
        let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
        let plan = Arc::new(Plan::new(&case, &mut Default::default()).unwrap());
        let solved = solve_ideal(&plan, &case, Goal::Triangles(3000), &|_| {}).unwrap();
        let (space, operator) = (&solved.space, &solved.pair.pressure_operator);
        let velocity = Pattern::new(space, &solved.pair, &case, 1.0).velocity;
        let ends = case.drive.ends;
        let first = solve_inertia(space, operator, ends, &case.fluid, &velocity, &velocity).unwrap();
        let before = first.band_sensitivity;
        let setting = Setting { space, operator, ends, fluid: &case.fluid };
        [before, first.with_second_order(&setting).unwrap().band_sensitivity]
    };
    let square = "polygon = { points = [[0.4, 0.2], [0.5, 0.2], [0.5, 0.3], [0.4, 0.3]] }";
    let [[slow, slow_both], [fast, fast_both]] =
        [1e-6, 1e-2].map(|speed| sensitivity(speed, square).map(Option::unwrap));
    assert!((slow / fast - 1.0).abs() < 1e-6, "{slow} {fast}");
    assert!((slow_both / slow - 1.0).abs() < 1e-2 && fast_both > 1.1 * fast, "{slow_both} {fast_both} of {slow}");
    let ellipse = "ellipse = { centre = [0.5, 0.25], semi_axes = [0.1, 0.05] }";
    assert_eq!(sensitivity(1e-2, ellipse), [None; 2]);
}

/// The curvature of a solid along its edge: a b/(..)^(3/2) on the ellipse, whose turn within 4 mm is that to (4/50)²/6 of its own change;
/// nothing on the walls. A polygon of 400 sides in place of a circle has the circle's, chords or no chords.
#[test]
fn edges_bend_as_their_outline() {
    let (space, _) = ellipse();
    let [a, b] = AXES;
    let (mut bent, mut straight) = (0, 0);
    let edges: Vec<SolidEdge> = space.solid_edges().collect();
    for (edge, found) in edges.iter().zip(bends(&edges, &space.mesh.points)) {
        for (v, found) in edge.vertices.into_iter().zip(found) {
            let [x, y] = [0, 1].map(|k| space.mesh.points[v][k] - MIDDLE[k]);
            let on = ((x / a).powi(2) + (y / b).powi(2) - 1.0).abs() < 1e-6;
            let exact = if on { a * b / ((a * y / b).powi(2) + (b * x / a).powi(2)).powf(1.5) } else { 0.0 };
            assert!((found - exact).abs() < 1e-2 * exact.max(1e-6), "{found} {exact}");
            *if on { &mut bent } else { &mut straight } += 1;
        }
    }
    assert!(bent > 100 && straight > 100);

    let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
    let corner = |k: u32| (TAU * f64::from(k) / 400.0).sin_cos();
    let hole: Vec<[f64; 2]> = (0..400).map(corner).map(|(sin, cos)| [0.5 + 0.2 * cos, 0.5 + 0.2 * sin]).collect();
    let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[hole]).unwrap();
    let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.05, 0.3, vec![]), 100_000).unwrap();
    let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01);
    let edges: Vec<SolidEdge> = space.solid_edges().collect();
    let round = |edge: &&SolidEdge| (edge.middle[0] - 0.5).hypot(edge.middle[1] - 0.5) < 0.3;
    let of_round = edges.iter().filter(round).count();
    let found = bends(&edges, &space.mesh.points);
    let close = found.iter().flatten().filter(|bend| (**bend - 5.0).abs() < 0.05).count();
    assert!(of_round >= 400 && close == 2 * of_round, "{close} of {of_round}");
}
