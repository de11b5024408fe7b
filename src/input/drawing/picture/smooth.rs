//! Cubics through points by least squares (after Schneider, in Graphics Gems, 1990), ends and tangents given.

use crate::base::Point;
use crate::base::plane::{Vector, between, distance, dot, square, stepped, unit, way};
use crate::geometry::Curve;
use crate::geometry::part::bezier;

/// How a curve leaves its end.
#[derive(Clone, Copy)]
pub(super) enum End {
    /// As the points want it.
    Free,
    /// Along a unit vector, in the sense of the points.
    Along(Vector),
}

/// Rounds of finding the parameters of the points anew.
const ROUNDS: usize = 6;

/// Distances above so many limits call for a split at once.
const HOPELESS: f64 = 30.0;

/// Points that a part has after a split if there are enough, and at least.
const FEW: usize = 8;
const LEAST: usize = 4;

/// A cubic, and how many steps from point to point it covers.
pub(super) struct Bit {
    pub curve: Curve,
    pub steps: usize,
}

/// Appends cubics from the first point to the last that keep within a limit of the points, where points are not too few for that.
pub(super) fn fit(points: &[Point], ends: [End; 2], limit: f64, bits: &mut Vec<Bit>) {
    let mut parameters = by_length(points);
    let mut best: Option<(f64, usize, [Point; 4])> = None;
    for _ in 0..ROUNDS {
        let controls = least_squares(points, &parameters, ends);
        let curve = bezier(controls);
        let (worst, place) = worst(points, &parameters, &curve);
        if best.as_ref().is_none_or(|known| worst < known.0) {
            best = Some((worst, place, controls));
        }
        // Points at wrong parameters pull the curve inwards even where it keeps within the limit: no early end but for hopeless ones.
        if worst > HOPELESS * limit {
            break;
        }
        for (t, p) in parameters.iter_mut().zip(points) {
            *t = nearer(&curve, *p, *t);
        }
    }
    let Some((worst, place, controls)) = best else { return };
    if worst <= limit || points.len() < 2 * LEAST {
        bits.push(Bit { curve: bezier(controls), steps: points.len() - 1 });
        return;
    }
    let few = FEW.min(points.len() / 2);
    let split = place.clamp(few - 1, points.len() - few);
    let reach = REACH.min(split).min(points.len() - 1 - split);
    let (joint, along) = joint(&points[split - reach..=split + reach], limit);
    let (mut first, mut second) = (points[..=split].to_vec(), points[split..].to_vec());
    first[split] = joint;
    second[0] = joint;
    fit(&first, [ends[0], End::Along(along)], limit, bits);
    fit(&second, [End::Along(along), ends[1]], limit, bits);
}

/// Points on either side that a place on a line and its direction are taken from, at most.
pub(super) const REACH: usize = 6;

/// A place on a line near the middle of an odd number of its points, and its direction there: of the parabola through as many points about
/// it as leave it within half the limit of the middle one. Round a bend that is tighter than the window the whole one would cut across.
pub(super) fn joint(window: &[Point], limit: f64) -> (Point, Vector) {
    let middle = window.len() / 2;
    for reach in (2..=middle).rev() {
        let (place, along) = middle_of(&window[middle - reach..=middle + reach]);
        if distance(place, window[middle]) <= 0.5 * limit {
            return (place, along);
        }
    }
    let (before, after) = (window[middle.saturating_sub(1)], window[(middle + 1).min(window.len() - 1)]);
    (window[middle], unit(way(before, after)).unwrap_or([1.0, 0.0]))
}

/// Parameters in proportion to the length so far.
fn by_length(points: &[Point]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut lengths: Vec<f64> = points
        .windows(2)
        .map(|pair| {
            sum += distance(pair[0], pair[1]);
            sum
        })
        .collect();
    lengths.insert(0, 0.0);
    lengths.iter().map(|s| if sum > 0.0 { s / sum } else { 0.0 }).collect()
}

