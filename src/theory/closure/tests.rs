use super::mesh::Walls;
use super::series::{IN_PLANE, ORDERS, Setting, solve_series};
use super::*;
use crate::base::plane::length;
use crate::geometry::{Curve, Piece, PlanObstacle, Side, TailChoice, Wall};
use crate::input::case::{Ends, Fluid, FluidKind};
use crate::numerics::fem::{Conditions, FourthOrder};
use crate::numerics::mesh::{Mesh, SizeField};
use std::f64::consts::PI;

const OUTER: [Side; 4] = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];

fn fluid() -> Fluid {
    Fluid { name: String::new(), density: 1000.0, viscosity: 1e-3, kind: FluidKind::Stated }
}

/// A rectangle from (x0, y0) to (x1, y1) with a round post of radius 1 at the origin if asked for.
fn plan([x0, y0, x1, y1]: [f64; 4], post: Option<f64>) -> Plan {
    let mut plan = Plan::polygon(&[[x0, y0], [x1, y0], [x1, y1], [x0, y1]], &OUTER, &[]).unwrap();
    if let Some(radius) = post {
        let curve = Curve::Arc { centre: [0.0; 2], semi_axes: [radius; 2], rotation: 0.0, start: 0.0, end: 2.0 * PI };
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(0) });
        plan.loops.push(4..5);
        let obstacle = PlanObstacle {
            name: "post".into(),
            on_wall: None,
            height: 2.0 * radius,
            tail: TailChoice::Clear,
            bubble: None,
        };
        plan.obstacles.push(obstacle);
    }
    plan
}

/// Sizes that grow from `edge` on a circle of radius 1.
fn around_post(edge: f64, largest: f64) -> SizeField {
    let count = (2.0 * PI / edge) as usize;
    let at = |k: usize| (2.0 * PI * k as f64 / count as f64).sin_cos();
    SizeField::new(largest, 0.15, (0..count).map(|k| ([at(k).1, at(k).0], edge)).collect())
}

/// Slow flow past a post of radius 1 in a ring up to radius 3, whose outer rim slips: `ψ = (α r + β/r + B K1(k r)) sin θ`, k = √10/b, with
/// `K1(k)/K0(k) = (d − 1) k/2` of the dipole d = K2/K0 of a post in an unbounded stream, 1.1304315104 at b = 0.2; K1 is no longer seen at the
/// rim. Second order in the size.
#[test]
fn slow_flow_past_a_post_is_that_of_bessel_functions() {
    let (gap, dipole) = (0.2, 1.130_431_510_4);
    let k = 10f64.sqrt() / gap;
    let ratio = 0.5 * k * (dipole - 1.0);
    // B K1(k) = e: α + β + e = 0, α − β − e (1/ratio·k + 1) = 0, and ψ = 3 − 1/3 at the rim: 3 α + β/3
    let slope = k / ratio + 1.0;
    // β = −α − e, 2 α + e (1 − slope) = 0
    let per_alpha = 2.0 / (slope - 1.0);
    let alpha = (3.0 - 1.0 / 3.0) / (3.0 - (1.0 + per_alpha) / 3.0);
    let beta = -alpha * (1.0 + per_alpha);
    let rim = Curve::Arc { centre: [0.0; 2], semi_axes: [3.0; 2], rotation: 0.0, start: 0.0, end: 2.0 * PI };
    let mut ring = plan([-3.0, -3.0, 3.0, 3.0], Some(1.0));
    ring.pieces.drain(..4);
    ring.pieces.insert(0, Piece { curve: rim, from: 0.0, to: 1.0, side: Side::Wall(Wall::Lower) });
    ring.loops = vec![0..1, 1..2];
    let ring = Arc::new(ring);
    let mut mesh = Mesh::generate(&ring, &around_post(gap / 3.0, 0.4), 100_000).unwrap();
    let mut errors = Vec::new();
    for level in 0..3 {
        if level > 0 {
            mesh = mesh.refined();
        }
        let space = Space::new(Arc::new(mesh.clone()), &Gap::Uniform(gap), gap);
        let count = space.mesh.points.len();
        let (mut conditions, mut start, mut slips) = (Conditions::free(count), vec![0.0; count], vec![false; count]);
        for v in space.vertices_where(|side| side == Side::Wall(Wall::Lower)) {
            conditions.fix(v);
            start[v as usize] = (3.0 - 1.0 / 3.0) * space.mesh.points[v as usize][1] / 3.0;
            slips[v as usize] = true;
        }
        conditions.tie(space.vertices_where(|side| side == Side::Obstacle(0)));
        let problem = FourthOrder::new(&space, conditions, slips, [IN_PLANE, 12.0 / (gap * gap)]).unwrap();
        let found = problem.solve(&start, &vec![0.0; count], &problem.harmonic(&start)).unwrap();
        println!("iterations {} vertices {count}", found.iterations);
        let far = (0..count).filter(|&v| length(space.mesh.points[v]) > 2.0);
        let exact = |v: usize| {
            let r = length(space.mesh.points[v]);
            (alpha + beta / (r * r)) * space.mesh.points[v][1]
        };
        errors.push(space.root_mean_square(far, |v| found.values[v] - exact(v)));
    }
    println!("{errors:?}");
    assert!(errors[0] / errors[1] > 3.0 && errors[1] / errors[2] > 3.3 && errors[2] < 2e-3, "{errors:?}");
}

