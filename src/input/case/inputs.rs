//! The files that a case reads.

use std::path::PathBuf;

/// A file that a case names, as it was at the moment it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// Its name as the case gives it: relative to the folder of the case file, or absolute.
    pub file: PathBuf,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}
