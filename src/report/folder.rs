//! The output folder: one case per folder, and nothing stale left in it.

use super::csv::csv;
use super::origin::Origin;
use super::record::{Record, Run, Written};
use super::staging::{Staging, is_inside};
use super::vtk::Encoding;
use super::{create_folder, write_whole};
use crate::base::error::OtherCase;
use crate::base::hash::sha256_of;
use crate::base::row::{Detail, Kind, Row, Section};
use crate::base::{Error, Result};
use crate::input::campaign::Campaign;
use crate::input::case::Case;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The files of one kind of result: they are written together and grow stale together.
const FAMILIES: [&[&str]; 18] = [
    &["seek.csv", "seek.json", "figures/seek.?"],
    &["uncertainty.csv", "uncertainty.json", "figures/uncertainty.?"],
    &["campaign.csv", "campaign.json", "figures/campaign_%.?"],
    &["report.json", "report.txt"],
    &["mesh.vtu"],
    &["preview.svg"],
    &["fields.vtu", "obstacles.vtp", "profile_%.csv"],
    &["streaklines.vtp", "streaklines.csv", "timelines.vtp", "timelines.csv"],
    &["bubble_paths.vtp", "bubble_*.vtu"],
    &["closure.vtu"],
    &["layers.vtu", "layer_streaklines.vtp"],
    &["departure.csv", "departure.pvd", "departure_*.vtu"],
    &[
        "compare.csv",
        "compare.vtp",
        "tracks.csv",
        "marks.png",
        "rectified.png",
        "figures/overlay.?",
        "figures/shift_map.?",
        "figures/residual_along.?",
    ],
    &[
        "fill.pvd",
        "fill_*.vtu",
        "arrival.vtu",
        "front.vtp",
        "trapped.vtp",
        "figures/arrival.?",
        "figures/filling_strip.?",
    ],
    &["convergence.csv", "convergence.svg", "figures/convergence.?"],
    &["rig.json", "rig.txt", "figures/feasible.?", "figures/feasible_by_rms.?", "bench_card.svg", "bench_card.pdf"],
    // every command that has a page writes one of its own
    &["report.html"],
    &[
        "figures/streaklines.?",
        "figures/streaklines_by_speed.?",
        "figures/timelines.?",
        "figures/lines_evenly_spaced.?",
        "figures/pressure_coefficient.?",
        "figures/pressure.?",
        "figures/speed_ratio.?",
        "figures/profile_%.?",
        "figures/layers.?",
        "figures/departure_edge_layer.?",
        "figures/departure_inertia.?",
        "figures/departure_gap.?",
        "figures/departure_bubble.?",
        "figures/departure_confinement.?",
        "figures/departure_all_but_confinement.?",
        "figures/departure_total.?",
        "figures/budget.?",
        "figures/sweep.?",
        "figures/circulation.?",
        "figures/bubble_paths.?",
        "figures/bubble_frame_*.?",
        "figures/bubble.?",
        "figures/mesh.?",
    ],
];

/// What the results in a folder belong to.
#[derive(Debug, Clone)]
pub struct Owner {
    /// Its title.
    pub title: String,
    /// Its file.
    pub file: PathBuf,
    /// The hash over that file and all it reads.
    pub combined_sha256: String,
}

impl From<&Case> for Owner {
    fn from(case: &Case) -> Owner {
        Owner { title: case.title.clone(), file: case.file.clone(), combined_sha256: case.combined_sha256() }
    }
}

impl From<&Campaign> for Owner {
    fn from(campaign: &Campaign) -> Owner {
        let Campaign { title, file, sha256, .. } = campaign;
        Owner { title: title.clone(), file: file.clone(), combined_sha256: sha256.clone() }
    }
}

/// The folder that takes the results of one case, or of one campaign. It is held until [`Folder::finish`] has put the new files in place; without that the old
/// ones stay.
#[derive(Debug)]
pub struct Folder {
    /// How its VTK files store their numbers.
    pub encoding: Encoding,
    /// The command that fills it, as it stands in its record.
    pub command: String,
    dir: PathBuf,
    owner: Owner,
    settings: String,
    origin: Origin,
    previous: Option<Record>,
    written: BTreeSet<String>,
    staging: Staging,
}

/// What an output folder holds, seen from a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// No results.
    Free,
    /// Results of this case and these files.
    Same,
    /// Results of the same case file from before it or a file it reads was changed.
    Edited,
    /// Results of another case.
    Other,
}

/// What becomes of other results that stand in an output folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Others {
    /// They stay, and the folder is refused.
    Refused,
    /// They are replaced.
    Replaced,
}

