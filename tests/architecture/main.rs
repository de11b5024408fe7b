//! The rooms of `src` and what they import, as DEVELOPERS.md says.
//!
//! What counts as an import: every path of the code, in a `use` or anywhere else, is followed to the file that defines what it names.
//! Re-exports are seen through: `super::Plan` is an arrow to `plan.rs`, not to the `mod.rs` that hands it on. A path that ends at a
//! module is an arrow to that module's file. `mod` lines are no arrows, nor is a re-export unless the file uses the name itself;
//! so a `mod.rs` that declares and hands on imports nothing, and one with code of its own is a file like any other: if it calls a
//! child that uses the parent's items, the two are a circle. Comments, links in documentation and unit tests do not count, for a
//! test may look at anything.
//!
//! Modules of a room, files or folders with all they hold, are looked at in the same way.
//!
//! With `-- --nocapture` the lines of each room and the imports between rooms are printed.

mod graph;
mod source;
mod table;

use graph::{Arrow, Circle, Graph};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;
use table::Room;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file of a folder by its path from there, with its text.
fn files_of(folder: &str) -> BTreeMap<String, String> {
    fn walk(folder: &Path, prefix: &str, found: &mut BTreeMap<String, String>) {
        for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                walk(&entry.path(), &format!("{name}/"), found);
            } else if name.ends_with(".rs") {
                found.insert(name, std::fs::read_to_string(entry.path()).unwrap());
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(&root().join(folder), "", &mut found);
    found
}

/// The files of the library and the program; the Python module is a crate of its own.
fn sources() -> BTreeMap<String, String> {
    files_of("src").into_iter().filter(|(file, _)| !file.starts_with("python/")).collect()
}

fn graph() -> &'static Graph {
    static GRAPH: OnceLock<Graph> = OnceLock::new();
    GRAPH.get_or_init(|| Graph::of(&sources()))
}

fn developers() -> String {
    std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap()
}

fn rooms() -> Vec<Room> {
    table::rooms(&developers())
}

fn room_of(file: &str) -> &str {
    file.split('/').next().unwrap_or(file)
}

/// Arrows that no row of the table allows.
fn forbidden<'a>(graph: &'a Graph, rooms: &[Room]) -> Vec<&'a Arrow> {
    let allowed = |arrow: &Arrow| {
        let (from, to) = (room_of(&arrow.from), room_of(&arrow.to));
        from == to || rooms.iter().any(|room| room.name == from && room.imports.iter().any(|name| name == to))
    };
    // lib.rs hands on, main.rs runs: both stand above all rooms
    graph.arrows.iter().filter(|arrow| arrow.from.contains('/') && !allowed(arrow)).collect()
}

#[test]
fn the_table_names_the_rooms_in_order() {
    let (rooms, sources) = (rooms(), sources());
    let named: Vec<&str> = rooms.iter().map(|room| room.name.as_str()).collect();
    let mut there: Vec<&str> = sources.keys().filter(|file| file.contains('/')).map(|file| room_of(file)).collect();
    there.dedup();
    let mut sorted = named.clone();
    sorted.sort_unstable();
    assert_eq!(sorted, there, "rooms of DEVELOPERS.md, and folders of src");
    let loose: Vec<&String> = sources.keys().filter(|file| !file.contains('/')).collect();
    assert_eq!(loose, ["lib.rs", "main.rs"], "files of src in no room");
    for (k, room) in rooms.iter().enumerate() {
        for import in &room.imports {
            assert!(
                named[..k].contains(&import.as_str()),
                "DEVELOPERS.md: {} may import {import}, which is not above it",
                room.name
            );
        }
    }
}

/// A module of a room: a file, or a folder with all it holds.
fn module_of(file: &str) -> String {
    file.split('/').take(2).collect::<Vec<_>>().join("/").trim_end_matches(".rs").to_owned()
}

#[test]
fn the_picture_names_every_module_right_of_all_it_imports() {
    let (sources, picture) = (sources(), table::picture(&developers()));
    let mut drawn: Vec<&str> = picture.iter().map(|(room, _)| room.as_str()).collect();
    drawn.reverse();
    let rooms = rooms();
    assert_eq!(
        drawn,
        rooms.iter().map(|room| room.name.as_str()).collect::<Vec<_>>(),
        "rooms of the picture, from below"
    );
    let modules = graph().grouped(module_of);
    for (room, named) in picture {
        // a `mod.rs` that imports nothing of its room only declares
        let only_declares = |module: &str| {
            module == format!("{room}/mod") && !modules.arrows.iter().any(|a| a.from == module || a.to == module)
        };
        let mut there: Vec<String> =
            sources.keys().filter(|file| room_of(file) == room).map(|file| module_of(file)).collect();
        there.dedup();
        there.retain(|module| !only_declares(module));
        let mut sorted: Vec<String> = named.iter().map(|name| format!("{room}/{name}")).collect();
        sorted.sort_unstable();
        assert_eq!(sorted, there, "modules of {room} in the picture of DEVELOPERS.md, and in src");
        let place = |module: &str| named.iter().position(|name| module == format!("{room}/{name}"));
        let wrong: Vec<String> = modules
            .arrows
            .iter()
            .filter(|arrow| place(&arrow.from).zip(place(&arrow.to)).is_some_and(|(from, to)| from < to))
            .map(Arrow::to_string)
            .collect();
        assert!(
            wrong.is_empty(),
            "imports that run to the right in the picture of DEVELOPERS.md:\n{}",
            wrong.join("\n")
        );
    }
}

