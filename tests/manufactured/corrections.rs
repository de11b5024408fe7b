//! The loads of the corrections: velocities and pressures are chosen freely on the boundary, so that what they drive is known
//! exactly.

use crate::cells::{cell, cell_of_gap, nested, orders};
use crate::norms::{errors, has_orders};
use std::f64::consts::PI;
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::{Plan, Side};
use twinplate::input::case::Case;
use twinplate::input::case::Ends::{self, GivenInflow, HeldPressure};
use twinplate::numerics::fem::{Conditions, Operator, Space};
use twinplate::numerics::mesh::{Mesh, SizeField};
use twinplate::study::reference_length;
use twinplate::theory::edge_layer::{DISPLACEMENT, solve_edge_layer};
use twinplate::theory::ideal::Pattern;
use twinplate::theory::inertia::{EDGE_COEFFICIENT, Inertia, PRESSURE_COEFFICIENT, solve_inertia};

const LENGTH: f64 = 1.2;
const WIDTH: f64 = 0.8;
const GAP: f64 = 1e-3;
const DENSITY: f64 = 1000.0;

fn spaces(case: &Case, plan: &Arc<Plan>, levels: usize) -> Vec<Space> {
    let base = Mesh::generate(plan, &SizeField::new(0.15, 0.3, vec![]), 10_000).unwrap();
    let meshes = nested(base, levels).into_iter();
    meshes.map(|mesh| Space::new(Arc::new(mesh), &case.cell.gap, GAP)).collect()
}

fn pressure_operator(space: &Space, ends: Ends) -> Operator {
    let mut conditions = Conditions::free(space.mesh.points.len());
    if ends == HeldPressure {
        let of_ends = space.vertices_where(|side| matches!(side, Side::Inlet | Side::Outlet));
        of_ends.into_iter().for_each(|v| conditions.fix(v));
    }
    Operator::new(&space.mesh, space.levels.pressure.clone(), conditions).unwrap()
}

/// The edge layer of a pressure P = sin(k x) along the walls, k = 2 pi/L, in a gap b(y) = b0 + s (y - W/2):
/// p1 = sin(k x) Y(y) with (b^3 Y')' = k^2 b^3 Y, as no load stands in the fluid, and K dp1/dn = -d/ds(K delta* dP/ds) at the walls,
/// so -Y'(0) = delta*(0) k^2 and Y'(W) = delta*(W) k^2. Y is found by 4000 steps of Runge and Kutta, error about 1e-13.
struct EdgeSolution {
    k: f64,
    steps: Vec<[f64; 2]>,
}

impl EdgeSolution {
    fn new(slope: f64) -> Self {
        let k = 2.0 * PI / LENGTH;
        let b = |y: f64| GAP + slope * (y - 0.5 * WIDTH);
        let rhs = |y: f64, [u, v]: [f64; 2]| [v, k * k * u - 3.0 * slope / b(y) * v];
        let count = 4000;
        let h = WIDTH / f64::from(count);
        let shoot = |start: [f64; 2]| {
            let mut list = vec![start];
            for n in 0..count {
                let (y, u) = (f64::from(n) * h, list[n as usize]);
                let add = |by: f64, d: [f64; 2]| [u[0] + by * d[0], u[1] + by * d[1]];
                let k1 = rhs(y, u);
                let k2 = rhs(y + 0.5 * h, add(0.5 * h, k1));
                let k3 = rhs(y + 0.5 * h, add(0.5 * h, k2));
                let k4 = rhs(y + h, add(h, k3));
                list.push([0, 1].map(|i| u[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i])));
            }
            list
        };
        let (even, odd) = (shoot([1.0, 0.0]), shoot([0.0, 1.0]));
        let last = count as usize;
        let beta = -DISPLACEMENT * b(0.0) * k * k;
        let alpha = (DISPLACEMENT * b(WIDTH) * k * k - beta * odd[last][1]) / even[last][1];
        let mix = |(a, c): (&[f64; 2], &[f64; 2])| [0, 1].map(|i| alpha * a[i] + beta * c[i]);
        EdgeSolution { k, steps: even.iter().zip(&odd).map(mix).collect() }
    }

    /// Y and Y' between two steps, by Hermite's cubic (error h^4/384, 1e-17) and its slope (1e-12).
    fn across(&self, y: f64) -> [f64; 2] {
        let h = WIDTH / (self.steps.len() - 1) as f64;
        let n = ((y / h) as usize).min(self.steps.len() - 2);
        let (s, [a, da], [c, dc]) = (y / h - n as f64, self.steps[n], self.steps[n + 1]);
        let value = (1.0 + 2.0 * s) * (1.0 - s).powi(2) * a
            + s * (1.0 - s).powi(2) * h * da
            + s * s * (3.0 - 2.0 * s) * c
            + s * s * (s - 1.0) * h * dc;
        let slope = 6.0 * s * (1.0 - s) * (c - a) / h + (1.0 - s) * (1.0 - 3.0 * s) * da + s * (3.0 * s - 2.0) * dc;
        [value, slope]
    }

    fn at(&self, [x, y]: Point) -> (f64, [f64; 2]) {
        let [value, slope] = self.across(y);
        let (sin, cos) = (self.k * x).sin_cos();
        (sin * value, [self.k * cos * value, sin * slope])
    }
}

