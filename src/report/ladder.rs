//! The files of a convergence study.

use super::results::Times;
use super::{FigureSettings, write_figures};
use crate::base::Result;
use crate::report::figure::Style;
use crate::report::{Folder, Report};
use crate::study::{Ladder, Spent};
use std::time::Instant;

impl Ladder {
    /// Writes the table, the figure `convergence.svg`, and the report of the finest mesh with the study in it; where figures are
    /// wanted also `figures/convergence.*`. Returns the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if a figure cannot be drawn.
    pub fn write(&self, mut folder: Folder, figures: Option<&FigureSettings>) -> Result<Report> {
        let clock = Instant::now();
        folder.write_table("convergence.csv", self.values_section())?;
        let figure = self.figure(Style::default())?.stamped(folder.origin());
        figure.write_svg(&folder.place("convergence.svg")?)?;
        if let Some(settings) = figures {
            write_figures(vec![self.figure(settings.style)?], &mut folder, settings)?;
        }
        let mut sections = self.finest.sections();
        sections.extend(self.sections());
        let Spent { mesh, solve, total } = self.finest.spent;
        let write = clock.elapsed();
        Report { sections }.close(Times { mesh, solve, write, total: total + write }, folder)
    }
}