#[test]
fn no_import_runs_up() {
    let (graph, rooms) = (graph(), rooms());
    let found: Vec<String> = forbidden(graph, &rooms).into_iter().map(Arrow::to_string).collect();
    assert!(found.is_empty(), "imports that the table of rooms in DEVELOPERS.md does not allow:\n{}", found.join("\n"));
}

#[test]
fn every_import_the_table_allows_is_used() {
    for room in rooms() {
        for import in &room.imports {
            let used = graph().arrows.iter().any(|a| room_of(&a.from) == room.name && room_of(&a.to) == import);
            assert!(used, "DEVELOPERS.md: no file of {} imports {import} any more", room.name);
        }
    }
}

fn assert_no_circles(circles: &[Circle]) {
    let named: Vec<String> = circles
        .iter()
        .map(|circle| {
            let way: Vec<String> = circle.way.iter().map(Arrow::to_string).collect();
            format!("{} in a circle:\n  {}", circle.files.join(", "), way.join("\n  "))
        })
        .collect();
    assert!(named.is_empty(), "{} circles\n{}", named.len(), named.join("\n"));
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    assert_no_circles(&graph().circles());
}

/// Folders too: two of them may be in a circle though no two files are.
#[test]
fn no_modules_import_each_other_in_a_circle() {
    assert_no_circles(&graph().grouped(module_of).circles());
}

#[test]
fn sizes_and_imports_are_printed() {
    let (sources, rooms) = (sources(), rooms());
    eprint!("{:10} {:>6} {:>6}  imports from", "room", "files", "lines");
    rooms.iter().for_each(|room| eprint!(" {:>10}", room.name));
    eprintln!();
    for room in &rooms {
        let of_room = || sources.iter().filter(|(file, _)| room_of(file) == room.name);
        let lines: usize = of_room().map(|(_, text)| text.lines().count()).sum();
        eprint!("{:10} {:>6} {lines:>6}  {:12}", room.name, of_room().count(), "");
        for other in &rooms {
            let count =
                graph().arrows.iter().filter(|a| room_of(&a.from) == room.name && room_of(&a.to) == other.name).count();
            eprint!(" {:>10}", if count == 0 { ".".to_owned() } else { count.to_string() });
        }
        eprintln!();
    }
}

/// Calls that solve, follow lines or search a mesh: what `report` shows was found before.
const SOLVING: [&str; 14] = [
    "solve",
    "solve_pair",
    "solve_ideal",
    "solve_ideal_with_room",
    "solve_inertia",
    "solve_edge_layer",
    "solve_moved",
    "solve_circulation",
    "solve_ladder",
    "unconfined",
    "streaklines",
    "time_lines",
    "dye_bands",
    "budget",
];

/// Calls in a text, comments and unit tests apart: names that an opening bracket follows and no `fn` precedes.
fn calls(text: &str) -> Vec<(usize, String)> {
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    let lines = code.lines().enumerate().map(|(number, line)| (number, line.split("//").next().unwrap_or_default()));
    let of = |(number, line): (usize, &str)| {
        let mut found = Vec::new();
        for (at, _) in line.match_indices('(') {
            let name: String = line[..at].chars().rev().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            let name: String = name.chars().rev().collect();
            if !name.is_empty() && !line[..at - name.len()].trim_end().ends_with("fn") {
                found.push((number + 1, name));
            }
        }
        found
    };
    lines.flat_map(of).collect()
}

#[test]
fn nothing_is_solved_while_it_is_shown() {
    let mut found = Vec::new();
    for (file, text) in sources().iter().filter(|(file, _)| file.starts_with("report/") && !file.ends_with("/tests.rs"))
    {
        let own = calls(text).into_iter().filter(|(_, name)| SOLVING.contains(&name.as_str()));
        found.extend(own.map(|(line, name)| format!("src/{file}:{line} calls {name}")));
    }
    assert!(found.is_empty(), "a file that shows results computes them:\n{}", found.join("\n"));
    let text = "let x = solve_pair(space); // solve(\n\
fn solve(a: u8) {}";
    assert_eq!(calls(text), [(1, "solve_pair".to_owned())]);
}

/// A test that reads a clock fails on a slow machine: what must not grow is counted. In `src` a file's tests stand at its end.
#[test]
fn tests_measure_no_time() {
    let clock = ["Inst", "ant"].concat();
    let units =
        sources().into_iter().filter_map(|(name, text)| Some((name, text.split_once("#[cfg(test)]")?.1.to_owned())));
    let tests: BTreeMap<String, String> = units.chain(files_of("tests")).collect();
    assert!(tests.len() > 100, "{}", tests.len());
    let timed: Vec<&String> = tests.iter().filter(|(_, text)| text.contains(&clock)).map(|(name, _)| name).collect();
    assert_eq!(timed, [""; 0], "they read a clock");
}
