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
        Error::Folder(_) => {
            Some("choose another folder with --output, or add --force to overwrite those results".to_owned())
        }
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
        Usage::CutShort { solved, .. } => format!("ask for at most --levels {solved}, the meshes solved so far"),
        Usage::UnknownKey { .. } => {
            "join the keys of report.json by dots and name entries of lists, say drive.pressure_drop_pa or \
            probes.NAME.angle_deg; keys of corrections need --inertia, --edge-layer or --departure"
                .into()
        }
        Usage::NoSize { .. } => "give --width, --height or --unit".into(),
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
        _ => None,
    }
}
