//! The files of the design sheet.

use super::card::card;
use super::json::json;
use super::text::{WIDTH, text};
use super::{FigureSettings, write_figures};
use crate::base::Result;
use crate::base::row::{Detail, Section};
use crate::report::Folder;
use crate::report::figure::{Canvas, feasible};
use crate::study::{Rig, Study};
use std::io::Write;
use std::path::Path;

/// Whether the design sheet is also drawn on one page for the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BenchCard {
    /// It is, as `bench_card.svg` and `bench_card.pdf`.
    Wanted,
    /// It is not.
    Left,
}

type Writer = fn(&Canvas, &Path) -> Result<()>;

impl Study {
    /// Writes `rig.json`, `rig.txt` and the feasibility maps as `figures/feasible*`, and returns the sheet as sections.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if a number is not finite.
    pub fn write_rig(
        &self,
        rig: &Rig,
        mut folder: Folder,
        drawing: &FigureSettings,
        bench: BenchCard,
    ) -> Result<Vec<Section>> {
        let mut sections = self.rig_sections(rig);
        sections.push(folder.run_section());
        let json = json(&sections)?;
        let text = text(&sections, Detail::Full, WIDTH);
        let here = [rig.state.gap, rig.state.speed];
        let maps = rig.maps.iter().zip(["feasible", "feasible_by_rms"]);
        let drawn = maps.map(|(map, name)| feasible(name, map, here, drawing.style)).collect::<Result<Vec<_>>>()?;
        write_figures(drawn, &mut folder, drawing)?;
        if bench == BenchCard::Wanted {
            let card = card(&self.case.title, &self.plan, &sections, &rig.suggestions)?.stamped(folder.origin());
            for (name, write) in
                [("bench_card.svg", Canvas::write_svg as Writer), ("bench_card.pdf", Canvas::write_pdf)]
            {
                write(&card, &folder.place(name)?)?;
            }
        }
        folder.write("rig.txt", |out| out.write_all(text.trim_start().as_bytes()))?;
        folder.write("rig.json", |out| out.write_all(json.as_bytes()))?;
        folder.finish()?;
        Ok(sections)
    }
}
