//! What JPEG compression loses: blocks of 8 by 8 of luma and chroma by the cosine transform, each coefficient rounded
//! to a multiple of its step in the tables of ITU-T T.81 (1992) annex K, scaled by quality 1 to 100 as the Independent
//! JPEG Group does. Chroma is kept at full resolution. At quality 100 every step is 1 and values change by 2 at most,
//! but for about one in a million.

use super::picture::Picture;
use rayon::prelude::*;
use std::f32::consts::PI;

const LUMA: [u16; 64] = [
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17, 22, 29, 51,
    87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78, 87, 103, 121, 120, 101,
    72, 92, 95, 98, 112, 100, 103, 99,
];
const CHROMA: [u16; 64] = [
    17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99, 24, 26, 56, 99, 99, 99, 99, 99, 47, 66, 99, 99, 99,
    99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
    99, 99, 99, 99, 99, 99,
];

type Block = [f32; 64];

fn steps(table: &[u16; 64], quality: u8) -> Block {
    let quality = i32::from(quality.clamp(1, 100));
    let scale = if quality < 50 { 5000 / quality } else { 200 - 2 * quality };
    table.map(|step| ((i32::from(step) * scale + 50) / 100).clamp(1, 255) as f32)
}

/// Rows are the cosines, orthonormal.
fn cosines() -> Block {
    std::array::from_fn(|i| {
        let (n, k) = ((i / 8) as f32, (i % 8) as f32);
        let size = if i < 8 { 0.125_f32.sqrt() } else { 0.5 };
        size * ((2.0 * k + 1.0) * n * PI / 16.0).cos()
    })
}

/// `c b cᵀ`, or back by `cᵀ b c`.
fn transformed(block: &Block, c: &Block) -> Block {
    let half: Block = std::array::from_fn(|i| (0..8).map(|k| c[i / 8 * 8 + k] * block[k * 8 + i % 8]).sum());
    std::array::from_fn(|i| (0..8).map(|k| half[i / 8 * 8 + k] * c[i % 8 * 8 + k]).sum())
}

/// The picture as it comes back from a file of a quality.
pub fn compressed(picture: &Picture, quality: u8) -> Picture {
    let (width, height) = (picture.width, picture.height);
    let there = cosines();
    let back: Block = std::array::from_fn(|i| there[i % 8 * 8 + i / 8]);
    let tables = [steps(&LUMA, quality), steps(&CHROMA, quality), steps(&CHROMA, quality)];
    let mut pixels = picture.pixels.clone();
    pixels.par_chunks_mut(8 * width).enumerate().for_each(|(band, rows)| {
        for left in (0..width).step_by(8) {
            // beyond the picture its last row and column go on
            let colours: [[f32; 3]; 64] = std::array::from_fn(|i| {
                let (x, y) = ((left + i % 8).min(width - 1), (8 * band + i / 8).min(height - 1));
                picture.pixels[y * width + x].map(f32::from)
            });
            let mut planes = [
                colours.map(|[r, g, b]| 0.299 * r + 0.587 * g + 0.114 * b - 128.0),
                colours.map(|[r, g, b]| -0.168_736 * r - 0.331_264 * g + 0.5 * b),
                colours.map(|[r, g, b]| 0.5 * r - 0.418_688 * g - 0.081_312 * b),
            ];
            for (plane, table) in planes.iter_mut().zip(&tables) {
                let mut levels = transformed(plane, &there);
                levels.iter_mut().zip(table).for_each(|(level, step)| *level = (*level / step).round() * step);
                *plane = transformed(&levels, &back);
            }
            let [luma, blue, red] = planes;
            for i in 0..64 {
                let (x, y) = (left + i % 8, i / 8);
                if x < width && y * width < rows.len() {
                    let (l, b, r) = (luma[i] + 128.0, blue[i], red[i]);
                    rows[y * width + x] = [l + 1.402 * r, l - 0.344_136 * b - 0.714_136 * r, l + 1.772 * b]
                        .map(|value| value.round().clamp(0.0, 255.0) as u8);
                }
            }
        }
    });
    Picture { width, height, pixels }
}
