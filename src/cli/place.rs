//! Where results go, and the command that makes them.

use crate::base::Result;
use crate::base::hash::sha256;
use crate::base::text::quoted;
use crate::input::case::Case;
use crate::report::{Folder, Standing};
use std::path::{Path, PathBuf};

/// The folder for the results of a case where none is named: `results/STEM`; where that holds the results of another case file,
/// `results/STEM-` with eight digits that follow from the place of this one, and where those stand already, there again.
pub fn output_folder(case: &Case) -> Result<PathBuf> {
    let stem = case.file.file_stem().unwrap_or_default().to_os_string();
    let place = case.file.canonicalize().unwrap_or_else(|_| case.file.clone());
    let usual = Path::new("results").join(&stem);
    let mut own = usual.clone().into_os_string();
    own.push(format!("-{}", &sha256(place.as_os_str().as_encoded_bytes())[..8]));
    let own = PathBuf::from(own);
    let taken = own.is_dir() || Folder::standing(&usual, case)? == Standing::Other;
    Ok(if taken { own } else { usual })
}

/// The folder for a comparison of a case with a file of measurements: `results/STEM-` with the stem of the file.
pub fn compare_folder(case: &Case, file: &Path) -> PathBuf {
    let stem = |path: &Path| path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let (case, file) = (stem(&case.file), stem(file));
    let file = if case == file { "compare".to_owned() } else { file };
    Path::new("results").join(format!("{case}-{file}"))
}

/// The command line as it could be typed again.
pub fn command_line() -> String {
    let given = std::env::args_os().skip(1).map(|word| word.to_string_lossy().into_owned());
    std::iter::once("twinplate".to_owned()).chain(given.map(|word| quoted(&word))).collect::<Vec<_>>().join(" ")
}