/// An empty duct whose walls the flow sticks to: `V = (1 − cosh((y − W/2)/δ)/cosh(W/(2 δ)))` over its mean, δ = b/√10, whatever the speed, for
/// inertia has no part in parallel flow.
#[test]
fn a_duct_has_the_profile_of_its_cosh_and_no_inertia() {
    let (gap, width) = (0.2, 1.0);
    let size = SizeField::new(gap / 8.0, 0.3, vec![]);
    let mesh = Mesh::generate(&Arc::new(plan([0.0, 0.0, 2.0, width], None)), &size, 100_000).unwrap();
    let space = Space::new(Arc::new(mesh), &Gap::Uniform(gap), gap);
    let fluid = fluid();
    let setting =
        Setting { ends: Ends::HeldPressure, fluid: &fluid, flow_rate: 1e-5 * gap * width, gap, walls: Walls::BOTH };
    let series = solve_series(&space, &setting).unwrap();
    let delta = gap / 10f64.sqrt();
    let mean = 1.0 - 2.0 * delta * (0.5 * width / delta).tanh() / width;
    let mut worst: f64 = 0.0;
    for (v, p) in space.mesh.points.iter().enumerate() {
        let exact = (1.0 - ((p[1] - 0.5 * width) / delta).cosh() / (0.5 * width / delta).cosh()) / mean;
        worst = worst.max((series.velocities[0][v][0] / 1e-5 - exact).abs());
    }
    println!("worst {worst}");
    // a gradient recovered with the third derivative 1/δ³ left out: h²/(6 δ²), at an edge from one side four times that
    assert!(worst < 4.0 * (1.0f64 / 8.0).powi(2) * 10.0 / 6.0, "{worst}");
    for order in 1..=ORDERS {
        let size = series.velocities[order].iter().fold(0.0, |most: f64, &v| most.max(length(v)));
        println!("order {order}: {size:e}");
    }
}

/// At the edge the flow is at rest whatever was extrapolated, at every order, and the ideal one is not.
#[test]
fn the_flow_sticks_to_the_edge() {
    let text = "[cell]\nlength = 0.2\nwidth = 0.1\ngap = 0.004\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-3\n\
                [[obstacle]]\ncircle = { centre = [0.1, 0.05], diameter = 0.03 }\n";
    let case = crate::input::case::parse(text, "case.toml".as_ref()).into_result().unwrap();
    let plan = Arc::new(Plan::new(&case, &mut Default::default()).unwrap());
    let closure = solve_closure(&case, &plan, 1e-3 * 0.1 * 0.004, &|_| ()).unwrap();
    let edge = closure.space.vertices_where(|side| side == Side::Obstacle(0));
    assert!(edge.len() > 100);
    for v in edge {
        assert!(closure.orders.iter().all(|order| order[v as usize] == [0.0; 2]), "{v}");
    }
    // the departure at a place is the difference of both there
    let found = closure.departure_at(&[[0.1, 0.066]]);
    let whole = found.edge_layer[0][0];
    assert!(whole < -1e-4 && found.inertia[0][0].abs() < 0.1 * whole.abs(), "{found:?}");
}
