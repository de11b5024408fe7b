//! One case from its plan to its results: the pattern, the corrections asked for, streaklines, report and files.
//!
//! This is the library's front door; the command-line program does nothing beyond it but read arguments and print.

mod bubbles;
mod budget;
mod closure;
mod compare;
mod decide;
mod drift;
mod expected;
mod fields;
mod fill;
mod findings;
mod forecast;
mod ladder;
mod lines;
mod mesh;
mod profile;
mod rig;
mod rig_sections;
pub mod sample;
mod sections;
mod survey;
mod warnings;

pub use bubbles::BubblesFound;
pub(crate) use budget::swept;
pub use budget::{Budget, BudgetErrors, CoarseBudget};
pub use closure::ByClosure;
pub use compare::{
    AgainstTheory, Coefficient, Comparison, Found, LinesFound, Material, Pressures, Theory, TracksFound, What, Wish,
    compare_measured, map_sections,
};
pub use decide::solve_decided;
pub use drift::Patched;
pub use expected::{Expected, expected};
pub use fill::{Course, Filled, Kept, LastPlace, Moment, Picture, fill_cell};
pub use findings::{DRAWN_HEIGHTS, DRAWN_LINES, Findings, Layers, Wanted};
pub use forecast::{Forecast, forecast};
pub use ladder::{Bracket, LEAST_MESHES, Ladder, LadderSettings, Meshes, Quantity, Rung, solve_ladder};
pub use mesh::{Meshed, make_mesh};
pub use profile::{Known, LineFlow, Profile};
pub use rig::Rig;
pub use sections::program;
pub use survey::{Coordinates, CoordinatesFrom, MeasuredOutline, Outlines, SurveySettings, survey_outlines};
pub use warnings::warnings_before;

use crate::base::{Point, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, EdgeTerm, Order, Reynolds};
use crate::numerics::mesh::Place;
use crate::theory::bubbles::Path;
use crate::theory::edge_layer::moved::{Moved, solve_moved};
use crate::theory::edge_layer::{EdgeLayer, solve_edge_layer};
use crate::theory::ideal::{
    BYTES_FOR_EDGE_LAYER, BYTES_FOR_INERTIA, Goal, Pattern, ProbeValue, Solved, Stage, solve_ideal_with_room,
};
use crate::theory::inertia::{Inertia, Setting, solve_inertia};
use crate::theory::streaklines::{Dye, NearEdges, Streakline, TimeLines, followed, time_lines};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// What to compute.
#[derive(Debug, Clone, Copy, Default)]
pub struct Settings {
    /// When the ideal pattern is good enough; the case's own goal if none.
    pub goal: Option<Goal>,
    /// Whether to add the inertia departure, as far as the case's `[inertia]` says.
    pub inertia: bool,
    /// Whether to add the first-order edge layer, and its variant with moved edges.
    pub edge_layer: bool,
}

impl Settings {
    /// Bytes that the corrections asked for take for each triangle.
    fn bytes_for_corrections(&self) -> f64 {
        match (self.edge_layer, self.inertia) {
            (true, _) => BYTES_FOR_EDGE_LAYER,
            (false, true) => BYTES_FOR_INERTIA,
            (false, false) => 0.0,
        }
    }
}

/// A solved case.
#[derive(Debug)]
pub struct Study {
    /// The case.
    pub case: Case,
    /// The plan of its fluid.
    pub plan: Arc<Plan>,
    /// The goal it was solved to.
    pub goal: Goal,
    /// Mesh, pair and cycles.
    pub solved: Solved,
    /// The ideal pattern in SI units.
    pub pattern: Pattern,
    /// The inertia departure, if asked for.
    pub inertia: Option<Inertia>,
    /// The edge-layer departure, if asked for.
    pub edge_layer: Option<EdgeLayer>,
    /// The variant with moved edges, or why there is none; none if no edge layer was asked for.
    pub moved: Option<Result<Moved>>,
    /// Streaklines at the case's dye height, through the departed field if inertia was asked for and first order holds.
    pub lines: Vec<Streakline>,
    /// Where dye is that was let in all at once, at the times that the case names; none on the meshes of a ladder.
    pub time_lines: TimeLines,
    /// Values along the lines of the case.
    pub profiles: Vec<Profile>,
    /// Paths of the case's free bubbles.
    pub bubbles: Vec<Path>,
    /// The pattern with each free bubble for which the case asks it; none on the meshes of a ladder.
    pub patches: Vec<Patched>,
    /// The three Reynolds numbers.
    pub reynolds: Reynolds,
    places: Vec<Place>,
    /// Wall-clock times.
    pub spent: Spent,
}