impl Folder {
    /// Opens the output folder of a case or a campaign, creating it if needed, and holds it against other runs.
    ///
    /// A folder holds the results of one combined hash ([`Case::combined_sha256`]): one whose record (`results.json`, or an older
    /// `report.json`) names another hash is refused unless other results may be replaced.
    ///
    /// # Errors
    /// [`Error::Folder`] if it holds other results; [`Error::Failed`] if another run is writing into it; [`Error::File`] if it cannot be
    /// created, read or written.
    pub fn open(dir: &Path, owner: impl Into<Owner>, others: Others) -> Result<Folder> {
        let owner = owner.into();
        if dir.exists() && !dir.is_dir() {
            let there =
                io::Error::new(io::ErrorKind::NotADirectory, "a file of that name stands there; choose another folder");
            return Err(Error::File { action: "create folder", path: dir.to_owned(), source: there });
        }
        create_folder(dir)?;
        let staging = Staging::begin(dir)?;
        let (previous, origin) = (Record::of(dir)?, Origin::under(&owner.combined_sha256, ""));
        if let Some(previous) = &previous
            && previous.combined_sha256 != origin.combined_sha256
            && others == Others::Refused
        {
            return Err(foreign(dir, previous, &owner.title, &owner.file));
        }
        Ok(Folder {
            encoding: Encoding::Base64,
            command: "a program of its own".to_owned(),
            dir: dir.to_owned(),
            owner,
            settings: String::new(),
            origin,
            previous,
            written: BTreeSet::new(),
            staging,
        })
    }

    /// Names the settings that the results follow from beside the case, for the record and the hash in every file.
    pub fn set_settings(&mut self, settings: String) {
        self.origin = Origin::under(&self.owner.combined_sha256, &settings);
        self.settings = settings;
    }

    /// What every file of this run bears.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }

    /// The settings of this run, as its report has them; equal for runs with equal results.
    pub fn run_section(&self) -> Section {
        let rows = vec![
            Row::new("settings", "settings", self.settings.clone(), Kind::Number),
            Row::new("settings_sha256", "SHA-256 of the settings", self.origin.settings_sha256.clone(), Kind::Number),
        ];
        Section::new("run", "Run", rows).at(Detail::Full)
    }

    /// The same with the command line, for the page.
    pub fn run_and_command(&self) -> Section {
        let mut run = self.run_section();
        run.rows.push(Row::script("command", self.command.clone()));
        run
    }

    /// What a folder holds, seen from a case.
    ///
    /// # Errors
    /// [`Error::File`] if its record is there and cannot be read.
    pub fn standing(dir: &Path, case: &Case) -> Result<Standing> {
        Ok(match Record::of(dir)? {
            None => Standing::Free,
            Some(record) if record.combined_sha256 == case.combined_sha256() => Standing::Same,
            Some(record) if same_file(Path::new(&record.case), &case.file) => Standing::Edited,
            Some(_) => Standing::Other,
        })
    }

    /// Refuses a folder with results for what belongs to no case, such as the preview of a drawing.
    ///
    /// # Errors
    /// [`Error::Folder`] if it holds results; [`Error::File`] if its record is there and cannot be read.
    pub fn refuse_results(dir: &Path, title: &str, file: &Path) -> Result<()> {
        match Record::of(dir)? {
            None => Ok(()),
            Some(record) => Err(foreign(dir, &record, title, file)),
        }
    }

