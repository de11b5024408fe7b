//! Files of bounded size, whole in memory.

use super::stroke::only;
use crate::base::error::Problems;
use crate::input::near::check_name;
use std::io::Read;
use std::path::Path;

/// The bytes of a file that has at most `most`.
///
/// # Errors
/// A file that is missing, a folder, not a plain file, larger, or cannot be read (links are followed; a circle of them is an error).
pub(super) fn bytes(file: &Path, most: u64) -> Result<Vec<u8>, Problems> {
    let failed =
        |error: std::io::Error| only(file, format!("cannot read the outline file: {error}"), &check_name(file, &error));
    let about = std::fs::metadata(file).map_err(failed)?;
    if about.is_dir() {
        return Err(only(file, "the outline file is a folder", "name a file with an outline"));
    }
    // Reading a pipe or a device might never end.
    if !about.is_file() {
        return Err(only(file, "the outline file is not a plain file", "name a plain file with an outline"));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(file).and_then(|file| file.take(most + 1).read_to_end(&mut bytes)).map_err(failed)?;
    if bytes.len() as u64 > most {
        let message = format!("the outline file has more than the {} MiB that are read", most >> 20);
        return Err(only(file, message, "thin the points out, or keep the outline only"));
    }
    Ok(bytes)
}

/// The text of a file that has at most `most` bytes.
///
/// # Errors
/// Those of [`bytes`], and a file that is not UTF-8.
pub(super) fn text(file: &Path, most: u64) -> Result<String, Problems> {
    String::from_utf8(bytes(file, most)?).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        let message = format!("the outline file is not UTF-8 text: bad byte at {place}");
        only(file, message, "save it as plain text in UTF-8")
    })
}
