//! Plain files of bounded size, whole in memory.

use std::io::Read;
use std::path::Path;

/// Why a file was not read.
#[derive(Debug)]
pub(super) enum Unread {
    Folder,
    /// A pipe or a device: reading one might never end, and opening a pipe without a writer waits for one.
    NotPlain,
    Large,
    /// Bytes that are no UTF-8: what can be shown of them, and the place of the first bad one.
    NotText(String, usize),
    Failed(std::io::Error),
}

/// The bytes of a file that has at most so many (links are followed; a circle of them is an error).
pub(super) fn bytes(file: &Path, most: u64) -> Result<Vec<u8>, Unread> {
    let about = std::fs::metadata(file).map_err(Unread::Failed)?;
    if about.is_dir() {
        return Err(Unread::Folder);
    }
    if !about.is_file() {
        return Err(Unread::NotPlain);
    }
    let mut bytes = Vec::new();
    std::fs::File::open(file).and_then(|file| file.take(most + 1).read_to_end(&mut bytes)).map_err(Unread::Failed)?;
    if bytes.len() as u64 > most { Err(Unread::Large) } else { Ok(bytes) }
}

/// The text of a file that has at most so many bytes.
pub(super) fn text(file: &Path, most: u64) -> Result<String, Unread> {
    String::from_utf8(bytes(file, most)?).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        Unread::NotText(String::from_utf8_lossy(error.as_bytes()).into_owned(), place)
    })
}
