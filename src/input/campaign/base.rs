//! A case as a text in which values are put in place of others.

use super::key::Key;
use super::values::Literal;
use crate::base::error::Problems;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, read_text_of};
use std::path::{Path, PathBuf};
use toml_edit::DocumentMut;

/// A case whose keys are varied.
#[derive(Debug, Clone)]
pub struct Base {
    /// Its file.
    pub file: PathBuf,
    pub(super) document: DocumentMut,
}

impl Base {
    /// Reads a case and makes sure that it is one.
    ///
    /// # Errors
    /// [`Error::Input`] with every mistake found in it.
    pub fn read(file: &Path) -> Result<(Base, Case, Plan)> {
        let text = read_text_of(file).map_err(|problems| Error::Input(*problems))?;
        let (case, plan) = crate::input::read_text(&text, file)?;
        Ok((Base::of(&case)?, case, plan))
    }

    /// That of a case that was read.
    ///
    /// # Errors
    /// [`Error::Input`] if it is not TOML.
    pub fn of(case: &Case) -> Result<Base> {
        let document = case.text.parse().map_err(|error| {
            let remedy = "see the example of `twinplate start DIR`";
            Error::Input(Problems::one(&case.file, format!("not TOML: {error}"), remedy))
        })?;
        Ok(Base { file: case.file.clone(), document })
    }

    /// The text of the case with other values under some keys.
    pub fn with<'v>(&self, values: impl IntoIterator<Item = (&'v Key, &'v Literal)>) -> String {
        let mut document = self.document.clone();
        values.into_iter().for_each(|(key, value)| key.put(&mut document, &value.value()));
        document.to_string()
    }

    /// The key under a path.
    ///
    /// # Errors
    /// [`Error::Usage`] if there is none, with the nearest.
    pub fn key(&self, path: &str) -> Result<Key> {
        Key::find(&self.document, path).map_err(|lost| Error::argument(lost.message, lost.remedy))
    }

    /// The value that the case has under a key, as it is written there.
    pub fn value(&self, key: &Key) -> Option<Literal> {
        key.value(&self.document).map(|value| {
            let mut value = value.clone();
            value.decor_mut().clear();
            let toml = value.to_string();
            Literal { shown: value.as_str().map_or_else(|| toml.clone(), str::to_owned), toml }
        })
    }
}
