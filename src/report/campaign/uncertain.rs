//! The files of uncertainties: `uncertainty.csv`, `uncertainty.json`.

use crate::base::Result;
use crate::base::row::Section;
use crate::report::Folder;
use crate::report::json::json;
use crate::study::campaign::uncertainty::Uncertainties;
use std::io::Write;

impl Uncertainties {
    /// Writes the table of all rows and the report, and returns what is printed.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written.
    pub fn write(&self, mut folder: Folder) -> Result<Vec<Section>> {
        let sections = self.sections();
        let rows = sections.iter().find(|section| section.key == "rows");
        if let Some(rows) = rows {
            folder.write_table("uncertainty.csv", rows.clone())?;
        }
        let text = json(&sections)?;
        folder.write("uncertainty.json", |out| out.write_all(text.as_bytes()))?;
        folder.finish()?;
        Ok(sections)
    }
}
