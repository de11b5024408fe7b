//! What a command prints at its end.

use super::common::Common;
use super::exit::Exit;
use super::say::{Shown, print};
use crate::base::Result;
use crate::base::row::{Detail, Section};
use crate::report::digest::{Digest, digest};

/// Prints what was found like [`tell`], for reading cut to the screen unless everything is wanted.
pub fn tell_briefly(common: &Common, reached: bool, sections: &[Section], of: Digest, last: &str) -> Result<Exit> {
    match common.shown() {
        Shown::Text(Detail::Main) => {
            let last = format!("{last}; --full prints all of it");
            tell(common, reached, &digest(sections, of), &last)
        }
        _ => tell(common, reached, sections, last),
    }
}

/// Prints what was found, as JSON or for reading with a last line, and returns the exit code.
pub fn tell(common: &Common, reached: bool, sections: &[Section], last: &str) -> Result<Exit> {
    print(sections, last, common.shown())?;
    Ok(Exit::reached(reached))
}
