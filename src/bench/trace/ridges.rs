//! Middles of lines to a fraction of a pixel (Steger 1998, IEEE Trans. Pattern Anal. Mach. Intell. 20, 113).
//!
//! With r the image smoothed by a Gaussian of standard deviation sigma, the Hessian H of r has its most negative
//! eigenvalue lambda across a line, with the eigenvector n. Along n the smoothed profile is a parabola whose top lies
//! off the middle of the pixel by `t n`, `t = -(grad r . n)/(n . H n)`, and the pixel holds the middle of a line if `|t
//! n_x|` and `|t n_y|` are within 0.6 (0.5 and a margin: noise must not tear holes where a line passes from pixel to
//! pixel). `-lambda` is the strength.
//!
//! Range: lines whose own standard deviation is about 0.7 px or more, and a third of their distance or less.

use super::gauss::{Kernel, pad};
use super::view::{Area, View};
use crate::bench::photo::Pixel;
use rayon::prelude::*;

/// How far the top of the parabola may lie from the middle of the pixel, in rows and in columns, pixels.
const WITHIN: f32 = 0.6;

/// Rows done at a time by one thread.
const BAND: usize = 96;

/// Pixels done at a time, so that sums stay near the processor.
const BLOCK: usize = 256;

/// Rows from which the noise is found.
const NOISE_ROWS: usize = 24;

/// A quarter of the values of a normal variable are nearer to its mean than so many standard deviations. The quarter is
/// taken, not the half, since lines may cover half of a picture.
const QUARTER: f64 = 0.318_639_36;

/// The middle of a line in a pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ridge {
    /// Where, pixels of the picture.
    pub at: Pixel,
    /// Direction across the line, of length 1.
    pub normal: [f64; 2],
    /// Minus the second derivative across it, absorbance per square of a pixel.
    pub strength: f64,
}

/// An image of a part of a picture, row by row.
#[derive(Debug, Clone, Copy)]
pub struct Image<'a> {
    /// Its values.
    pub values: &'a [f32],
    /// The part.
    pub area: Area,
}

/// The ridges stronger than a limit where the view is open, row by row.
pub fn ridges(image: Image, view: &View, kernel: &Kernel, limit: f64) -> Vec<Ridge> {
    let Area { from, width, height } = image.area;
    let bands: Vec<usize> = (0..height).step_by(BAND).collect();
    let of_band = |&first: &usize| {
        let mut found = Vec::new();
        let band = Band::new(image, kernel, first, BAND.min(height - first));
        for y in first..(first + BAND).min(height) {
            band.derivatives(kernel, y, |x, derivatives| {
                let Some((offset, normal, strength)) = top(derivatives, limit as f32) else { return };
                if view.corners(x, y).iter().any(|node| node.is_some_and(|node| node.open.is_some())) {
                    let at = [(from[0] + x) as f64 + 0.5 + offset[0], (from[1] + y) as f64 + 0.5 + offset[1]];
                    found.push(Ridge { at, normal, strength });
                }
            });
        }
        debug_assert!(width > 0);
        found
    };
    bands.par_iter().map(of_band).collect::<Vec<_>>().concat()
}

/// The noise of second derivatives where the view is open; none where nothing is open.
pub fn noise(image: Image, view: &View, kernel: &Kernel) -> Option<f64> {
    let height = image.area.height;
    let rows: Vec<usize> = (0..NOISE_ROWS).map(|k| (2 * k + 1) * height / (2 * NOISE_ROWS)).collect();
    let of_row = |&y: &usize| {
        let mut sizes = Vec::new();
        Band::new(image, kernel, y, 1).derivatives(kernel, y, |x, [_, _, xx, yy, _]| {
            if view.is_open(x, y) {
                sizes.extend([xx.abs(), yy.abs()]);
            }
        });
        sizes
    };
    let mut sizes = rows.par_iter().map(of_row).collect::<Vec<_>>().concat();
    sizes.retain(|size| size.is_finite());
    let quarter = sizes.len() / 4;
    (!sizes.is_empty()).then(|| f64::from(*sizes.select_nth_unstable_by(quarter, f32::total_cmp).1) / QUARTER)
}

/// Offset of the middle, direction across and strength from r_x, r_y, r_xx, r_yy, r_xy.
fn top([rx, ry, rxx, ryy, rxy]: [f32; 5], limit: f32) -> Option<([f64; 2], [f64; 2], f64)> {
    let (mean, half) = (0.5 * (rxx + ryy), 0.5 * (rxx - ryy));
    let root = (half * half + rxy * rxy).sqrt();
    let lambda = mean - root;
    // written so that what is not a number is no ridge either
    if !(-lambda > limit && -lambda >= mean + root) {
        return None;
    }
    // of two forms of the eigenvector the one without cancellation
    let (x, y) = if half <= 0.0 { (half - root, rxy) } else { (rxy, -half - root) };
    let length = x.hypot(y);
    let [x, y] = if length > 0.0 { [x / length, y / length] } else { [1.0, 0.0] };
    let t = -(rx * x + ry * y) / lambda;
    let is_here = (t * x).abs() <= WITHIN && (t * y).abs() <= WITHIN;
    is_here.then(|| ([t * x, t * y].map(f64::from), [x, y].map(f64::from), f64::from(-lambda)))
}