#[test]
fn edge_layer_between_held_ends() {
    for slope in [0.0, 1e-3] {
        let gap = format!("{{ at = {GAP}, slope = [0.0, {slope:?}] }}");
        let (case, plan) = cell_of_gap(LENGTH, WIDTH, &gap, HeldPressure, "");
        let exact = EdgeSolution::new(slope);
        let (mut all, mut moved) = (Vec::new(), Vec::new());
        for space in spaces(&case, &plan, 5) {
            let operator = pressure_operator(&space, HeldPressure);
            let mut pattern = pattern(&case, &space);
            pattern.pressure = space.mesh.points.iter().map(|p| (exact.k * p[0]).sin()).collect();
            pattern.velocity.fill([0.0; 2]);
            let layer = solve_edge_layer(&space, &operator, HeldPressure, &pattern, WIDTH).unwrap();
            all.push(errors(&space, &layer.pressure, &|p| exact.at(p), false));
            // what moves the fluid is -(b^2/12 mu) grad p1, looked at off the walls, where the loads act
            let (mut worst, mut size) = (0.0f64, 0.0f64);
            for (&p, v) in space.mesh.points.iter().zip(&layer.velocity) {
                if (0.2 * WIDTH..0.8 * WIDTH).contains(&p[1]) {
                    let b = GAP + slope * (p[1] - 0.5 * WIDTH);
                    let u = exact.at(p).1.map(|g| -b * b / (12.0 * case.fluid.viscosity) * g);
                    worst = worst.max((v[0] - u[0]).hypot(v[1] - u[1]));
                    size = size.max(u[0].hypot(u[1]));
                }
            }
            moved.push(worst / size);
        }
        // of second order inside, of first where walls meet ends
        let last = moved[moved.len() - 1];
        println!("velocity {moved:.5?}");
        assert!(last < 0.02 && last < moved[0] / 8.0, "{moved:?}");
        has_orders(&format!("edge layer, slope {slope}"), &all);
    }
}

/// A pattern to put chosen fields into.
fn pattern(case: &Case, space: &Space) -> Pattern {
    let pair = twinplate::theory::ideal::solve_pair(space, case.drive.ends, 1e-3).unwrap();
    Pattern::new(space, &pair, case, reference_length(case, &space.mesh.plan))
}

/// Runs the inertia correction with a chosen velocity along x of the given square.
fn inertia(space: &Space, case: &Case, square: impl Fn(Point) -> f64) -> Inertia {
    let v: Vec<[f64; 2]> = space.mesh.points.iter().map(|&p| [square(p).sqrt(), 0.0]).collect();
    let operator = pressure_operator(space, case.drive.ends);
    solve_inertia(space, &operator, case.drive.ends, &case.fluid, &v, &v).unwrap()
}

