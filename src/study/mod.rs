//! One case from its plan to its results: the pattern, the corrections asked for, streaklines, report and files.
//!
//! This is the library's front door; the command-line program does nothing beyond it but read arguments and print.

mod bubbles;
mod budget;
pub mod campaign;
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
mod once;
mod profile;
mod rig;
mod rig_sections;
pub mod sample;
mod sections;
mod settings;
mod shared;
mod solution;
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
pub use decide::{solve_decided, solve_decided_with};
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
pub use settings::Settings;
pub use shared::Shared;
pub use solution::Solution;
pub use survey::{Coordinates, CoordinatesFrom, MeasuredOutline, Outlines, SurveySettings, survey_outlines};
pub use warnings::warnings_before;

use crate::base::units::Dimension;
use crate::base::{Point, Result};
use crate::geometry::{Corner, Plan};
use crate::input::campaign::check_uncertainty;
use crate::input::case::{Case, Ends, Reynolds};
use crate::numerics::mesh::Place;
use crate::theory::bubbles::Path;
use crate::theory::edge_layer::EdgeLayer;
use crate::theory::edge_layer::moved::Moved;
use crate::theory::ideal::{Goal, Pattern, ProbeValue, Solved, Stage};
use crate::theory::inertia::Inertia;
use crate::theory::streaklines::{Dye, NearEdges, Streakline, TimeLines, followed, time_lines};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Angle between an end and the wall beside it from which on inertia is refused, rad.
const BLUNT: f64 = 5.0 / 6.0 * std::f64::consts::PI;

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
    pub solved: Arc<Solved>,
    /// The ideal pattern in SI units.
    pub pattern: Pattern,
    /// The inertia departure, if asked for.
    pub inertia: Option<Inertia>,
    /// The edge-layer departure, if asked for.
    pub edge_layer: Option<EdgeLayer>,
    /// The variant with moved edges, or why there is none; none if no edge layer was asked for.
    pub moved: Option<Arc<Result<Moved>>>,
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
    /// What is solved, in the unit state.
    unit: Arc<Solution>,
    reached: bool,
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
    checked(crate::input::read(path)?)
}

/// The same from the text of a case that stands in no file; `file` is the name that messages show and that the files it names are relative
/// to.
///
/// # Errors
/// As [`read`].
pub fn read_text(text: &str, file: &std::path::Path) -> Result<(Case, Arc<Plan>)> {
    checked(crate::input::read_text(text, file)?)
}

/// The same once its tolerances are known to be those of its quantities.
fn checked((case, plan): (Case, Plan)) -> Result<(Case, Arc<Plan>)> {
    check_uncertainty(&case)?;
    Ok((case, Arc::new(plan)))
}

/// The length the obstacle and reduced Reynolds numbers use, m: the one the case states, else the largest extent of an obstacle
/// across the flow, else the width of the inlet.
pub fn reference_length(case: &Case, plan: &Plan) -> f64 {
    case.drive.reference_length.or_else(|| plan.reference_length()).unwrap_or(case.cell.inlet_width())
}

/// Makes sure that inertia has a limit at the ends. Where a held end meets a wall at an angle ω the speed goes as r^(π/(2 ω) − 1), and q1 =
/// (27/35) ρ |V|² that is held on the end as its square: towards a straight angle its integral over the end grows without limit.
///
/// # Errors
/// [`crate::base::Error::Failed`] with the place where it has none.
fn ends_bound_inertia(plan: &Plan, ends: Ends) -> Result<()> {
    let solid = |piece: usize| plan.solid(plan.pieces[piece].side).is_some();
    let is_rim = |corner: &Corner| solid(corner.before) != solid(corner.after);
    let blunt = plan.junctions().into_iter().find(|corner| is_rim(corner) && corner.fluid_angle > BLUNT);
    match blunt.filter(|_| ends == Ends::HeldPressure) {
        None => Ok(()),
        Some(Corner { at: [x, y], fluid_angle, .. }) => {
            let show = |x: f64| Dimension::Length.show(x);
            let what = format!(
                "inertia has no limit at the rim of the end near ({}, {}): it meets the wall at {:.0} degrees, and from {:.0} on the speed there \
                 grows without limit as the mesh is refined",
                show(x),
                show(y),
                fluid_angle.to_degrees(),
                BLUNT.to_degrees()
            );
            let remedy =
                "draw the channel that leads to the end, with walls at right angles to it, or leave inertia out";
            Err(crate::base::Error::failed(what, remedy))
        }
    }
}

