//! First-order inertia: a radial source, and the layers and the edge term of a round post.

use super::{Effort, Figure};
use crate::cells::{Grid, cell, cell_of_gap, circle, ladder, nested};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Wall::{Lower, Upper};
use twinplate::geometry::{Curve, Piece, Plan, Side};
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::input::case::{Case, Gap};
use twinplate::numerics::fem::{Conditions, Operator};
use twinplate::numerics::mesh::{Mesh, SizeField};
use twinplate::theory::inertia::layers::profile;
use twinplate::theory::inertia::{EDGE_COEFFICIENT, Inertia, solve_inertia};

/// Named quantities of inertia.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    match (what, with) {
        ("gap_coefficient", &[]) => Some(gap_coefficient()),
        ("constant", &[]) => Some(Figure { value: EDGE_COEFFICIENT, error: 0.0 }),
        ("radial_source", &[]) => radial_source(effort),
        ("mid_gap", &[]) => Some(layers(effort)[0]),
        ("near_plates", &[]) => Some(layers(effort)[1]),
        ("reversal", &[]) => {
            let [_, plates] = layers(effort);
            Some(Figure { value: 1.0 / plates.value, error: plates.error / plates.value.powi(2) })
        }
        ("edge_term", &[r]) => Some(edge_term(r, effort)),
        _ => None,
    }
}

/// (9/4)(1 - zeta^2)^2 - g'' is the gap-averaged coefficient at every height; here at zeta = 0.3 from second differences of step h,
/// whose error is h^2 g''''/12 with |g''''| = (3/280)|2520 zeta^2 - 840| below 10.
fn gap_coefficient() -> Figure {
    let (h, zeta) = (1e-3, 0.3);
    let second = (profile(zeta + h) - 2.0 * profile(zeta) + profile(zeta - h)) / (h * h);
    Figure { value: 2.25 * (1.0 - zeta * zeta).powi(2) - second, error: h * h * 10.0 / 12.0 }
}

const INNER: f64 = 1.0;
const OUTER: f64 = 3.0;
const ANGLE: f64 = 0.8;
/// So small a gap that the edge layers of the two radial walls do not show.
const THIN: f64 = 1e-6;

/// The factor of -(rho Q^2/(pi^2 b^2))(1/r^2 - 1/R^2) in the pressure of a radial source, fitted over a sector of the disc. Error:
/// what the last refinement changed.
fn radial_source(effort: Effort) -> Option<Figure> {
    let mut case = cell(1.0, 1.0, GivenInflow, "").0;
    case.cell.gap = Gap::Uniform(THIN);
    let h = 0.06 * (2000.0 / effort.triangles as f64).sqrt();
    let base = Mesh::generate(&sector(), &SizeField::new(h, 0.3, vec![]), 200_000).ok()?;
    let values: Vec<f64> = nested(base, 3).into_iter().filter_map(|mesh| source_factor(mesh, &case)).collect();
    let [_, coarse, value] = values[..] else { return None };
    Some(Figure { value, error: (value - coarse).abs() })
}

/// The sector between two arcs: fluid enters through the inner one and leaves through the outer one.
fn sector() -> Arc<Plan> {
    let arc = |r: f64, start, end| Curve::Arc { centre: [0.0; 2], semi_axes: [r, r], rotation: 0.0, start, end };
    let at = |r: f64, t: f64| [r * t.cos(), r * t.sin()];
    let piece = |curve, side| Piece { curve, from: 0.0, to: 1.0, side };
    let pieces = vec![
        piece(Curve::Line { from: at(INNER, 0.0), to: at(OUTER, 0.0) }, Side::Wall(Lower)),
        piece(arc(OUTER, 0.0, ANGLE), Side::Outlet),
        piece(Curve::Line { from: at(OUTER, ANGLE), to: at(INNER, ANGLE) }, Side::Wall(Upper)),
        piece(arc(INNER, ANGLE, 0.0), Side::Inlet),
    ];
    Arc::new(Plan { pieces, loops: std::iter::once(0..4).collect(), obstacles: vec![], notes: vec![] })
}

fn source_factor(mesh: Mesh, case: &Case) -> Option<f64> {
    // the ideal pattern is radial with either kind of ends: held ones keep the arcs exact
    let grid = Grid::new(mesh, &case.cell.gap, THIN, HeldPressure);
    let space = &grid.space;
    let pattern = grid.pattern(case);
    let free = Conditions::free(space.mesh.points.len());
    let operator = Operator::new(&space.mesh, space.levels.pressure.clone(), free).ok()?;
    let v = &pattern.velocity;
    let inertia = solve_inertia(space, &operator, GivenInflow, &case.fluid, v, v).ok()?;
    let q = pattern.drive.flow_rate * TAU / ANGLE;
    let unit = case.fluid.density * (q / (PI * THIN)).powi(2);
    // p1 = level - factor * shape, by least squares over the vertices
    let shape: Vec<f64> =
        space.mesh.points.iter().map(|p| 1.0 / (p[0] * p[0] + p[1] * p[1]) - 1.0 / OUTER.powi(2)).collect();
    let n = shape.len() as f64;
    let (mean, level) = (shape.iter().sum::<f64>() / n, inertia.pressure.iter().sum::<f64>() / n);
    let pairs = || shape.iter().zip(&inertia.pressure).map(|(s, p)| (s - mean, p - level));
    Some(-pairs().map(|(s, p)| s * p).sum::<f64>() / pairs().map(|(s, _)| s * s).sum::<f64>() / unit)
}

