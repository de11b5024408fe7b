//! What a file was made from, as two hashes that it bears.

use crate::base::hash::sha256;
use crate::input::case::Case;

/// The hash over a case and every file it reads, and the one over the settings of the run; each empty where it is not known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Origin {
    /// Of the case ([`Case::combined_sha256`]).
    pub combined_sha256: String,
    /// Of the program, its version and the options that results follow from.
    pub settings_sha256: String,
}

impl Origin {
    /// That of a case alone.
    pub fn of(case: &Case) -> Origin {
        Origin { combined_sha256: case.combined_sha256(), settings_sha256: String::new() }
    }

    /// That of files with one combined hash under settings.
    pub(super) fn under(combined_sha256: &str, settings: &str) -> Origin {
        let settings = format!("{} {} {settings}\n", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"));
        Origin { combined_sha256: combined_sha256.to_owned(), settings_sha256: sha256(settings.as_bytes()) }
    }

    /// The names and hashes that are known.
    pub(super) fn known(&self) -> impl Iterator<Item = (&str, &str)> {
        [("combined_sha256", &self.combined_sha256), ("settings_sha256", &self.settings_sha256)]
            .into_iter()
            .filter(|(_, hash)| !hash.is_empty())
            .map(|(name, hash)| (name, hash.as_str()))
    }

    /// The same in one line.
    pub(super) fn line(&self) -> String {
        self.known().map(|(name, hash)| format!("{name} {hash}")).collect::<Vec<_>>().join(" ")
    }
}
