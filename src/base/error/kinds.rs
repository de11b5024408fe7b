//! Kinds of error that carry numbers a caller can act on.

use std::path::PathBuf;

/// A mesh that would not fit the memory that is free.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "a mesh{} of about {triangles} triangles needs about {:.1} GB, but {:.1} GB of memory are free",
    if *corrections { " with its corrections" } else { "" },
    needed / 1e9,
    free / 1e9
)]
pub struct Memory {
    /// Triangles of the mesh.
    pub triangles: usize,
    /// Whether corrections are to be computed on it.
    pub corrections: bool,
    /// Memory it would take, bytes.
    pub needed: f64,
    /// Memory that is free for this process, bytes.
    pub free: f64,
    /// Triangles of the largest mesh that fits.
    pub most: usize,
}

impl Memory {
    /// What can be done about it.
    pub fn remedy(&self) -> String {
        format!("ask for at most {} triangles (mesh.max_triangles) or a larger mesh.error", self.most_rounded())
    }

    /// Triangles of the largest mesh that fits, rounded down to two digits.
    pub fn most_rounded(&self) -> usize {
        let digit = 10usize.pow(self.most.max(1).ilog10().saturating_sub(1));
        self.most / digit * digit
    }
}

/// What is in the way of a mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeshFault {
    /// It would have more triangles or vertices than allowed.
    TooMany,
    /// The outlines cross, touch, have no size, or lie out of range.
    Outlines,
    /// What was made does not fill the fluid.
    Broken,
}

/// A solver that did not come to its end.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("conjugate gradients did not reach {wanted:.1e} in {iterations} iterations; {left:.1e} is left")]
pub struct NoConvergence {
    /// The residual that was to be reached, in the solver's own measure.
    pub wanted: f64,
    /// The residual that is left.
    pub left: f64,
    /// Iterations done.
    pub iterations: usize,
}

impl NoConvergence {
    /// What can be done about it.
    pub fn remedy(&self) -> String {
        "ask for a larger error or another number of triangles".into()
    }
}

/// An output folder that holds the results of another case, or of the same one before it was changed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "the output folder {} holds {}; this is \"{}\" ({})",
    folder.display(),
    match there {
        Some((title, file)) if *edited => {
            format!("results of \"{title}\" ({file}) from before that case or a file it reads was changed")
        }
        Some((title, file)) => format!("the results of another case, \"{title}\" ({file})"),
        None => "a results.json or report.json that this program did not write".to_owned(),
    },
    title,
    file.display()
)]
pub struct OtherCase {
    /// The folder.
    pub folder: PathBuf,
    /// Title and file of the case whose results are there; none if what is there tells of no case.
    pub there: Option<(String, String)>,
    /// Whether it is the same case file, which or a file of which has changed since.
    pub edited: bool,
    /// Title of the case whose results were to be written.
    pub title: String,
    /// Its file.
    pub file: PathBuf,
}

impl OtherCase {
    /// What can be done about it.
    pub fn remedy(&self) -> String {
        "choose another folder, or agree to the loss of those results".into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_advised_fits() {
        let memory = |most| Memory { triangles: 1_000_000_000, corrections: true, needed: 3e11, free: 1e9, most };
        for (most, rounded) in [(0, 0), (7, 7), (99, 99), (100, 100), (2_399_999, 2_300_000), (10_000_000, 10_000_000)]
        {
            assert_eq!(memory(most).most_rounded(), rounded);
            assert!(memory(most).remedy().contains(&format!("at most {rounded} triangles")));
        }
        assert_eq!(
            memory(1).to_string(),
            "a mesh with its corrections of about 1000000000 triangles needs about 300.0 GB, but 1.0 GB of memory are free"
        );
    }
}
