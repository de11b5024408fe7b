//! The cell's design sheet on `report.html`.

use super::page_rows::{record, typeset};
use crate::base::Result;
use crate::report::figure::{Canvas, Column, Palette, Style, feasible};
use crate::study::Rig;
use minijinja::{Value, context};

/// A sheet as the page shows it, with its map of what binds where.
pub(super) struct PageSheet<'a> {
    rig: &'a Rig,
    map: Canvas,
}

impl<'a> PageSheet<'a> {
    /// The sheet with its map.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub(super) fn new(rig: &'a Rig) -> Result<PageSheet<'a>> {
        // narrow enough to be read on a phone
        let style = Style { palette: Palette::Colour, column: Column::Single };
        let map = feasible("feasible", &rig.maps[0], [rig.state.gap, rig.state.speed], style)?;
        Ok(PageSheet { rig, map })
    }

    /// What the page's template asks for, with the number of its map among the figures of the page.
    pub(super) fn value(&self, number: usize) -> Value {
        let sheet = &self.rig.sheet;
        context! {
            settings => typeset(&sheet.settings_section().notes.join("; ")),
            sections => sheet.sections.iter().map(record).collect::<Vec<Value>>(),
            suggestions => self.rig.suggestions.clone(),
            drawing => self.map.for_page(),
            caption => format!("Figure {number}. {}.", self.map.title()),
        }
    }
}
