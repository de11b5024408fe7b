//! What a user can do about an error, in terms of the command line.

use super::args::Cli;
use crate::base::Error;
use crate::base::error::{MeshFault, Usage};
use clap::CommandFactory;
use std::io::ErrorKind;

/// The options that a command takes: no remedy names another one.
pub struct Options(Vec<String>);

impl Options {
    /// Those of a command.
    pub fn of(command: &str) -> Options {
        let cli = Cli::command();
        let found = cli.find_subcommand(command);
        let long = |c: &clap::Command| c.get_arguments().filter_map(|a| a.get_long().map(str::to_owned)).collect();
        Options(found.map(long).unwrap_or_default())
    }

    fn has(&self, option: &str) -> bool {
        self.0.iter().any(|known| known == option)
    }

    /// `, --option` where the command has it.
    fn also(&self, option: &str) -> String {
        if self.has(option) { format!(", --{option}") } else { String::new() }
    }
}

/// The remedy to print; none where the error itself says it all.
pub fn remedy(error: &Error, options: &Options) -> Option<String> {
    let own = match error {
        Error::Usage(usage) => of_usage(usage),
        Error::Folder(_) if options.has("force") => {
            Some("choose another folder with --output, or add --force to overwrite those results".to_owned())
        }
        Error::Folder(_) => Some("choose another folder with --output".to_owned()),
        Error::File { action, source, .. } if *action != "read" => of_disk(source.kind(), options),
        Error::Memory(memory) => {
            let ladder = if options.has("levels") { ", fewer --levels or smaller --sizes" } else { "" };
            Some(format!(
                "ask for at most {} triangles (mesh.max_triangles{}) or a larger error (mesh.error{}){ladder}",
                memory.most_rounded(),
                options.also("triangles"),
                options.also("error")
            ))
        }
        Error::NoConvergence(_) => Some(format!(
            "ask for a larger error (mesh.error{}) or another number of triangles (mesh.max_triangles{})",
            options.also("error"),
            options.also("triangles")
        )),
        Error::CutShort { solved, .. } => Some(format!("ask for at most --levels {solved}, the meshes solved so far")),
        Error::Mesh { fault: MeshFault::TooMany, remedy, .. } if options.has("triangles") => {
            Some(format!("{remedy}, or ask for a number with --triangles"))
        }
        _ => None,
    };
    own.or_else(|| error.remedy())
}

fn of_usage(usage: &Usage) -> Option<String> {
    Some(match usage {
        Usage::FewMeshes { .. } => "ask for --levels 4 or more, or list four --sizes".into(),
        Usage::FallingSizes { .. } => {
            "list numbers of triangles in ascending order, each about four times the one before, say \
            --sizes 2000,8000,32000,128000"
                .into()
        }
        Usage::EqualMeshes { made, .. } => format!("start --sizes at {made} triangles or more"),
        Usage::LargeLadder { chosen: true, .. } => {
            "ask for fewer --levels or smaller --sizes, or raise mesh.max_triangles in the case".into()
        }
        Usage::LargeLadder { chosen: false, file, .. } => format!(
            "ask for three meshes with --levels 3, or let mesh.max_edge be larger or raise mesh.max_triangles in {}",
            file.display()
        ),
        Usage::UnknownKey { .. } => {
            "join the keys of report.json by dots and name entries of lists, say drive.pressure_drop_pa or \
            probes.NAME.angle_deg; keys of corrections need --inertia, --edge-layer or --departure"
                .into()
        }
        Usage::NoSize { .. } => "give --width, --height or --unit".into(),
        Usage::NoCell { .. } => {
            "give a case file (.toml) in which the outline stands, or leave --photo-marks out".into()
        }
        Usage::FewPlaces { found: 4.., .. } => "give a smaller --photo-marks or --mark-size".into(),
        Usage::FewPlaces { .. } => "give a smaller --mark-size, or no marks by --photo-marks 0".into(),
        Usage::OtherPlan { .. } => {
            "collect the parts of one plan alone: choose another folder with --output, or add --force to throw these runs away"
                .into()
        }
        Usage::Argument { .. } => return None,
    })
}

