//! The strongest step of a profile.
//!
//! The derivative of the mean profile, smoothed by a Gaussian of 1.5 pixels, has its largest value there; a parabola through that and its
//! neighbours gives the place between samples. The step of a blurred edge in light that changes slowly is found without bias; independent noise
//! s of the samples of a sharp one of height h moves it by `sqrt(3/(8 sqrt(pi))) sqrt(2 pi) sqrt(w) s/h = 1.15 sqrt(w) s/h` samples, w the
//! Gaussian's width in samples (noise of the second derivative over the third). A step counts if it is higher than six times the noise of a sample
//! and a twentieth of the brighter side: means of 2 to 5 pixels from it on either side.

use crate::bench::lines::deviation;

/// Deviation of the Gaussian, samples of half a pixel.
const SIGMA: f64 = 3.0;

/// Where its derivative ends, samples.
const TAIL: usize = 9;

/// Nearest and farthest samples of either side that are averaged for the height.
const NEAR: usize = 4;
/// See [`NEAR`].
pub const FLANK: usize = 10;

/// Least height over the noise, and over the brighter side.
const CLEAR: f64 = 6.0;
const SHARE: f64 = 0.05;

/// The noise of rounding, grey levels.
const LEAST_NOISE: f64 = 0.3;

/// A step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Where: samples from the first.
    pub at: f64,
    /// How high, grey levels, positive.
    pub height: f64,
}

/// The strongest step up (sign 1) or down (-1) of the mean of profiles side by side, if it is clear; not within [`FLANK`] samples of their ends.
pub fn step(profiles: &[Vec<f64>], sign: f64) -> Option<Step> {
    let count = profiles.first()?.len();
    let mean: Vec<f64> =
        (0..count).map(|k| profiles.iter().map(|own| own[k]).sum::<f64>() / profiles.len() as f64).collect();
    let weight = |j: usize| j as f64 * (-0.5 * (j as f64 / SIGMA).powi(2)).exp();
    let slope = |k: usize| sign * (1..=TAIL).map(|j| weight(j) * (mean[k + j] - mean[k - j])).sum::<f64>();
    let inside = FLANK..count.checked_sub(FLANK)?;
    let slopes: Vec<f64> = inside.clone().map(slope).collect();
    let is_top = |k: &usize| slopes[*k] > slopes[*k - 1] && slopes[*k] >= slopes[*k + 1];
    let top = (1..slopes.len().checked_sub(1)?)
        .filter(is_top)
        .max_by(|&i, &j| slopes[i].total_cmp(&slopes[j]).then(j.cmp(&i)))?;
    let [before, own, behind] = [slopes[top - 1], slopes[top], slopes[top + 1]];
    let middle = FLANK + top;
    let side = |from: usize| mean[from..=from + FLANK - NEAR].iter().sum::<f64>() / (FLANK - NEAR + 1) as f64;
    let [low, high] = [side(middle - FLANK), side(middle + NEAR)];
    let height = sign * (high - low);
    let is_clear = height > CLEAR * noise(profiles) && height > SHARE * low.max(high);
    let at = middle as f64 + 0.5 * (before - behind) / (before - 2.0 * own + behind);
    is_clear.then_some(Step { at, height })
}

/// Noise of a sample: the median difference of the outermost profiles, between which the edge hardly changes.
fn noise(profiles: &[Vec<f64>]) -> f64 {
    let ends = profiles.first().zip(profiles.last());
    let apart: Vec<f64> = ends.map_or(Vec::new(), |(a, b)| a.iter().zip(b).map(|(a, b)| a - b).collect());
    (deviation(&apart) / 2f64.sqrt()).max(LEAST_NOISE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::statistics::cumulated;

    fn profiles(of: impl Fn(f64) -> f64) -> Vec<Vec<f64>> {
        vec![(0..81).map(|k| of(f64::from(k))).collect(); 5]
    }

    #[test]
    fn a_blurred_step_is_found_between_samples() {
        for (at, sign) in [(40.0, 1.0), (33.3, 1.0), (52.71, -1.0)] {
            let rise = profiles(|k| 120.0 + sign * 80.0 * (cumulated((k - at) / 2.0) - 0.5) + 0.1 * k);
            let found = step(&rise, sign).unwrap();
            // the parabola of a sampled top errs by a cube of half a sample over its width
            assert!((found.at - at).abs() < 0.02, "{found:?}");
            assert!((found.height - 80.0).abs() < 4.0, "{found:?}");
            assert!(step(&rise, -sign).is_none());
        }
    }

    #[test]
    fn what_is_low_or_at_the_end_is_no_step() {
        assert!(step(&profiles(|_| 200.0), 1.0).is_none());
        // a twentieth of the brighter side is 10.2
        assert!(step(&profiles(|k| 195.0 + 9.0 * cumulated(k - 40.0)), 1.0).is_none());
        assert!(step(&profiles(|k| 195.0 + 12.0 * cumulated(k - 40.0)), 1.0).is_some());
        assert!(step(&profiles(|k| 100.0 + 99.0 * cumulated(k - 6.0)), 1.0).is_none());
        assert!(step(&profiles(|k| k), 1.0).is_none());
        // noise that differs from profile to profile
        let noisy = (0..5).map(|j| (0..81).map(|k| 150.0 + 20.0 * f64::from((k * 7 + j * 3) % 5)).collect());
        let mut noisy: Vec<Vec<f64>> = noisy.collect();
        noisy.iter_mut().for_each(|own| own[40..].iter_mut().for_each(|light| *light += 40.0));
        assert!(step(&noisy, 1.0).is_none());
        assert!(step(&[], 1.0).is_none() && step(&[vec![0.0; 5]], 1.0).is_none());
    }
}