/// Wall-clock times of a study.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Spent {
    /// Making meshes.
    pub mesh: Duration,
    /// Solving, with what follows from it.
    pub solve: Duration,
    /// Both.
    pub total: Duration,
}

impl Spent {
    fn since(clock: Instant, mesh: Duration) -> Spent {
        let total = clock.elapsed();
        Spent { mesh, solve: total.saturating_sub(mesh), total }
    }
}

/// Reads a case file and checks its plan.
///
/// # Errors
/// [`crate::base::Error::Input`] with every mistake found in the case, its files and its geometry.
pub fn read(path: &std::path::Path) -> Result<(Case, Arc<Plan>)> {
    let (case, plan) = crate::input::read(path)?;
    Ok((case, Arc::new(plan)))
}

/// The same from the text of a case that stands in no file; `file` is the name that messages show and that the files it names are relative
/// to.
///
/// # Errors
/// As [`read`].
pub fn read_text(text: &str, file: &std::path::Path) -> Result<(Case, Arc<Plan>)> {
    let (case, plan) = crate::input::read_text(text, file)?;
    Ok((case, Arc::new(plan)))
}

/// The length the obstacle and reduced Reynolds numbers use, m: the one the case states, else the largest extent of an obstacle
/// across the flow, else the width of the inlet.
pub fn reference_length(case: &Case, plan: &Plan) -> f64 {
    case.drive.reference_length.or_else(|| plan.reference_length()).unwrap_or(case.cell.inlet_width())
}

impl Study {
    /// Solves a case. `watch` is told what is going on.
    ///
    /// # Errors
    /// [`crate::base::Error::Memory`] if a mesh does not fit the memory, [`crate::base::Error::Mesh`] if none can be made,
    /// [`crate::base::Error::NoConvergence`] if a solver does not come to its end.
    pub fn solve(case: Case, plan: Arc<Plan>, settings: Settings, watch: &(dyn Fn(Stage) + Sync)) -> Result<Study> {
        let clock = Instant::now();
        let mut study = Study::solve_unshown(case, plan, settings, watch)?;
        study.show()?;
        study.spent = Spent::since(clock, study.spent.mesh);
        Ok(study)
    }

    /// The same without what is only shown, for a study that another is measured by.
    fn solve_unshown(case: Case, plan: Arc<Plan>, settings: Settings, watch: &(dyn Fn(Stage) + Sync)) -> Result<Study> {
        let clock = Instant::now();
        let goal =
            settings.goal.unwrap_or(Goal::Error { relative: case.mesh.error, most_triangles: case.mesh.max_triangles });
        let solved = solve_ideal_with_room(&plan, &case, goal, settings.bytes_for_corrections(), watch)?;
        Study::finish(case, plan, goal, solved, settings, clock)
    }

    /// Adds time lines and the patterns with drifting bubbles.
    fn show(&mut self) -> Result<()> {
        self.time_lines = time_lines(&self.dye(self.near_edges()), &self.pattern.pressure, &self.case.streaklines);
        self.patches = drift::patches(&self.case, &self.solved.space, &self.pattern)?;
        Ok(())
    }

    fn near_edges(&self) -> NearEdges {
        if self.edge_layer.is_some() { NearEdges::Profile } else { NearEdges::OuterFlow }
    }

