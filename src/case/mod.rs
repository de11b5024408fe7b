//! The case file: what the user asks, in SI, after every check that needs no geometry and no mesh.

mod types;
pub use types::*;

use crate::error::Problems;
use std::path::Path;

/// What reading a case file gives.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The case, if it could be understood.
    pub case: Option<Case>,
    /// The mistakes found.
    pub problems: Problems,
}

/// Reads a case file.
pub fn load(path: &Path) -> Loaded {
    let mut problems = Problems::default();
    problems.add(path, None, "reading case files is not available", "build the `Case` in code");
    Loaded { case: None, problems }
}
