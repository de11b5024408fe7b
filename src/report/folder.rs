//! The output folder: one case per folder, and nothing stale left in it.

use super::atomic::check_writable;
use super::vtk::Encoding;
use super::write_whole;
use crate::base::error::OtherCase;
use crate::base::{Error, Result};
use crate::input::case::Case;
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::{Component, Path, PathBuf};

/// The files of one kind of result: they are written together and grow stale together.
const FAMILIES: [&[&str]; 9] = [
    &["report.json", "report.txt"],
    &["mesh.vtu"],
    &["fields.vtu", "obstacles.vtp"],
    &["streaklines.vtp"],
    &["layers.vtu", "layer_streaklines.vtp"],
    &["departure.csv", "departure.pvd", "departure_*.vtu"],
    &["convergence.csv", "convergence.svg", "figures/convergence.?"],
    &["rig.json", "rig.txt", "figures/feasible.?", "figures/feasible_by_rms.?"],
    &[
        "report.html",
        "figures/streaklines.?",
        "figures/streaklines_by_speed.?",
        "figures/lines_evenly_spaced.?",
        "figures/pressure_coefficient.?",
        "figures/speed_ratio.?",
        "figures/layers.?",
        "figures/departure_edge_layer.?",
        "figures/departure_inertia.?",
        "figures/departure_gap.?",
        "figures/departure_confinement.?",
        "figures/departure_total.?",
        "figures/budget.?",
        "figures/sweep.?",
        "figures/circulation.?",
        "figures/mesh.?",
    ],
];

/// The folder that takes the results of one case.
#[derive(Debug)]
pub struct Folder {
    /// How its VTK files store their numbers.
    pub encoding: Encoding,
    dir: PathBuf,
    sha256: String,
    previous: Option<String>,
    written: BTreeSet<String>,
}

/// Which case an earlier `report.json` tells of.
struct Previous {
    title: String,
    file: String,
    sha256: String,
}

impl Folder {
    /// Opens the output folder of a case, creating it if needed.
    ///
    /// A folder whose `report.json` tells of another case (neither the same case file nor the same text) is refused
    /// unless `force` is set.
    ///
    /// # Errors
    /// [`Error::Folder`] if it holds another case's results; [`Error::File`] if it cannot be created, read or written.
    pub fn open(dir: &Path, case: &Case, force: bool) -> Result<Folder> {
        let created = if dir.exists() && !dir.is_dir() {
            Err(io::Error::new(io::ErrorKind::NotADirectory, "a file of that name stands there; choose another folder"))
        } else {
            std::fs::create_dir_all(dir)
        };
        created.map_err(|source| Error::File { action: "create folder", path: dir.to_owned(), source })?;
        check_writable(dir).map_err(|source| Error::File { action: "write into", path: dir.to_owned(), source })?;
        let previous = match previous_case(&dir.join("report.json"))? {
            Some(previous) => {
                let same = previous.sha256 == case.sha256 || same_file(Path::new(&previous.file), &case.file);
                if !same && !force {
                    return Err(foreign(dir, previous, case));
                }
                Some(previous.sha256)
            }
            None => None,
        };
        Ok(Folder {
            encoding: Encoding::Base64,
            dir: dir.to_owned(),
            sha256: case.sha256.clone(),
            previous,
            written: BTreeSet::new(),
        })
    }

    /// The folder itself.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The place of a file this run is about to write, given by its name in the folder; subfolders are created.
    ///
    /// # Errors
    /// [`Error::Usage`] if the name leads out of the folder, [`Error::File`] if a subfolder cannot be created.
    pub fn place(&mut self, name: &str) -> Result<PathBuf> {
        let inside = !name.is_empty() && Path::new(name).components().all(|c| matches!(c, Component::Normal(_)));
        if !inside {
            return Err(Error::argument(
                format!("the file name \"{name}\" does not stay inside the output folder"),
                "use a name without .. and without a leading /",
            ));
        }
        let path = self.dir.join(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(|source| Error::File {
                action: "create folder",
                path: parent.to_owned(),
                source,
            })?;
        }
        self.written.insert(name.to_owned());
        Ok(path)
    }

    /// Writes a file of the folder whole or not at all.
    ///
    /// # Errors
    /// As [`Folder::place`] and [`write_whole`].
    pub fn write(&mut self, name: &str, write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>) -> Result<()> {
        let path = self.place(name)?;
        write_whole(&path, write)
    }

