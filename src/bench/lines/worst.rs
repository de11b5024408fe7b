//! Where lines stand aside the most: the longest and largest run of stations beyond what their errors allow.

use super::explain::Column;
use super::shift::Line;
use crate::base::Point;
use crate::base::plane::distance_to_segment;
use crate::geometry::Side;
use crate::numerics::mesh::Mesh;

/// Standard deviations beyond which a station belongs to a run.
const BEYOND: f64 = 4.0;
/// Fewest stations of a run.
const LEAST: usize = 3;

/// The worst place.
#[derive(Debug, Clone, PartialEq)]
pub struct Worst {
    /// Number of the line.
    pub line: i64,
    /// Where its shift is largest, m.
    pub at: Point,
    /// That shift, m.
    pub shift: f64,
    /// Length of the run, m.
    pub length: f64,
    /// Name of the obstacle nearest to it and its distance, m.
    pub near: Option<(String, f64)>,
}

/// Standard deviations of stations, m: the noise, and what the modes of a map make of one of theirs.
pub fn sigmas(lines: &[Line], noise: f64, modes: &[Column]) -> Vec<Vec<f64>> {
    let of = |k: usize, i: usize| modes.iter().fold(noise, |sum, mode| sum.hypot(mode.shifts[k][i]));
    lines.iter().enumerate().map(|(k, line)| (0..line.stations.len()).map(|i| of(k, i)).collect()).collect()
}

/// The run of stations of one sign with the largest sum of what is left, each beyond four of its standard deviations, m; none if there is none.
pub fn worst(mesh: &Mesh, lines: &[Line], left: &[Vec<f64>], sigma: &[Vec<f64>]) -> Option<Worst> {
    let mut largest: Option<(f64, Worst)> = None;
    for ((line, left), sigma) in lines.iter().zip(left).zip(sigma) {
        let places: Vec<usize> = (0..left.len()).collect();
        let sign = |i: usize| if left[i].abs() > BEYOND * sigma[i] { left[i].signum() } else { 0.0 };
        for run in places.chunk_by(|&a, &b| sign(a) == sign(b)) {
            if run.len() < LEAST || sign(run[0]) == 0.0 {
                continue;
            }
            let sum: f64 = run.iter().map(|&i| left[i].abs()).sum();
            if largest.as_ref().is_none_or(|(most, _)| sum > *most) {
                let top = run.iter().fold(run[0], |top, &i| if left[i].abs() > left[top].abs() { i } else { top });
                let [first, last] = [run[0], run[run.len() - 1]].map(|i| line.stations[i].arc);
                let at = line.stations[top].at;
                let near = nearest_obstacle(mesh, at);
                largest = Some((sum, Worst { line: line.number, at, shift: left[top], length: last - first, near }));
            }
        }
    }
    largest.map(|(_, worst)| worst)
}

/// Name and distance of the obstacle nearest to a place, m.
pub fn nearest_obstacle(mesh: &Mesh, at: Point) -> Option<(String, f64)> {
    let edges = mesh.boundary.iter().filter_map(|edge| match mesh.side(edge) {
        Side::Obstacle(k) => Some((k, distance_to_segment(at, edge.vertices.map(|v| mesh.points[v as usize])))),
        _ => None,
    });
    let (k, distance) = edges.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((mesh.plan.obstacles.get(k as usize)?.name.clone(), distance))
}
