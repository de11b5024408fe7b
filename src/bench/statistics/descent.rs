//! Least squares with few unknowns (Levenberg 1944, Quart. Appl. Math. 2, 164; Marquardt 1963, J. SIAM 11, 431).

use super::{Eigen, System};

/// Steps, taken or refused, before the search ends where it is.
const STEPS: usize = 200;

/// A step that lowers the sum of squares by less than this share of it, or of one, is the last.
const SETTLED: f64 = 1e-13;

/// Half the width of the central differences; unknowns are of order one, so the derivatives are good to 1e-9.
const DIFFERENCE: f64 = 1e-5;

/// Where a search ended.
#[derive(Debug, Clone)]
pub struct Minimum {
    /// The unknowns there.
    pub at: Vec<f64>,
    /// Sum of the squares of the residuals.
    pub chi2: f64,
    /// Eigenvalues and vectors of J'J.
    pub normal: Eigen,
}

impl Minimum {
    /// One standard deviation along each eigenvector of the covariance `(J'J)^-1`, times a factor: the modes by which the unknowns may
    /// be off, independent of each other.
    pub fn modes(&self, factor: f64) -> Vec<Vec<f64>> {
        let least = self.normal.values.last().map_or(0.0, |value| value * f64::EPSILON);
        let pairs = self.normal.values.iter().zip(&self.normal.vectors);
        pairs.map(|(value, vector)| vector.iter().map(|v| factor * v / value.max(least).sqrt()).collect()).collect()
    }
}

/// The unknowns of least squares near a start; none where the residuals have no finite value there. Residuals that are not finite elsewhere
/// (behind the camera) refuse a step.
pub fn least_squares(start: Vec<f64>, residuals: impl Fn(&[f64]) -> Option<Vec<f64>>) -> Option<Minimum> {
    let sum = |r: &[f64]| r.iter().map(|r| r * r).sum::<f64>();
    let evaluate = |x: &[f64]| residuals(x).filter(|r| r.iter().all(|r| r.is_finite()));
    let n = start.len();
    let mut at = start;
    let mut r = evaluate(&at)?;
    let mut chi2 = sum(&r);
    let mut damping = 1e-3;
    let (mut normal, mut slope) = normal_equations(&at, &r, &evaluate)?;
    for _ in 0..STEPS {
        let mut damped = normal.clone();
        (0..n).for_each(|k| damped[k][k] *= 1.0 + damping);
        let step = System::new(&damped).solve(&slope);
        let next: Vec<f64> = at.iter().zip(&step).map(|(x, step)| x - step).collect();
        let better = evaluate(&next).map(|r| (sum(&r), r)).filter(|(next, _)| *next <= chi2);
        let Some((lower, residuals)) = better else {
            damping *= 10.0;
            if damping > 1e12 {
                break;
            }
            continue;
        };
        let gain = chi2 - lower;
        (at, r, chi2) = (next, residuals, lower);
        damping = (0.1 * damping).max(1e-12);
        (normal, slope) = normal_equations(&at, &r, &evaluate)?;
        if gain <= SETTLED * (1.0 + chi2) {
            break;
        }
    }
    Some(Minimum { at, chi2, normal: Eigen::of(&normal) })
}

type Equations = (Vec<Vec<f64>>, Vec<f64>);

/// J'J and J'r.
fn normal_equations(at: &[f64], r: &[f64], evaluate: &impl Fn(&[f64]) -> Option<Vec<f64>>) -> Option<Equations> {
    let moved = |k: usize, step: f64| {
        let mut x = at.to_vec();
        x[k] += step;
        evaluate(&x)
    };
    let mut columns = Vec::with_capacity(at.len());
    for k in 0..at.len() {
        let (before, after) = (moved(k, -DIFFERENCE)?, moved(k, DIFFERENCE)?);
        let column: Vec<f64> = before.iter().zip(&after).map(|(b, a)| (a - b) / (2.0 * DIFFERENCE)).collect();
        columns.push(column);
    }
    let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let normal = columns.iter().map(|a| columns.iter().map(|b| product(a, b)).collect()).collect();
    Some((normal, columns.iter().map(|column| product(column, r)).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curved_valley_is_followed_to_its_end_and_its_width_told() {
        // Rosenbrock's valley: J'J at (1, 1) is [[401, -200], [-200, 100]] in units of ten
        let valley = |x: &[f64]| Some(vec![1.0 - x[0], 10.0 * (x[1] - x[0] * x[0])]);
        let found = least_squares(vec![-1.2, 1.0], valley).unwrap();
        assert!((found.at[0] - 1.0).abs() < 1e-8 && (found.at[1] - 1.0).abs() < 1e-8, "{:?}", found.at);
        // the covariance is the inverse: [[1, 2], [2, 4.01]]
        let modes = found.modes(1.0);
        let entry = |i: usize, j: usize| modes.iter().map(|mode| mode[i] * mode[j]).sum::<f64>();
        for (value, exact) in [(entry(0, 0), 1.0), (entry(0, 1), 2.0), (entry(1, 1), 4.01)] {
            assert!((value - exact).abs() < 1e-5, "{value} {exact}");
        }
    }

    #[test]
    fn steps_beyond_what_can_be_evaluated_are_refused() {
        let wall = |x: &[f64]| (x[0] > 0.0).then(|| vec![x[0].ln() + 3.0]);
        let found = least_squares(vec![4.0], wall).unwrap();
        assert!((found.at[0].ln() + 3.0).abs() < 1e-6);
        assert!(least_squares(vec![-1.0], wall).is_none());
    }
}