/// Some rows of an image, smoothed and differentiated in rows: value, first and second derivative.
struct Band {
    first: usize,
    width: usize,
    rows: [Vec<f32>; 3],
}

impl Band {
    /// Of rows from the first on, with those that a column's kernel reaches.
    fn new(image: Image, kernel: &Kernel, first: usize, count: usize) -> Band {
        let Area { width, height, .. } = image.area;
        let reach = kernel.reach();
        let total = count + 2 * reach;
        let mut rows = [(); 3].map(|()| vec![0.0f32; total * width]);
        let mut padded = Vec::new();
        for k in 0..total {
            let y = (first + k).saturating_sub(reach).min(height - 1);
            pad(&image.values[y * width..][..width], reach, &mut padded);
            for x in (0..width).step_by(BLOCK) {
                let count = BLOCK.min(width - x);
                let mut sums = [[0.0f32; BLOCK]; 3];
                let own = &padded[x + reach..][..count];
                for (i, value) in own.iter().enumerate() {
                    sums[0][i] = kernel.value[0] * value;
                    sums[2][i] = kernel.second[0] * value;
                }
                for j in 1..=reach {
                    let [g, d, s] = [kernel.value[j], kernel.first[j], kernel.second[j]];
                    let (left, right) = (&padded[x + reach - j..][..count], &padded[x + reach + j..][..count]);
                    for (i, (left, right)) in left.iter().zip(right).enumerate() {
                        sums[0][i] += g * (left + right);
                        sums[1][i] += d * (right - left);
                        sums[2][i] += s * (left + right);
                    }
                }
                for (row, sum) in rows.iter_mut().zip(&sums) {
                    row[k * width + x..][..count].copy_from_slice(&sum[..count]);
                }
            }
        }
        Band { first, width, rows }
    }

    /// Hands out r_x, r_y, r_xx, r_yy, r_xy of the pixels of a row.
    fn derivatives(&self, kernel: &Kernel, y: usize, mut take: impl FnMut(usize, [f32; 5])) {
        let reach = kernel.reach();
        let middle = y - self.first + reach;
        for x in (0..self.width).step_by(BLOCK) {
            let count = BLOCK.min(self.width - x);
            let part = |order: usize, k: usize| &self.rows[order][k * self.width + x..][..count];
            let mut sums = [[0.0f32; BLOCK]; 5];
            let [value, first, second] = [0, 1, 2].map(|order| part(order, middle));
            for i in 0..count {
                sums[0][i] = kernel.value[0] * first[i];
                sums[2][i] = kernel.value[0] * second[i];
                sums[3][i] = kernel.second[0] * value[i];
            }
            for j in 1..=reach {
                let [g, d, s] = [kernel.value[j], kernel.first[j], kernel.second[j]];
                let [above, below] = [middle - j, middle + j];
                let (a, b) = (
                    [part(0, above), part(1, above), part(2, above)],
                    [part(0, below), part(1, below), part(2, below)],
                );
                for i in 0..count {
                    sums[0][i] += g * (a[1][i] + b[1][i]);
                    sums[1][i] += d * (b[0][i] - a[0][i]);
                    sums[2][i] += g * (a[2][i] + b[2][i]);
                    sums[3][i] += s * (a[0][i] + b[0][i]);
                    sums[4][i] += d * (b[1][i] - a[1][i]);
                }
            }
            for i in 0..count {
                take(x + i, sums.each_ref().map(|sum| sum[i]));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A parabola `-(s/2) (n . x - c)²`: its top stands at c n, its strength is s, whatever way it lies.
    #[test]
    fn the_top_of_a_parabola_is_exact() {
        for turn in 0..16 {
            let angle = std::f32::consts::TAU * turn as f32 / 16.0;
            let ([x, y], s, c) = ([angle.cos(), angle.sin()], 0.3, 0.4);
            let parabola = [s * c * x, s * c * y, -s * x * x, -s * y * y, -s * x * y];
            let (offset, normal, strength) = top(parabola, 0.2).unwrap();
            assert!((offset[0] - f64::from(c * x)).abs() < 1e-5 && (offset[1] - f64::from(c * y)).abs() < 1e-5);
            assert!((normal[0] * f64::from(y) - normal[1] * f64::from(x)).abs() < 1e-5);
            assert!((strength - 0.3).abs() < 1e-6);
            // too weak, too far, a valley
            assert!(top(parabola, 0.31).is_none());
            assert!(top([3.0 * parabola[0], 3.0 * parabola[1], parabola[2], parabola[3], parabola[4]], 0.2).is_none());
            assert!(top(parabola.map(|value| -value), 0.2).is_none());
        }
        assert!(top([f32::NAN; 5], 0.0).is_none());
    }
}
