//! The command-line program.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(twinplate::cli::run())
}
