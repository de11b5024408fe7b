//! From a file to a case: reading, syntax, tables.

use super::gap::Bowing;
use super::reader::{Reader, Table};
use super::{
    Case, Cell, Drive, Fluid, FluidKind, cell, filling, obstacle, photo, rig, streaks, study, sweep, uncertainty,
};
use crate::base::error::{Problems, Result};
use crate::base::hash::sha256;
use crate::input::near::nearest_name;
use crate::input::plain::{self, Unread};
use std::io::ErrorKind;
use std::ops::Range;
use std::path::Path;
use toml::de::DeTable;

/// The largest case file read, bytes.
pub const LARGEST_FILE: u64 = 8 << 20;

/// Most syntax mistakes reported: after the first few the rest are their consequences.
const MOST_SYNTAX: usize = 20;

/// A case with the mistakes found in its file.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The case. Given with mistakes too as long as the cell could be read, so that the geometry can be checked in the same
    /// go: obstacles and probes with mistakes are then left out, and everything else that has a mistake holds a stand-in.
    pub case: Option<Case>,
    /// The mistakes.
    pub problems: Problems,
}

impl Loaded {
    /// The case if it has no mistake.
    ///
    /// # Errors
    /// [`Error::Input`](crate::base::Error::Input) with all mistakes.
    pub fn into_result(self) -> Result<Case> {
        self.problems.into_result()?;
        let remedy = "add a table [cell]";
        self.case.ok_or_else(|| crate::base::Error::failed("the case has no cell", remedy))
    }
}

/// Reads a case file and makes every check that needs no geometry and no mesh.
///
/// A file that is missing, a folder, not UTF-8 or larger than [`LARGEST_FILE`] is a mistake like any other.
pub fn load(path: &Path) -> Loaded {
    match read(path) {
        Ok(text) => parse(&text, path),
        Err(problems) => Loaded { case: None, problems: *problems },
    }
}

/// The text of a case file.
pub(crate) fn read(path: &Path) -> std::result::Result<String, Box<Problems>> {
    let mut problems = Problems::default();
    let other = other_than_a_case(path).filter(|_| path.is_file());
    let (span, message, remedy) = match (other, plain::text(path, LARGEST_FILE)) {
        (None, Ok(text)) => return Ok(text),
        (Some((what, remedy)), _) => (None, format!("this is {what}, not a case file"), remedy),
        (None, Err(unread)) => said(path, unread, &mut problems),
    };
    problems.add(path, span, message, remedy);
    Err(Box::new(problems))
}

/// Why a case file was not read, with its place and the remedy.
fn said(path: &Path, unread: Unread, problems: &mut Problems) -> (Option<Range<usize>>, String, String) {
    match unread {
        Unread::Folder => (None, "this is a folder, not a case file".into(), "name the case file in it".into()),
        Unread::NotPlain => (None, "this is no plain file".into(), "save the case in a file and name that".into()),
        Unread::Large => {
            let message = format!("the case file is larger than {} MiB", LARGEST_FILE >> 20);
            (None, message, "put long outlines into files of their own".into())
        }
        Unread::NotText(text, place) => {
            problems.add_text(path, &text);
            let message = format!("the case file is not UTF-8 text: see byte {}", place + 1);
            (Some(place..place + 1), message, "save it as UTF-8".into())
        }
        Unread::Failed(error) => {
            let near = nearest_name(path, true).filter(|_| error.kind() == ErrorKind::NotFound);
            let near = near.map(|name| format!("did you mean \"{}\"? ", path.with_file_name(name).display()));
            let remedy = "check the name; `twinplate start DIR` writes a case to begin with";
            (None, format!("the case file cannot be read: {error}"), near.unwrap_or_default() + remedy)
        }
    }
}

/// What a file is by its ending if that is none of a case, and what to write.
fn other_than_a_case(path: &Path) -> Option<(&'static str, String)> {
    let name = path.file_name()?.to_string_lossy();
    let ending = path.extension()?.to_string_lossy().to_lowercase();
    let start = "`twinplate start DIR` writes a case to begin with";
    let outline = || {
        format!(
            "name it in a case, under [[obstacle]]: outline = {{ file = \"{name}\", centre = [\"100 mm\", \"50 mm\"], width = \"30 mm\" }}"
        )
    };
    Some(match ending.as_str() {
        "svg" | "dxf" => ("a drawing", format!("{}; {start}", outline())),
        "png" | "jpg" | "jpeg" => ("a picture", format!("{}; {start}", outline())),
        "csv" | "dat" => (
            "a table of numbers",
            format!(
                "if it is an outline, {}; if it holds gaps, write gap = {{ table = \"{name}\" }} under [cell]; {start}",
                outline()
            ),
        ),
        "pdf" => ("a page", format!("save the drawing on it as SVG or DXF and name that in a case; {start}")),
        "json" | "vtu" | "vtp" | "pvd" | "html" => ("a result", format!("name the case it was made from; {start}")),
        _ => return None,
    })
}

