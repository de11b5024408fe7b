//! How often tracers stand at each height, and with it how often q = 1 - zeta^2, their speed over that at mid-gap, takes each value.
//!
//! With z = |zeta|, q = 1 - z^2:
//!
//! | heights | density of z | density of q | mean of q |
//! |---|---|---|---|
//! | uniform | 1 | 1/(2 sqrt(1-q)) | 2/3 |
//! | counted as they cross a gate | (3/2)(1 - z^2) | (3/4) q/sqrt(1-q) | 4/5 |
//! | focused at mid-gap | normal of width w, cut at 1 | | about 1 - w^2 |
//!
//! Tracers seen in one frame of a video are uniform; those that cross a line in a time come as the flux brings them. A tracer of radius a
//! stands within |zeta| < 1 - 2a/b only, which is left out: it matters to none but the slowest.

use crate::bench::statistics::{cumulated, density, integral};

/// Standard deviations on each side of a measured value that count.
const REACH: f64 = 7.0;

/// A distribution of heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Profile {
    /// Every height as often.
    Uniform,
    /// As often as the flux brings them.
    Crossing,
    /// Near mid-gap, normal with a width in zeta.
    Focused {
        /// Standard deviation of zeta.
        width: f64,
    },
}

impl Profile {
    /// Density of z in [0, 1].
    fn density(self, z: f64) -> f64 {
        match self {
            Profile::Uniform => 1.0,
            Profile::Crossing => 1.5 * (1.0 - z * z),
            Profile::Focused { width } => density(z / width) / (width * (cumulated(1.0 / width) - 0.5)),
        }
    }

    /// Part of the tracers below z.
    fn below(self, z: f64) -> f64 {
        match self {
            Profile::Uniform => z,
            Profile::Crossing => 1.5 * (z - z.powi(3) / 3.0),
            Profile::Focused { width } => (cumulated(z / width) - 0.5) / (cumulated(1.0 / width) - 0.5),
        }
    }

    /// The heights that a measured s with an error can have come from.
    fn heights(self, s: f64, sigma: f64, kappa: f64) -> [f64; 2] {
        let height = |s: f64| (1.0 - s / kappa).clamp(0.0, 1.0).sqrt();
        let most = if let Profile::Focused { width } = self { (REACH * width).min(1.0) } else { 1.0 };
        [height(s + REACH * sigma).min(most), height(s - REACH * sigma).min(most)]
    }

    /// Density of a measured s with normal error sigma, where mid-gap runs at kappa.
    pub fn measured(self, s: f64, sigma: f64, kappa: f64) -> f64 {
        let [from, to] = self.heights(s, sigma, kappa);
        integral(from, to, |z| self.density(z) * density((s - kappa * (1.0 - z * z)) / sigma)) / sigma
    }

    /// Probability that a measured s is smaller.
    pub fn measured_below(self, s: f64, sigma: f64, kappa: f64) -> f64 {
        let [from, to] = self.heights(s, sigma, kappa);
        let partly = integral(from, to, |z| self.density(z) * cumulated((s - kappa * (1.0 - z * z)) / sigma));
        partly + 1.0 - self.below(to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_errors_leave_the_densities_in_closed_form() {
        for q in [0.1, 0.5, 0.9] {
            let uniform = 0.5 / (1.0_f64 - q).sqrt();
            let kappa = 1.1;
            let of = |profile: Profile| kappa * profile.measured(kappa * q, 1e-4, kappa);
            assert!((of(Profile::Uniform) / uniform - 1.0).abs() < 1e-5);
            assert!((of(Profile::Crossing) / (1.5 * q * uniform) - 1.0).abs() < 1e-5);
            let below = Profile::Uniform.measured_below(kappa * q, 1e-4, kappa);
            assert!((below - 1.0 + (1.0 - q).sqrt()).abs() < 1e-6);
            let z = (1.0 - q).sqrt();
            let crossed = Profile::Crossing.measured_below(kappa * q, 1e-4, kappa);
            assert!((crossed - 1.0 + 1.5 * (z - z.powi(3) / 3.0)).abs() < 1e-6);
        }
    }

    #[test]
    fn densities_add_up_and_have_their_means() {
        let close = |a: f64, b: f64| (a - b).abs() < 1e-3;
        for (profile, mean) in
            [(Profile::Uniform, 2.0 / 3.0), (Profile::Crossing, 0.8), (Profile::Focused { width: 0.1 }, 0.99)]
        {
            let sum = |of: &dyn Fn(f64) -> f64| {
                (0..3000).map(|k| of((f64::from(k) + 0.5) / 2000.0 - 0.2)).sum::<f64>() / 2000.0
            };
            let density = |q: f64| profile.measured(q, 0.02, 1.0);
            assert!(close(sum(&density), 1.0) && close(sum(&|q| q * density(q)), mean), "{profile:?}");
            let slope = |q: f64| {
                (profile.measured_below(q + 1e-3, 0.02, 1.0) - profile.measured_below(q - 1e-3, 0.02, 1.0)) / 2e-3
            };
            assert!([0.5, 0.9, 0.98].into_iter().all(|q| (slope(q) - density(q)).abs() < 0.02), "{profile:?}");
        }
    }
}
