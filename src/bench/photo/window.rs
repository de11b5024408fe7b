//! Square windows of a photograph in one tone.

use super::pixel::Pixel;
use crate::input::measured::{Photo, SATURATED};

/// A part of a picture in one tone: the brightest of the three channels, in which dye of any colour is pale and black stays black.
#[derive(Debug, Clone)]
pub struct Window {
    /// Its first pixel: column and row.
    pub from: [isize; 2],
    /// Pixels from left to right.
    pub width: usize,
    /// Pixels from top to bottom.
    pub height: usize,
    /// Grey levels, row by row.
    pub light: Vec<f64>,
    /// Share of its pixels that are saturated in all channels.
    pub saturated: f64,
    /// Whether it ends at the picture's frame: left, top, right, bottom.
    pub frame: [bool; 4],
}

impl Window {
    /// The window about a pixel, with so many pixels on either side, of the picture's part of it.
    pub fn of(photo: &Photo, about: [isize; 2], reach: usize) -> Window {
        let [width, height] = photo.size();
        let reach = reach as isize;
        let range = |middle: isize, count: usize| {
            let count = count as isize;
            (middle - reach).clamp(0, count)..(middle + reach + 1).clamp(0, count)
        };
        let (columns, rows) = (range(about[0], width), range(about[1], height));
        let [across, down] = [&columns, &rows].map(|range| range.clone().count());
        let mut light = Vec::with_capacity(across * down);
        let mut saturated = 0;
        for row in rows.clone() {
            for column in columns.clone() {
                let channels = photo.at(column, row);
                light.push(f64::from(channels.into_iter().fold(0, u8::max)));
                saturated += usize::from(channels.iter().all(|&channel| channel > SATURATED));
            }
        }
        let frame = [columns.start == 0, rows.start == 0, columns.end == width as isize, rows.end == height as isize];
        let saturated = saturated as f64 / light.len().max(1) as f64;
        Window { from: [columns.start, rows.start], width: across, height: down, light, saturated, frame }
    }

    /// The picture's place of the middle of one of its pixels.
    pub fn place(&self, column: f64, row: f64) -> Pixel {
        [self.from[0] as f64 + column + 0.5, self.from[1] as f64 + row + 0.5]
    }
}