/// Reads the text of a case file; `file` is the name that messages show and that outline files are relative to.
pub fn parse(text: &str, file: &Path) -> Loaded {
    let mut reader = Reader::new(file);
    reader.problems.add_text(file, text);
    let (root, errors) = DeTable::parse_recoverable(text);
    let only_repeated = errors.iter().all(|e| e.message() == "duplicate key");
    for error in errors.iter().take(MOST_SYNTAX) {
        let repeated = error.message() == "duplicate key";
        let message =
            if repeated { "this key is given twice".into() } else { format!("not TOML: {}", error.message()) };
        let remedy =
            if repeated { "remove one of the two" } else { "see the example written by `twinplate start DIR`" };
        reader.fail(error.span(), message, remedy);
    }
    if !only_repeated {
        return Loaded { case: None, problems: reader.problems };
    }
    let case = case(&mut reader, root.get_ref(), text, file);
    Loaded { case, problems: reader.problems }
}

pub(super) fn case<'d>(reader: &mut Reader<'_>, entries: &'d DeTable<'d>, text: &str, file: &Path) -> Option<Case> {
    const TABLES: [&str; 20] = [
        "title",
        "cell",
        "end",
        "fluid",
        "drive",
        "obstacle",
        "probe",
        "line",
        "mesh",
        "streaklines",
        "inertia",
        "tolerance",
        "departure",
        "sweep",
        "rig",
        "filling",
        "bubble",
        "photo",
        "compare",
        "uncertainty",
    ];
    let root: Table<'d> = reader.root("the case", entries, &TABLES);
    let stem = || file.file_stem().map_or("case".into(), |stem| stem.to_string_lossy().into_owned());
    let title = reader.name(&root, "title").unwrap_or_else(stem);
    let fluid = cell::fluid(reader, &root);
    let drive = cell::drive(reader, &root);
    let obstacles = obstacle::obstacles(reader, &root);
    let probes = study::probes(reader, &root);
    let lines = study::lines(reader, &root);
    let mesh = study::mesh(reader, &root);
    let inertia = study::inertia(reader, &root);
    let tolerance = study::tolerance(reader, &root);
    let edge_band = study::edge_band(reader, &root);
    let sweep = sweep::sweep(reader, &root, fluid.as_ref());
    let rig = rig::rig(reader, &root, fluid.as_ref());
    let filling = filling::filling(reader, &root, &rig);
    let bubbles = filling::bubbles(reader, &root);
    let has_obstacles = !reader.list(&root, "obstacle").is_empty();
    let bowing = Bowing { drive: &drive, fluid: fluid.as_ref(), rig: &rig, has_obstacles };
    let (cell, ends) = cell::cell(reader, &root, &bowing).unzip();
    let streaklines = streaks::streaklines(reader, &root, cell.as_ref());
    let known = cell.as_ref().filter(|cell| cell.shape.is_known());
    let photo = photo::photo(reader, &root, &rig, known.map(Cell::bounds));
    let compare = photo::compare(reader, &root);
    let uncertainty = uncertainty::uncertainty(reader, &root);
    let stand_in = || Fluid { name: "unknown".into(), density: 1000.0, viscosity: 1e-3, kind: FluidKind::Stated };
    Some(Case {
        title,
        file: file.to_owned(),
        text: text.to_owned(),
        sha256: sha256(text.as_bytes()),
        inputs: std::mem::take(&mut reader.inputs),
        cell: cell?,
        fluid: fluid.unwrap_or_else(stand_in),
        drive: Drive { ends: ends.flatten().unwrap_or(drive.ends), ..drive },
        obstacles,
        probes,
        lines,
        mesh,
        streaklines,
        inertia,
        tolerance,
        edge_band,
        sweep,
        rig,
        filling,
        bubbles,
        photo,
        compare,
        uncertainty,
    })
}
