//! Picture files of bounded size.

use super::raster::Raster;
use super::turn::{camera_turn, turned};
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::input::drawing::load;
use crate::input::drawing::stroke::only;
use png::{BitDepth, Transformations};
use std::io::Cursor;
use std::path::Path;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

/// Largest file read, bytes.
const MAX_BYTES: u64 = 256 << 20;

/// Most pixels of a picture.
const MOST_PIXELS: usize = 50_000_000;

/// Most memory the decoder may take for itself, bytes: 16 bits in each of four channels, and as much again.
const MOST_MEMORY: usize = 16 * MOST_PIXELS;

/// What a file holds: samples of each pixel side by side, grey or red, green, blue, with opacity last if there is any.
struct Samples {
    width: usize,
    height: usize,
    channels: usize,
    /// Two bytes a sample, the higher first, in place of one.
    deep: bool,
    bytes: Vec<u8>,
    exif: Option<Vec<u8>>,
}

/// Why a file gives no picture.
enum Refusal {
    /// It is broken, cut short, or of a kind that the decoder does not know.
    Broken(String),
    /// Its header promises so many pixels, none or too many.
    Size([usize; 2]),
}

/// Decodes a PNG or JPEG file, whatever its extension says; a photograph is turned as its camera notes. With the SHA-256 of its bytes.
///
/// # Errors
/// A file that cannot be read, is neither of the two, is broken or cut short, or has more pixels than are taken: found out from its
/// header, before any memory is used.
pub(super) fn decode(file: &Path) -> Result<(Raster, String), Problems> {
    let bytes = load::bytes(file, MAX_BYTES)?;
    let sha256 = sha256(&bytes);
    let samples = if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        png(&bytes)
    } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        // The decoder fills what is missing with grey and says nothing.
        if !bytes.windows(2).any(|pair| pair == [0xff, 0xd9]) {
            let message = format!("the JPEG picture of {} bytes is cut short: its end mark is missing", bytes.len());
            return Err(only(file, message, "copy the file again"));
        }
        jpeg(&bytes)
    } else {
        return Err(only(file, "the picture is neither PNG nor JPEG inside", "save it as PNG"));
    };
    let samples = samples.map_err(|refusal| match refusal {
        Refusal::Broken(why) => {
            only(file, format!("the picture cannot be decoded: {why}"), "open and save it again as 8-bit grey PNG")
        }
        Refusal::Size([width, height]) if width * height == 0 => {
            only(file, format!("the picture has {width} x {height} pixels"), "save it again")
        }
        Refusal::Size([width, height]) => {
            let message =
                format!("the picture has {width} x {height} pixels, more than the {MOST_PIXELS} that are taken");
            only(file, message, "scale it down: some 2000 pixels across are plenty")
        }
    })?;
    let turn = samples.exif.as_deref().and_then(camera_turn);
    let raster = raster(&samples);
    let raster = match turn {
        Some(turn) => turned(raster, turn),
        None => raster,
    };
    Ok((raster, sha256))
}

/// A number of pixels that is taken, none of them without a sample.
fn size(width: usize, height: usize) -> Result<(), Refusal> {
    if (1..=MOST_PIXELS).contains(&width.saturating_mul(height)) {
        return Ok(());
    }
    Err(Refusal::Size([width, height]))
}

fn png(bytes: &[u8]) -> Result<Samples, Refusal> {
    let broken = |error: png::DecodingError| Refusal::Broken(error.to_string());
    let mut decoder = png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: MOST_MEMORY });
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    // palettes become colours, few bits a whole byte, a transparent colour an opacity
    decoder.set_transformations(Transformations::EXPAND);
    let header = decoder.read_header_info().map_err(broken)?;
    let [width, height] = [header.width as usize, header.height as usize];
    size(width, height)?;
    let mut reader = decoder.read_info().map_err(broken)?;
    let length = reader.output_buffer_size().ok_or(Refusal::Size([width, height]))?;
    let mut samples = vec![0; length];
    let found = reader.next_frame(&mut samples).map_err(broken)?;
    samples.truncate(found.buffer_size());
    // what the camera notes may stand behind the pixels, which are whole in any case
    let _ = reader.finish();
    let exif = reader.info().exif_metadata.as_ref().map(|exif| exif.to_vec());
    let channels = found.color_type.samples();
    Ok(Samples { width, height, channels, deep: found.bit_depth == BitDepth::Sixteen, bytes: samples, exif })
}

fn jpeg(bytes: &[u8]) -> Result<Samples, Refusal> {
    let broken = |error: &dyn std::fmt::Debug| Refusal::Broken(format!("{error:?}"));
    let options = DecoderOptions::default().set_strict_mode(false).set_max_width(usize::MAX).set_max_height(usize::MAX);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(|e| broken(&e))?;
    let (width, height) = decoder.dimensions().unwrap_or_default();
    size(width, height)?;
    let (colours, channels) = match decoder.input_colorspace() {
        Some(ColorSpace::Luma) => (ColorSpace::Luma, 1),
        _ => (ColorSpace::RGB, 3),
    };
    decoder.set_options(options.jpeg_set_out_colorspace(colours));
    let samples = decoder.decode().map_err(|e| broken(&e))?;
    let exif = decoder.exif().cloned();
    Ok(Samples { width, height, channels, deep: false, bytes: samples, exif })
}

fn raster(samples: &Samples) -> Raster {
    let Samples { width, height, channels, deep, ref bytes, .. } = *samples;
    let sample = if deep { 2 } else { 1 };
    let at = |pixel: &[u8], k: usize| match deep {
        true => u16::from_be_bytes([pixel[2 * k], pixel[2 * k + 1]]),
        false => 257 * u16::from(pixel[k]),
    };
    let pixels = || bytes.chunks_exact(sample * channels);
    let luminance = |pixel: &[u8]| {
        let [r, g, b] = [0, 1, 2].map(|k| u32::from(at(pixel, k)));
        ((2126 * r + 7152 * g + 722 * b + 5000) / 10_000) as u16
    };
    let is_coloured = channels > 2;
    let grey = pixels().map(|pixel| if is_coloured { luminance(pixel) } else { at(pixel, 0) }).collect();
    let opacity = (channels % 2 == 0).then(|| pixels().map(|pixel| at(pixel, channels - 1)).collect::<Vec<u16>>());
    let opacity = opacity.filter(|opacity| opacity.iter().any(|o| *o < u16::MAX));
    Raster { width, height, grey, opacity }
}
