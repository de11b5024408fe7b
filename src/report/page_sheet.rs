//! The cell's design sheet on `report.html`, shown where the study holds what it needs.

use crate::base::Result;
use crate::report::figure::{Canvas, Column, Palette, Style, feasible};
use crate::study::{Budget, Rig, Study};
use crate::theory::rig::{Row, Section};
use minijinja::{Value, context};

/// A sheet as the page shows it, with its map of what binds where.
pub(super) struct PageSheet {
    rig: Rig,
    map: Canvas,
}

impl PageSheet {
    /// The sheet of a study that was solved with every correction; none otherwise.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the sheet's own solutions or its figure fail.
    pub(super) fn of(study: &Study, budget: Option<&Budget>) -> Result<Option<PageSheet>> {
        let Some(budget) = budget.filter(|_| study.inertia.is_some() && study.edge_layer.is_some()) else {
            return Ok(None);
        };
        let rig = study.rig(budget)?;
        // narrow enough to be read on a phone
        let style = Style { palette: Palette::Colour, column: Column::Single };
        let map = feasible("feasible", &rig.maps[0], [rig.state.gap, rig.state.speed], style)?;
        Ok(Some(PageSheet { rig, map }))
    }

    /// What the page's template asks for.
    pub(super) fn value(&self) -> Value {
        let sheet = &self.rig.sheet;
        let settings = sheet.settings.iter().map(|given| {
            let origin = if given.defaulted { " (default)" } else { "" };
            format!("{} {}{origin}", given.key, given.shown)
        });
        context! {
            settings => settings.collect::<Vec<_>>().join("; "),
            sections => sheet.sections.iter().map(section).collect::<Vec<Value>>(),
            suggestions => self.rig.suggestions.clone(),
            drawing => self.map.for_page(),
            caption => self.map.title(),
        }
    }
}

fn section(section: &Section) -> Value {
    context! {
        title => &*section.title,
        rows => section.rows.iter().map(row).collect::<Vec<Value>>(),
        notes => section.notes.clone(),
        cautions => section.cautions.clone(),
    }
}

fn row(row: &Row) -> Value {
    context! {
        name => &*row.name,
        si => row.si(),
        bench => row.bench(),
        definition => &*row.meaning,
        source => &*row.source,
        range => &*row.range,
    }
}
