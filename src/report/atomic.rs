//! A file is written under a temporary name beside its place, then renamed.

use crate::base::{Error, Result};
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::Path;
use std::time::Duration;

/// Start and end of the temporary names.
const PREFIX: &str = ".twinplate-";
const SUFFIX: &str = ".part";

/// A part that nobody has written to for so long and that no process holds locked is left from a run that was killed.
const STALE: Duration = Duration::from_secs(60);

/// Writes a file so that its place holds either all of the new content or what was there before.
///
/// The content goes to a temporary file in the same folder, is flushed to the disk and renamed. If `write` or the disk
/// fails, the temporary file is removed and an earlier file of that name stays as it was. What runs that were killed a minute ago or
/// earlier have left half written in that folder is removed.
///
/// # Errors
/// [`Error::File`] if the folder cannot be written, a folder stands at `path`, or `write` fails.
///
/// ```
/// # fn main() -> twinplate::Result<()> {
/// # let folder = std::env::temp_dir();
/// use std::io::Write;
/// twinplate::report::write_whole(&folder.join("note.txt"), |w| writeln!(w, "20 mm of water"))?;
/// # Ok(()) }
/// ```
pub fn write_whole(path: &Path, write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>) -> Result<()> {
    let failed = |source| Error::File { action: "write", path: path.to_owned(), source };
    if path.is_dir() {
        let message = "a folder of that name stands there; move it away or choose another output folder";
        return Err(failed(io::Error::new(io::ErrorKind::IsADirectory, message)));
    }
    remove_stale(folder_of(path));
    let temporary = temporary_file(folder_of(path)).map_err(failed)?;
    let (file, temporary) = temporary.into_parts();
    let mut writer = BufWriter::with_capacity(1 << 16, file);
    write(&mut writer).map_err(failed)?;
    let file = writer.into_inner().map_err(|e| failed(e.into_error()))?;
    file.sync_data().map_err(failed)?;
    drop(file);
    temporary.persist(path).map_err(|e| failed(e.error))
}

/// Creates a folder and those it lies in, where they are not there yet.
///
/// # Errors
/// [`Error::File`] if it cannot be created.
pub fn create_folder(folder: &Path) -> Result<()> {
    let failed = |source| Error::File { action: "create folder", path: folder.to_owned(), source };
    std::fs::create_dir_all(folder).map_err(failed)
}

fn temporary_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX).suffix(SUFFIX);
    // The default of a temporary file is to be readable by its owner alone; a result has the mode of any new file.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let file = builder.tempfile_in(folder)?;
    // The lock ends with the process. Where there are none, nothing stale is removed.
    let _ = file.as_file().try_lock();
    Ok(file)
}

/// Removes temporary files of dead runs: old, and locked by nobody. What cannot be looked at or removed stays.
fn remove_stale(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let is_part = name.to_str().is_some_and(|name| name.starts_with(PREFIX) && name.ends_with(SUFFIX));
        let is_old = || {
            let about = entry.metadata().ok().filter(|about| about.is_file())?;
            Some(about.modified().ok()?.elapsed().ok()? > STALE)
        };
        if is_part && is_old() == Some(true) {
            let path = entry.path();
            if File::open(&path).is_ok_and(|file| file.try_lock().is_ok()) {
                let _ = std::fs::remove_file(&path);
            }
        }
    }
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use std::time::SystemTime;

    #[test]
    fn parts_of_dead_runs_are_removed_and_others_are_not() {
        let folder = tempfile::tempdir().unwrap();
        let made = |name: &str, age: u64| {
            let file = File::create(folder.path().join(name)).unwrap();
            file.set_modified(SystemTime::now() - Duration::from_secs(age)).unwrap();
            file
        };
        let (dead, young, foreign) = (".twinplate-dead00.part", ".twinplate-young0.part", "notes.part");
        made(dead, 90);
        made(young, 5);
        made(foreign, 9000);
        let at_work = temporary_file(folder.path()).unwrap();
        at_work.as_file().set_modified(SystemTime::now() - Duration::from_secs(90)).unwrap();
        write_whole(&folder.path().join("note.txt"), |w| write!(w, "20 mm")).unwrap();
        let there = |name: &str| folder.path().join(name).exists();
        assert!(!there(dead) && there(young) && there(foreign) && at_work.path().exists());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 4);
    }
}
