//! A polynomial in uncertain values through a sample of runs, and what its terms say of each value's share.
//!
//! Values are told by independent standard variables ξ: normal with mean 0 and variance 1, or even on [-1, 1]. The polynomial has all
//! products up to the second degree of polynomials that are orthonormal under these (Hermite and Legendre), so that the variance of the
//! result is the sum of the squares of its coefficients but the first: of those with ξ_k alone for the first-order index of k, of all
//! with ξ_k for the total one. Coefficients by least squares; what they leave is added to the variance and told.
//!
//! Source: Xiu and Karniadakis 2002, SIAM J. Sci. Comput. 24, 619 (the polynomials); Sudret 2008, Reliab. Eng. Syst. Saf. 93, 964 (indices
//! from coefficients); Saltelli et al. 2008, Global Sensitivity Analysis (the indices). From memory.

use crate::bench::statistics::System;
use crate::input::case::Spread;

/// A product of polynomials of one or two variables: variable and degree of each.
type Term = Vec<(usize, usize)>;

/// The terms up to the second degree of so many variables, the constant first.
fn terms(variables: usize) -> Vec<Term> {
    let one = (0..variables).map(|k| vec![(k, 1)]);
    let square = (0..variables).map(|k| vec![(k, 2)]);
    let pairs = (0..variables).flat_map(|j| (j + 1..variables).map(move |k| vec![(j, 1), (k, 1)]));
    std::iter::once(Vec::new()).chain(one).chain(square).chain(pairs).collect()
}

/// How many terms there are for so many variables.
pub fn term_count(variables: usize) -> usize {
    1 + 2 * variables + variables * variables.saturating_sub(1) / 2
}

/// An orthonormal polynomial.
fn polynomial(spread: Spread, degree: usize, x: f64) -> f64 {
    match (degree, spread) {
        (0, _) => 1.0,
        (1, Spread::Normal) => x,
        (1, Spread::Uniform) => 3f64.sqrt() * x,
        (_, Spread::Normal) => (x * x - 1.0) / 2f64.sqrt(),
        (_, Spread::Uniform) => 5f64.sqrt() * 0.5 * (3.0 * x * x - 1.0),
    }
}

/// What a result owes to each uncertain value.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// Mean.
    pub mean: f64,
    /// Variance, with what the polynomial leaves.
    pub variance: f64,
    /// Share of each value alone, over the variance.
    pub first: Vec<f64>,
    /// Share of each value together with others.
    pub total: Vec<f64>,
    /// Share of what the polynomial leaves.
    pub left: f64,
}

/// The design of a sample: the polynomials of all terms at every point, solved once for all results.
#[derive(Debug)]
pub struct Design {
    terms: Vec<Term>,
    rows: Vec<Vec<f64>>,
    system: System,
}

