//! A file is written under a temporary name beside its place, then renamed.

use crate::{Error, Result};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

/// Start of the temporary names; their end is `.part`.
const PREFIX: &str = ".twinplate-";

/// Writes a file so that its place holds either all of the new content or what was there before.
///
/// The content goes to a temporary file in the same folder, is flushed to the disk and renamed. If `write` or the disk
/// fails, the temporary file is removed and an earlier file of that name stays as it was.
///
/// # Errors
/// [`Error::File`] if the folder cannot be written, a folder stands at `path`, or `write` fails.
///
/// ```
/// # fn main() -> twinplate::Result<()> {
/// # let folder = std::env::temp_dir();
/// use std::io::Write;
/// twinplate::output::write_whole(&folder.join("note.txt"), |w| writeln!(w, "20 mm of water"))?;
/// # Ok(()) }
/// ```
pub fn write_whole(path: &Path, write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>) -> Result<()> {
    let failed = |source| Error::File { action: "write", path: path.to_owned(), source };
    if path.is_dir() {
        let message = "a folder of that name stands there; move it away or choose another output folder";
        return Err(failed(io::Error::new(io::ErrorKind::IsADirectory, message)));
    }
    let temporary = temporary_file(folder_of(path)).map_err(failed)?;
    let (file, temporary) = temporary.into_parts();
    let mut writer = BufWriter::with_capacity(1 << 16, file);
    write(&mut writer).map_err(failed)?;
    let file = writer.into_inner().map_err(|e| failed(e.into_error()))?;
    file.sync_data().map_err(failed)?;
    drop(file);
    temporary.persist(path).map_err(|e| failed(e.error))
}

/// Whether a file can be created in a folder, found out by creating one and removing it.
pub(super) fn check_writable(folder: &Path) -> io::Result<()> {
    let mut file = temporary_file(folder)?;
    file.write_all(b"x")?;
    file.close()
}

fn temporary_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX).suffix(".part");
    // The default of a temporary file is to be readable by its owner alone; a result has the mode of any new file.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}