    /// The folder itself.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Where this run is to write a file, given by its name in the folder: aside, until [`Folder::finish`]; subfolders are created.
    ///
    /// # Errors
    /// [`Error::Usage`] if the name leads out of the folder, [`Error::File`] if a subfolder cannot be created.
    pub fn place(&mut self, name: &str) -> Result<PathBuf> {
        if !is_inside(name) {
            return Err(Error::argument(
                format!("the file name \"{name}\" does not stay inside the output folder"),
                "use a name without .. and without a leading /",
            ));
        }
        let path = self.staging.place(name);
        path.parent().map_or(Ok(()), create_folder)?;
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

    /// Writes a table as comma-separated values, the hashes of its origin in columns at its end.
    ///
    /// # Errors
    /// As [`Folder::write`].
    pub fn write_table(&mut self, name: &str, mut table: Section) -> Result<()> {
        for entry in &mut table.parts {
            entry.rows.extend(self.origin.known().map(|(name, hash)| Row::script(name.to_owned(), hash.to_owned())));
        }
        let text = csv(&table)?;
        self.write(name, |out| out.write_all(&text))
    }

    /// Writes a long table of numbers, a row for each list, the hashes of its origin in columns at its end.
    ///
    /// # Errors
    /// As [`Folder::write`].
    pub fn write_numbers(&mut self, name: &str, keys: &[&str], rows: impl Iterator<Item = Vec<f64>>) -> Result<()> {
        let (names, hashes): (Vec<String>, Vec<String>) =
            self.origin.known().map(|(name, hash)| (format!(",{name}"), format!(",{hash}"))).unzip();
        let (names, hashes) = (names.concat(), hashes.concat());
        self.write(name, |out| {
            writeln!(out, "{}{names}", keys.join(","))?;
            for row in rows {
                let numbers: Vec<String> = row.iter().map(f64::to_string).collect();
                writeln!(out, "{}{hashes}", numbers.join(","))?;
            }
            Ok(())
        })
    }

    /// The names of the files this run has written, sorted, with their sizes in bytes.
    pub fn written(&self) -> impl Iterator<Item = (&str, u64)> {
        let size = |name: &str| std::fs::metadata(self.staging.place(name)).map_or(0, |about| about.len());
        self.written.iter().map(move |name| (name.as_str(), size(name)))
    }

    /// Puts all files of this run in place, removes what earlier runs left and this one has made untrue, and writes the record
    /// `results.json` last; call it when all files are written. Returns the folder and the names removed.
    ///
    /// Only files that an earlier record lists are removed, and of these only the ones this run did not write: all of them if the
    /// combined hash was another, otherwise those of the same kind of result as one just written (say `departure_0009.vtu` of a longer
    /// sweep). What stays is listed under the command that wrote it.
    ///
    /// # Errors
    /// [`Error::File`] if a file cannot be read again, moved or removed, or the record cannot be written.
    pub fn finish(mut self) -> Result<(PathBuf, Vec<String>)> {
        let previous = self.previous.take().unwrap_or_default();
        let changed = previous.combined_sha256 != self.origin.combined_sha256;
        let stays = |name: &str| {
            let is_own = is_inside(name) && self.dir.join(name).is_file();
            is_own && !changed && !self.written.contains(name) && !self.is_renewed(name)
        };
        let earlier = previous.runs().map(|run| {
            let files = run.files.into_iter().filter(|file| stays(&file.name)).collect();
            Run { files, ..run }
        });
        let earlier = earlier.filter(|run| !run.files.is_empty()).collect();
        let names: Vec<&String> = self.written.iter().collect();
        let files: Result<Vec<Written>> = names.into_par_iter().map(|name| self.hashed(name)).collect();
        let record = Record {
            combined_sha256: self.origin.combined_sha256,
            command: self.command,
            settings: self.settings,
            title: self.owner.title,
            case: self.owner.file.display().to_string(),
            files: files?,
            earlier,
        };
        let removed = self.staging.publish(&record)?;
        Ok((self.dir, removed))
    }

    /// Whether this run wrote a file of the same kind of result.
    fn is_renewed(&self, name: &str) -> bool {
        let family = FAMILIES.iter().find(|family| family.iter().any(|own| matches(own, name)));
        family.is_some_and(|family| self.written.iter().any(|w| family.iter().any(|own| matches(own, w))))
    }

    fn hashed(&self, name: &str) -> Result<Written> {
        let path = self.staging.place(name);
        let read = File::open(&path).and_then(sha256_of);
        let sha256 = read.map_err(|source| Error::File { action: "read", path, source })?;
        Ok(Written { name: name.to_owned(), sha256 })
    }
}

/// Whether a name is an own one; `*` stands for digits, `%` for a name that the user gave, `?` at the end for a format of figures.
fn matches(own: &str, name: &str) -> bool {
    if let Some(start) = own.strip_suffix('?') {
        return ["svg", "pdf", "png"].iter().any(|end| name.strip_suffix(end).is_some_and(|name| matches(start, name)));
    }
    if let Some((start, end)) = own.split_once('%') {
        let given = name.strip_prefix(start).and_then(|rest| rest.strip_suffix(end));
        return given.is_some_and(|given| !given.is_empty() && !given.contains(['/', '.']));
    }
    match own.split_once('*') {
        None => own == name,
        Some((start, end)) => name
            .strip_prefix(start)
            .and_then(|rest| rest.strip_suffix(end))
            .is_some_and(|digits| !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())),
    }
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

fn foreign(dir: &Path, previous: &Record, title: &str, file: &Path) -> Error {
    let there = (!previous.case.is_empty()).then(|| (previous.title.clone(), previous.case.clone()));
    let edited = same_file(Path::new(&previous.case), file);
    let (folder, title, file) = (dir.to_owned(), title.to_owned(), file.to_owned());
    Error::Folder(Box::new(OtherCase { folder, there, edited, title, file }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_names_of_figures_end_in_a_format() {
        assert!(matches("figures/mesh.?", "figures/mesh.svg") && matches("figures/mesh.?", "figures/mesh.png"));
        assert!(!matches("figures/mesh.?", "figures/mesh.csv") && !matches("figures/mesh.?", "figures/my.mesh.svg"));
        assert!(
            matches("figures/profile_%.?", "figures/profile_weir.png") && matches("profile_%.csv", "profile_a_1.csv")
        );
        assert!(
            !matches("figures/profile_%.?", "figures/profile_.png") && !matches("profile_%.csv", "profile_a/b.csv")
        );
        assert!(matches("departure_*.vtu", "departure_0007.vtu") && !matches("departure_*.vtu", "departure_x.vtu"));
    }
}
