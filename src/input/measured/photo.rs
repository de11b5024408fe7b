//! A photograph in colour.

use crate::base::{Error, Point, Result};
use std::ops::Range;

/// Most pixels of a side: what a phone or a scanner makes, and far from overflow of any product.
const LONGEST: usize = 65_535;

/// Grey level of all three channels beyond which a pixel tells nothing: glare.
pub const SATURATED: u8 = 250;

/// A picture, upright, three channels of 0 to 255.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    width: usize,
    height: usize,
    values: Vec<[u8; 3]>,
}

impl Photo {
    /// A picture from its rows, top first, three channels a pixel.
    ///
    /// Errors: no pixels, a side beyond 65535, or not as many values as width times height.
    pub fn new(width: usize, height: usize, values: Vec<[u8; 3]>) -> Result<Photo> {
        if width == 0 || height == 0 || width > LONGEST || height > LONGEST {
            return Err(Error::argument(
                format!("a picture of {width} by {height} pixels; sides of 1 to {LONGEST} can be read"),
                "give a picture with pixels, scaled down if it is larger",
            ));
        }
        if values.len() != width * height {
            return Err(Error::argument(
                format!("{} values for a picture of {width} by {height} pixels", values.len()),
                "give one value of three channels for each pixel, row by row",
            ));
        }
        Ok(Photo { width, height, values })
    }

    /// Pixels from left to right and from top to bottom.
    pub fn size(&self) -> [usize; 2] {
        [self.width, self.height]
    }

    /// The three channels of a pixel; the nearest one of the frame beyond it.
    pub fn at(&self, column: isize, row: isize) -> [u8; 3] {
        let inside = |k: isize, count: usize| k.clamp(0, count as isize - 1) as usize;
        self.values[inside(row, self.height) * self.width + inside(column, self.width)]
    }

    /// The channels at a place, linear between the middles of pixels; none beyond the frame.
    pub fn between(&self, [u, v]: Point) -> Option<[u8; 3]> {
        if !(u >= 0.0 && v >= 0.0 && u <= self.width as f64 && v <= self.height as f64) {
            return None;
        }
        let (x, y) = (u - 0.5, v - 0.5);
        let [column, row] = [x, y].map(f64::floor);
        let [s, t] = [x - column, y - row];
        let at = |i: isize, j: isize| self.at(column as isize + i, row as isize + j).map(f64::from);
        let [a, b, c, d] = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
        let mix = |k: usize| (1.0 - t) * ((1.0 - s) * a[k] + s * b[k]) + t * ((1.0 - s) * c[k] + s * d[k]);
        Some([0, 1, 2].map(|k| mix(k).round() as u8))
    }

    /// Part of a row of pixels, cut at the frame.
    pub fn row(&self, row: usize, columns: Range<usize>) -> &[[u8; 3]] {
        let from = row.min(self.height - 1) * self.width;
        let end = columns.end.min(self.width);
        &self.values[from + columns.start.min(end)..from + end]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_are_linear_between_the_middles_of_pixels() {
        let photo = Photo::new(2, 2, vec![[0, 10, 20], [100, 10, 20], [0, 10, 60], [100, 10, 60]]).unwrap();
        assert_eq!(photo.between([0.5, 0.5]), Some([0, 10, 20]));
        assert_eq!(photo.between([1.0, 1.25]), Some([50, 10, 50]));
        // the frame goes on as its last pixel
        assert_eq!(photo.between([2.0, 0.0]), Some([100, 10, 20]));
        assert_eq!([photo.between([-0.1, 0.0]), photo.between([f64::NAN, 0.0])], [None; 2]);
        assert!(Photo::new(3, 2, vec![[0; 3]; 5]).is_err() && Photo::new(0, 2, vec![]).is_err());
    }
}
