//! The files of uncertainties: `uncertainty.csv`, `uncertainty.json`, figure and page.

use crate::base::Result;
use crate::base::row::Section;
use crate::geometry::Plan;
use crate::report::json::json;
use crate::report::{FigureSettings, Folder, write_figures};
use crate::study::campaign::uncertainty::Uncertainties;
use std::io::Write;

impl Uncertainties {
    /// Writes the table of all rows, the report, the figure and the page, and returns what is printed.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if the figure cannot be drawn.
    pub fn write(&self, mut folder: Folder, plan: &Plan, figures: &FigureSettings) -> Result<Vec<Section>> {
        let sections = self.sections();
        let rows = sections.iter().find(|section| section.key == "rows");
        if let Some(rows) = rows {
            folder.write_table("uncertainty.csv", rows.clone())?;
        }
        let text = json(&sections)?;
        folder.write("uncertainty.json", |out| out.write_all(text.as_bytes()))?;
        write_figures(self.figures(figures)?, &mut folder, figures)?;
        self.write_page(&mut folder, plan, figures)?;
        folder.finish()?;
        Ok(sections)
    }
}
