//! What goes to standard output.

use super::exit::Exit;
use crate::base::row::{Detail, Section};
use crate::base::{Error, Result};
use crate::report::json::json;
use crate::report::text::text;
use crate::report::wrap::paragraph;
use std::io::{IsTerminal, Write};
use std::path::Path;

/// What is printed of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// All of it, for scripts.
    Json,
    /// Nothing.
    Nothing,
    /// What is worth reading.
    Text(Detail),
}

/// Columns of a terminal that is not known.
const USUAL: usize = 80;
/// Fewest columns in which a table can be read.
const FEWEST: usize = 60;

/// Columns for reading: those of the terminal.
fn columns() -> usize {
    let known = terminal_size::terminal_size().filter(|_| std::io::stdout().is_terminal());
    known.map_or(USUAL, |(width, _)| usize::from(width.0)).max(FEWEST)
}

/// Prints sections as JSON, for reading with a last line, or not at all.
pub fn print(sections: &[Section], last: &str, shown: Shown) -> Result<Exit> {
    match shown {
        Shown::Json => say(&json(sections)?),
        Shown::Nothing => Ok(Exit::Done),
        Shown::Text(detail) => {
            let mut shown = text(sections, detail, columns()).trim_start_matches('\n').to_owned() + "\n";
            paragraph(&mut shown, "", 0, columns(), last);
            say(&shown)
        }
    }
}

/// Prints on standard output; a reader that has gone away is no error.
pub fn say(text: &str) -> Result<Exit> {
    say_bytes(text.as_bytes())
}

/// The same for bytes.
pub fn say_bytes(text: &[u8]) -> Result<Exit> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(file_error("write to", Path::new("standard output"), e))
        }
        _ => Ok(Exit::Done),
    }
}

/// A file that could not be read or written.
pub fn file_error(action: &'static str, path: &Path, source: std::io::Error) -> Error {
    Error::File { action, path: path.to_owned(), source }
}
