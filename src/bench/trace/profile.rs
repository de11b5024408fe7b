//! The profile of a line across it: width, contrast, lean.
//!
//! Profiles at the ridges about a station, each from its own middle along its own normal, are averaged; a straight line
//! through both flanks is taken off. Contrast is the height of what is left, in units of absorbance, width its full
//! width at half that height (of a Gaussian 2.355 standard deviations), pixels: unlike the standard deviation it does
//! not hang on the flanks. The lean of a line is the third moment of the mean profile over the 3/2 power of its second,
//! within one and a half widths of its middle: zero where both sides are alike, positive where the left of the flow,
//! seen in the cell, has the longer tail. The middle is not put right for it.

use super::absorbance::Absorbance;
use super::choice::Spot;
use super::scale::HALF_HEIGHT;

/// Samples of a standard deviation of a line.
const SAMPLES: f64 = 4.0;

/// Standard deviations that a profile reaches to either side, and the share of the spacing that it must stay within.
const REACH: f64 = 4.5;
const SHARE: f64 = 0.48;

/// Share of the samples on either side that are flank.
const FLANK: f64 = 0.15;

/// Widths from the middle within which a lean is found.
const LEAN: f64 = 1.5;

/// How to sample profiles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Across {
    /// Samples on either side of the middle.
    pub count: usize,
    /// Pixels between samples.
    pub pitch: f64,
}

/// A profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Full width at half the height, pixels.
    pub width: f64,
    /// Height, in units of absorbance.
    pub contrast: f64,
}

impl Across {
    /// For lines with a standard deviation and a spacing, pixels.
    pub fn new(sigma: f64, spacing: f64) -> Across {
        let pitch = sigma / SAMPLES;
        let reach = (REACH * sigma).min((SHARE * spacing).max(2.5 * sigma));
        Across { count: (reach / pitch).round().max(4.0) as usize, pitch }
    }

    /// The mean profile at some spots, less its flanks; none where the picture ends.
    pub fn mean<'s>(&self, spots: impl IntoIterator<Item = &'s Spot>, absorbance: &Absorbance) -> Option<Vec<f64>> {
        let mut sums = vec![0.0; 2 * self.count + 1];
        let mut number = 0.0;
        let mut own = vec![0.0; sums.len()];
        for spot in spots {
            let all = own.iter_mut().enumerate().try_for_each(|(k, value)| {
                let off = (k as f64 - self.count as f64) * self.pitch;
                *value = absorbance.at([0, 1].map(|axis| spot.pixel[axis] + off * spot.normal[axis]))?;
                Some(())
            });
            if all.is_some() {
                sums.iter_mut().zip(&own).for_each(|(sum, value)| *sum += value);
                number += 1.0;
            }
        }
        if number == 0.0 {
            return None;
        }
        let flank = ((FLANK * sums.len() as f64) as usize).max(1);
        let mean = |part: &[f64]| part.iter().sum::<f64>() / (part.len() as f64 * number);
        let [low, high] = [mean(&sums[..flank]), mean(&sums[sums.len() - flank..])];
        let (middle, span) = (self.count as f64, (sums.len() - flank) as f64);
        let base = |k: usize| 0.5 * (low + high) + (k as f64 - middle) / span * (high - low);
        Some(sums.iter().enumerate().map(|(k, sum)| sum / number - base(k)).collect())
    }

    /// Width and contrast of a profile; none without a top in its middle.
    pub fn shape(&self, profile: &[f64]) -> Option<Shape> {
        let near = (HALF_HEIGHT * 0.25 * SAMPLES) as usize + 1;
        let middle = self.count.saturating_sub(near)..(self.count + near + 1).min(profile.len());
        let top = middle.max_by(|&i, &j| profile[i].total_cmp(&profile[j]).then(j.cmp(&i)))?;
        let contrast = profile[top];
        if !(contrast > 0.0 && contrast.is_finite()) {
            return None;
        }
        let half = 0.5 * contrast;
        // from the top down to half of it, linear between samples
        let falls = |from: f64, to: f64| (from - half) / (from - to);
        let left =
            (0..top).rev().find(|&k| profile[k] < half).map(|k| (k + 1) as f64 - falls(profile[k + 1], profile[k]));
        let right = (top + 1..profile.len())
            .find(|&k| profile[k] < half)
            .map(|k| (k - 1) as f64 + falls(profile[k - 1], profile[k]));
        let (left, right) = left.zip(right)?;
        Some(Shape { width: (right - left) * self.pitch, contrast })
    }

    /// Third moment over the 3/2 power of the second, positive to the left of the flow.
    pub fn lean(&self, profile: &[f64]) -> Option<f64> {
        let width = self.shape(profile)?.width;
        let within = |k: usize| {
            let off = (k as f64 - self.count as f64) * self.pitch;
            (off.abs() <= LEAN * width).then_some(off)
        };
        let moment = |about: f64, power: i32| {
            let of = |(k, value): (usize, &f64)| within(k).map_or(0.0, |off| value * (off - about).powi(power));
            profile.iter().enumerate().map(of).sum::<f64>()
        };
        let total = moment(0.0, 0);
        let middle = moment(0.0, 1) / total;
        let (second, third) = (moment(middle, 2) / total, moment(middle, 3) / total);
        let lean = third / second.powf(1.5);
        lean.is_finite().then_some(lean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn width_contrast_and_lean_are_those_of_the_profile() {
        let across = Across::new(2.0, 40.0);
        let sampled = |of: &dyn Fn(f64) -> f64| -> Vec<f64> {
            (0..=2 * across.count).map(|k| of((k as f64 - across.count as f64) * across.pitch)).collect()
        };
        let even = sampled(&|u| 0.4 * (-0.125 * u * u).exp());
        let shape = across.shape(&even).unwrap();
        assert!(
            (shape.contrast - 0.4).abs() < 1e-12 && (shape.width / (2.0 * HALF_HEIGHT) - 1.0).abs() < 5e-3,
            "{shape:?}"
        );
        assert!(across.lean(&even).unwrap().abs() < 1e-12);
        let tail = sampled(&|u| (-0.5 * u * u / if u > 0.0 { 9.0 } else { 4.0 }).exp());
        let mirrored = sampled(&|u| (-0.5 * u * u / if u < 0.0 { 9.0 } else { 4.0 }).exp());
        let lean = across.lean(&tail).unwrap();
        assert!(lean > 0.1 && (across.lean(&mirrored).unwrap() + lean).abs() < 1e-12, "{lean}");
        for flat in [0.0, -1.0, f64::NAN] {
            assert!(across.shape(&sampled(&|_| flat)).is_none() && across.lean(&sampled(&|_| flat)).is_none());
        }
    }
}
