//! Pictures inside drawings: PNG, made from pixels and taken apart again.

use crate::base::{Error, Result};
use png::{ColorType, Decoder, Encoder, Transformations};

/// A picture as red, green, blue and opacity of each pixel, row by row from the top.
pub(super) struct Pixels {
    /// Columns and rows.
    pub size: [u32; 2],
    pub rgba: Vec<u8>,
}

fn no_picture(why: impl std::fmt::Display) -> Error {
    Error::failed(format!("a picture of a figure cannot be made: {why}"), "ask for fewer pixels per inch")
}

/// Pixels of one byte a colour as PNG.
///
/// # Errors
/// [`Error::Failed`] if they do not fill the size.
pub(super) fn encoded(size: [u32; 2], colours: ColorType, pixels: &[u8]) -> Result<Vec<u8>> {
    encoded_with(size, colours, pixels, None)
}

/// The same with a text under a keyword (a tEXt chunk).
pub(super) fn encoded_with<'t>(
    [columns, rows]: [u32; 2],
    colours: ColorType,
    pixels: &[u8],
    texts: impl IntoIterator<Item = (&'t str, &'t str)>,
) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, columns, rows);
    encoder.set_color(colours);
    for (keyword, text) in texts {
        encoder.add_text_chunk(keyword.to_owned(), text.to_owned()).map_err(no_picture)?;
    }
    let written = encoder.write_header().and_then(|mut writer| {
        writer.write_image_data(pixels)?;
        writer.finish()
    });
    written.map_err(no_picture)?;
    Ok(bytes)
}

/// The pixels of a PNG picture.
///
/// # Errors
/// [`Error::Failed`] if it is none.
pub(super) fn decoded(png: &[u8]) -> Result<Pixels> {
    let mut decoder = Decoder::new(std::io::Cursor::new(png));
    decoder.set_transformations(Transformations::normalize_to_color8() | Transformations::ALPHA);
    let mut reader = decoder.read_info().map_err(no_picture)?;
    let mut pixels = vec![0; reader.output_buffer_size().ok_or_else(|| no_picture("it is too large"))?];
    let found = reader.next_frame(&mut pixels).map_err(no_picture)?;
    pixels.truncate(found.buffer_size());
    let rgba = match found.color_type {
        ColorType::GrayscaleAlpha => pixels.chunks_exact(2).flat_map(|p| [p[0], p[0], p[0], p[1]]).collect(),
        _ => pixels,
    };
    Ok(Pixels { size: [found.width, found.height], rgba })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_goes_in_comes_out_with_an_opacity() {
        let clear = [10, 20, 30, 255, 0, 0, 0, 0];
        let found = decoded(&encoded([1, 2], ColorType::Rgba, &clear).unwrap()).unwrap();
        assert_eq!((found.size, found.rgba.as_slice()), ([1, 2], &clear[..]));
        let found = decoded(&encoded([2, 1], ColorType::Rgb, &[1, 2, 3, 4, 5, 6]).unwrap()).unwrap();
        assert_eq!((found.size, found.rgba.as_slice()), ([2, 1], &[1, 2, 3, 255, 4, 5, 6, 255][..]));
        let found = decoded(&encoded([1, 1], ColorType::Grayscale, &[7]).unwrap()).unwrap();
        assert_eq!(found.rgba, [7, 7, 7, 255]);
        assert!(encoded([2, 2], ColorType::Rgb, &[0; 3]).is_err() && decoded(b"no picture").is_err());
    }
}
