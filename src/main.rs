//! The command-line program.

fn main() -> twinplate::cli::Exit {
    twinplate::cli::run()
}
