//! The file that was meant by a name that leads to none.

use std::path::Path;

/// Most names of a folder looked at.
const MOST: usize = 10_000;

/// The name in the folder of a file that is not there which is most like it; among case files for a case, else among all others.
pub(super) fn nearest_name(file: &Path, is_case: bool) -> Option<String> {
    let wanted = file.file_name()?.to_str()?.to_lowercase();
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let names =
        std::fs::read_dir(folder).ok()?.take(MOST).flatten().filter_map(|entry| entry.file_name().into_string().ok());
    let stem = |name: &str| Path::new(name).file_stem().map(|stem| stem.to_string_lossy().to_lowercase());
    let distance = |name: &str| {
        let typed = strsim::damerau_levenshtein(&wanted, &name.to_lowercase());
        // another ending is one mistake, however many letters it has
        if stem(name) == stem(&wanted) { typed.min(1) } else { typed }
    };
    let (apart, name) = names
        .filter(|name| is_case == name.to_lowercase().ends_with(".toml") && folder.join(name).is_file())
        .map(|name| (distance(&name), name))
        .min()?;
    (apart <= (wanted.chars().count() / 3).max(1)).then_some(name)
}

/// What to do about a file that a case names and that cannot be read.
pub(super) fn check_name(file: &Path, error: &std::io::Error) -> String {
    const CHECK: &str = "check the name; in a case it is relative to the case file's folder";
    match nearest_name(file, false).filter(|_| error.kind() == std::io::ErrorKind::NotFound) {
        Some(name) => format!("did you mean \"{name}\"? {CHECK}"),
        None => CHECK.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_of_the_folder_is_found() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["keel.toml", "keel.svg", "caisson.dxf", "gaps_measured.csv"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        std::fs::create_dir(folder.path().join("piers.svg")).unwrap();
        let near = |name: &str, is_case| nearest_name(&folder.path().join(name), is_case);
        assert_eq!(near("kele.toml", true).as_deref(), Some("keel.toml"));
        assert_eq!(near("keel", true).as_deref(), Some("keel.toml"));
        assert_eq!(near("Caison.dxf", false).as_deref(), Some("caisson.dxf"));
        assert_eq!(near("caisson.svg", false).as_deref(), Some("caisson.dxf"));
        assert_eq!(near("gap_measured.csv", false).as_deref(), Some("gaps_measured.csv"));
        // a folder is no file, a drawing no case, and what is too far is not meant
        assert_eq!(near("pier.svg", false), None);
        assert_eq!(near("caisson.dxf", true), None);
        assert_eq!(near("buoy.svg", false), None);
        assert_eq!(near("none/keel.svg", false), None);
    }
}
