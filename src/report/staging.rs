//! A folder within the output folder that holds the files of a run until all of them are there. It is also the lock: one run at a time.
//!
//! The record of the whole set is the last file that comes into it. A run that was killed before leaves the old set as it was; one that was
//! killed after has left all that is needed to put the new set in place, which the next run does first.

use super::atomic::write_whole;
use super::record::{RECORD, Record};
use crate::base::{Error, Result};
use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

const NAME: &str = ".twinplate-unfinished";
const LOCK: &str = "lock";

/// Times a lock is asked for again that another run has taken away just then.
const TRIES: usize = 100;

/// The place of files that are not in place yet, held by this run alone.
#[derive(Debug)]
pub(super) struct Staging {
    output: PathBuf,
    dir: PathBuf,
    /// Whether the record stands in it: then it must stay until all is in place.
    is_complete: bool,
    _lock: File,
}

/// What stands beside the set of an output folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unfinished {
    /// Nothing.
    Nothing,
    /// A run is writing.
    AtWork,
    /// A run was killed before its files were complete; the set is the one from before.
    Abandoned,
    /// A run was killed while its complete files were put in place.
    Complete,
}

impl Staging {
    /// Takes the output folder, puts in place what a killed run had completed and throws away what it had not.
    ///
    /// # Errors
    /// [`Error::Failed`] if another run holds it, [`Error::File`] if it cannot be written.
    pub fn begin(output: &Path) -> Result<Staging> {
        let dir = output.join(NAME);
        let lock = locked(output, &dir)?;
        let is_complete = dir.join(RECORD).is_file();
        let mut staging = Staging { output: output.to_owned(), is_complete, dir, _lock: lock };
        if is_complete {
            staging.put_in_place()?;
            staging.is_complete = false;
        }
        staging.clear()?;
        Ok(staging)
    }

    /// Where a file waits.
    pub fn place(&self, name: &str) -> PathBuf {
        self.dir.join(name)
    }

    /// Puts the set that a record tells of in place: the files that wait are moved, those that only the record before lists are removed,
    /// the record comes last. Returns the names removed, sorted.
    ///
    /// # Errors
    /// [`Error::File`] if a file cannot be written, moved or removed.
    pub fn publish(mut self, record: &Record) -> Result<Vec<String>> {
        let text = serde_json::to_string_pretty(record)
            .map_err(|e| Error::failed(format!("{RECORD} cannot be written: {e}"), "report this as a fault"))?;
        write_whole(&self.place(RECORD), |out| writeln!(out, "{text}"))?;
        self.is_complete = true;
        self.put_in_place()
    }

    /// Every step may be done again, so that a run that is killed here can be completed by another one.
    fn put_in_place(&self) -> Result<Vec<String>> {
        let (new, old) = (Record::of(&self.dir)?.unwrap_or_default(), Record::of(&self.output)?.unwrap_or_default());
        for file in &new.files {
            let (from, to) = (self.place(&file.name), self.output.join(&file.name));
            if from.is_file() {
                move_file(&from, &to)?;
            }
        }
        let names = |record: Record| record.runs().flat_map(|run| run.files).map(|file| file.name).collect();
        let (old, new): (BTreeSet<String>, BTreeSet<String>) = (names(old), names(new));
        let mut removed = Vec::new();
        for name in old.difference(&new).filter(|name| is_inside(name)) {
            let path = self.output.join(name);
            match std::fs::remove_file(&path) {
                Ok(()) => removed.push(name.clone()),
                Err(source) if source.kind() == io::ErrorKind::NotFound => {}
                Err(source) => return Err(Error::File { action: "remove", path, source }),
            }
            remove_empty(&self.output, name);
        }
        move_file(&self.place(RECORD), &self.output.join(RECORD))?;
        Ok(removed)
    }