/// Uniform gap, V^2 = 2 + sin(k x) + cos(pi y/W)/2 with k = 2 pi/L and held ends. Edge term: dq/dn = -6 C1 rho b (V^2)'' at the walls, so
/// D sin(k x) cosh(k (y - W/2)) with D k sinh(k W/2) = 6 C1 rho b k^2. Ends: q = c V^2, c = (27/35) rho, so
/// c [2 + cos(m y) cosh(m (x - L/2))/(2 cosh(m L/2))], m = pi/W. The second is far
/// larger, so the velocity of the edge term is looked at by itself.
#[test]
fn inertia_of_edges_and_held_ends() {
    let (case, plan) = cell(LENGTH, WIDTH, HeldPressure, "");
    let (k, m) = (2.0 * PI / LENGTH, PI / WIDTH);
    let c = PRESSURE_COEFFICIENT * DENSITY;
    let d = 6.0 * EDGE_COEFFICIENT * DENSITY * GAP * k / (0.5 * k * WIDTH).sinh();
    let edge = |[x, y]: Point| {
        let (s, t) = (k * x, k * (y - 0.5 * WIDTH));
        (d * s.sin() * t.cosh(), [d * k * s.cos() * t.cosh(), d * k * s.sin() * t.sinh()])
    };
    let end = |[x, y]: Point| {
        let (s, t) = (m * (x - 0.5 * LENGTH), m * y);
        let a = 0.5 * c / (0.5 * m * LENGTH).cosh();
        (2.0 * c + a * t.cos() * s.cosh(), [a * m * t.cos() * s.sinh(), -a * m * t.sin() * s.cosh()])
    };
    let both = |p: Point| {
        let ((u, g), (v, h)) = (edge(p), end(p));
        (u + v, [g[0] + h[0], g[1] + h[1]])
    };
    let square = |[x, y]: Point| 2.0 + (k * x).sin() + 0.5 * (m * y).cos();
    let mobility = GAP * GAP / (12.0 * case.fluid.viscosity);
    let (mut all, mut of_edges) = (Vec::new(), Vec::new());
    for space in spaces(&case, &plan, 5) {
        let inertia = inertia(&space, &case, square);
        all.push(errors(&space, &inertia.potential, &both, false));
        // the part of the edges alone, as it moves the fluid: -(b^2/12 mu) grad q
        let inner = |p: &Point| (0.1 * LENGTH..0.9 * LENGTH).contains(&p[0]);
        let places = space.mesh.points.iter().zip(&inertia.edge_part).filter(|(p, _)| inner(p));
        let moved = places.map(|(&p, v)| {
            let g = edge(p).1;
            (v[0] + mobility * g[0]).hypot(v[1] + mobility * g[1])
        });
        of_edges.push(moved.fold(0.0, f64::max) / (mobility * d * k));
    }
    has_orders("inertia, held ends", &all);
    // first order is what gradients of vertex values of order two are sure of where a load acts along the edge
    let observed = orders(&of_edges);
    println!("velocity of the edge term: {of_edges:.2?} {observed:.3?}");
    assert!(observed[observed.len() - 1] > 0.9 && of_edges[of_edges.len() - 1] < of_edges[0] / 16.0, "{of_edges:?}");
}

/// Given inflow, V^2 = 2 + cos(k x): no load where walls meet ends, and q = D cos(k x) cosh(k (y - W/2)) up to a constant.
#[test]
fn inertia_of_edges_with_given_inflow() {
    let (case, plan) = cell(LENGTH, WIDTH, GivenInflow, "");
    let k = 2.0 * PI / LENGTH;
    let d = 6.0 * EDGE_COEFFICIENT * DENSITY * GAP * k / (0.5 * k * WIDTH).sinh();
    let exact = |[x, y]: Point| {
        let (s, t) = (k * x, k * (y - 0.5 * WIDTH));
        (d * s.cos() * t.cosh(), [-d * k * s.sin() * t.cosh(), d * k * s.cos() * t.sinh()])
    };
    let all = spaces(&case, &plan, 5).into_iter().map(|space| {
        let inertia = inertia(&space, &case, |[x, _]| 2.0 + (k * x).cos());
        errors(&space, &inertia.potential, &exact, true)
    });
    has_orders("inertia, given inflow", &all.collect::<Vec<_>>());
}

/// Gap b(y) = b0 + s (y - W/2), V = (v(y), 0), given inflow: m = -(2/b) v^2 b' along y, and grad q = -(54/35) rho m everywhere, whatever v:
/// q' = (108/35) rho v^2 b'/b. With v^2 = b^2/b0^2 it is (108/35) rho b b'/b0^2, so q = (54/35) rho b^2/b0^2.
#[test]
fn inertia_of_a_tapered_gap() {
    let slope = 1e-3;
    let gap = format!("{{ at = {GAP}, slope = [0.0, {slope:?}] }}");
    let (case, plan) = cell_of_gap(LENGTH, WIDTH, &gap, GivenInflow, "");
    let b = |y: f64| 1.0 + slope / GAP * (y - 0.5 * WIDTH);
    let factor = 2.0 * PRESSURE_COEFFICIENT * DENSITY;
    let exact = |[_, y]: Point| (factor * b(y) * b(y), [0.0, 2.0 * factor * b(y) * slope / GAP]);
    let all = spaces(&case, &plan, 5).into_iter().map(|space| {
        let inertia = inertia(&space, &case, |[_, y]| b(y) * b(y));
        errors(&space, &inertia.potential, &exact, true)
    });
    has_orders("inertia, tapered gap", &all.collect::<Vec<_>>());
}