const RADIUS: f64 = 0.025;
const POST_GAP: f64 = 0.0005;
const CENTRE: Point = [1.0, 0.5];

/// A post of radius W/40 with given inflow on three nested meshes, and the stream round it: images of its dipole in both walls raise
/// U by (pi^2/3)(a/W)^2.
fn post(effort: Effort) -> (Case, Vec<Grid>, f64) {
    let (case, plan) = cell_of_gap(2.0, 1.0, &format!("{POST_GAP:?}"), GivenInflow, &circle(CENTRE, 2.0 * RADIUS));
    let grids = ladder(&case, &plan, 2 * effort.triangles, 3);
    (case, grids, 1e-3 * (1.0 + PI * PI / 3.0 * RADIUS * RADIUS))
}

fn departure(case: &Case, grid: &Grid) -> Option<Inertia> {
    let v = grid.pattern(case).velocity;
    solve_inertia(&grid.space, &grid.pair.pressure_operator, GivenInflow, &case.fluid, &v, &v).ok()
}

/// With theta from the rear, the surface speed at mid-gap is 3U sin theta (1 + c Lambda cos theta) with c = 1/21, near the plates it
/// has the factor 1 - c Lambda cos theta with c = 16/105, the gap mean apart, whose own error is larger than this: both c from the part in sin 2 theta over
/// the post's vertices. Error: the change of the last refinement, a quarter more (grid convergence index of first order, since N on
/// the outline is a derivative of a derivative), and (a/W)^4 (2/3) pi^4, the walls.
fn layers(effort: Effort) -> [Figure; 2] {
    let (case, grids, u) = post(effort);
    let lambda = 1.5 * u * RADIUS / (case.fluid.viscosity / case.fluid.density) * (0.5 * POST_GAP / RADIUS).powi(2);
    let amplitudes = |grid: &Grid| -> Option<[f64; 2]> {
        let (ideal, inertia) = (grid.pattern(&case).velocity, departure(&case, grid)?);
        let (middle, plate) = (inertia.layer(0.0), inertia.near_plate());
        let (mut sums, mut norm) = ([0.0; 2], 0.0);
        for v in grid.space.vertices_where(|side| side == Side::Obstacle(0)) {
            let (p, v) = (grid.space.mesh.points[v as usize], v as usize);
            let t = (p[1] - CENTRE[1]).atan2(p[0] - CENTRE[0]);
            let along = |a: [f64; 2]| (a[1] * t.cos() - a[0] * t.sin()) / u;
            let mean = along(ideal[v]) + along(inertia.correction[v]);
            let values = [along(middle[v]) - 1.5 * mean, along(plate[v]) - mean];
            (0..2).for_each(|k| sums[k] += values[k] * (2.0 * t).sin());
            norm += (2.0 * t).sin().powi(2);
        }
        // -3 sin t cos t = -(3/2) sin 2t, and +2 sin t cos t = sin 2t
        Some([-sums[0] / norm / (1.5 * lambda), sums[1] / norm / lambda])
    };
    let nan = [f64::NAN; 2];
    let [before, after] = [1, 2].map(|k: usize| amplitudes(&grids[k]).unwrap_or(nan));
    let walls = 2.0 / 3.0 * PI.powi(4) * RADIUS.powi(4);
    [0, 1].map(|k| Figure { value: after[k], error: 1.25 * (after[k] - before[k]).abs() + walls * after[k] })
}

/// C1 as the outer flow sees it at r/a: V1 = -A (a/r)^3 (cos 2 theta, sin 2 theta) in radial and azimuthal parts with
/// A = 4 C1 (rho b^3/mu) U^2/a^2, projected over 32 places. Error: the change of the last refinement, a quarter more, and images of
/// that field and the side walls' own excess flux, below 4 zeta(3)(a/W)^3 of A.
fn edge_term(r: f64, effort: Effort) -> Figure {
    let (case, grids, u) = post(effort);
    let nu = case.fluid.viscosity / case.fluid.density;
    let unit = 4.0 * POST_GAP.powi(3) / nu * (u / RADIUS).powi(2) / r.powi(3);
    let angles: Vec<f64> = (0..32).map(|k| TAU * (f64::from(k) + 0.3) / 32.0).collect();
    let places: Vec<Point> =
        angles.iter().map(|t| [CENTRE[0] + r * RADIUS * t.cos(), CENTRE[1] + r * RADIUS * t.sin()]).collect();
    let constant = |grid: &Grid| -> Option<f64> {
        let found = grid.vectors_at(&departure(&case, grid)?.correction, &places);
        let along = |(v, t): (&[f64; 2], &f64)| {
            let (radial, azimuthal) = (v[0] * t.cos() + v[1] * t.sin(), v[1] * t.cos() - v[0] * t.sin());
            -(radial * (2.0 * t).cos() + azimuthal * (2.0 * t).sin())
        };
        Some(found.iter().zip(&angles).map(along).sum::<f64>() / 32.0 / unit)
    };
    let [before, value] = [1, 2].map(|k: usize| constant(&grids[k]).unwrap_or(f64::NAN));
    let walls = 4.0 * 1.202 * (RADIUS * r).powi(3) * EDGE_COEFFICIENT;
    Figure { value, error: 1.25 * (value - before).abs() + walls }
}
