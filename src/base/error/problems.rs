//! Mistakes in input files, all of one go together.

use std::ops::Range;
use std::path::{Path, PathBuf};

/// One mistake in an input file.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// The file the mistake is in.
    pub file: PathBuf,
    /// Byte range in that file; none if the mistake has no single place.
    pub span: Option<Range<usize>>,
    /// What is wrong, with the value and the limit.
    pub message: String,
    /// What to write instead.
    pub remedy: String,
}

/// All mistakes found in one go, with the texts they point into.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Problems {
    /// The mistakes, in the order found.
    pub list: Vec<Problem>,
    pub(super) texts: Vec<(PathBuf, String)>,
}

impl Problems {
    /// A single mistake without a place.
    pub fn one(file: &Path, message: impl Into<String>, remedy: impl Into<String>) -> Problems {
        let mut problems = Problems::default();
        problems.add(file, None, message, remedy);
        problems
    }

    /// Remembers the text of a file so that mistakes in it can be shown with their line.
    pub fn add_text(&mut self, file: &Path, text: &str) {
        if !self.texts.iter().any(|(known, _)| known == file) {
            self.texts.push((file.to_owned(), text.to_owned()));
        }
    }

    /// Adds a mistake.
    pub fn add(
        &mut self,
        file: &Path,
        span: Option<Range<usize>>,
        message: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.list.push(Problem { file: file.to_owned(), span, message: message.into(), remedy: remedy.into() });
    }

    /// Takes over the mistakes and texts of another collection.
    pub fn merge(&mut self, other: Problems) {
        for (file, text) in other.texts {
            if !self.texts.iter().any(|(known, _)| *known == file) {
                self.texts.push((file, text));
            }
        }
        self.list.extend(other.list);
    }

    /// Whether no mistake was found.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Sorts the mistakes by file and place, those without a place first, and drops exact repetitions.
    pub fn tidy(&mut self) {
        self.list.sort_by(order);
        self.list.dedup();
    }

    /// The text kept for a file, if any.
    pub fn text(&self, file: &Path) -> Option<&str> {
        self.texts.iter().find(|(known, _)| known == file).map(|(_, text)| text.as_str())
    }
}

pub(super) fn order(a: &Problem, b: &Problem) -> std::cmp::Ordering {
    let place = |p: &Problem| p.span.as_ref().map(|s| (s.start, s.end));
    (&a.file, place(a), &a.message, &a.remedy).cmp(&(&b.file, place(b), &b.message, &b.remedy))
}

impl std::fmt::Display for Problems {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.render(false))
    }
}
