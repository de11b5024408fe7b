//! `start`: a commented case to begin with.

use super::exit::Exit;
use super::say::{Shown, file_error, print, say};
use crate::base::Result;
use crate::base::row::{Row, Section, Value};
use crate::input::case::starter;
use crate::report::{create_folder, write_whole};
use crate::study::program;
use std::io::Write;
use std::path::Path;

/// Writes the starter case and its outline; refuses to replace a file.
pub fn start(dir: &Path, json: bool) -> Result<Exit> {
    create_folder(dir)?;
    for (name, _) in starter() {
        let path = dir.join(name);
        if path.symlink_metadata().is_ok() {
            let there =
                std::io::Error::new(std::io::ErrorKind::AlreadyExists, "it is there already; name another folder");
            return Err(file_error("write", &path, there));
        }
    }
    let (mut written, mut text) = (Vec::new(), String::new());
    for (name, content) in starter() {
        let path = dir.join(name);
        write_whole(&path, |out| out.write_all(content.as_bytes()))?;
        text += &format!("wrote {}\n", path.display());
        written.push(path.display().to_string());
    }
    let case = dir.join("case.toml");
    if json {
        let rows = vec![Row::script("case", case.display().to_string()), Row::script("files", Value::texts(written))];
        return print(&[program(), Section::new("", "", rows)], "", Shown::Json);
    }
    text += &format!("next: twinplate solve {} --inertia\n", case.display());
    say(&text)
}
