//! From light to dye: what a picture lacks of its ground, in logarithms.
//!
//! Light that passed dye is weakened to `I_c = ground_c exp(-e_c D)` in each channel c (Beer & Lambert), so that `A = Σ
//! w_c ln(ground_c/I_c)` is proportional to the dye D on the path whatever the lamp does, and lines of any darkness
//! have the same shape. A fluorescent dye adds light in proportion to D instead: `A = Σ w_c (I_c - ground_c)/255`. The
//! weights w are in proportion to how far each channel rises above its median on the darkest hundredths of the fluid,
//! less how far it falls below, which is noise, and have the sum one: a channel without dye counts nothing.
//!
//! The ground is the picture without its lines: the closing of each channel by a square (for bright dye the opening)
//! that is larger than a line is wide, smoothed by a Gaussian of a quarter of its width over the parts where lines may be: a dark pier would
//! shade the lines that pass it, which moved them by 0.1 mm. It is found on blocks of
//! pixels, of which a square has 16 or more across: ground changes slowly, and means are quiet, while a closing of
//! single pixels follows the loudest.
//!
//! Range: 8 bits a channel in proportion to light or to a power of it, which only multiplies A; saturated pixels (above
//! 250 in all channels) tell nothing and are dead, with all within ten pixels.

use super::gauss::smoothed;
use super::runs::{closed, largest};
use super::view::{Area, View};
use crate::input::case::Dye;
use crate::input::measured::{Photo, SATURATED};
use rayon::prelude::*;

/// Pixels about a saturated one that glare spoils.
const SPOILT: usize = 10;

/// Blocks across a square, at least.
const BLOCKS: usize = 16;

/// Share of the pixels that lines may be taken to cover at least, and that lie above them.
const RANKS: [f64; 3] = [0.03, 0.5, 0.97];

/// Part of a neighbourhood that must be open for its ground to be that of the open parts alone.
const LEAST_SHARE: f32 = 0.01;

/// Least grey level of a logarithm: half of the smallest step.
const BLACK: f32 = 0.5;

/// Samples of which the weights are found.
const SAMPLES: usize = 200_000;

/// What each grey level of a channel counts: minus its logarithm, or itself.
pub fn scale(dye: Dye) -> [f32; 256] {
    std::array::from_fn(|level| match dye {
        Dye::Dark => -(level as f32).max(BLACK).ln(),
        Dye::Bright => level as f32 / 255.0,
    })
}

/// How much dye each pixel of a part of a picture shows.
#[derive(Debug)]
pub struct Absorbance {
    /// The part.
    pub area: Area,
    /// A, row by row.
    pub values: Vec<f32>,
    /// Weights of the channels.
    pub weights: [f64; 3],
    dead: Vec<u8>,
}

impl Absorbance {
    /// Of the part of a picture that a view shows, with a ground by squares of some width, pixels; none where no
    /// channel shows dye.
    pub fn new(photo: &Photo, view: &View, dye: Dye, window: usize) -> Option<Absorbance> {
        let area = view.area;
        let block = (window / BLOCKS).max(1);
        let scale = self::scale(dye);
        let coarse = Coarse::new(photo, view, block, dye, window);
        let weights = coarse.weights(photo, view, &scale)?;
        let own = weights.map(|weight| scale.map(|value| value * weight as f32));
        let ground: Vec<f32> = (0..coarse.ground[0].len())
            .into_par_iter()
            .map(|k| (0..3).map(|c| weights[c] as f32 * coarse.ground[c][k]).sum())
            .collect();
        let mut values = vec![0.0f32; area.width * area.height];
        values.par_chunks_mut(area.width).enumerate().for_each_init(Vec::new, |between, (y, out)| {
            coarse.row_between(&ground, y, between);
            let pixels = photo.row(area.from[1] + y, area.from[0]..area.from[0] + area.width);
            let shift = 0.5 - 0.5 * coarse.block as f32;
            let per = 1.0 / coarse.block as f32;
            for (x, (out, pixel)) in out.iter_mut().zip(pixels).enumerate() {
                let at = ((x as f32 + shift) * per).clamp(0.0, (coarse.width - 1) as f32);
                let k = (at as usize).min(coarse.width.saturating_sub(2));
                let share = at - k as f32;
                let ground = between[k] + share * (between[(k + 1).min(coarse.width - 1)] - between[k]);
                *out = (0..3).map(|c| own[c][usize::from(pixel[c])]).sum::<f32>() - ground;
            }
        });
        Some(Absorbance { area, values, weights, dead: dead(photo, area) })
    }

    /// Whether glare spoils a pixel of the part.
    pub fn is_dead(&self, x: usize, y: usize) -> bool {
        self.dead.get(y * self.area.width + x).is_none_or(|&dead| dead > 0)
    }

    /// A at a place of the picture, linear between the middles of pixels; none outside.
    pub fn at(&self, pixel: [f64; 2]) -> Option<f64> {
        let at = [0, 1].map(|k| pixel[k] - self.area.from[k] as f64 - 0.5);
        if !(at[0] >= 0.0 && at[1] >= 0.0) {
            return None;
        }
        let [x, y] = at.map(|value| value as usize);
        let [s, t] = [at[0] - x as f64, at[1] - y as f64];
        if x + 1 >= self.area.width || y + 1 >= self.area.height {
            return None;
        }
        let of = |k: usize| f64::from(self.values[k]);
        let k = y * self.area.width + x;
        let row = |k: usize| of(k) + s * (of(k + 1) - of(k));
        let (above, below) = (row(k), row(k + self.area.width));
        Some(above + t * (below - above))
    }
}

