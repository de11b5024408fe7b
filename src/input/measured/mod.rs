//! What was measured on the bench: photographs, traced lines, tracks of particles.

mod lines;
mod photo;
mod tracks;

pub use lines::{LEAST_PLACES, Trace, Traces};
pub use photo::{Photo, SATURATED};
pub use tracks::{LEAST_POINTS, Track, Tracks};

use super::case::InputFile;
use super::columns::{Columns, Title};
use super::near::check_name;
use super::picture::{decode, is_picture};
use super::plain::{self, Unread};
use super::rows::rows;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use std::path::Path;

/// Largest file read, bytes.
const MOST_BYTES: u64 = 256 << 20;

/// What a file holds, told by its content.
#[derive(Debug, Clone)]
pub enum Measured {
    /// A picture, PNG or JPEG.
    Photo(Photo),
    /// A table of traced lines.
    Lines(Traces),
    /// A table of tracks: one with the columns `track` and `t`.
    Tracks(Tracks),
}

/// Reads a file of measurements; `cell` is length and width of the cell, m.
///
/// # Errors
/// Every mistake with its place.
pub fn read(file: &Path, cell: [f64; 2]) -> Result<(Measured, InputFile), Problems> {
    let bytes = plain::bytes(file, MOST_BYTES).map_err(|unread| unreadable(file, &unread))?;
    let input = InputFile { file: file.to_owned(), sha256: sha256(&bytes) };
    if is_picture(&bytes) {
        let picture = decode(&bytes, file)?;
        drop(bytes);
        let (width, height) = (picture.width, picture.height);
        let too_large = |error: crate::base::Error| Problems::one(file, error.what(), "scale the picture down");
        return Ok((Measured::Photo(Photo::new(width, height, picture.colours()).map_err(too_large)?), input));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        let message = format!("the file is neither a PNG or JPEG picture nor UTF-8 text: see byte {}", place + 1);
        Problems::one(file, message, "give a photograph as PNG or JPEG, or a table as CSV")
    })?;
    let measured = if is_of_tracks(&text) {
        Measured::Tracks(tracks::read(file, &text)?)
    } else {
        Measured::Lines(lines::read(file, &text, cell)?)
    };
    Ok((measured, input))
}

/// Whether the header of a table names the columns of tracks.
fn is_of_tracks(text: &str) -> bool {
    let mut columns = Columns::of(tracks::COLUMNS, Title::Others);
    let named = |fields: &[&str]| fields.iter().any(|field| field.to_lowercase().starts_with("track"));
    rows(text).take_while(|row| row.is_header).any(|row| named(&row.fields) || columns.header(&row.fields).is_ok())
}

fn unreadable(file: &Path, unread: &Unread) -> Problems {
    let (message, remedy) = match unread {
        Unread::Folder => ("this is a folder".to_owned(), "name the photograph or the table in it".to_owned()),
        Unread::NotPlain => ("this is no plain file".into(), "name a plain file".into()),
        Unread::Large => {
            (format!("the file is larger than {} MiB", MOST_BYTES >> 20), "thin it out, or scale it down".into())
        }
        Unread::NotText(..) => ("the file is no UTF-8 text".into(), "save it as UTF-8".into()),
        Unread::Failed(error) => (format!("the file cannot be read: {error}"), check_name(file, error)),
    };
    Problems::one(file, message, remedy)
}
