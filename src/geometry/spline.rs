//! The periodic cubic spline through points.

use super::Curve;
use crate::base::Point;
use crate::base::plane::{distance, way};

/// The closed cubic spline through three or more points, one curve per interval, the last from the last point to the first.
///
/// The parameter grows with the distance between neighbours, which keeps the fourth order of the spline on uneven points
/// (Floater & Surazhsky 2006, Parameterization for curve interpolation). In that parameter, not in the t of each interval, the
/// second derivative is continuous. Neighbours must differ; fewer than three points give no curve.
pub fn periodic_spline(points: &[Point]) -> Vec<Curve> {
    let n = points.len();
    if n < 3 {
        return Vec::new();
    }
    let next = |i: usize| if i + 1 == n { 0 } else { i + 1 };
    let previous = |i: usize| if i == 0 { n - 1 } else { i - 1 };
    let h: Vec<f64> = (0..n).map(|i| distance(points[i], points[next(i)])).collect();
    let slope: Vec<[f64; 2]> = (0..n).map(|i| way(points[i], points[next(i)]).map(|rise| rise / h[i])).collect();
    // h_{i-1} M_{i-1} + 2 (h_{i-1} + h_i) M_i + h_i M_{i+1} = 6 (slope_i - slope_{i-1}), M the second derivatives.
    let diagonal: Vec<f64> = (0..n).map(|i| 2.0 * (h[previous(i)] + h[i])).collect();
    let right: Vec<[f64; 2]> = (0..n).map(|i| [0, 1].map(|k| 6.0 * (slope[i][k] - slope[previous(i)][k]))).collect();
    let m = solve_cyclic(&diagonal, &h, &right);
    (0..n)
        .map(|i| {
            let (a, b, hh) = (m[i], m[next(i)], h[i] * h[i]);
            let coefficient = |k: usize| {
                let rise = points[next(i)][k] - points[i][k];
                [points[i][k], rise - hh * (2.0 * a[k] + b[k]) / 6.0, hh * a[k] / 2.0, hh * (b[k] - a[k]) / 6.0]
            };
            let (x, y) = (coefficient(0), coefficient(1));
            Curve::Cubic { coefficients: [0, 1, 2, 3].map(|j| [x[j], y[j]]) }
        })
        .collect()
}

/// Solves the symmetric cyclic tridiagonal system with `coupling[i]` between unknowns i and i + 1, the last with the first.
///
/// Bordering: the last unknown is taken out, the rest is tridiagonal and diagonally dominant, so no pivoting is needed.
fn solve_cyclic(diagonal: &[f64], coupling: &[f64], right: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let n = diagonal.len();
    let last = n - 1;
    let (to_first, to_before) = (coupling[last], coupling[last - 1]);
    // Columns: right-hand sides, and the coupling to the last unknown.
    let mut rows: Vec<[f64; 3]> = right[..last].iter().map(|r| [r[0], r[1], 0.0]).collect();
    rows[0][2] += to_first;
    rows[last - 1][2] += to_before;
    let mut pivot = diagonal[..last].to_vec();
    for i in 1..last {
        let factor = coupling[i - 1] / pivot[i - 1];
        pivot[i] -= factor * coupling[i - 1];
        let above = rows[i - 1];
        rows[i] = std::array::from_fn(|k| rows[i][k] - factor * above[k]);
    }
    for i in (0..last).rev() {
        let below = if i + 1 < last { rows[i + 1].map(|v| coupling[i] * v) } else { [0.0; 3] };
        rows[i] = std::array::from_fn(|k| (rows[i][k] - below[k]) / pivot[i]);
    }
    let border = |k: usize| to_first * rows[0][k] + to_before * rows[last - 1][k];
    let rest = diagonal[last] - border(2);
    let end = [0, 1].map(|k| (right[last][k] - border(k)) / rest);
    let mut solution: Vec<[f64; 2]> = rows.iter().map(|r| [0, 1].map(|k| r[k] - r[2] * end[k])).collect();
    solution.push(end);
    solution
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn circle(n: u32) -> Vec<Point> {
        // Uneven on purpose.
        let angle = |i: u32| {
            let u = 2.0 * PI * f64::from(i) / f64::from(n);
            u + 0.2 * u.sin()
        };
        (0..n).map(|i| [angle(i).cos(), angle(i).sin()]).collect()
    }

    fn largest_error(n: u32) -> f64 {
        let curves = periodic_spline(&circle(n));
        let radius = |c: &Curve, t: f64| c.point(t)[0].hypot(c.point(t)[1]);
        curves.iter().flat_map(|c| (0..=8).map(|k| (radius(c, f64::from(k) / 8.0) - 1.0).abs())).fold(0.0, f64::max)
    }

    /// Fourth order: halving the spacing divides the error by 16 (de Boor, A Practical Guide to Splines).
    #[test]
    fn converges_with_fourth_order_on_a_circle() {
        let order = (largest_error(32) / largest_error(64)).log2();
        assert!((order - 4.0).abs() < 0.25, "order {order}");
    }

    #[test]
    fn interpolates_and_is_smooth_to_second_order_and_closed() {
        let points = circle(7);
        let curves = periodic_spline(&points);
        let speed = |i: usize| {
            let (p, q) = (points[i], points[(i + 1) % 7]);
            (q[0] - p[0]).hypot(q[1] - p[1])
        };
        for i in 0..7 {
            let j = (i + 1) % 7;
            let (p, q) = (&curves[i], &curves[j]);
            let per = |v: [f64; 2], scale: f64| v.map(|x| x / scale);
            for (left, right, tolerance) in [
                (p.point(0.0), points[i], 1e-15),
                (p.point(1.0), points[j], 1e-14),
                (per(p.derivative(1.0), speed(i)), per(q.derivative(0.0), speed(j)), 1e-13),
                (
                    per(p.second_derivative(1.0), speed(i).powi(2)),
                    per(q.second_derivative(0.0), speed(j).powi(2)),
                    1e-12,
                ),
            ] {
                approx::assert_abs_diff_eq!(left[0], right[0], epsilon = tolerance);
                approx::assert_abs_diff_eq!(left[1], right[1], epsilon = tolerance);
            }
        }
    }
}
