//! The files of a search: `seek.csv`, the path it took, `seek.json`, figure and page.

use crate::base::Result;
use crate::base::row::Section;
use crate::report::json::json;
use crate::report::{FigureSettings, Folder, write_figures};
use crate::study::campaign::seek::Sought;
use std::io::Write;

impl Sought {
    /// Writes what was found and the path to it, and returns what is printed.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if the figure cannot be drawn.
    pub fn write(&self, mut folder: Folder, figures: &FigureSettings) -> Result<Vec<Section>> {
        folder.write_table("seek.csv", self.path())?;
        let sections = self.sections();
        let text = json(&sections)?;
        folder.write("seek.json", |out| out.write_all(text.as_bytes()))?;
        write_figures(self.figures(figures)?, &mut folder, figures)?;
        self.write_page(&mut folder, figures)?;
        folder.finish()?;
        Ok(sections)
    }
}
