//! A finished picture and its file.

use std::io::{Error, Write};

/// Pixels from the upper left corner, row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Red, green, blue.
    pub pixels: Vec<[u8; 3]>,
}

impl Picture {
    /// As a PNG file.
    ///
    /// # Errors
    /// What writing it says.
    pub fn write_png(&self, to: impl Write) -> Result<(), Error> {
        let mut encoder = png::Encoder::new(to, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(self.pixels.as_flattened())?;
        Ok(writer.finish()?)
    }
}