    /// Removes all that waits, save the lock.
    fn clear(&self) -> Result<()> {
        let failed = |source| Error::File { action: "write into", path: self.dir.clone(), source };
        for entry in std::fs::read_dir(&self.dir).map_err(failed)?.flatten() {
            let path = entry.path();
            if entry.file_name() != LOCK {
                let removed = if path.is_dir() { std::fs::remove_dir_all(&path) } else { std::fs::remove_file(&path) };
                removed.map_err(|source| Error::File { action: "remove", path, source })?;
            }
        }
        Ok(())
    }
}

impl Drop for Staging {
    /// What waits is of no use without its record; with it, it stays for the next run if it could not be put in place.
    fn drop(&mut self) {
        if !self.is_complete || !self.place(RECORD).exists() {
            let _ = std::fs::remove_dir_all(&self.dir);
        }
    }
}

/// What stands beside the set of an output folder; looks only.
pub(super) fn unfinished(output: &Path) -> Unfinished {
    let dir = output.join(NAME);
    if !dir.is_dir() {
        return Unfinished::Nothing;
    }
    match File::open(dir.join(LOCK)).map(|lock| lock.try_lock_shared()) {
        Ok(Err(TryLockError::WouldBlock)) => Unfinished::AtWork,
        _ if dir.join(RECORD).is_file() => Unfinished::Complete,
        _ => Unfinished::Abandoned,
    }
}

/// Whether a name of a record stays within its folder.
pub(super) fn is_inside(name: &str) -> bool {
    use std::path::Component::Normal;
    !name.is_empty() && Path::new(name).components().all(|part| matches!(part, Normal(_)))
}

/// The lock on the folder of waiting files, which is made if needed. The system gives up the lock of a process that ends, however it does.
fn locked(output: &Path, dir: &Path) -> Result<File> {
    let path = dir.join(LOCK);
    let failed = |source| Error::File { action: "write into", path: output.to_owned(), source };
    for _ in 0..TRIES {
        std::fs::create_dir_all(dir).map_err(failed)?;
        let fresh = File::options().read(true).write(true).create_new(true).open(&path);
        let is_fresh = fresh.is_ok();
        let lock = match fresh {
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => File::options().read(true).write(true).open(&path),
            other => other,
        };
        let lock = match lock {
            // the run that held it has just removed it
            Err(e) if e.kind() == io::ErrorKind::NotFound => continue,
            other => other.map_err(failed)?,
        };
        match lock.try_lock() {
            Ok(()) if is_same(&lock, &path) => return Ok(lock),
            Ok(()) => {}
            // a file system without locks: who has made the file holds it
            Err(TryLockError::Error(_)) if is_fresh => return Ok(lock),
            Err(_) => return Err(held(output, dir)),
        }
    }
    Err(held(output, dir))
}

/// Whether an open file still stands at its path.
#[cfg(unix)]
fn is_same(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let number = |about: io::Result<std::fs::Metadata>| about.ok().map(|about| (about.dev(), about.ino()));
    number(file.metadata()).is_some() && number(file.metadata()) == number(std::fs::metadata(path))
}

/// Whether an open file still stands at its path: it cannot be removed while it is open.
#[cfg(not(unix))]
fn is_same(_: &File, path: &Path) -> bool {
    path.exists()
}

fn held(output: &Path, dir: &Path) -> Error {
    Error::failed(
        format!("another run is writing into {}", output.display()),
        format!("wait for it, or choose another folder; if there is no such run, delete {}", dir.display()),
    )
}

fn move_file(from: &Path, to: &Path) -> Result<()> {
    let failed = |source| Error::File { action: "write", path: to.to_owned(), source };
    if to.is_dir() {
        return Err(failed(io::Error::new(io::ErrorKind::IsADirectory, "a folder of that name stands there")));
    }
    if let Some(parent) = to.parent() {
        std::fs::create_dir_all(parent).map_err(failed)?;
    }
    std::fs::rename(from, to).map_err(failed)
}

