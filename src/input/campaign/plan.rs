//! Reading of a plan.

use super::base::Base;
use super::key::Key;
use super::runs::{self, Combine, Runs};
use super::seek::{self, Seek};
use super::values::{self, Literal};
use super::whole::{Campaign, Keep, MeshWish, Work};
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::units::Dimension;
use crate::base::{Error, Result};
use crate::input::case::{LARGEST_FILE, Limits, Reader, Table, Value};
use crate::input::near::nearest_name;
use crate::input::plain::{self, Unread};
use std::path::Path;
use toml::de::DeTable;

/// Where to look.
const EXAMPLE: &str = "`twinplate help campaign` shows a plan";
/// Keys of a plan of runs.
const RUNS: [&str; 10] =
    ["title", "case", "command", "triangles", "error", "measure", "keep", "combine", "list", "vary"];
/// Keys of a plan of a search.
const SEARCH: [&str; 6] = ["title", "case", "command", "triangles", "error", "seek"];

/// What a plan asks for.
#[derive(Debug, Clone)]
pub enum Planned {
    /// Runs that it tells one by one.
    Runs(Box<Campaign>),
    /// A search, whose runs follow from one another.
    Seek(Box<Seek>),
}

/// Reads a plan with the case it names.
///
/// # Errors
/// [`Error::Input`] with every mistake found in the plan, or else in the case.
pub fn read_plan(file: &Path) -> Result<Planned> {
    let text = plain::text(file, LARGEST_FILE).map_err(|unread| {
        let (why, near) = match unread {
            Unread::Failed(error) => {
                let near = nearest_name(file, true).filter(|_| error.kind() == std::io::ErrorKind::NotFound);
                let near = near.map(|name| format!("did you mean \"{}\"? ", file.with_file_name(name).display()));
                (format!("the plan cannot be read: {error}"), near.unwrap_or_default())
            }
            _ => ("this is no text file".to_owned(), String::new()),
        };
        Error::Input(Problems::one(file, why, format!("{near}{EXAMPLE}")))
    })?;
    let (root, errors) = DeTable::parse_recoverable(&text);
    let mut reader = Reader::new(file);
    reader.problems.add_text(file, &text);
    for error in &errors {
        reader.fail(error.span(), format!("not TOML: {}", error.message()), EXAMPLE);
    }
    let planned = if errors.is_empty() { plan(&mut reader, root.get_ref(), &text, file) } else { None };
    reader.problems.into_result()?;
    planned.unwrap_or_else(|| Err(Error::failed("the plan names no case", "add case = \"..\"")))
}

impl Campaign {
    /// Reads a plan of runs.
    ///
    /// # Errors
    /// As [`read_plan`]; [`Error::Usage`] if it is one of a search.
    pub fn read(file: &Path) -> Result<Campaign> {
        match read_plan(file)? {
            Planned::Runs(campaign) => Ok(*campaign),
            Planned::Seek(_) => {
                let what =
                    format!("{} is the plan of a search: each of its runs follows from those before", file.display());
                Err(Error::argument(what, "a search has no parts and no runs of its own"))
            }
        }
    }
}

/// The plan; none if it has mistakes, and the mistakes of the case it names.
fn plan(reader: &mut Reader<'_>, entries: &DeTable<'_>, text: &str, file: &Path) -> Option<Result<Planned>> {
    let is_search = entries.contains_key("seek");
    let keys: &[&str] = if is_search { &SEARCH } else { &RUNS };
    let root = reader.root("the plan", entries, keys);
    let stem = file.file_stem().map_or_else(|| "campaign".into(), |stem| stem.to_string_lossy().into_owned());
    let title = reader.name(&root, "title").unwrap_or(stem);
    let work = reader.choice(&root, "command", &Work::WORDS).unwrap_or(Work::Departure);
    let keep = [("report", Keep::Report), ("lines", Keep::Lines), ("all", Keep::All)];
    let keep = reader.choice(&root, "keep", &keep).unwrap_or(Keep::Report);
    let combine = reader.choice(&root, "combine", &[("grid", Combine::Grid), ("zip", Combine::Zip)]);
    let triangles = reader.whole(&root, "triangles", 10, 400_000_000);
    let between = Limits::Between(0.0, 1.0);
    let error = reader.optional_quantity(&root, "error", Dimension::Fraction, between);
    if let Some(place) = root.key_span("error").filter(|_| triangles.is_some()) {
        reader.fail(Some(place), "the plan has both \"triangles\" and \"error\"", "keep one of them");
    }
    if let Some(place) =
        root.get("keep").filter(|_| keep == Keep::Lines && !matches!(work, Work::Departure | Work::Solve))
    {
        let message = format!("{} finds no streaklines that could be kept", work.word());
        reader.fail(Some(place.span()), message, "write keep = \"report\" or \"all\"");
    }
    let case = reader.needed(&root, "case", "\"pier.toml\"")?;
    let path = reader.folder().join(reader.text(case, "case")?);
    let (base, case, _) = match Base::read(&path) {
        Ok(base) => base,
        Err(error) => return Some(Err(error)),
    };
    let hash = |list: &str| {
        let version = env!("CARGO_PKG_VERSION").to_owned();
        sha256([sha256(text.as_bytes()), case.combined_sha256(), list.to_owned(), version].join("\n").as_bytes())
    };
    let (file, plan, mesh) = (file.to_owned(), text.to_owned(), MeshWish { triangles, error });
    let campaign = |base: Base, runs: Runs, measures: Vec<String>, sha256: String| Campaign {
        file,
        text: plan,
        title,
        base,
        work,
        mesh,
        runs,
        measures,
        keep,
        sha256,
    };
    if is_search {
        let sought = seek::seek(reader, &root, &base)?;
        let campaign = campaign(base, Runs::none(), Vec::new(), hash(""));
        return Some(Ok(Planned::Seek(Box::new(sought.with(campaign)))));
    }
    let measures = measures(reader, &root);
    let (keys, values, combine, list) = match root.get("list") {
        Some(list) => {
            if let Some(place) = root.key_span("combine").or(root.key_span("vary")) {
                let remedy = "keep one of them: the list has all values";
                reader.fail(Some(place), "the plan has a list of runs beside this", remedy);
                return None;
            }
            let (keys, values, sha256) = from_list(reader, list, &base)?;
            (keys, values, Combine::Zip, sha256)
        }
        None => {
            let (keys, values) = varied(reader, &root, text, &base)?;
            (keys, values, combine.unwrap_or(Combine::Grid), String::new())
        }
    };
    if !reader.problems.is_empty() {
        return None;
    }
    match Runs::new(keys, values, combine) {
        Ok(runs) => Some(Ok(Planned::Runs(Box::new(campaign(base, runs, measures, hash(&list)))))),
        Err(why) => {
            reader.fail(root.key_span("vary").or(root.key_span("list")), why, "change the lists of values");
            None
        }
    }
}

/// Keys with their values, and the hash of the table, from a table of runs.
fn from_list(reader: &mut Reader<'_>, list: &Value<'_>, base: &Base) -> Option<(Vec<Key>, Vec<Vec<Literal>>, String)> {
    let file = reader.folder().join(reader.text(list, "list")?);
    let listed = match runs::listed(&file) {
        Ok(listed) => listed,
        Err(problems) => {
            reader.problems.merge(problems);
            return None;
        }
    };
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
    Some((keys, listed.values, listed.sha256))
}

/// The rows to measure.
fn measures(reader: &mut Reader<'_>, root: &Table<'_>) -> Vec<String> {
    let Some(value) = reader.needed(root, "measure", "[\"departure.total.speed.rms\"]") else { return Vec::new() };
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
