//! Picture files of bounded size.

use super::Picture;
use super::turn::{camera_turn, turned};
use crate::base::error::Problems;
use png::{BitDepth, Transformations};
use std::io::Cursor;
use std::path::Path;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

/// Most pixels of a picture.
const MOST_PIXELS: usize = 50_000_000;

/// Most memory the decoder may take for itself, bytes: 16 bits in each of four channels, and as much again.
const MOST_MEMORY: usize = 16 * MOST_PIXELS;

/// A picture as stored, with what the camera notes.
type Stored = (Picture, Option<Vec<u8>>);

/// Why a file gives no picture.
enum Refusal {
    /// It is broken, cut short, or of a kind that the decoder does not know.
    Broken(String),
    /// Its header promises so many pixels, none or too many.
    Size([usize; 2]),
}

/// Whether bytes are those of a PNG or JPEG file.
pub fn is_picture(bytes: &[u8]) -> bool {
    is_png(bytes) || is_jpeg(bytes)
}

fn is_png(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\x89PNG\r\n\x1a\n")
}

fn is_jpeg(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xff, 0xd8, 0xff])
}

/// Decodes the bytes of a PNG or JPEG file, whatever its extension says; a photograph is turned as its camera notes.
///
/// # Errors
/// Bytes that are neither of the two, broken or cut short, or of more pixels than are taken: found out from their header, before any
/// memory is used.
pub fn decode(bytes: &[u8], file: &Path) -> Result<Picture, Problems> {
    let samples = if is_png(bytes) {
        png(bytes)
    } else if is_jpeg(bytes) {
        // The decoder fills what is missing with grey and says nothing.
        if !bytes.windows(2).any(|pair| pair == [0xff, 0xd9]) {
            let message = format!("the JPEG picture of {} bytes is cut short: its end mark is missing", bytes.len());
            return Err(Problems::one(file, message, "copy the file again"));
        }
        jpeg(bytes)
    } else {
        return Err(Problems::one(file, "the picture is neither PNG nor JPEG inside", "save it as PNG"));
    };
    let (stored, exif) = samples.map_err(|refusal| match refusal {
        Refusal::Broken(why) => Problems::one(
            file,
            format!("the picture cannot be decoded: {why}"),
            "open and save it again as 8-bit grey PNG",
        ),
        Refusal::Size([width, height]) if width * height == 0 => {
            Problems::one(file, format!("the picture has {width} x {height} pixels"), "save it again")
        }
        Refusal::Size([width, height]) => {
            let message =
                format!("the picture has {width} x {height} pixels, more than the {MOST_PIXELS} that are taken");
            Problems::one(file, message, "scale it down: some 2000 pixels across are plenty")
        }
    })?;
    Ok(match exif.as_deref().and_then(camera_turn) {
        Some(turn) => {
            let size = [stored.width, stored.height];
            let ([width, height], bytes) = turned(&stored.bytes, stored.bytes_of_a_pixel(), size, turn);
            Picture { width, height, bytes, ..stored }
        }
        None => stored,
    })
}

/// A number of pixels that is taken, none of them without a sample.
fn size(width: usize, height: usize) -> Result<(), Refusal> {
    if (1..=MOST_PIXELS).contains(&width.saturating_mul(height)) {
        return Ok(());
    }
    Err(Refusal::Size([width, height]))
}

fn png(bytes: &[u8]) -> Result<Stored, Refusal> {
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
    let deep = found.bit_depth == BitDepth::Sixteen;
    Ok((Picture { width, height, channels, deep, bytes: samples }, exif))
}

fn jpeg(bytes: &[u8]) -> Result<Stored, Refusal> {
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
    Ok((Picture { width, height, channels, deep: false, bytes: samples }, exif))
}
