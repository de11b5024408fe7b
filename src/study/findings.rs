//! What follows from a solved study, computed before anything is written.

use super::{Budget, ByClosure, Rig, Study};
use crate::base::Result;
use crate::base::row::Section;
use crate::input::case::{Seeding, StreaklineSettings};
use crate::numerics::fem::Finer;
use crate::numerics::mesh::Mesh;
use crate::theory::bubbles::Without;
use crate::theory::ideal::Stage;
use crate::theory::inertia::layers::NEUTRAL_HEIGHT;
use crate::theory::streaklines::{Band, NearEdges, Streakline, dye_bands};
use crate::theory::wedges::{Corrections, LayerGrid};
use std::sync::Arc;

/// Heights of the streaklines in files: mid-gap, where the drift to the plates is largest, and towards a plate.
const HEIGHTS: [f64; 4] = [0.0, NEUTRAL_HEIGHT, 0.7, 0.95];
/// Heights of the streaklines that are drawn over one another.
pub const DRAWN_HEIGHTS: [f64; 3] = [0.0, NEUTRAL_HEIGHT, 0.95];
/// Lines drawn at each height.
pub const DRAWN_LINES: usize = 16;
/// Longest side of the triangles that figures are drawn from, over the length of the cell: 0.8 mm of a page.
const DRAWN_SIDE: f64 = 0.8 / 172.0;
/// The largest width over length of a cell that is drawn as long as the page is wide.
const DRAWN_WIDTH: f64 = 1.4;
/// Wedges one above the other.
const LAYERS: usize = 12;

/// What is wanted beyond the pattern and its corrections.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wanted {
    /// The departure budget, with the flow through the gap.
    pub departure: bool,
    /// The design sheet; it takes the budget with it.
    pub sheet: bool,
    /// What only figures show.
    pub figures: bool,
    /// The flow by the closure, beside the series where the budget is made.
    pub closure: bool,
}

/// What was found.
#[derive(Debug, Default)]
pub struct Findings {
    /// The departure budget.
    pub budget: Option<Budget>,
    /// The flow through the gap.
    pub layers: Option<Layers>,
    /// The design sheet.
    pub rig: Option<Rig>,
    /// Streaklines at the heights [`DRAWN_HEIGHTS`], height after height; none without inertia.
    pub drawn_lines: Vec<Streakline>,
    /// The dye of needles that have a diameter, for figures.
    pub bands: Vec<Band>,
    /// The mesh that figures are drawn from.
    pub drawn: Option<Finer>,
    /// The flow by the closure.
    pub closure: Option<ByClosure>,
    /// The pattern without the bubbles, where figures show it and no budget has it.
    pub without_bubbles: Option<Without>,
}

impl Findings {
    /// The pattern without the bubbles, if there are any and it was found.
    pub fn without_bubbles(&self) -> Option<&Without> {
        let of_budget = self.budget.as_ref().and_then(|budget| budget.bubbles.as_ref());
        of_budget.map(|bubbles| &bubbles.without).or(self.without_bubbles.as_ref())
    }
}

/// The flow through the gap.
#[derive(Debug)]
pub struct Layers {
    /// Wedges with the velocity in space.
    pub grid: LayerGrid,
    /// Streaklines at several heights.
    pub lines: Vec<Streakline>,
}

impl Study {
    /// Finds what is wanted; budget and sheet need a study with inertia and edge layer.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if a solver does not come to its end.
    pub fn find(&self, wanted: Wanted, watch: &(dyn Fn(Stage) + Sync)) -> Result<Findings> {
        let budget = if wanted.departure || wanted.sheet { Some(self.budget(watch)?) } else { None };
        self.find_with(budget, wanted, watch)
    }

    /// The same with a budget that is known.
    ///
    /// # Errors
    /// As [`Study::find`].
    pub fn find_with(
        &self,
        budget: Option<Budget>,
        wanted: Wanted,
        watch: &(dyn Fn(Stage) + Sync),
    ) -> Result<Findings> {
        let mut found = Findings::default();
        if wanted.closure {
            found.closure = Some(self.by_closure(budget.as_ref(), watch)?);
        }
        if let Some(budget) = budget {
            found.rig = wanted.sheet.then(|| self.rig(&budget)).transpose()?;
            found.layers = wanted.departure.then(|| self.layers()).transpose()?;
            found.budget = Some(budget);
        }
        if wanted.figures {
            found.drawn = Some(self.drawn_mesh(&self.solved.space.mesh));
            if found.budget.is_none() {
                found.without_bubbles = self.without_bubbles(watch)?;
            }
        }
        if wanted.figures && self.inertia.is_some() {
            found.drawn_lines = self.lines_at(&Seeding::Count(DRAWN_LINES), &DRAWN_HEIGHTS);
        }
        if let (Some(diameter), true) = (self.needle_diameter(), wanted.figures) {
            let StreaklineSettings { ref seeding, height, .. } = self.case.streaklines;
            found.bands = dye_bands(&self.dye(NearEdges::OuterFlow), seeding, height, diameter);
        }
        Ok(found)
    }

    /// A mesh of the cell as fine as figures need it.
    pub fn drawn_mesh(&self, mesh: &Arc<Mesh>) -> Finer {
        let [length, width] = self.case.cell.size();
        Finer::new(mesh.clone(), DRAWN_SIDE * length.max(width / DRAWN_WIDTH))
    }

    fn layers(&self) -> Result<Layers> {
        let with = Corrections { inertia: self.inertia.as_ref(), edge_layer: self.edge_layer.as_ref() };
        let grid = LayerGrid::new(&self.solved.space, &self.pattern, with, LAYERS)?;
        Ok(Layers { grid, lines: self.lines_at(&self.case.streaklines.seeding, &HEIGHTS) })
    }

    /// Streaklines at several heights, all of one height before those of the next.
    fn lines_at(&self, seeding: &Seeding, heights: &[f64]) -> Vec<Streakline> {
        let dye = self.dye(NearEdges::OuterFlow);
        heights.iter().flat_map(|&height| dye.streaklines(seeding, height)).collect()
    }

    /// The report: everything the study found, and what follows from it.
    pub fn report(&self, found: &Findings) -> Vec<Section> {
        let mut sections = self.sections();
        sections.extend(found.budget.iter().flat_map(|budget| budget.sections(self)));
        sections.extend(found.closure.iter().map(|closure| self.closure_section(closure)));
        sections
    }
}