/// Removes the subfolder of a removed file; one that holds anything else stays.
fn remove_empty(output: &Path, name: &str) {
    if let Some(parent) = Path::new(name).parent().filter(|parent| !parent.as_os_str().is_empty()) {
        let _ = std::fs::remove_dir(output.join(parent));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::hash::sha256;
    use crate::report::record::Written;
    use crate::report::verify;

    fn record(hash: &str, files: &[(&str, &str)]) -> Record {
        let files = files.iter().map(|(name, text)| Written { name: (*name).into(), sha256: sha256(text.as_bytes()) });
        Record { combined_sha256: hash.into(), files: files.collect(), ..Record::default() }
    }

    /// Writes files aside.
    fn staged(output: &Path, files: &[(&str, &str)]) -> Staging {
        let staging = Staging::begin(output).unwrap();
        for (name, text) in files {
            std::fs::create_dir_all(staging.place(name).parent().unwrap()).unwrap();
            std::fs::write(staging.place(name), text).unwrap();
        }
        staging
    }

    fn problems(output: &Path) -> String {
        verify(output).map_or_else(|error| error.to_string(), |_| String::new())
    }

    const OLD: [(&str, &str); 2] = [("a.vtu", "old a"), ("figures/c.svg", "old c")];
    const NEW: [(&str, &str); 2] = [("a.vtu", "new a"), ("b.vtu", "new b")];

    #[test]
    fn what_is_not_published_leaves_the_old_set() {
        let folder = tempfile::tempdir().unwrap();
        let output = folder.path();
        staged(output, &OLD).publish(&record("1", &OLD)).unwrap();
        assert_eq!(problems(output), "");
        let staging = staged(output, &NEW);
        assert_eq!(std::fs::read(output.join("a.vtu")).unwrap(), b"old a");
        assert!(problems(output).contains("a run is writing"));
        assert!(Staging::begin(output).unwrap_err().to_string().contains("another run is writing"));
        drop(staging);
        assert_eq!((problems(output), unfinished(output)), (String::new(), Unfinished::Nothing));
        // killed before it was complete: nobody holds the lock and there is no record
        std::fs::create_dir(output.join(NAME)).unwrap();
        std::fs::write(output.join(NAME).join("a.vtu"), "half").unwrap();
        assert_eq!((problems(output), unfinished(output)), (String::new(), Unfinished::Abandoned));
        assert!(!staged(output, &[]).place("a.vtu").exists());
    }

    /// Killed after one of the new files was moved and before the others were: all is there, and the next run puts it in place.
    #[test]
    fn a_complete_set_is_put_in_place_by_the_next_run() {
        let folder = tempfile::tempdir().unwrap();
        let output = folder.path();
        staged(output, &OLD).publish(&record("1", &OLD)).unwrap();
        let mut staging = staged(output, &NEW);
        let text = serde_json::to_string(&record("2", &NEW)).unwrap();
        std::fs::write(staging.place(RECORD), text).unwrap();
        std::fs::rename(staging.place("a.vtu"), output.join("a.vtu")).unwrap();
        staging.is_complete = true;
        drop(staging);
        assert_eq!(unfinished(output), Unfinished::Complete);
        assert!(problems(output).contains("old and new ones are mixed"));
        drop(Staging::begin(output).unwrap());
        assert_eq!((problems(output), unfinished(output)), (String::new(), Unfinished::Nothing));
        assert_eq!(Record::of(output).unwrap().unwrap(), record("2", &NEW));
        assert_eq!(std::fs::read(output.join("b.vtu")).unwrap(), b"new b");
        assert!(!output.join("figures").exists());
    }

    #[test]
    fn names_of_records_stay_inside() {
        assert!(is_inside("a.vtu") && is_inside("figures/a.svg"));
        for name in ["", "../a", "/a", "figures/../../a"] {
            assert!(!is_inside(name), "{name}");
        }
    }
}