/// The control points whose cubic is nearest to the points at their parameters.
fn least_squares(points: &[Point], parameters: &[f64], ends: [End; 2]) -> [Point; 4] {
    let (p, s) = (points[0], points[points.len() - 1]);
    // Unknowns: how far the inner control points are from the ends, along the tangent or along x and y.
    let columns: Vec<(usize, Vector)> = ends
        .iter()
        .enumerate()
        .flat_map(|(end, kind)| match kind {
            End::Free => vec![(end, [1.0, 0.0]), (end, [0.0, 1.0])],
            End::Along(along) => vec![(end, if end == 0 { *along } else { along.map(|v| -v) })],
        })
        .collect();
    let m = columns.len();
    let mut matrix = [[0.0; 5]; 4];
    for (point, t) in points.iter().zip(parameters) {
        let u = 1.0 - t;
        let b = [u * u * u + 3.0 * u * u * t, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t + 3.0 * u * t * t];
        let rest = [0, 1].map(|k| point[k] - b[0] * p[k] - b[3] * s[k]);
        for (i, (end, v)) in columns.iter().enumerate() {
            let vi = v.map(|x| b[1 + end] * x);
            for (j, (other, w)) in columns.iter().enumerate() {
                matrix[i][j] += b[1 + other] * dot(vi, *w);
            }
            matrix[i][4] += dot(vi, rest);
        }
    }
    let chord = distance(p, s);
    let mut inner = [p, s];
    let solution = solve(matrix, m);
    for ((end, v), x) in columns.iter().zip(&solution) {
        for (k, inner) in inner[*end].iter_mut().enumerate() {
            *inner += x * v[k];
        }
    }
    let length = |end: usize| distance(inner[end], [p, s][end]);
    let backwards = columns.iter().zip(&solution).any(|((end, _), x)| matches!(ends[*end], End::Along(_)) && *x <= 0.0);
    let wild = (0..2).any(|end| length(end).is_nan() || length(end) >= 3.0 * chord.max(1e-9));
    if solution.len() < m || backwards || wild {
        let third = |end: usize| match ends[end] {
            End::Free => between([p, s][end], [p, s][1 - end], 1.0 / 3.0),
            End::Along(along) => stepped([p, s][end], if end == 0 { chord / 3.0 } else { -chord / 3.0 }, along),
        };
        inner = [third(0), third(1)];
    }
    [p, inner[0], inner[1], s]
}

/// Solves the first m equations (right-hand sides last) by elimination with pivoting; nothing if they are singular.
fn solve(mut a: [[f64; 5]; 4], m: usize) -> Vec<f64> {
    let scale = (0..m).map(|i| a[i][i].abs()).fold(0.0, f64::max);
    for k in 0..m {
        let pivot = (k..m).max_by(|i, j| a[*i][k].abs().total_cmp(&a[*j][k].abs())).unwrap_or(k);
        a.swap(k, pivot);
        if a[k][k].abs() <= 1e-12 * scale || !a[k][k].is_finite() {
            return Vec::new();
        }
        for i in k + 1..m {
            let factor = a[i][k] / a[k][k];
            let row = a[k];
            a[i].iter_mut().zip(row).skip(k).for_each(|(x, y)| *x -= factor * y);
        }
    }
    let mut x = vec![0.0; m];
    for k in (0..m).rev() {
        let known: f64 = (k + 1..m).map(|j| a[k][j] * x[j]).sum();
        x[k] = (a[k][4] - known) / a[k][k];
    }
    x
}

/// One step of Newton's method towards the foot of the perpendicular.
fn nearer(curve: &Curve, p: Point, t: f64) -> f64 {
    let (q, d, e) = (curve.point(t), curve.derivative(t), curve.second_derivative(t));
    let r = way(p, q);
    let slope = square(d) + dot(r, e);
    let step = dot(r, d) / slope;
    let moved = (t - step).clamp(0.0, 1.0);
    if slope > 0.0 && distance(curve.point(moved), p) < distance(q, p) { moved } else { t }
}

/// The largest distance of a point from the curve, after a few steps to its foot, and which point that is.
fn worst(points: &[Point], parameters: &[f64], curve: &Curve) -> (f64, usize) {
    let mut found = (0.0, points.len() / 2);
    for (k, (p, t)) in points.iter().zip(parameters).enumerate() {
        let t = nearer(curve, *p, nearer(curve, *p, *t));
        let d = distance(curve.point(t), *p);
        if d > found.0 {
            found = (d, k);
        }
    }
    found
}

/// The middle of the parabola through an odd number of evenly spaced points by least squares, and its direction there.
pub(super) fn middle_of(window: &[Point]) -> (Point, Vector) {
    let reach = (window.len() / 2) as f64;
    let (mut s0, mut s2, mut s4) = (0.0, 0.0, 0.0);
    let (mut sum, mut slope, mut bend) = ([0.0; 2], [0.0; 2], [0.0; 2]);
    let origin = window[window.len() / 2];
    for (j, p) in window.iter().enumerate() {
        let u = j as f64 - reach;
        (s0, s2, s4) = (s0 + 1.0, s2 + u * u, s4 + u.powi(4));
        for k in 0..2 {
            let v = p[k] - origin[k];
            sum[k] += v;
            slope[k] += u * v;
            bend[k] += u * u * v;
        }
    }
    let determinant = s0 * s4 - s2 * s2;
    let place =
        if determinant > 0.0 { [0, 1].map(|k| origin[k] + (s4 * sum[k] - s2 * bend[k]) / determinant) } else { origin };
    (place, unit(slope).unwrap_or([1.0, 0.0]))
}
