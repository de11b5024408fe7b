//! The rooms of `src` and what they import, as DEVELOPERS.md says.
//!
//! What counts as an import: every path of the code, in a `use` or anywhere else, is followed to the file that defines what it names.
//! Re-exports are seen through: `super::Plan` is an arrow to `plan.rs`, not to the `mod.rs` that hands it on. A path that ends at a
//! module is an arrow to that module's file. `mod` lines are no arrows, nor is a re-export unless the file uses the name itself;
//! so a `mod.rs` that declares and hands on imports nothing, and one with code of its own is a file like any other: if it calls a
//! child that uses the parent's items, the two are a circle. Comments, links in documentation and unit tests do not count, for a
//! test may look at anything.
//!
//! With `-- --nocapture` the lines of each room and the imports between rooms are printed.

mod graph;
mod source;
mod table;

use graph::{Arrow, Graph};
use std::collections::BTreeMap;
use std::path::Path;
use table::Room;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file of `src` by its path from there, with its text.
fn sources() -> BTreeMap<String, String> {
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
    walk(&root().join("src"), "", &mut found);
    found
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

#[test]
fn the_table_names_the_modules_of_each_room() {
    let sources = sources();
    for room in rooms() {
        let prefix = format!("{}/", room.name);
        let mut there: Vec<&str> = sources
            .keys()
            .filter_map(|file| file.strip_prefix(&prefix))
            .map(|file| file.split('/').next().unwrap_or(file).trim_end_matches(".rs"))
            .filter(|name| *name != "mod")
            .collect();
        there.dedup();
        let mut named: Vec<&str> = room.modules.iter().map(String::as_str).collect();
        named.sort_unstable();
        assert_eq!(named, there, "modules of {} in DEVELOPERS.md, and in src", room.name);
    }
}

#[test]
fn no_import_runs_up() {
    let (graph, rooms) = (Graph::of(&sources()), rooms());
    let found: Vec<String> = forbidden(&graph, &rooms).into_iter().map(Arrow::to_string).collect();
    assert!(found.is_empty(), "imports that the table of rooms in DEVELOPERS.md does not allow:\n{}", found.join("\n"));
}

#[test]
fn every_import_the_table_allows_is_used() {
    let graph = Graph::of(&sources());
    for room in rooms() {
        for import in &room.imports {
            let used = graph.arrows.iter().any(|a| room_of(&a.from) == room.name && room_of(&a.to) == import);
            assert!(used, "DEVELOPERS.md: no file of {} imports {import} any more", room.name);
        }
    }
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let circles = Graph::of(&sources()).circles();
    let named: Vec<String> = circles
        .iter()
        .map(|circle| {
            let way: Vec<String> = circle.way.iter().map(Arrow::to_string).collect();
            format!("{} in a circle:\n  {}", circle.files.join(", "), way.join("\n  "))
        })
        .collect();
    assert!(named.is_empty(), "{} circles of files\n{}", named.len(), named.join("\n"));
}

#[test]
fn sizes_and_imports_are_printed() {
    let (sources, rooms) = (sources(), rooms());
    let graph = Graph::of(&sources);
    eprint!("{:10} {:>6} {:>6}  imports from", "room", "files", "lines");
    rooms.iter().for_each(|room| eprint!(" {:>10}", room.name));
    eprintln!();
    for room in &rooms {
        let of_room = || sources.iter().filter(|(file, _)| room_of(file) == room.name);
        let lines: usize = of_room().map(|(_, text)| text.lines().count()).sum();
        eprint!("{:10} {:>6} {lines:>6}  {:12}", room.name, of_room().count(), "");
        for other in &rooms {
            let count =
                graph.arrows.iter().filter(|a| room_of(&a.from) == room.name && room_of(&a.to) == other.name).count();
            eprint!(" {:>10}", if count == 0 { ".".to_owned() } else { count.to_string() });
        }
        eprintln!();
    }
}
