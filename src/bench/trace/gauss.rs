//! Sampled Gaussians and their derivatives, and what they do to rows.
//!
//! Kernels reach four standard deviations. Their sums are put right for what sampling and cutting leave undone: a
//! constant has the value one, a slope the derivative one, a parabola u²/2 the second derivative one, and a constant
//! none.

use rayon::prelude::*;

/// Standard deviations that a kernel reaches.
const REACH: f64 = 4.0;

/// One half of a Gaussian, of its first and of its second derivative, from the middle on.
#[derive(Debug, Clone)]
pub struct Kernel {
    /// Value: even.
    pub value: Vec<f32>,
    /// First derivative: odd, as weights of `f(x + k) - f(x - k)`.
    pub first: Vec<f32>,
    /// Second derivative: even.
    pub second: Vec<f32>,
}

impl Kernel {
    /// Of a standard deviation in pixels.
    pub fn new(sigma: f64) -> Kernel {
        let reach = (REACH * sigma).ceil().max(2.0) as usize;
        let at = |k: usize| k as f64 / sigma;
        let gauss: Vec<f64> = (0..=reach).map(|k| (-0.5 * at(k) * at(k)).exp()).collect();
        let even = |list: &[f64]| list[0] + 2.0 * list[1..].iter().sum::<f64>();
        let total = even(&gauss);
        let value: Vec<f64> = gauss.iter().map(|g| g / total).collect();
        let first: Vec<f64> = (0..=reach).map(|k| k as f64 * gauss[k]).collect();
        let slope: f64 = 2.0 * (0..=reach).map(|k| k as f64 * first[k]).sum::<f64>();
        let second: Vec<f64> = (0..=reach).map(|k| (at(k) * at(k) - 1.0) * gauss[k]).collect();
        // what is left of the sum is taken off in proportion to the Gaussian
        let excess = even(&second) / total;
        let second: Vec<f64> = second.iter().zip(&gauss).map(|(s, g)| s - excess * g).collect();
        let bend: f64 = (1..=reach).map(|k| (k * k) as f64 * second[k]).sum();
        let to = |list: &[f64], by: f64| list.iter().map(|value| (value / by) as f32).collect();
        Kernel { value: to(&value, 1.0), first: to(&first, slope), second: to(&second, bend) }
    }

    /// Pixels on either side of the middle.
    pub fn reach(&self) -> usize {
        self.value.len() - 1
    }
}

/// An image smoothed by a Gaussian in rows and columns; beyond the frame the nearest pixel goes on.
pub fn smoothed(image: &[f32], width: usize, sigma: f64) -> Vec<f32> {
    let kernel = Kernel::new(sigma);
    let height = image.len() / width.max(1);
    let reach = kernel.reach();
    let mut rows = vec![0.0; image.len()];
    rows.par_chunks_mut(width.max(1)).zip(image.par_chunks(width.max(1))).for_each_init(
        Vec::new,
        |padded, (out, row)| {
            pad(row, reach, padded);
            for (x, out) in out.iter_mut().enumerate() {
                let middle = x + reach;
                *out = kernel.value[0] * padded[middle];
                for k in 1..=reach {
                    *out += kernel.value[k] * (padded[middle - k] + padded[middle + k]);
                }
            }
        },
    );
    let mut out = vec![0.0f32; image.len()];
    out.par_chunks_mut(width.max(1)).enumerate().for_each(|(y, out)| {
        let row = |y: usize| &rows[y.min(height - 1) * width..][..width];
        out.iter_mut().zip(row(y)).for_each(|(out, value)| *out = kernel.value[0] * value);
        for k in 1..=reach {
            for ((out, above), below) in out.iter_mut().zip(row(y.saturating_sub(k))).zip(row(y + k)) {
                *out += kernel.value[k] * (above + below);
            }
        }
    });
    out
}

/// A row with its ends going on for so many pixels.
pub fn pad(row: &[f32], reach: usize, padded: &mut Vec<f32>) {
    padded.clear();
    let (Some(&first), Some(&last)) = (row.first(), row.last()) else { return };
    padded.extend(std::iter::repeat_n(first, reach));
    padded.extend_from_slice(row);
    padded.extend(std::iter::repeat_n(last, reach));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kernels_differentiate_parabolas_exactly() {
        for sigma in [0.5, 0.8, 1.5, 4.0] {
            let kernel = Kernel::new(sigma);
            let f = |u: f64| 3.0 + 0.7 * u + 0.25 * u * u;
            let even = |weights: &[f32]| {
                let of = (1..weights.len()).map(|k| f64::from(weights[k]) * (f(k as f64) + f(-(k as f64))));
                f64::from(weights[0]) * f(0.0) + of.sum::<f64>()
            };
            let slope: f64 =
                (1..kernel.first.len()).map(|k| f64::from(kernel.first[k]) * (f(k as f64) - f(-(k as f64)))).sum();
            assert!((slope - 0.7).abs() < 1e-5 && (even(&kernel.second) - 0.5).abs() < 1e-5, "{sigma} {slope}");
            if sigma >= 0.8 {
                // the variance of the cut Gaussian is 0.1 % short
                assert!((even(&kernel.value) - 3.0 - 0.25 * sigma * sigma).abs() < 5e-3 * sigma * sigma, "{sigma}");
            }
        }
    }

    #[test]
    fn smoothing_keeps_a_constant_and_widens_a_point() {
        let width = 41;
        assert!(smoothed(&[0.3; 41 * 30], width, 2.0).iter().all(|v| (v - 0.3).abs() < 1e-6));
        let mut image = vec![0.0; width * width];
        image[20 * width + 20] = 1.0;
        let out = smoothed(&image, width, 2.0);
        let exact = |dx: f32, dy: f32| (-(dx * dx + dy * dy) / 8.0).exp() / (8.0 * std::f32::consts::PI);
        for (dx, dy) in [(0usize, 0usize), (1, 3), (4, 2)] {
            let found = out[(20 + dy) * width + 20 + dx];
            assert!((found / exact(dx as f32, dy as f32) - 1.0).abs() < 2e-3, "{dx} {dy} {found}");
        }
    }
}
