//! Runs the validation folders and prints one table: quantity, reference, obtained, error, error estimate, pass.
//!
//!     cargo run --release --example validate                 all folders
//!     cargo run --release --example validate -- corner duct  some of them
//!     cargo run --release --example validate -- --write      and put each table into the README of its folder
//!
//! Exit code 0 if every row passes and every README's table says what is obtained, to its printed digits; 1 if not, 2 for an unknown folder or option.

#[path = "../../tests/cells/mod.rs"]
mod cells;
mod suite;

use std::path::Path;
use std::process::ExitCode;
use suite::{Effort, Folder, table};

fn main() -> ExitCode {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("validation");
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (options, names): (Vec<_>, Vec<_>) = arguments.into_iter().partition(|a| a.starts_with('-'));
    let write = options.iter().any(|option| option == "--write");
    let known = suite::folders(&root);
    let wrong = options.iter().filter(|option| *option != "--write").chain(names.iter().filter(|n| !known.contains(n)));
    if let Some(wrong) = wrong.into_iter().next() {
        eprintln!("no folder or option '{wrong}'; folders: {}; option: --write", known.join(", "));
        return ExitCode::from(2);
    }
    let chosen = if names.is_empty() { known } else { names };
    let (mut failed, mut stale) = (Vec::new(), Vec::new());
    let mut rows = 0;
    for name in chosen {
        match validate(&root.join(&name), write) {
            Ok((folder, differences)) => {
                stale.extend(differences.into_iter().map(|difference| format!("{name}: {difference}")));
                rows += folder.outcomes.len();
                failed.extend(folder.outcomes.iter().filter(|o| !o.pass()).map(|o| format!("{name}: {}", o.quantity)));
            }
            Err(fault) => {
                println!("{name}: {fault}");
                failed.push(format!("{name}: {fault}"));
            }
        }
    }
    println!("\n{} of {rows} rows pass", rows.saturating_sub(failed.len()));
    failed.iter().for_each(|row| println!("FAIL {row}"));
    if !stale.is_empty() {
        println!("\n{} rows of READMEs are out of date; `-- NAME --write` writes a table anew", stale.len());
        stale.iter().for_each(|row| println!("STALE {row}"));
    }
    ExitCode::from(u8::from(!failed.is_empty() || !stale.is_empty()))
}

/// Runs one folder, prints its table, writes it into the folder's README if asked to, and says where that README differs.
fn validate(path: &Path, write: bool) -> Result<(Folder, Vec<String>), String> {
    let folder = suite::run(path, Effort::FULL)?;
    println!("\n{}\n{}", folder.title, table::text(&folder.outcomes));
    let file = path.join("README.md");
    let fault = |e: std::io::Error| format!("{}: {e}", file.display());
    let mut readme = std::fs::read_to_string(&file).map_err(fault)?;
    if write {
        readme = table::written(&readme, &folder.outcomes)?;
        std::fs::write(&file, &readme).map_err(fault)?;
    }
    let differences = table::stale(&readme, &folder.outcomes);
    Ok((folder, differences))
}
