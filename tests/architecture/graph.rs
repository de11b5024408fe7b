//! Which file imports which, and the circles among them.

use super::source::Source;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fmt;

/// One file imports another.
#[derive(Debug, Clone)]
pub struct Arrow {
    pub from: String,
    pub to: String,
    /// File and line of the first path that does, and the path.
    pub place: String,
    pub path: String,
}

impl fmt::Display for Arrow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "src/{} imports {} ({})", self.place, self.to, self.path)
    }
}

/// Files that import each other.
pub struct Circle {
    pub files: Vec<String>,
    /// One way round.
    pub way: Vec<Arrow>,
}

type Path = Vec<String>;

struct Module {
    file: String,
    source: Source,
}

pub struct Graph {
    pub arrows: Vec<Arrow>,
}

/// Where a path leads.
enum Target {
    Module(Path),
    /// An item, by the module that defines it.
    Item(Path),
}

struct Modules(BTreeMap<Path, Module>);

impl Graph {
    /// The arrows between files, given by their paths from `src`.
    pub fn of(sources: &BTreeMap<String, String>) -> Graph {
        let modules = Modules(
            sources
                .iter()
                .filter(|(file, _)| *file != "main.rs")
                .map(|(file, text)| (module_of(file), Module { file: file.clone(), source: Source::read(text) }))
                .collect(),
        );
        let mut arrows: BTreeMap<(String, String), Arrow> = BTreeMap::new();
        for (place, module) in &modules.0 {
            let mut add = |path: &[String], line: usize| {
                let Some(Target::Module(to) | Target::Item(to)) = modules.follow(place, path, 0) else { return };
                let Some(to) = modules.0.get(&to).filter(|to| to.file != module.file) else { return };
                let (from, to) = (module.file.clone(), to.file.clone());
                let place = format!("{from}:{line}");
                let arrow = Arrow { from: from.clone(), to: to.clone(), place, path: path.join("::") };
                arrows.entry((from, to)).or_insert(arrow);
            };
            for import in &module.source.imports {
                let uses_it = |name: &String| module.source.paths.keys().any(|path| path[0] == *name);
                if !import.is_public || import.name.as_ref().is_some_and(uses_it) {
                    add(&import.path, import.line);
                }
            }
            for (path, line) in module.source.paths.iter().filter(|(path, _)| path.len() > 1) {
                add(path, *line);
            }
        }
        Graph { arrows: arrows.into_values().collect() }
    }

    /// The same between groups of files; an arrow within a group is none.
    pub fn grouped(&self, group: impl Fn(&str) -> String) -> Graph {
        let mut arrows: BTreeMap<(String, String), Arrow> = BTreeMap::new();
        for arrow in &self.arrows {
            let (from, to) = (group(&arrow.from), group(&arrow.to));
            if from != to {
                let arrow = Arrow { from: from.clone(), to: to.clone(), ..arrow.clone() };
                arrows.entry((from, to)).or_insert(arrow);
            }
        }
        Graph { arrows: arrows.into_values().collect() }
    }

    /// The strongly connected components of more than one file: files from each of which every other one is reached.
    pub fn circles(&self) -> Vec<Circle> {
        let mut next: BTreeMap<&str, Vec<&Arrow>> = BTreeMap::new();
        for arrow in &self.arrows {
            next.entry(&arrow.from).or_default().push(arrow);
        }
        let reach: BTreeMap<&str, BTreeSet<&str>> =
            next.keys().map(|&file| (file, ways(&next, file, |_| true).into_keys().collect())).collect();
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut circles = Vec::new();
        for (&file, reached) in &reach {
            if seen.contains(file) || !reached.contains(file) {
                continue;
            }
            let files: BTreeSet<&str> = reached
                .iter()
                .copied()
                .filter(|other| reach.get(other).is_some_and(|back| back.contains(file)))
                .collect();
            seen.extend(&files);
            let arrived = ways(&next, file, |to| files.contains(to));
            let mut way: Vec<Arrow> = Vec::new();
            let mut at = file;
            while let Some(&arrow) = arrived.get(at) {
                way.push(arrow.clone());
                at = &arrow.from;
                if at == file {
                    break;
                }
            }
            way.reverse();
            circles.push(Circle { files: files.into_iter().map(str::to_owned).collect(), way });
        }
        circles
    }
}

/// For every file that can be reached from one, the arrow by which the shortest way arrives.
fn ways<'a>(
    next: &BTreeMap<&'a str, Vec<&'a Arrow>>,
    from: &'a str,
    goes: impl Fn(&str) -> bool,
) -> BTreeMap<&'a str, &'a Arrow> {
    let mut arrived = BTreeMap::new();
    let mut open = VecDeque::from([from]);
    while let Some(file) = open.pop_front() {
        for &arrow in next.get(file).into_iter().flatten() {
            if goes(&arrow.to) && !arrived.contains_key(arrow.to.as_str()) {
                arrived.insert(arrow.to.as_str(), arrow);
                open.push_back(&arrow.to);
            }
        }
    }
    arrived
}

