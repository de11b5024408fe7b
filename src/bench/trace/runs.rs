//! Running maxima over square windows, the building block of closings and of the growth of dead pixels.
//!
//! The largest value in a run of any length takes three comparisons a pixel (van Herk 1992, Pattern Recognition Letters
//! 13, 517), and a square is a run of runs. Beyond the frame there is nothing, so that the frame makes no shade.

use rayon::prelude::*;

/// The largest value within so many pixels on either side, in rows and in columns, of an image of so many columns.
pub fn largest(values: &[u8], width: usize, half: usize) -> Vec<u8> {
    let height = values.len() / width.max(1);
    let rows = along_rows(values, width, half);
    transposed(&along_rows(&transposed(&rows, width), height, half), height)
}

/// The closing by a square of so many pixels on either side of its middle: what is dark and narrower than it is filled.
pub fn closed(values: &[u8], width: usize, half: usize) -> Vec<u8> {
    let mut image = largest(values, width, half);
    image.par_iter_mut().for_each(|value| *value = u8::MAX - *value);
    let mut image = largest(&image, width, half);
    image.par_iter_mut().for_each(|value| *value = u8::MAX - *value);
    image
}

fn along_rows(values: &[u8], width: usize, half: usize) -> Vec<u8> {
    let mut out = vec![0; values.len()];
    let rows = out.par_chunks_mut(width.max(1)).zip(values.par_chunks(width.max(1)));
    rows.for_each_init(<[Vec<u8>; 2]>::default, |scratch, (out, row)| largest_in_runs(row, half, scratch, out));
    out
}

fn largest_in_runs(row: &[u8], half: usize, [ahead, behind]: &mut [Vec<u8>; 2], out: &mut [u8]) {
    let length = 2 * half + 1;
    // padded by zeros on both sides so that every run is whole
    let count = (row.len() + 2 * half).div_ceil(length) * length;
    ahead.clear();
    ahead.resize(count, 0);
    ahead[half..half + row.len()].copy_from_slice(row);
    behind.clear();
    behind.extend_from_slice(ahead);
    for (ahead, behind) in ahead.chunks_mut(length).zip(behind.chunks_mut(length)) {
        for k in 1..length {
            ahead[k] = ahead[k].max(ahead[k - 1]);
            let from_end = length - 1 - k;
            behind[from_end] = behind[from_end].max(behind[from_end + 1]);
        }
    }
    for (k, out) in out.iter_mut().enumerate() {
        *out = behind[k].max(ahead[k + length - 1]);
    }
}

/// Rows as columns.
fn transposed(values: &[u8], width: usize) -> Vec<u8> {
    const TILE: usize = 32;
    let height = values.len() / width.max(1);
    let mut out = vec![0; values.len()];
    out.par_chunks_mut((TILE * height).max(1)).enumerate().for_each(|(tile, out)| {
        let first = tile * TILE;
        for row in 0..height {
            for (k, column) in (first..(first + TILE).min(width)).enumerate() {
                out[k * height + row] = values[row * width + column];
            }
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the definition, pixel by pixel.
    #[test]
    fn closings_are_those_of_the_definition() {
        let (width, height) = (71i64, 37i64);
        let mut state = 11u64;
        let values: Vec<u8> = (0..width * height)
            .map(|_| {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                (state >> 56) as u8
            })
            .collect();
        let slow = |values: &[u8], half: i64, largest: bool| -> Vec<u8> {
            let near = |k: i64| {
                let (column, row) = (k % width, k / width);
                let of = (0..width * height)
                    .filter(|other| (other % width - column).abs() <= half && (other / width - row).abs() <= half);
                let of = of.map(|other| values[other as usize]);
                if largest { of.max().unwrap() } else { of.min().unwrap() }
            };
            (0..width * height).map(near).collect()
        };
        for half in [0, 1, 3, 8, 40] {
            let expected = slow(&slow(&values, half, true), half, false);
            assert_eq!(closed(&values, width as usize, half as usize), expected, "{half}");
        }
        assert!(closed(&[], 0, 3).is_empty());
    }
}
