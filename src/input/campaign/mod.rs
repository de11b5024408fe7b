//! The plan of a campaign: a case, keys of it that are varied, what is measured of every run and what is kept.

mod key;
mod runs;
mod values;

pub use key::Key;
pub use runs::{Combine, MOST_RUNS, Runs};
pub use values::{Literal, MOST_VALUES};

use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, LARGEST_FILE, Reader, Table, read_text_of};
use crate::input::plain;
use std::path::{Path, PathBuf};
use toml::de::DeTable;
use toml_edit::DocumentMut;

/// What is done with every case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// The departure budget.
    Departure,
    /// The ideal pattern alone.
    Solve,
    /// The design sheet with the budget.
    Rig,
    /// The filling of the dry cell.
    Fill,
}

impl Work {
    /// As it is typed.
    pub const WORDS: [(&'static str, Work); 4] =
        [("departure", Work::Departure), ("solve", Work::Solve), ("rig", Work::Rig), ("fill", Work::Fill)];

    /// Its word.
    pub fn word(self) -> &'static str {
        Work::WORDS.iter().find(|(_, work)| *work == self).map_or("", |(word, _)| word)
    }
}

/// What is kept of a run beside its measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// The report.
    Report,
    /// The streaklines too.
    Lines,
    /// All files, in a folder for each run.
    All,
}

/// How fine the meshes of all runs shall be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeshWish {
    /// About so many triangles.
    pub triangles: Option<usize>,
    /// Wanted relative half-width of the bracket, in place of the case's.
    pub error: Option<f64>,
}

/// A case whose keys are varied.
#[derive(Debug, Clone)]
pub struct Base {
    /// Its file.
    pub file: PathBuf,
    document: DocumentMut,
}

impl Base {
    /// Reads a case and makes sure that it is one.
    ///
    /// # Errors
    /// [`Error::Input`] with every mistake found in it.
    pub fn read(file: &Path) -> Result<(Base, Case, Plan)> {
        let text = read_text_of(file).map_err(|problems| Error::Input(*problems))?;
        let (case, plan) = crate::input::read_text(&text, file)?;
        let document = text.parse().map_err(|error| {
            Error::Input(Problems::one(file, format!("not TOML: {error}"), "see the example of `twinplate start DIR`"))
        })?;
        Ok((Base { file: file.to_owned(), document }, case, plan))
    }

    /// The text of the case with other values under some keys.
    pub fn with<'v>(&self, values: impl IntoIterator<Item = (&'v Key, &'v Literal)>) -> String {
        let mut document = self.document.clone();
        values.into_iter().for_each(|(key, value)| key.put(&mut document, &value.value()));
        document.to_string()
    }

    /// The key under a path.
    ///
    /// # Errors
    /// [`Error::Usage`] if there is none, with the nearest.
    pub fn key(&self, path: &str) -> Result<Key> {
        Key::find(&self.document, path).map_err(|lost| Error::argument(lost.message, lost.remedy))
    }

    /// The value that the case has under a key, as it is written there.
    pub fn value(&self, key: &Key) -> Option<Literal> {
        key.value(&self.document).map(|value| {
            let mut value = value.clone();
            value.decor_mut().clear();
            let toml = value.to_string();
            Literal { shown: value.as_str().map_or_else(|| toml.clone(), str::to_owned), toml }
        })
    }
}

/// The plan of a campaign.
#[derive(Debug, Clone)]
pub struct Campaign {
    /// The plan's file.
    pub file: PathBuf,
    /// Its title.
    pub title: String,
    /// The case.
    pub base: Base,
    /// What is done with it.
    pub work: Work,
    /// The mesh.
    pub mesh: MeshWish,
    /// Its runs.
    pub runs: Runs,
    /// Rows of the report that are measured, by their paths as they were typed.
    pub measures: Vec<String>,
    /// What is kept of every run.
    pub keep: Keep,
    /// Hash over the plan, the case as it stands with its files, and the table of runs.
    pub sha256: String,
}

impl Campaign {
    /// Reads a plan with the case it names.
    ///
    /// # Errors
    /// [`Error::Input`] with every mistake found in the plan, or else in the case.
    pub fn read(file: &Path) -> Result<Campaign> {
        let text = plain::text(file, LARGEST_FILE).map_err(|unread| {
            let why = match unread {
                plain::Unread::Failed(error) => format!("the plan cannot be read: {error}"),
                _ => "this is no text file".to_owned(),
            };
            let remedy = "name a plan: `twinplate help campaign` shows one";
            Error::Input(Problems::one(file, why, remedy))
        })?;
        let (root, errors) = DeTable::parse_recoverable(&text);
        let mut reader = Reader::new(file);
        reader.problems.add_text(file, &text);
        for error in &errors {
            reader.fail(
                error.span(),
                format!("not TOML: {}", error.message()),
                "`twinplate help campaign` shows a plan",
            );
        }
        let campaign = if errors.is_empty() { plan(&mut reader, root.get_ref(), &text, file) } else { None };
        reader.problems.into_result()?;
        campaign.unwrap_or_else(|| Err(Error::failed("the plan names no case", "add case = \"..\"")))
    }

    /// The folder for its results where none is named: `results/STEM`.
    pub fn usual_dir(&self) -> PathBuf {
        Path::new("results").join(self.file.file_stem().unwrap_or_default())
    }

    /// The text of the case of a run.
    pub fn case_text(&self, run: usize) -> String {
        self.base.with(self.runs.keys.iter().zip(self.runs.of(run)))
    }
}

