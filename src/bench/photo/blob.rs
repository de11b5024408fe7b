//! Connected dark parts of a window.

/// A connected part: its pixels by index, and the box about them.
#[derive(Debug, Clone)]
pub struct Blob {
    /// Indices of its pixels, row by row.
    pub pixels: Vec<usize>,
    /// First and last column.
    pub columns: [usize; 2],
    /// First and last row.
    pub rows: [usize; 2],
}

impl Blob {
    /// The longer side of the box about it, pixels.
    pub fn size(&self) -> f64 {
        let long = |[first, last]: [usize; 2]| last - first + 1;
        long(self.columns).max(long(self.rows)) as f64
    }

    /// Distance of its nearest pixel from a place of the window.
    pub fn distance(&self, width: usize, place: [f64; 2]) -> f64 {
        let apart = |&k: &usize| ((k % width) as f64 - place[0]).hypot((k / width) as f64 - place[1]);
        self.pixels.iter().map(apart).fold(f64::INFINITY, f64::min)
    }
}

/// All connected parts, corners counting as contact, in the order of their first pixels.
pub fn blobs(is_dark: &[bool], width: usize) -> Vec<Blob> {
    let mut left = is_dark.to_vec();
    let mut list = Vec::new();
    for first in 0..left.len() {
        if !left[first] {
            continue;
        }
        left[first] = false;
        let mut pixels = vec![first];
        let mut next = 0;
        while next < pixels.len() {
            let pixel = pixels[next];
            next += 1;
            for other in around(pixel, width, left.len()) {
                if left[other] {
                    left[other] = false;
                    pixels.push(other);
                }
            }
        }
        pixels.sort_unstable();
        let span = |of: fn(usize, usize) -> usize| {
            let all = pixels.iter().map(|&k| of(k, width));
            [all.clone().min().unwrap_or(0), all.max().unwrap_or(0)]
        };
        list.push(Blob { columns: span(|k, width| k % width), rows: span(|k, width| k / width), pixels });
    }
    list
}

/// The pixels of a part and those within so many steps of it.
pub fn dilated(blob: &Blob, width: usize, count: usize, steps: usize) -> Vec<usize> {
    let mut is_in = vec![false; count];
    blob.pixels.iter().for_each(|&k| is_in[k] = true);
    let mut all = blob.pixels.clone();
    let mut rim = all.clone();
    for _ in 0..steps {
        let mut outer = Vec::new();
        for pixel in rim {
            for other in around(pixel, width, count) {
                if !is_in[other] {
                    is_in[other] = true;
                    outer.push(other);
                }
            }
        }
        all.extend(&outer);
        rim = outer;
    }
    all.sort_unstable();
    all
}

/// The up to eight neighbours of a pixel.
fn around(pixel: usize, width: usize, count: usize) -> impl Iterator<Item = usize> {
    let (column, row, height) = (pixel % width, pixel / width, count / width);
    let rows = row.saturating_sub(1)..(row + 2).min(height);
    let columns = column.saturating_sub(1)..(column + 2).min(width);
    rows.flat_map(move |row| columns.clone().map(move |column| row * width + column)).filter(move |&k| k != pixel)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_touch_by_corners_and_grow_by_steps() {
        let picture = ["#..#.", ".#...", "...##", "....#"];
        let dark: Vec<bool> = picture.iter().flat_map(|row| row.bytes().map(|b| b == b'#')).collect();
        let parts = blobs(&dark, 5);
        let pixels: Vec<&[usize]> = parts.iter().map(|part| part.pixels.as_slice()).collect();
        assert_eq!(pixels, [&[0, 6][..], &[3], &[13, 14, 19]]);
        assert_eq!(parts[2].size(), 2.0);
        assert_eq!(parts[1].distance(5, [0.0, 4.0]), 5.0);
        assert_eq!(dilated(&parts[1], 5, 20, 1), [2, 3, 4, 7, 8, 9]);
        assert_eq!(dilated(&parts[1], 5, 20, 2), [1, 2, 3, 4, 6, 7, 8, 9, 11, 12, 13, 14]);
    }
}
