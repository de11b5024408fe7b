//! Picture files of bounded size.

use crate::base::error::Problems;
use crate::input::drawing::{load, only};
use image::error::ImageError;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};
use std::io::Cursor;
use std::path::Path;

/// Largest file read, bytes.
const MAX_BYTES: u64 = 256 << 20;

/// Most pixels of a picture.
const MOST_PIXELS: u64 = 50_000_000;

/// Most memory the decoder may take for itself, bytes: 16 bits in each of four channels, and as much again.
const MOST_MEMORY: u64 = 16 * MOST_PIXELS;

/// A picture in grey, row by row from the top.
pub(super) struct Raster {
    pub width: usize,
    pub height: usize,
    /// Luminance as encoded (not linear in light), 0 to 65535, by Recommendation BT.709 for colours.
    pub grey: Vec<u16>,
    /// Opacity, 0 to 65535, if the picture has any that is not full.
    pub opacity: Option<Vec<u16>>,
}

/// Decodes a PNG or JPEG file, whatever its extension says; a photograph is turned as its camera notes.
///
/// # Errors
/// A file that cannot be read, is neither of the two, is broken or cut short, or has more pixels than are taken: found out from its
/// header, before any memory is used.
pub(super) fn decode(file: &Path) -> Result<Raster, Problems> {
    let bytes = load::bytes(file, MAX_BYTES)?;
    let format = match image::guess_format(&bytes) {
        Ok(format @ (ImageFormat::Png | ImageFormat::Jpeg)) => format,
        _ => return Err(only(file, "the picture is neither PNG nor JPEG inside", "save it as PNG")),
    };
    let broken = |error: ImageError| {
        only(file, format!("the picture cannot be decoded: {error}"), "open and save it again as 8-bit grey PNG")
    };
    // The decoder fills what is missing with grey and says nothing.
    if format == ImageFormat::Jpeg && !bytes.windows(2).any(|pair| pair == [0xff, 0xd9]) {
        let message = format!("the JPEG picture of {} bytes is cut short: its end mark is missing", bytes.len());
        return Err(only(file, message, "copy the file again"));
    }
    let mut reader = ImageReader::with_format(Cursor::new(&bytes), format);
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(broken)?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels > MOST_PIXELS {
        let message = format!("the picture has {width} x {height} pixels, more than the {MOST_PIXELS} that are taken");
        return Err(only(file, message, "scale it down: some 2000 pixels across are plenty"));
    }
    if pixels == 0 {
        return Err(only(file, format!("the picture has {width} x {height} pixels"), "save it again"));
    }
    let turned = decoder.orientation().map_err(broken)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(broken)?;
    picture.apply_orientation(turned);
    Ok(raster(picture))
}

fn raster(picture: DynamicImage) -> Raster {
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    if !picture.color().has_alpha() {
        return Raster { width, height, grey: picture.into_luma16().into_raw(), opacity: None };
    }
    let both = picture.into_luma_alpha16().into_raw();
    let grey = both.iter().step_by(2).copied().collect();
    let opacity: Vec<u16> = both.iter().skip(1).step_by(2).copied().collect();
    let is_clear = opacity.iter().any(|o| *o < u16::MAX);
    Raster { width, height, grey, opacity: is_clear.then_some(opacity) }
}