    /// The names of the files this run has written, sorted.
    pub fn written(&self) -> impl Iterator<Item = &str> {
        self.written.iter().map(String::as_str)
    }

    /// Removes what earlier runs left and this one has made untrue; call it when all files are written.
    ///
    /// Only files that carry a name of this program's own are touched, and of these only the ones this run did not write:
    /// the same kind of result as one just written (say `departure_0009.vtu` of a longer sweep), and, when the text of the
    /// case has changed since the earlier report, every kind. Returns the names removed.
    ///
    /// # Errors
    /// [`Error::File`] if the folder cannot be listed or a stale file cannot be removed.
    pub fn finish(self) -> Result<Vec<String>> {
        let changed = self.previous.as_ref().is_some_and(|sha256| *sha256 != self.sha256);
        let failed = |action, path: &Path, source| Error::File { action, path: path.to_owned(), source };
        let mut removed = Vec::new();
        for name in self.names()? {
            let path = self.dir.join(&name);
            let Some(family) = FAMILIES.iter().find(|f| f.iter().any(|own| matches(own, &name))) else { continue };
            let renewed = self.written.iter().any(|w| family.iter().any(|own| matches(own, w)));
            if self.written.contains(&name) || !(renewed || changed) || path.is_dir() {
                continue;
            }
            std::fs::remove_file(&path).map_err(|e| failed("remove", &path, e))?;
            removed.push(name);
        }
        removed.sort();
        Ok(removed)
    }

    /// Names in the folder and in its folder of figures.
    fn names(&self) -> Result<Vec<String>> {
        let mut names = Vec::new();
        for (dir, before) in [(self.dir.clone(), ""), (self.dir.join("figures"), "figures/")] {
            let failed = |source| Error::File { action: "list", path: dir.clone(), source };
            if !dir.is_dir() {
                continue;
            }
            for entry in std::fs::read_dir(&dir).map_err(failed)? {
                let entry = entry.map_err(failed)?;
                names.extend(entry.file_name().into_string().ok().map(|name| format!("{before}{name}")));
            }
        }
        Ok(names)
    }
}

/// Whether a name is an own one; `*` stands for digits, `?` at the end for a format of figures.
fn matches(own: &str, name: &str) -> bool {
    if let Some(start) = own.strip_suffix('?') {
        return name.strip_prefix(start).is_some_and(|end| ["svg", "pdf", "png"].contains(&end));
    }
    match own.split_once('*') {
        None => own == name,
        Some((start, end)) => name
            .strip_prefix(start)
            .and_then(|rest| rest.strip_suffix(end))
            .is_some_and(|digits| !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())),
    }
}

/// The case an earlier report tells of; none if there is no report. A report that cannot be understood tells of no case
/// at all, hence of another one.
fn previous_case(report: &Path) -> Result<Option<Previous>> {
    let bytes = match std::fs::read(report) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(source) => return Err(Error::File { action: "read", path: report.to_owned(), source }),
    };
    let value: serde_json::Value = serde_json::from_slice(&bytes).unwrap_or_default();
    let text = |key: &str| value["case"][key].as_str().unwrap_or_default().to_owned();
    Ok(Some(Previous { title: text("title"), file: text("file"), sha256: text("sha256") }))
}

fn same_file(a: &Path, b: &Path) -> bool {
    if a.as_os_str().is_empty() {
        return false;
    }
    match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => a == b,
    }
}

fn foreign(dir: &Path, previous: Previous, case: &Case) -> Error {
    let there = (!previous.file.is_empty()).then_some((previous.title, previous.file));
    let (folder, title, file) = (dir.to_owned(), case.title.clone(), case.file.clone());
    Error::Folder(Box::new(OtherCase { folder, there, title, file }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_names_of_figures_end_in_a_format() {
        assert!(matches("figures/mesh.?", "figures/mesh.svg") && matches("figures/mesh.?", "figures/mesh.png"));
        assert!(!matches("figures/mesh.?", "figures/mesh.csv") && !matches("figures/mesh.?", "figures/my.mesh.svg"));
        assert!(matches("departure_*.vtu", "departure_0007.vtu") && !matches("departure_*.vtu", "departure_x.vtu"));
    }
}
