//! B-splines as cubics.

use super::super::stroke::size_of;
use crate::base::Point;
use crate::base::plane::{distance, stepped};
use crate::geometry::Curve;
use crate::geometry::part::bezier;

/// How far a cubic may stray from a rational spline, or one of higher degree, as a fraction of the spline's size.
pub(super) const FIT: f64 = 1e-7;

/// Highest degree read.
pub(super) const HIGHEST: usize = 15;

/// A point with its weight: (w x, w y, w).
type Heavy = [f64; 3];

/// A B-spline of any degree, rational or not.
pub(super) struct Spline {
    degree: usize,
    knots: Vec<f64>,
    controls: Vec<Heavy>,
    rational: bool,
}

impl Spline {
    /// A spline from its degree, knots, control points and weights (none: all one).
    ///
    /// # Errors
    /// Counts that do not fit, knots that fall, weights that are not positive.
    pub fn new(degree: usize, knots: Vec<f64>, points: &[Point], weights: &[f64]) -> Result<Self, String> {
        if !(1..=HIGHEST).contains(&degree) {
            return Err(format!("the spline has degree {degree}; from 1 to {HIGHEST} are read"));
        }
        if points.len() <= degree || knots.len() != points.len() + degree + 1 {
            return Err(format!(
                "a spline of degree {degree} with {} control points needs {} knots, found {}",
                points.len(),
                points.len() + degree + 1,
                knots.len()
            ));
        }
        if knots.windows(2).any(|pair| pair[1] < pair[0]) {
            return Err("the knots of the spline must not fall".into());
        }
        if !(weights.is_empty() || weights.len() == points.len() && weights.iter().all(|w| *w > 0.0)) {
            return Err(format!("the spline needs {} positive weights", points.len()));
        }
        let weight = |k: usize| weights.get(k).copied().unwrap_or(1.0);
        let controls =
            points.iter().enumerate().map(|(k, p)| [weight(k) * p[0], weight(k) * p[1], weight(k)]).collect();
        let rational = weights.iter().any(|w| *w != weights[0]);
        Ok(Spline { degree, knots, controls, rational })
    }

    /// The spline as cubics, one per knot interval where that is exact, else as many as keep within [`FIT`] of its size.
    pub fn cubics(&self) -> Vec<Curve> {
        let size = size_of(&self.polygon());
        let mut curves = Vec::new();
        for span in self.degree..self.controls.len() {
            if self.knots[span + 1] > self.knots[span] {
                let points: Vec<Heavy> = (0..=self.degree).map(|late| self.blossom(span, late)).collect();
                if self.degree <= 3 && !self.rational {
                    curves.push(raised(&points));
                } else {
                    fitted(&points, [0.0, 1.0], FIT * size, 12, &mut curves);
                }
            }
        }
        curves
    }

    fn polygon(&self) -> Vec<Curve> {
        let flat: Vec<Point> = self.controls.iter().map(|c| [c[0] / c[2], c[1] / c[2]]).collect();
        flat.windows(2).map(|pair| Curve::Line { from: pair[0], to: pair[1] }).collect()
    }

    /// Control point number `late` of the Bezier form on a knot interval: the blossom with `late` arguments at its end and the
    /// others at its start (Ramshaw 1989, Comput. Aided Geom. Design 6, 323).
    fn blossom(&self, span: usize, late: usize) -> Heavy {
        let d = self.degree;
        let mut points: Vec<Heavy> = self.controls[span - d..=span].to_vec();
        for r in 1..=d {
            let at = self.knots[if r <= late { span + 1 } else { span }];
            for j in (r..=d).rev() {
                let (low, high) = (self.knots[span - d + j], self.knots[span + 1 + j - r]);
                let w = (at - low) / (high - low);
                points[j] = [0, 1, 2].map(|k| (1.0 - w) * points[j - 1][k] + w * points[j][k]);
            }
        }
        points[d]
    }
}

/// A Bezier curve of degree at most three as a cubic. The weights are all the same.
fn raised(points: &[Heavy]) -> Curve {
    let mut flat: Vec<Point> = points.iter().map(|p| [p[0] / p[2], p[1] / p[2]]).collect();
    while flat.len() < 4 {
        let n = flat.len();
        let mixed = |k: usize| {
            let w = k as f64 / n as f64;
            [0, 1].map(|i| w * flat[k - 1][i] + (1.0 - w) * flat[k.min(n - 1)][i])
        };
        let inner: Vec<Point> = (1..n).map(mixed).collect();
        flat = [flat[0]].into_iter().chain(inner).chain([flat[n - 1]]).collect();
    }
    bezier([flat[0], flat[1], flat[2], flat[3]])
}

