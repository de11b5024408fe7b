//! Obstacles in an unbounded stream: the program's unconfined pattern, and sections small against the cell.

use super::{Effort, Figure};
use crate::cells::{cell, circle, ellipse, ladder, study};
use std::f64::consts::{PI, TAU};
use twinplate::Point;
use twinplate::geometry::{Curve, JoukowskiMap, Side};
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::theory::confinement::unconfined;

/// Named quantities of unbounded streams.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    match (what, with) {
        ("fastest", &[a, b]) => fastest(a, b, effort),
        ("circle", &[a]) => circle_everywhere(a, effort),
        ("joukowski", &[thickness, camber, angle]) => joukowski_everywhere(thickness, camber, angle, effort),
        _ => None,
    }
}

/// Largest speed over U past an ellipse aligned with the stream, from two meshes. Error: what four times the triangles change, and
/// what the last widening of the cell did, which at most the speed ratio multiplies.
fn fastest(a: f64, b: f64, effort: Effort) -> Option<Figure> {
    let run = |triangles: usize| {
        let (case, plan) = cell(1.0, 0.5, HeldPressure, &ellipse([0.5, 0.25], [a, b], 0.0));
        let study = study(case, plan, triangles, false);
        let found = unconfined(&study.case, &study.plan, &study.solved.space, &study.pattern, &|_| {}).ok()??;
        let speed = |v: &[f64; 2]| v[0].hypot(v[1]) / study.pattern.drive.mean_speed;
        Some((found.velocity.iter().map(speed).fold(0.0, f64::max), found.change))
    };
    let ((coarse, _), (value, change)) = (run(4 * effort.triangles)?, run(16 * effort.triangles)?);
    Some(Figure { value, error: (value - coarse).abs() + change * value })
}

/// Largest departure on the outline of a circle from V = U (1 - a^2/z^2), over U. Error: the same on a mesh of a quarter of the
/// triangles, of which second order leaves a quarter, and what the last widening changed.
fn circle_everywhere(a: f64, effort: Effort) -> Option<Figure> {
    let centre = [0.4, 0.2];
    let run = |triangles: usize| {
        let (case, plan) = cell(1.0, 0.5, HeldPressure, &circle(centre, 2.0 * a));
        let study = study(case, plan, triangles, false);
        let space = &study.solved.space;
        let found = unconfined(&study.case, &study.plan, space, &study.pattern, &|_| {}).ok()??;
        let departure = |&v: &u32| {
            let p = space.mesh.points[v as usize];
            let z = [p[0] - centre[0], p[1] - centre[1]];
            let dipole = over([a * a, 0.0], times(z, z));
            let u = study.pattern.drive.mean_speed;
            let [x, y] = found.velocity[v as usize];
            (x / u - 1.0 + dipole[0]).hypot(y / u - dipole[1])
        };
        let outline = space.vertices_where(|side| matches!(side, Side::Obstacle(_)));
        Some((outline.iter().map(departure).fold(0.0, f64::max), found.change))
    };
    let ((coarse, _), (value, change)) = (run(2 * effort.triangles)?, run(8 * effort.triangles)?);
    Some(Figure { value, error: coarse + 2.0 * change })
}

/// Joukowski section, chord a twentieth of the width, at 24 places 1.1 to 2 radii of the circle off: the distance of the velocity
/// from the exact one, over U, at the place where it uses up most of its estimate. Error: what the last
/// refinement changed, a quarter more (grid convergence index of first order, for the cusp's share of the error), and what images of the section's dipole in the walls add, (pi^2/3) D/W^2 (1 + |V|/U).
fn joukowski_everywhere(thickness: f64, camber: f64, angle: f64, effort: Effort) -> Option<Figure> {
    let text = format!(
        "[[obstacle]]\njoukowski = {{ chord = 0.05, thickness = {thickness:?}, camber = {camber:?}, nose = [1.475, 0.5], \
         angle = {angle:?} }}\n"
    );
    let (case, plan) = cell(3.0, 1.0, GivenInflow, &text);
    let map = plan.pieces.iter().find_map(|piece| match piece.curve {
        Curve::Joukowski { map, .. } => Some(map),
        _ => None,
    })?;
    let exact: Vec<(Point, [f64; 2])> =
        (0..24).map(|k| joukowski(&map, [1.1, 1.4, 2.0][k % 3], TAU * k as f64 / 24.0 + 0.05)).collect();
    let places: Vec<Point> = exact.iter().map(|probe| probe.0).collect();
    let runs: Vec<Vec<[f64; 2]>> = ladder(&case, &plan, 2 * effort.triangles, 3)
        .iter()
        .map(|grid| grid.vectors_at(&grid.pattern(&case).velocity, &places))
        .collect();
    let walls = PI * PI / 3.0 * dipole(&map);
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let at = |k: usize| {
        let [coarse, fine] = [1, 2].map(|run: usize| runs[run][k].map(|v| v / 1e-3));
        let v = exact[k].1;
        Figure { value: apart(fine, v), error: 1.25 * apart(fine, coarse) + walls * (1.0 + v[0].hypot(v[1])) }
    };
    (0..24).map(at).max_by(|a, b| (a.value / a.error).total_cmp(&(b.value / b.error)))
}

/// Size of the dipole f^2 R^2 - f^2 of a section.
fn dipole(map: &JoukowskiMap) -> f64 {
    let radius = (1.0 - map.centre[0]).hypot(map.centre[1]);
    let square = times(map.factor, map.factor);
    let size = map.factor[0].hypot(map.factor[1]).powi(2) * radius * radius;
    (size - square[0]).hypot(square[1])
}

/// Place and velocity over U without circulation (Milne-Thomson, Theoretical Aerodynamics): with s from the circle's centre, R its radius and f the map's similarity, the
/// potential is U (f s + conj(f) R^2/s), divided by dz/ds = f (1 - 1/zeta^2).
pub fn joukowski(map: &JoukowskiMap, stretch: f64, angle: f64) -> (Point, [f64; 2]) {
    let radius = [1.0 - map.centre[0], -map.centre[1]];
    let square = radius[0] * radius[0] + radius[1] * radius[1];
    let s = [stretch * square.sqrt() * angle.cos(), stretch * square.sqrt() * angle.sin()];
    let zeta = [s[0] + map.centre[0], s[1] + map.centre[1]];
    let inverse = over([1.0, 0.0], zeta);
    let z = times(map.factor, [zeta[0] + inverse[0] - 2.0, zeta[1] + inverse[1]]);
    let behind = times([map.factor[0], -map.factor[1]], over([square, 0.0], times(s, s)));
    let slope = [map.factor[0] - behind[0], map.factor[1] - behind[1]];
    let inverse_square = times(inverse, inverse);
    let [x, y] = over(slope, times(map.factor, [1.0 - inverse_square[0], -inverse_square[1]]));
    ([map.tail[0] + z[0], map.tail[1] + z[1]], [x, -y])
}

/// Product of complex numbers.
pub fn times(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

fn over(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    let n = b[0] * b[0] + b[1] * b[1];
    [(a[0] * b[0] + a[1] * b[1]) / n, (a[1] * b[0] - a[0] * b[1]) / n]
}