/// What a disk may refuse.
fn of_disk(kind: ErrorKind, options: &Options) -> Option<String> {
    let elsewhere = if options.has("output") { " with --output" } else { "" };
    match kind {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            Some(format!("make room there, or choose another folder{elsewhere}"))
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            Some(format!("choose a folder that you may write into{elsewhere}"))
        }
        _ => Some(format!("check that the place exists and can be written to, or choose another folder{elsewhere}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::error::{Memory, NoConvergence, OtherCase, Problems};
    use crate::cli::Exit;
    use std::path::PathBuf;

    fn file(action: &'static str, kind: ErrorKind) -> Error {
        Error::File { action, path: PathBuf::from("there/fields.vtu"), source: kind.into() }
    }

    fn memory() -> Error {
        Error::Memory(Memory { triangles: 9_000_000, corrections: false, needed: 4e9, free: 1e9, most: 2_345_678 })
    }

    fn other_case() -> Error {
        let there = Some(("Pier".to_owned(), "pier.toml".to_owned()));
        let (folder, file) = (PathBuf::from("there"), PathBuf::from("seal.toml"));
        Error::Folder(Box::new(OtherCase { folder, there, edited: false, title: "Seal".into(), file }))
    }

    fn ladder(chosen: bool) -> Error {
        Usage::LargeLadder { what: "too large".into(), chosen, file: PathBuf::from("pier.toml") }.into()
    }

    fn few_places(found: usize) -> Error {
        Usage::FewPlaces { asked: 8, found, size: 7e-3, cell: [0.1, 0.06] }.into()
    }

    fn stuck() -> Error {
        Error::NoConvergence(NoConvergence { wanted: 1e-9, left: 1e-3, iterations: 300 })
    }

    fn mesh(fault: MeshFault) -> Error {
        Error::mesh(fault, "too fine", "thin it out")
    }

    fn cut_short() -> Error {
        Error::CutShort { solved: 3, cause: Box::new(memory()) }
    }

    /// Every kind of error: the command, the exit code, and what the remedy says.
    fn table() -> Vec<(Error, &'static str, Exit, &'static str)> {
        use MeshFault::{Broken, Outlines, TooMany};
        vec![
            (Error::Input(Problems::default()), "solve", Exit::Case, ""),
            (
                Usage::FewMeshes { meshes: 2, least: 3 }.into(),
                "converge",
                Exit::CommandLine,
                "--levels 4 or more, or list four --sizes",
            ),
            (Usage::FallingSizes { before: 9, after: 4 }.into(), "converge", Exit::CommandLine, "ascending order"),
            (
                Usage::EqualMeshes { asked: 500, made: 1234 }.into(),
                "converge",
                Exit::CommandLine,
                "start --sizes at 1234",
            ),
            (ladder(true), "converge", Exit::CommandLine, "fewer --levels or smaller --sizes"),
            (
                ladder(false),
                "converge",
                Exit::Case,
                "--levels 3, or let mesh.max_edge be larger or raise mesh.max_triangles in pier.toml",
            ),
            (cut_short(), "converge", Exit::CommandLine, "at most --levels 3"),
            (
                Usage::UnknownKey { key: "drive.x".into() }.into(),
                "converge",
                Exit::CommandLine,
                "need --inertia, --edge-layer or --departure",
            ),
            (
                Usage::NoSize { outline: "seal".into() }.into(),
                "outline",
                Exit::CommandLine,
                "give --width, --height or --unit",
            ),
            (
                Usage::NoCell { outline: "seal".into() }.into(),
                "outline",
                Exit::CommandLine,
                "give a case file (.toml) in which the outline stands, or leave --photo-marks",
            ),
            (few_places(6), "outline", Exit::CommandLine, "a smaller --photo-marks or --mark-size"),
            (few_places(2), "outline", Exit::CommandLine, "a smaller --mark-size, or no marks by --photo-marks 0"),
            (Error::argument("none", "give one"), "solve", Exit::CommandLine, "give one"),
            (other_case(), "solve", Exit::CommandLine, "another folder with --output, or add --force"),
            (other_case(), "outline", Exit::CommandLine, "choose another folder with --output"),
            (file("read", ErrorKind::PermissionDenied), "solve", Exit::Failed, ""),
            (file("write", ErrorKind::IsADirectory), "solve", Exit::Failed, "check that the place exists"),
            (
                file("write", ErrorKind::StorageFull),
                "solve",
                Exit::Failed,
                "make room there, or choose another folder with --output",
            ),
            (
                file("create", ErrorKind::PermissionDenied),
                "start",
                Exit::Failed,
                "choose a folder that you may write into",
            ),
            (
                memory(),
                "solve",
                Exit::Failed,
                "at most 2300000 triangles (mesh.max_triangles, --triangles) or a larger error (mesh.error, --error)",
            ),
            (memory(), "mesh", Exit::Failed, "(mesh.max_triangles, --triangles) or a larger error (mesh.error)"),
            (
                memory(),
                "departure",
                Exit::Failed,
                "(mesh.max_triangles, --triangles) or a larger error (mesh.error, --error)",
            ),
            (memory(), "converge", Exit::Failed, "(mesh.error), fewer --levels or smaller --sizes"),
            (
                stuck(),
                "solve",
                Exit::Failed,
                "(mesh.error, --error) or another number of triangles (mesh.max_triangles, --triangles)",
            ),
            (stuck(), "converge", Exit::Failed, "(mesh.error) or another number of triangles (mesh.max_triangles)"),
            (mesh(TooMany), "mesh", Exit::Failed, "thin it out, or ask for a number with --triangles"),
            (mesh(TooMany), "departure", Exit::Failed, "thin it out"),
            (mesh(Outlines), "mesh", Exit::Failed, "thin it out"),
            (mesh(Broken), "mesh", Exit::Failed, "thin it out"),
            (Error::failed("odd", "report this"), "solve", Exit::Failed, "report this"),
        ]
    }

    #[test]
    fn every_kind_has_its_exit_code_and_its_remedy() {
        for (error, command, exit, expected) in table() {
            assert_eq!(Exit::from(&error), exit, "{error:?}");
            let said = remedy(&error, &Options::of(command)).unwrap_or_default();
            assert!(said.contains(expected), "{command} {error:?}: {said}");
            assert_eq!(said.is_empty(), expected.is_empty(), "{command} {error:?}: {said}");
        }
    }

    /// A remedy names no option that the command lacks, and the library names none at all.
    #[test]
    fn remedies_name_options_of_the_command_alone() {
        for (error, command, ..) in table() {
            let (options, said) = (Options::of(command), remedy(&error, &Options::of(command)).unwrap_or_default());
            for part in said.split("--").skip(1) {
                let option: String = part.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
                assert!(options.has(option.trim_end_matches('-')), "{command} has no --{option}: {said}");
            }
            assert!(!error.to_string().contains("--"), "{error}");
        }
    }

    #[test]
    fn text_and_remedy_make_the_whole() {
        for (error, ..) in table() {
            match error.remedy() {
                Some(remedy) => assert_eq!(error.to_string(), format!("{}\nhelp: {remedy}", error.what())),
                None => assert_eq!(error.to_string(), error.what()),
            }
        }
    }
}
