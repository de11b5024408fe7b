//! The normal distribution, and integrals by Gauss's rule.

use std::f64::consts::{FRAC_1_SQRT_2, PI, TAU};
use std::sync::LazyLock;

/// Nodes of the rule: at 7 standard deviations to each side a normal density is integrated to 1e-6.
pub const NODES: usize = 24;

/// Density of the standard normal distribution.
pub fn density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / TAU.sqrt()
}

/// Its cumulative distribution, to 1e-7.
pub fn cumulated(x: f64) -> f64 {
    let y = x.abs() * FRAC_1_SQRT_2;
    // Abramowitz and Stegun 1964, 7.1.26
    let t = 1.0 / (1.0 + 0.327_591_1 * y);
    let series =
        t * (0.254_829_592 + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let tail = 0.5 * series * (-y * y).exp();
    if x > 0.0 { 1.0 - tail } else { tail }
}

/// Places in [-1, 1] and weights of Gauss's rule.
static RULE: LazyLock<[(f64, f64); NODES]> = LazyLock::new(|| {
    std::array::from_fn(|k| {
        let n = NODES as f64;
        let mut x = (PI * (k as f64 + 0.75) / (n + 0.5)).cos();
        let mut slope = 1.0;
        // Newton's method on the Legendre polynomial
        for _ in 0..20 {
            let (mut before, mut now) = (1.0, x);
            for j in 2..=NODES {
                let j = j as f64;
                (before, now) = (now, ((2.0 * j - 1.0) * x * now - (j - 1.0) * before) / j);
            }
            slope = n * (x * now - before) / (x * x - 1.0);
            x -= now / slope;
        }
        (x, 2.0 / ((1.0 - x * x) * slope * slope))
    })
});

/// The integral of a function over an interval.
pub fn integral(from: f64, to: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    half * RULE.iter().map(|(x, weight)| weight * of(middle + half * x)).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integrals_and_tails_are_right() {
        assert!((integral(0.0, 2.0, |x| x.powi(9)) - 102.4).abs() < 1e-10);
        assert!((integral(-7.0, 7.0, density) - 1.0).abs() < 1e-6);
        // 97.5 % lie below 1.959964
        assert!((cumulated(1.959_964) - 0.975).abs() < 2e-7 && (cumulated(-1.959_964) - 0.025).abs() < 2e-7);
    }
}
