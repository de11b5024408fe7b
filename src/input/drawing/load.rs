//! Outline files of bounded size, whole in memory.

use crate::base::error::Problems;
use crate::input::near::check_name;
use crate::input::plain::{self, Unread};
use std::path::Path;

/// The bytes of a file that has at most `most`.
///
/// # Errors
/// A file that is missing, a folder, not a plain file, larger, or cannot be read.
pub(super) fn bytes(file: &Path, most: u64) -> Result<Vec<u8>, Problems> {
    plain::bytes(file, most).map_err(|unread| problem(file, most, unread))
}

/// The text of a file that has at most `most` bytes.
///
/// # Errors
/// Those of [`bytes`], and a file that is not UTF-8.
pub(super) fn text(file: &Path, most: u64) -> Result<String, Problems> {
    plain::text(file, most).map_err(|unread| problem(file, most, unread))
}

fn problem(file: &Path, most: u64, unread: Unread) -> Problems {
    match unread {
        Unread::Folder => Problems::one(file, "the outline file is a folder", "name a file with an outline"),
        Unread::NotPlain => {
            Problems::one(file, "the outline file is not a plain file", "name a plain file with an outline")
        }
        Unread::Large => {
            let message = format!("the outline file has more than the {} MiB that are read", most >> 20);
            Problems::one(file, message, "thin the points out, or keep the outline only")
        }
        Unread::NotText(_, place) => {
            let message = format!("the outline file is not UTF-8 text: bad byte at {place}");
            Problems::one(file, message, "save it as plain text in UTF-8")
        }
        Unread::Failed(error) => {
            Problems::one(file, format!("cannot read the outline file: {error}"), check_name(file, &error))
        }
    }
}
