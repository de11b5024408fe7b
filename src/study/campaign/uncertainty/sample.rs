//! Points of low discrepancy in uncertain values: a Sobol sequence, scrambled by Owen's method with a fixed seed, so that every run of the
//! program takes the same points.
//!
//! Source: Sobol 1967, USSR Comput. Math. Math. Phys. 7(4), 86; Owen 1998, ACM Trans. Model. Comput. Simul. 8, 71. From memory.

use crate::base::bisect::{TO_ROUNDING, bisected};
use crate::bench::statistics::cumulated;
use crate::input::case::Spread;

/// The seed of the scrambling.
const SEED: u32 = 1967;
/// Standard deviations beyond which no point of a normal spread is taken: less than one in a billion would be.
const FURTHEST: f64 = 6.0;

/// The standard normal variable below which a part of all values lies.
fn normal_quantile(part: f64) -> f64 {
    let [x, _] = bisected([-FURTHEST, FURTHEST], TO_ROUNDING, |x| cumulated(x) < part);
    x
}

/// So many points in standard variables: normal with mean 0 and variance 1, or even on [-1, 1].
pub fn standard_points(spreads: &[Spread], count: usize) -> Vec<Vec<f64>> {
    let at = |point: usize, k: usize| {
        // the middle of the interval that its 24 bits stand for
        let part = f64::from(sobol_burley::sample(point as u32, k as u32, SEED)) + 2f64.powi(-25);
        match spreads[k] {
            Spread::Uniform => 2.0 * part - 1.0,
            Spread::Normal => normal_quantile(part),
        }
    };
    (0..count).map(|point| (0..spreads.len()).map(|k| at(point, k)).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles of the normal distribution (Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.5; recalled); the tolerance is
    /// the error that `cumulated` states over the density there.
    #[test]
    fn quantiles_are_those_of_the_tables() {
        for (part, x) in [(0.5, 0.0f64), (0.975, 1.959964), (0.025, -1.959964), (0.9, 1.281552)] {
            let density = (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt();
            assert!((normal_quantile(part) - x).abs() < 1e-6 + 1e-7 / density, "{part}: {}", normal_quantile(part));
        }
    }

    /// In each variable alone, 2^m points of the sequence fall one each into 2^m equal intervals: it is a (0, m, 1)-net.
    #[test]
    fn points_are_spread_evenly() {
        let count = 64;
        let points = standard_points(&[Spread::Uniform; 5], count);
        for k in 0..5 {
            let mut cells: Vec<usize> =
                points.iter().map(|x| ((0.5 * (x[k] + 1.0)) * count as f64).floor() as usize).collect();
            cells.sort_unstable();
            assert_eq!(cells, (0..count).collect::<Vec<_>>(), "variable {k}");
        }
    }
}
