//! The command-line program: arguments, progress, printing. What it does stands in [`crate::study`].

mod args;
mod campaign;
mod check;
mod common;
mod compare;
mod converge;
mod departure;
mod drawing;
mod exit;
mod fill;
mod goal;
mod help;
mod job;
mod mesh;
mod outline;
mod place;
mod progress;
mod remedy;
mod rig;
mod sample;
mod say;
mod schema;
pub mod script;
mod settings;
mod solve;
mod start;
mod tell;
mod topics;
mod uncertainty;

use crate::base::{Error, Result};
use crate::report::BenchCard;
use crate::study::{LadderSettings, Meshes};
pub use exit::Exit;

use args::{Cli, Command};
use clap::{CommandFactory, FromArgMatches};
use remedy::{Options, remedy};
#[cfg(feature = "shell")]
use say::{file_error, say_bytes};
use std::io::{IsTerminal, Write};

/// Runs the program on the process's arguments.
pub fn run() -> Exit {
    let parsed = Cli::command().try_get_matches();
    let cli = parsed.and_then(|matches| {
        let name = matches.subcommand_name().unwrap_or_default().to_owned();
        Cli::from_arg_matches(&matches).map(|cli| (name, cli))
    });
    let (name, cli) = match cli {
        Ok(found) => found,
        Err(error) => {
            let _ = error.print();
            return if error.use_stderr() { Exit::CommandLine } else { Exit::Done };
        }
    };
    dispatch(cli.command).unwrap_or_else(|error| {
        complain(&error, &Options::of(&name));
        Exit::from(&error)
    })
}

fn dispatch(command: Command) -> Result<Exit> {
    set_threads(command.threads())?;
    match command {
        Command::Start { dir, json } => start::start(&dir, json),
        Command::Check { case, common } => check::check(&case, &common),
        Command::Outline(args) => outline::outline(&args, settings::settings()),
        Command::Mesh { case, triangles, common } => mesh::mesh(&case, triangles.map(|n| n as usize), &common),
        Command::Solve { case, inertia, edge_layer, beside, mesh, figures, common } => {
            let figures = figures.settings()?;
            solve::solve(&case, solve::Wish { inertia, edge_layer, beside, mesh, figures }, &common)
        }
        Command::Departure { case, beside, mesh, figures, common } => {
            departure::departure(&case, mesh, beside, figures.settings()?, &common)
        }
        Command::Figure { case, beside, mesh, drawing, common } => {
            departure::departure(&case, mesh, beside, Some(drawing.settings()), &common)
        }
        Command::Rig { case, mesh, card, print, common } => {
            let card = if card { BenchCard::Wanted } else { BenchCard::Left };
            rig::rig(&case, mesh, card, &print.settings(), &common)
        }
        Command::Converge {
            case,
            levels,
            sizes,
            adaptive,
            inertia,
            edge_layer,
            departure,
            also,
            series,
            figures,
            print,
            common,
        } => {
            let figures = print.if_wanted(figures)?;
            let levels = levels.map(usize::from);
            let meshes = match (sizes.is_empty(), adaptive) {
                (false, _) => Meshes::Sizes(sizes.into_iter().map(|n| n as usize).collect()),
                (true, true) => Meshes::Adaptive { levels },
                (true, false) => Meshes::Halving { levels },
            };
            let wish = LadderSettings { meshes, inertia, edge_layer, departure, also };
            converge::converge(&case, &wish, series, figures, &common)
        }
        Command::Compare { case, file, against, mesh, print, common } => {
            compare::compare(&case, file.as_deref(), against, mesh, &print.settings(), &common)
        }
        Command::Sample(args) => sample::sample(&args),
        Command::Fill { case, mesh, print, common } => fill::fill(&case, mesh, &print.settings(), &common),
        Command::Campaign(args) if args.uncertainty => uncertainty::uncertainty(&args),
        Command::Campaign(args) => campaign::campaign(&args),
        Command::Schema { of } => schema::schema(of),
        Command::Help { topic } => help::help(topic.as_deref()),
        #[cfg(feature = "shell")]
        Command::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "twinplate", &mut text);
            say_bytes(&text)
        }
        #[cfg(feature = "shell")]
        Command::Manual { dir } => {
            crate::report::create_folder(&dir)?;
            clap_mangen::generate_to(Cli::command(), &dir).map_err(|e| file_error("write into", &dir, e))?;
            Ok(Exit::Done)
        }
    }
}

/// Starts the threads: so many, or one for each core. Where the system allows none, this one does all the work.
fn set_threads(wanted: Option<u16>) -> Result<()> {
    let threads = rayon::ThreadPoolBuilder::new;
    if let Some(wanted) = wanted.filter(|n| *n > 1) {
        return threads().num_threads(wanted.into()).build_global().map_err(|e| {
            Error::failed(format!("{wanted} threads could not be started: {e}"), "give --threads a smaller number")
        });
    }
    // the global pool can be tried once only
    let several = wanted.is_none() && threads().build().is_ok();
    let pool = if several { threads() } else { threads().num_threads(1).use_current_thread() };
    pool.build_global().map_err(|e| Error::failed(format!("no thread could be started: {e}"), "close other programs"))
}

/// Prints an error with its remedy on standard error, with colours on a terminal unless NO_COLOR is set.
fn complain(error: &Error, options: &Options) {
    let text = match error {
        Error::Input(problems) => {
            let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
            problems.render(colour) + "\n"
        }
        other => match remedy(other, options) {
            Some(remedy) => format!("error: {}\nhelp: {remedy}\n", other.what()),
            None => format!("error: {}\n", other.what()),
        },
    };
    let _ = std::io::stderr().write_all(text.as_bytes());
}