/// Point and derivative of a rational Bezier curve (de Casteljau).
fn at(points: &[Heavy], t: f64) -> (Point, [f64; 2]) {
    let mut p = points.to_vec();
    let d = p.len() - 1;
    let mut before = [p[0], p[d]];
    for r in 1..=d {
        before = [p[0], p[1]];
        for j in 0..=d - r {
            p[j] = [0, 1, 2].map(|k| (1.0 - t) * p[j][k] + t * p[j + 1][k]);
        }
    }
    let [x, y, w] = p[0];
    let rate = [0, 1, 2].map(|k| d as f64 * (before[1][k] - before[0][k]));
    let place = [x / w, y / w];
    (place, [(rate[0] - rate[2] * place[0]) / w, (rate[1] - rate[2] * place[1]) / w])
}

/// Cubics with the points and derivatives of the curve at the ends of intervals, halved until they are near enough.
fn fitted(points: &[Heavy], [a, b]: [f64; 2], tolerance: f64, depth: u32, found: &mut Vec<Curve>) {
    let ((p, d), (q, e), h) = (at(points, a), at(points, b), b - a);
    let cubic = bezier([p, stepped(p, h / 3.0, d), stepped(q, -h / 3.0, e), q]);
    let strays = [0.25, 0.5, 0.75].map(|t| distance(at(points, a + t * h).0, cubic.point(t)));
    if depth == 0 || strays.iter().all(|stray| *stray <= tolerance) {
        found.push(cubic);
    } else {
        let middle = 0.5 * (a + b);
        fitted(points, [a, middle], tolerance, depth - 1, found);
        fitted(points, [middle, b], tolerance, depth - 1, found);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rational quadratic spline with weights 1 and 1/sqrt 2 is the unit circle (Piegl & Tiller 1997, The NURBS Book, 7.5).
    #[test]
    fn a_rational_circle_is_round() {
        let w = 0.5f64.sqrt();
        let square = [[1, 0], [1, 1], [0, 1], [-1, 1], [-1, 0], [-1, -1], [0, -1], [1, -1], [1, 0]];
        let points: Vec<Point> = square.iter().map(|p: &[i32; 2]| p.map(f64::from)).collect();
        let weights = [1.0, w, 1.0, w, 1.0, w, 1.0, w, 1.0];
        let knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4].map(f64::from).to_vec();
        let curves = Spline::new(2, knots, &points, &weights).unwrap().cubics();
        for curve in &curves {
            for k in 0..=10 {
                let p = curve.point(f64::from(k) / 10.0);
                // The stated tolerance for a size of 2.
                approx::assert_abs_diff_eq!(p[0].hypot(p[1]), 1.0, epsilon = 2.0 * FIT);
            }
        }
        assert!(curves.len() < 200, "{}", curves.len());
    }

    /// A uniform cubic spline at a knot is (p + 4 q + r)/6 (de Boor); a quadratic one at a knot is (p + q)/2.
    #[test]
    fn uniform_splines_are_exact() {
        let points = [[0.0, 0.0], [1.0, 3.0], [4.0, 1.0], [5.0, 5.0], [7.0, 2.0]];
        let knots = |n: u32| (0..n).map(f64::from).collect::<Vec<f64>>();
        let cubic = Spline::new(3, knots(9), &points, &[]).unwrap().cubics();
        assert_eq!(cubic.len(), 2);
        for (found, k) in [(cubic[0].point(0.0), 0), (cubic[0].point(1.0), 1), (cubic[1].point(1.0), 2)] {
            for i in 0..2 {
                let wanted = (points[k][i] + 4.0 * points[k + 1][i] + points[k + 2][i]) / 6.0;
                approx::assert_abs_diff_eq!(found[i], wanted, epsilon = 1e-14);
            }
        }
        let quadratic = Spline::new(2, knots(8), &points, &[]).unwrap().cubics();
        assert_eq!(quadratic.len(), 3);
        approx::assert_abs_diff_eq!(quadratic[1].point(0.0)[1], 2.0, epsilon = 1e-14);
        let straight = Spline::new(1, knots(7), &points, &[2.0; 5]).unwrap().cubics();
        approx::assert_abs_diff_eq!(straight[2].point(0.5)[0], 4.5, epsilon = 1e-14);
    }

    #[test]
    fn wrong_splines_are_refused() {
        let points = [[0.0, 0.0], [1.0, 3.0], [4.0, 1.0], [5.0, 5.0]];
        assert!(Spline::new(3, vec![0.0; 7], &points, &[]).is_err());
        assert!(Spline::new(99, vec![0.0; 104], &points, &[]).is_err());
        assert!(Spline::new(1, vec![0.0, 1.0, 0.5, 2.0, 3.0, 4.0], &points, &[]).is_err());
        assert!(Spline::new(1, vec![0.0; 6], &points, &[1.0, 0.0, 1.0, 1.0]).is_err());
    }
}