impl Study {
    /// Solves a case. `watch` is told what is going on.
    ///
    /// # Errors
    /// [`crate::base::Error::Memory`] if a mesh does not fit the memory, [`crate::base::Error::Mesh`] if none can be made,
    /// [`crate::base::Error::NoConvergence`] if a solver does not come to its end.
    pub fn solve(case: Case, plan: Arc<Plan>, settings: Settings, watch: &(dyn Fn(Stage) + Sync)) -> Result<Study> {
        Study::solve_with(case, plan, settings, &Shared::new(1), watch)
    }

    /// The same from what other runs have solved, or for them: to the same bits.
    ///
    /// # Errors
    /// As [`Study::solve`].
    pub fn solve_with(
        case: Case,
        plan: Arc<Plan>,
        settings: Settings,
        shared: &Shared,
        watch: &(dyn Fn(Stage) + Sync),
    ) -> Result<Study> {
        let clock = Instant::now();
        let mut study = Study::solve_unshown(case, plan, settings, shared, watch)?;
        study.show(shared)?;
        study.spent = Spent::since(clock, study.spent.mesh);
        Ok(study)
    }

    /// The same without what is only shown, for a study that another is measured by.
    fn solve_unshown(
        case: Case,
        plan: Arc<Plan>,
        settings: Settings,
        shared: &Shared,
        watch: &(dyn Fn(Stage) + Sync),
    ) -> Result<Study> {
        let clock = Instant::now();
        if settings.inertia {
            ends_bound_inertia(&plan, case.drive.ends)?;
        }
        let unit = shared.solution(&case, &plan, settings, watch)?;
        Study::finish(case, plan, unit, settings, clock)
    }

    /// Adds time lines and the patterns with drifting bubbles.
    fn show(&mut self, shared: &Shared) -> Result<()> {
        self.time_lines = time_lines(&self.dye(self.near_edges()), &self.pattern.pressure, &self.case.streaklines);
        self.patches = drift::patches(&self.case, &self.solved.space, &self.pattern, shared)?;
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

    /// Pattern, corrections, lines and probes from what is solved on a mesh.
    fn finish(case: Case, plan: Arc<Plan>, unit: Arc<Solution>, settings: Settings, clock: Instant) -> Result<Study> {
        let goal = settings.goal_of(&case);
        let length = reference_length(&case, &plan);
        let (solved, fluid) = (unit.solved.clone(), &case.fluid);
        let space = &solved.space;
        let pattern = unit.pattern.scaled(space, &case, length);
        let speed = pattern.drive.mean_speed;
        let reynolds = Reynolds::new(speed, length, space.reference_gap, fluid);
        let (mut edge_layer, mut moved) = (None, None);
        if settings.edge_layer {
            edge_layer = Some(unit.edge_layer()?.scaled(speed, fluid));
            moved = Some(unit.moved()?);
        }
        let inertia = if settings.inertia { Some(unit.inertia(settings)?.scaled(space, speed, fluid)) } else { None };
        let bubbles = drift::bubble_paths(&case, space, &pattern)?;
        let locator = space.locator();
        let places = case.probes.iter().map(|probe| locator.place(probe.at, None)).collect();
        // a solution of a run before took no time of this one
        let mesh =
            if unit.at >= clock { solved.cycles.iter().map(|cycle| cycle.meshing).sum() } else { Duration::ZERO };
        let spent = Spent::since(clock, mesh);
        let mut study = Study {
            case,
            plan,
            goal,
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
            reached: solved.reached,
            solved,
            unit,
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
        self.reached
    }
}