/// The plan; none if it has mistakes, and the mistakes of the case it names.
fn plan(reader: &mut Reader<'_>, entries: &DeTable<'_>, text: &str, file: &Path) -> Option<Result<Campaign>> {
    const KEYS: [&str; 10] =
        ["title", "case", "command", "triangles", "error", "measure", "keep", "combine", "list", "vary"];
    use crate::input::case::Limits;
    let root = reader.root("the plan", entries, &KEYS);
    let stem = file.file_stem().map_or_else(|| "campaign".into(), |stem| stem.to_string_lossy().into_owned());
    let title = reader.name(&root, "title").unwrap_or(stem);
    let work = reader.choice(&root, "command", &Work::WORDS).unwrap_or(Work::Departure);
    let keep = [("report", Keep::Report), ("lines", Keep::Lines), ("all", Keep::All)];
    let keep = reader.choice(&root, "keep", &keep).unwrap_or(Keep::Report);
    let combine = reader.choice(&root, "combine", &[("grid", Combine::Grid), ("zip", Combine::Zip)]);
    let triangles = reader.whole(&root, "triangles", 10, 400_000_000);
    let fraction = crate::base::units::Dimension::Fraction;
    let error = reader.optional_quantity(&root, "error", fraction, Limits::Between(0.0, 1.0));
    if let Some(place) = root.key_span("error").filter(|_| triangles.is_some()) {
        reader.fail(Some(place), "the plan has both \"triangles\" and \"error\"", "keep one of them");
    }
    let measures = measures(reader, &root);
    let case = reader.needed(&root, "case", "\"pier.toml\"")?;
    let path = reader.folder().join(reader.text(case, "case")?);
    let (base, case, _) = match Base::read(&path) {
        Ok(base) => base,
        Err(error) => return Some(Err(error)),
    };
    let (keys, values, combine, list) = match root.get("list") {
        Some(list) => {
            if let Some(place) = root.key_span("combine").or(root.key_span("vary")) {
                reader.fail(
                    Some(place),
                    "the plan has a list of runs beside this",
                    "keep one of them: the list has all values",
                );
                return None;
            }
            let name = reader.text(list, "list")?;
            let listed = match runs::listed(&reader.folder().join(name)) {
                Ok(listed) => listed,
                Err(problems) => {
                    reader.problems.merge(problems);
                    return None;
                }
            };
            let file = reader.folder().join(name);
            let mut keys = Vec::new();
            for (typed, place) in &listed.keys {
                match Key::find(&base.document, typed) {
                    Ok(key) => keys.push(key),
                    Err(lost) => {
                        reader.problems.add_text(&file, &listed.text);
                        reader.problems.add(&file, Some(place.clone()), lost.message, lost.remedy);
                    }
                }
            }
            (keys, listed.values, Combine::Zip, listed.sha256)
        }
        None => {
            let (keys, values) = varied(reader, &root, text, &base)?;
            (keys, values, combine.unwrap_or(Combine::Grid), String::new())
        }
    };
    if !reader.problems.is_empty() {
        return None;
    }
    let runs = match Runs::new(keys, values, combine) {
        Ok(runs) => runs,
        Err(why) => {
            reader.fail(root.key_span("vary").or(root.key_span("list")), why, "change the lists of values");
            return None;
        }
    };
    let parts = [sha256(text.as_bytes()), case.combined_sha256(), list, env!("CARGO_PKG_VERSION").to_owned()];
    let (file, sha256) = (file.to_owned(), sha256(parts.join("\n").as_bytes()));
    let mesh = MeshWish { triangles, error };
    Some(Ok(Campaign { file, title, base, work, mesh, runs, measures, keep, sha256 }))
}

/// The rows to measure.
fn measures(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<String> {
    let Some(value) = root.get("measure") else { return Vec::new() };
    let listed = match value.get_ref().as_array() {
        Some(list) => list.iter().collect(),
        None => vec![value],
    };
    listed.into_iter().filter_map(|value| reader.text(value, "measure").map(str::to_owned)).collect()
}

/// The varied keys in the order they stand in, with their values.
fn varied(reader: &mut Reader<'_>, root: &Table<'_>, text: &str, base: &Base) -> Option<(Vec<Key>, Vec<Vec<Literal>>)> {
    let vary = reader.needed(root, "vary", "{ \"cell.gap\" = [\"0.5 mm\", \"1 mm\"] }")?;
    let Some(table) = vary.get_ref().as_table().filter(|table| !table.is_empty()) else {
        reader.wrong_type(
            vary,
            "vary",
            "a table of keys with their values",
            "write [vary], then \"cell.gap\" = [\"0.5 mm\"]",
        );
        return None;
    };
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    let folder = base.file.parent().unwrap_or(Path::new("")).to_owned();
    let (mut keys, mut lists) = (Vec::new(), Vec::new());
    for (typed, value) in entries {
        let name: &str = typed.get_ref();
        match Key::find(&base.document, name) {
            Ok(key) if keys.iter().any(|other: &Key| other.path == key.path && other == &key) => {
                reader.fail(Some(typed.span()), format!("{name} is varied twice"), "keep one of them");
            }
            Ok(key) => keys.push(key),
            Err(lost) => {
                // [vary] with bare keys makes tables of them
                let bare = value.get_ref().as_table().is_some() && !name.contains(['.', '/']);
                let remedy =
                    if bare { format!("put the key in quotes: \"{name}.KEY\"; {}", lost.remedy) } else { lost.remedy };
                reader.fail(Some(typed.span()), lost.message, remedy);
            }
        }
        lists.extend(values::values(reader, text, name, value, &folder));
    }
    (keys.len() == lists.len()).then_some((keys, lists))
}