    /// Dye in the departed field if inertia was asked for and first order holds.
    fn dye(&self, near_edges: NearEdges) -> Dye<'_> {
        let departed = followed(self.inertia.as_ref(), self.reynolds.reduced);
        Dye::new(&self.solved.space, &self.pattern, departed, near_edges)
    }

    /// Pattern, corrections, lines and probes on a solved mesh.
    fn finish(
        case: Case,
        plan: Arc<Plan>,
        goal: Goal,
        solved: Solved,
        settings: Settings,
        clock: Instant,
    ) -> Result<Study> {
        let length = reference_length(&case, &plan);
        let space = &solved.space;
        let pattern = Pattern::new(space, &solved.pair, &case, length);
        let reynolds = Reynolds::new(pattern.drive.mean_speed, length, space.reference_gap, &case.fluid);
        let operator = &solved.pair.pressure_operator;
        let ends = case.drive.ends;
        let (mut edge_layer, mut moved) = (None, None);
        if settings.edge_layer {
            let layer = solve_edge_layer(space, operator, ends, &pattern, case.cell.inlet_width())?;
            moved = Some(solve_moved(&case, &plan, space, &layer));
            edge_layer = Some(layer);
        }
        let inertia = if settings.inertia {
            let v = &pattern.velocity;
            let corrected = edge_layer.as_ref().map_or(v, |layer| &layer.velocity);
            let first = solve_inertia(space, operator, ends, &case.fluid, v, corrected)?;
            let setting = Setting { space, operator, ends, fluid: &case.fluid };
            Some(continued(first, &case, &setting, &pattern, edge_layer.as_ref())?)
        } else {
            None
        };
        let bubbles = drift::bubble_paths(&case, space, &pattern)?;
        let locator = space.locator();
        let places = case.probes.iter().map(|probe| locator.place(probe.at, None)).collect();
        let mesh = solved.cycles.iter().map(|cycle| cycle.meshing).sum();
        let spent = Spent::since(clock, mesh);
        let mut study = Study {
            case,
            plan,
            goal,
            solved,
            pattern,
            inertia,
            edge_layer,
            moved,
            lines: Vec::new(),
            time_lines: TimeLines::default(),
            profiles: Vec::new(),
            bubbles,
            patches: Vec::new(),
            reynolds,
            places,
            spent,
        };
        let dye = &study.case.streaklines;
        study.lines = study.dye(study.near_edges()).streaklines(&dye.seeding, dye.height);
        study.profiles = study.along_lines();
        Ok(study)
    }

    /// Values of the ideal pattern at the case's probes, in their order.
    pub fn probe_values(&self) -> Vec<ProbeValue> {
        self.places.iter().map(|&(t, w)| self.pattern.at(&self.solved.space, t, w)).collect()
    }

    /// Value of a linear vertex field at the case's probes, in their order.
    pub fn at_probes(&self, field: &[f64]) -> Vec<f64> {
        self.places.iter().map(|&(t, w)| crate::theory::ideal::interpolate(&self.solved.space, t, w, field)).collect()
    }

    /// Values of the ideal pattern at any place; none outside the fluid.
    pub fn value_at(&self, at: Point) -> Option<ProbeValue> {
        self.plan.contains(at).then(|| {
            let (t, w) = self.solved.space.locator().place(at, None);
            self.pattern.at(&self.solved.space, t, w)
        })
    }

    /// Diameter of the needles that let the dye in, m, if the case has one.
    pub fn needle_diameter(&self) -> Option<f64> {
        self.case.streaklines.needle.as_ref().map(|needle| needle.diameter)
    }

    /// Whether the goal was reached.
    pub fn reached(&self) -> bool {
        self.solved.reached
    }
}

/// The inertia departure as far as the case wants it: the next term of the edge layer's inertia, the second order.
fn continued(
    mut inertia: Inertia,
    case: &Case,
    setting: &Setting,
    pattern: &Pattern,
    edge_layer: Option<&EdgeLayer>,
) -> Result<Inertia> {
    let Setting { space, operator, ends, .. } = *setting;
    match case.inertia.edge_term {
        EdgeTerm::Next if space.uniform_gap() => {
            let own = if edge_layer.is_none() {
                Some(solve_edge_layer(space, operator, ends, pattern, case.cell.inlet_width())?)
            } else {
                None
            };
            if let Some(layer) = edge_layer.or(own.as_ref()) {
                inertia = inertia.with_next_edge_term(setting, &layer.change_at_speed(pattern))?;
            }
        }
        EdgeTerm::Factor => inertia = inertia.with_curvature_factor(setting)?,
        EdgeTerm::Next | EdgeTerm::Leading => {}
    }
    match case.inertia.order {
        Order::First => Ok(inertia),
        Order::Second => inertia.with_second_order(setting),
    }
}
