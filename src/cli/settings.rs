//! The settings of a command line that results follow from.

use super::args::{Cli, Common};
use clap::parser::ValueSource;
use clap::{Args, CommandFactory};
use std::ffi::OsString;

/// Those of this process.
pub fn settings() -> String {
    settings_of(std::env::args_os())
}

/// The options of the command line that results follow from, in the order of the help, without those that only say where to write, what
/// to print and how to store it: "solve inertia triangles=3000".
fn settings_of(words: impl Iterator<Item = OsString>) -> String {
    let command = Cli::command();
    let Ok(matches) = command.clone().try_get_matches_from(words) else { return String::new() };
    let Some((name, given)) = matches.subcommand() else { return String::new() };
    let common = Common::augment_args(clap::Command::new(""));
    let is_common = |id: &clap::Id| common.get_arguments().any(|argument| argument.get_id() == id);
    let Some(sub) = command.find_subcommand(name) else { return String::new() };
    let typed =
        |argument: &&clap::Arg| given.value_source(argument.get_id().as_str()) == Some(ValueSource::CommandLine);
    let options = sub.get_arguments().filter(|a| !a.is_positional() && !is_common(a.get_id())).filter(typed);
    let said = options.map(|argument| {
        let option = argument.get_long().unwrap_or_default();
        let values = given.get_raw(argument.get_id().as_str()).into_iter().flatten();
        let values: Vec<String> = values.map(|value| value.to_string_lossy().into_owned()).collect();
        match argument.get_action().takes_values() {
            true => format!("{option}={}", values.join(",")),
            false => option.to_owned(),
        }
    });
    std::iter::once(name.to_owned()).chain(said).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_are_what_results_follow_from() {
        for (typed, settings) in [
            ("solve a.toml", "solve"),
            (
                "solve --inertia a.toml --triangles 3000 -q -o there --raw --threads 2 --force",
                "solve inertia triangles=3000",
            ),
            ("solve a.toml --triangles=3000 --inertia --json", "solve inertia triangles=3000"),
            (
                "converge a.toml --sizes 100,400 --also drive.head_m --also mesh.levels",
                "converge sizes=100,400 also=drive.head_m,mesh.levels",
            ),
            ("nonsense", ""),
        ] {
            let words = std::iter::once("twinplate").chain(typed.split(' ')).map(OsString::from);
            assert_eq!(settings_of(words), settings, "{typed}");
        }
    }
}