/// Pixels that tell nothing, as ones.
fn dead(photo: &Photo, area: Area) -> Vec<u8> {
    let mut saturated = vec![0u8; area.width * area.height];
    saturated.par_chunks_mut(area.width).enumerate().for_each(|(y, out)| {
        let pixels = photo.row(area.from[1] + y, area.from[0]..area.from[0] + area.width);
        for (out, pixel) in out.iter_mut().zip(pixels) {
            *out = u8::from(pixel.iter().all(|&channel| channel > SATURATED));
        }
    });
    if saturated.par_iter().all(|&pixel| pixel == 0) { saturated } else { largest(&saturated, area.width, SPOILT) }
}

/// The ground on blocks of pixels.
struct Coarse {
    block: usize,
    width: usize,
    height: usize,
    /// Of each channel, on the dye's scale.
    ground: [Vec<f32>; 3],
}

impl Coarse {
    fn new(photo: &Photo, view: &View, block: usize, dye: Dye, window: usize) -> Coarse {
        let area = view.area;
        let [width, height] = [area.width, area.height].map(|count| count.div_ceil(block));
        let mut means = vec![[0u8; 3]; width * height];
        means.par_chunks_mut(width).enumerate().for_each(|(row, out)| {
            let mut sums = vec![[0u32; 3]; width];
            let rows = row * block..((row + 1) * block).min(area.height);
            for y in rows.clone() {
                let pixels = photo.row(area.from[1] + y, area.from[0]..area.from[0] + area.width);
                for (x, pixel) in pixels.iter().enumerate() {
                    (0..3).for_each(|c| sums[x / block][c] += u32::from(pixel[c]));
                }
            }
            for (column, (out, sum)) in out.iter_mut().zip(&sums).enumerate() {
                let count = (rows.len() * block.min(area.width - column * block)).max(1) as u32;
                *out = sum.map(|sum| ((sum + count / 2) / count) as u8);
            }
        });
        let half = (window / (2 * block)).max(1);
        let scale = self::scale(dye);
        let sigma = (window as f64 / (4 * block) as f64).max(1.0);
        // solids and what lies beyond the marks would shade the fluid beside them
        let is_open = |k: usize| {
            let middle = |k: usize, most: usize| (k * block + block / 2).min(most - 1);
            f32::from(u8::from(view.is_open(middle(k % width, area.width), middle(k / width, area.height))))
        };
        let open: Vec<f32> = (0..width * height).map(is_open).collect();
        let share = smoothed(&open, width, sigma);
        let of_channel = |c: usize| -> Vec<f32> {
            // the opening is the closing of the negative
            let turned = |value: u8| if dye == Dye::Dark { value } else { u8::MAX - value };
            let channel: Vec<u8> = means.iter().map(|pixel| turned(pixel[c])).collect();
            let ground = closed(&channel, width, half);
            let ground: Vec<f32> = ground.iter().map(|&value| scale[usize::from(turned(value))]).collect();
            let inside: Vec<f32> = ground.iter().zip(&open).map(|(value, open)| value * open).collect();
            let pairs = smoothed(&inside, width, sigma).into_iter().zip(&share).zip(smoothed(&ground, width, sigma));
            pairs.map(|((inside, share), all)| if *share > LEAST_SHARE { inside / share } else { all }).collect()
        };
        Coarse { block, width, height, ground: [0, 1, 2].map(of_channel) }
    }

    /// A row of pixels' ground at the blocks' columns.
    fn row_between(&self, ground: &[f32], y: usize, out: &mut Vec<f32>) {
        let at = ((y as f32 + 0.5) / self.block as f32 - 0.5).clamp(0.0, (self.height - 1) as f32);
        let k = at as usize;
        let share = at - k as f32;
        let row = |k: usize| &ground[k.min(self.height - 1) * self.width..][..self.width];
        out.clear();
        out.extend(row(k).iter().zip(row(k + 1)).map(|(above, below)| above + share * (below - above)));
    }

    fn weights(&self, photo: &Photo, view: &View, scale: &[f32; 256]) -> Option<[f64; 3]> {
        let area = view.area;
        let stride = (((area.width * area.height) as f64 / SAMPLES as f64).sqrt() as usize).max(1);
        let of_row = |y: usize| {
            let pixels = photo.row(area.from[1] + y, area.from[0]..area.from[0] + area.width);
            let seen = pixels
                .iter()
                .enumerate()
                .step_by(stride)
                .filter(|(x, pixel)| view.is_open(*x, y) && !pixel.iter().all(|&channel| channel > SATURATED));
            let of = |(x, pixel): (usize, &[u8; 3])| {
                let block = (y / self.block) * self.width + x / self.block;
                [0, 1, 2].map(|c| scale[usize::from(pixel[c])] - self.ground[c][block])
            };
            seen.map(of).collect::<Vec<_>>()
        };
        let rows: Vec<usize> = (0..area.height).step_by(stride).collect();
        let samples = rows.into_par_iter().map(of_row).collect::<Vec<_>>().concat();
        if samples.is_empty() {
            return None;
        }
        let rises = [0, 1, 2].map(|c| {
            let mut list: Vec<f32> = samples.iter().map(|sample| sample[c]).collect();
            let [low, middle, high] = RANKS.map(|rank| {
                let k = (rank * (list.len() - 1) as f64) as usize;
                f64::from(*list.select_nth_unstable_by(k, f32::total_cmp).1)
            });
            ((high - middle) - (middle - low)).max(0.0)
        });
        let sum: f64 = rises.iter().sum();
        (sum > 0.0).then(|| rises.map(|rise| rise / sum))
    }
}
