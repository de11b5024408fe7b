//! Pictures from files: decoded, upright, whatever their kind.

mod decode;
mod turn;

pub(super) use decode::{decode, is_picture};
#[cfg(test)]
pub(super) use turn::tests::exif;

/// An upright picture: samples of each pixel side by side, grey or red, green, blue, with opacity last if there is any.
pub(super) struct Picture {
    pub width: usize,
    pub height: usize,
    channels: usize,
    /// Two bytes a sample, the higher first, in place of one.
    deep: bool,
    bytes: Vec<u8>,
}

impl Picture {
    fn bytes_of_a_pixel(&self) -> usize {
        self.channels * if self.deep { 2 } else { 1 }
    }

    fn pixels(&self) -> impl Iterator<Item = &[u8]> {
        self.bytes.chunks_exact(self.bytes_of_a_pixel())
    }

    /// A sample of a pixel, 0 to 65535.
    fn sample(&self, pixel: &[u8], k: usize) -> u16 {
        match self.deep {
            true => u16::from_be_bytes([pixel[2 * k], pixel[2 * k + 1]]),
            false => 257 * u16::from(pixel[k]),
        }
    }

    fn is_coloured(&self) -> bool {
        self.channels > 2
    }

    /// Luminance as encoded (not linear in light), 0 to 65535, by Recommendation BT.709 for colours.
    pub fn grey(&self) -> Vec<u16> {
        let luminance = |pixel: &[u8]| {
            let [r, g, b] = [0, 1, 2].map(|k| u32::from(self.sample(pixel, k)));
            ((2126 * r + 7152 * g + 722 * b + 5000) / 10_000) as u16
        };
        self.pixels().map(|p| if self.is_coloured() { luminance(p) } else { self.sample(p, 0) }).collect()
    }

    /// Opacity, 0 to 65535, if the picture has any that is not full.
    pub fn opacity(&self) -> Option<Vec<u16>> {
        let of = || self.pixels().map(|pixel| self.sample(pixel, self.channels - 1)).collect::<Vec<u16>>();
        self.channels.is_multiple_of(2).then(of).filter(|opacity| opacity.iter().any(|o| *o < u16::MAX))
    }

    /// Red, green and blue, 0 to 255, those of grey pixels equal.
    pub fn colours(self) -> Vec<[u8; 3]> {
        let high = |pixel: &[u8], k: usize| if self.deep { pixel[2 * k] } else { pixel[k] };
        let channels = if self.is_coloured() { [0, 1, 2] } else { [0; 3] };
        self.pixels().map(|pixel| channels.map(|k| high(pixel, k))).collect()
    }
}