/// The module that a file holds: of `a/b.rs` and of `a/b/mod.rs` it is a::b.
fn module_of(file: &str) -> Path {
    let stem = file.trim_end_matches(".rs").trim_end_matches("/mod");
    if stem == "lib" { Vec::new() } else { stem.split('/').map(str::to_owned).collect() }
}

impl Modules {
    /// Where a path leads that stands in a module; none if out of the crate or to something local.
    fn follow(&self, place: &Path, path: &[String], depth: usize) -> Option<Target> {
        let mut here = match path.first()?.as_str() {
            "crate" => Target::Module(Vec::new()),
            "self" => Target::Module(place.clone()),
            "super" => Target::Module(place.split_last()?.1.to_vec()),
            name => self.known(place, name, depth)?,
        };
        for name in &path[1..] {
            here = match here {
                Target::Module(module) if name == "super" => Target::Module(module.split_last()?.1.to_vec()),
                Target::Module(module) => self.known(&module, name, depth).unwrap_or(Target::Item(module)),
                Target::Item(module) => Target::Item(module),
            };
        }
        Some(here)
    }

    /// What a module knows under a name that it does not define itself, or defines as a module.
    fn known(&self, place: &Path, name: &str, depth: usize) -> Option<Target> {
        let source = &self.0.get(place)?.source;
        if depth > 20 {
            return None;
        }
        if source.children.contains(name) {
            return Some(Target::Module([place.as_slice(), &[name.to_owned()]].concat()));
        }
        if let Some(import) = source.imports.iter().find(|import| import.name.as_deref() == Some(name)) {
            return if import.path[0] == *name { None } else { self.follow(place, &import.path, depth + 1) };
        }
        source.imports.iter().filter(|import| import.name.is_none()).find_map(|import| {
            let Target::Module(module) = self.follow(place, &import.path, depth + 1)? else { return None };
            let defines = self.0.get(&module)?.source.items.contains(name);
            if defines { Some(Target::Item(module)) } else { self.known(&module, name, depth + 1) }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn graph(files: &[(&str, &str)]) -> Graph {
        Graph::of(&files.iter().map(|(file, text)| ((*file).to_owned(), (*text).to_owned())).collect())
    }

    fn arrows(graph: &Graph) -> Vec<String> {
        graph.arrows.iter().map(|arrow| format!("{} -> {}", arrow.from, arrow.to)).collect()
    }

    #[test]
    fn re_exports_are_seen_through() {
        let found = graph(&[
            ("lib.rs", "pub mod base; pub mod pier; pub use base::Point;"),
            ("base/mod.rs", "mod plane; mod words; pub use plane::Point; pub use words::*;"),
            ("base/plane.rs", "pub struct Point;"),
            ("base/words.rs", "pub fn say() {}"),
            ("pier/mod.rs", "mod a; mod b; pub use b::Moored; use crate::base;"),
            ("pier/a.rs", "use super::Moored; fn f() { crate::base::say(); }"),
            ("pier/b.rs", "pub struct Moored(crate::Point);"),
        ]);
        let expected = [
            "pier/a.rs -> base/words.rs",
            "pier/a.rs -> pier/b.rs",
            "pier/b.rs -> base/plane.rs",
            "pier/mod.rs -> base/mod.rs",
        ];
        assert_eq!(arrows(&found), expected);
        assert!(found.circles().is_empty());
    }

    #[test]
    fn a_circle_is_named_with_a_way_round() {
        let found = graph(&[
            ("lib.rs", "pub mod pier;"),
            ("pier/mod.rs", "mod keel; mod buoy; mod seal; use keel::Keel; pub struct Crane(Keel);"),
            ("pier/keel.rs", "use super::buoy; pub struct Keel; fn f() { buoy::bell() }"),
            ("pier/buoy.rs", "pub fn bell() { super::seal::bark() }"),
            ("pier/seal.rs", "pub fn bark(_: super::Crane) {} use super::buoy::bell as _;"),
        ]);
        let circles = found.circles();
        assert_eq!(circles.len(), 1);
        assert_eq!(circles[0].files, ["pier/buoy.rs", "pier/keel.rs", "pier/mod.rs", "pier/seal.rs"]);
        let way: Vec<String> = circles[0].way.iter().map(Arrow::to_string).collect();
        assert_eq!(
            way,
            [
                "src/pier/buoy.rs:1 imports pier/seal.rs (super::seal::bark)",
                "src/pier/seal.rs:1 imports pier/buoy.rs (super::buoy::bell)"
            ]
        );
    }
}