impl Design {
    /// That of points in standard variables with their spreads; none if there are too few points, or these do not tell the terms apart.
    pub fn new(points: &[Vec<f64>], spreads: &[Spread]) -> Option<Design> {
        let terms = terms(spreads.len());
        let value =
            |term: &Term, x: &[f64]| term.iter().map(|&(k, degree)| polynomial(spreads[k], degree, x[k])).product();
        let rows: Vec<Vec<f64>> = points.iter().map(|x| terms.iter().map(|term| value(term, x)).collect()).collect();
        if rows.len() <= terms.len() {
            return None;
        }
        let n = terms.len();
        let product = |i: usize, j: usize| rows.iter().map(|row: &Vec<f64>| row[i] * row[j]).sum::<f64>();
        let matrix: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| product(i, j)).collect()).collect();
        let system = System::new(&matrix);
        system.is_determined().then_some(Design { terms, rows, system })
    }

    /// What a result at these points owes to each value; of a result that does not vary all is zero.
    pub fn shares(&self, results: &[f64]) -> Shares {
        let n = self.terms.len();
        // about the first, so that rounding does not count as variance
        let start = results.first().copied().unwrap_or(0.0);
        let right: Vec<f64> =
            (0..n).map(|i| self.rows.iter().zip(results).map(|(row, y)| row[i] * (y - start)).sum()).collect();
        let coefficients = self.system.solve(&right);
        let fitted = |row: &[f64]| row.iter().zip(&coefficients).map(|(x, c)| x * c).sum::<f64>();
        let squares = self.rows.iter().zip(results).map(|(row, y)| (y - start - fitted(row)).powi(2)).sum::<f64>();
        let left = squares / (results.len() - n) as f64;
        let sum = |of: &dyn Fn(&Term) -> bool| {
            let terms = self.terms.iter().zip(&coefficients).filter(|(term, _)| !term.is_empty() && of(term));
            terms.map(|(_, c)| c * c).sum::<f64>()
        };
        let variance = sum(&|_| true) + left;
        let over = |part: f64| if variance > 0.0 { part / variance } else { 0.0 };
        let variables = self.terms.iter().flatten().map(|(k, _)| k + 1).max().unwrap_or(0);
        let alone = |k: usize| over(sum(&|term| term.iter().all(|&(other, _)| other == k)));
        let with = |k: usize| over(sum(&|term| term.iter().any(|&(other, _)| other == k)));
        Shares {
            mean: start + coefficients.first().copied().unwrap_or(0.0),
            variance,
            first: (0..variables).map(alone).collect(),
            total: (0..variables).map(with).collect(),
            left: over(left),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample::standard_points;
    use super::*;

    /// y = 2 a + b + 3 a b + c², a and b normal, c even on [-1, 1]: variance 4 + 1 + 9 + (1/5 - 1/9), by the moments of both spreads.
    /// A polynomial of the second degree gives it exactly, whatever the points.
    #[test]
    fn a_polynomial_gives_its_own_variance_and_indices() {
        let spreads = [Spread::Normal, Spread::Normal, Spread::Uniform];
        let points = standard_points(&spreads, 32);
        let results: Vec<f64> =
            points.iter().map(|x| 2.0 * x[0] + x[1] + 3.0 * x[0] * x[1] + x[2] * x[2] + 7.0).collect();
        let shares = Design::new(&points, &spreads).unwrap().shares(&results);
        let of_c = 1.0 / 5.0 - 1.0 / 9.0;
        let variance = 14.0 + of_c;
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-10, "{a} {b}");
        near(shares.variance, variance);
        near(shares.mean, 7.0 + 1.0 / 3.0);
        for (k, first, total) in [(0, 4.0, 13.0), (1, 1.0, 10.0), (2, of_c, of_c)] {
            near(shares.first[k], first / variance);
            near(shares.total[k], total / variance);
        }
        near(shares.left, 0.0);
    }

    /// Ishigami's function has no polynomial of the second degree: what is left is told. Its variance is known:
    /// 1/2 + a²/8 + b π⁴/5 + b² π⁸/18 (Ishigami and Homma 1990; Saltelli et al. 2008, sec. 5; recalled). The error of the variance of n
    /// even points is some var sqrt(2.8/n), with a kurtosis of 3.5 (recalled), less for points of low discrepancy.
    #[test]
    fn what_a_polynomial_leaves_counts_as_variance() {
        let (a, b) = (7.0, 0.1);
        let spreads = [Spread::Uniform; 3];
        let points = standard_points(&spreads, 512);
        let pi = std::f64::consts::PI;
        let f = |x: &Vec<f64>| {
            let s = |k: usize| (pi * x[k]).sin();
            s(0) + a * s(1).powi(2) + b * (pi * x[2]).powi(4) * s(0)
        };
        let results: Vec<f64> = points.iter().map(f).collect();
        let shares = Design::new(&points, &spreads).unwrap().shares(&results);
        let exact = 0.5 + a * a / 8.0 + b * pi.powi(4) / 5.0 + b * b * pi.powi(8) / 18.0;
        assert!((shares.variance / exact - 1.0).abs() < (2.8f64 / 512.0).sqrt(), "{} {exact}", shares.variance);
        assert!(shares.left > 0.3, "{shares:?}");
    }

    #[test]
    fn too_few_points_are_refused() {
        let spreads = [Spread::Normal; 3];
        assert_eq!(term_count(3), terms(3).len());
        assert!(Design::new(&standard_points(&spreads, term_count(3)), &spreads).is_none());
        assert!(Design::new(&standard_points(&spreads, 16), &spreads).is_some());
    }
}
