//! What is solved on one mesh in the unit state, for any drive and any fluid.
//!
//! Slow flow between plates is linear, and every departure that is solved for goes by known powers of U, ρ and μ. So a plan with its gap and
//! ends is solved once, at a mean speed of 1 m/s of a fluid of 1 kg/m3 and 1 Pa s ([`Case::in_unit_state`]); each [`Study`](super::Study) of it
//! is a multiple of that, by itself or beside others, to the same bits.

use super::once::Once;
use super::settings::Settings;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, EdgeTerm, Gap, Order};
use crate::numerics::fem::Space;
use crate::theory::bubbles::Without;
use crate::theory::circulation::{Circulation, sharp_tails, solve_circulation};
use crate::theory::confinement::{Unconfined, unconfined};
use crate::theory::departure::Region;
use crate::theory::edge_layer::moved::{Moved, solve_moved};
use crate::theory::edge_layer::{EdgeLayer, Margin, solve_edge_layer, solve_rims};
use crate::theory::ideal::{Pattern, Solved, Stage, solve_pair};
use crate::theory::inertia::{Inertia, Setting, solve_inertia};
use std::sync::Arc;
use std::time::Instant;

/// Mesh and pair, and what follows from them in the unit state, each part solved when it is first asked for.
#[derive(Debug)]
pub struct Solution {
    /// Mesh, pair and cycles.
    pub solved: Arc<Solved>,
    /// The ideal pattern.
    pub pattern: Pattern,
    /// When it was solved.
    pub(super) at: Instant,
    case: Case,
    plan: Arc<Plan>,
    edge_layer: Once<EdgeLayer>,
    moved: Once<Result<Moved>>,
    /// Without and with the edge layer in its pressure.
    inertia: [Once<Inertia>; 2],
    level: Once<Pattern>,
    region: Once<Region>,
    unconfined: Once<Option<Unconfined>>,
    circulation: Once<Option<Circulation>>,
    bubbles: Once<Option<Bubbles>>,
}

/// What is solved for the sake of the bubbles that are held in a cell.
#[derive(Debug)]
pub(super) struct Bubbles {
    /// The pattern without them.
    pub(super) without: Without,
    /// Its velocity at the vertices of the cell, m/s.
    pub(super) alone: Vec<[f64; 2]>,
    /// The edge layer that their rims alone have.
    pub(super) rims: EdgeLayer,
}

impl Solution {
    /// From what was solved of a case. Of the case only what [`super::Shared`] tells cases apart by counts.
    pub(super) fn new(case: &Case, plan: &Arc<Plan>, solved: Solved) -> Solution {
        let case = case.in_unit_state();
        let space = &solved.space;
        // found here, so that no thread waits for another over them
        space.locator();
        space.wall_distance();
        Solution {
            pattern: Pattern::unit(space, &solved.pair, &case),
            solved: Arc::new(solved),
            at: Instant::now(),
            case,
            plan: plan.clone(),
            edge_layer: Once::default(),
            moved: Once::default(),
            inertia: Default::default(),
            level: Once::default(),
            region: Once::default(),
            unconfined: Once::default(),
            circulation: Once::default(),
            bubbles: Once::default(),
        }
    }

    fn space(&self) -> &Space {
        &self.solved.space
    }

    fn setting(&self) -> Setting<'_> {
        let operator = &self.solved.pair.pressure_operator;
        Setting { space: self.space(), operator, ends: self.case.drive.ends, fluid: &self.case.fluid }
    }

    pub(super) fn edge_layer(&self) -> Result<Arc<EdgeLayer>> {
        let Setting { space, operator, ends, .. } = self.setting();
        self.edge_layer.get(|| solve_edge_layer(space, operator, ends, &self.pattern, self.case.cell.inlet_width()))
    }

    /// The shape factor with moved edges, or why there is none.
    pub(super) fn moved(&self) -> Result<Arc<Result<Moved>>> {
        let layer = self.edge_layer()?;
        self.moved.get(|| match solve_moved(&self.case, &self.plan, self.space(), &layer) {
            Err(Error::Stopped) => Err(Error::Stopped),
            other => Ok(other),
        })
    }

    /// The inertia departure as far as the case wants it: the next term of the edge layer's inertia, the second order.
    pub(super) fn inertia(&self, settings: Settings) -> Result<Arc<Inertia>> {
        self.inertia[usize::from(settings.edge_layer)].get(|| {
            let (setting, velocity) = (self.setting(), &self.pattern.velocity);
            let Setting { space, operator, ends, fluid } = setting;
            let layer = if settings.edge_layer { Some(self.edge_layer()?) } else { None };
            let corrected = layer.as_ref().map_or(velocity, |layer| &layer.velocity);
            let mut inertia = solve_inertia(space, operator, ends, fluid, velocity, corrected)?;
            match self.case.inertia.edge_term {
                EdgeTerm::Next if space.uniform_gap() => {
                    let change = self.edge_layer()?.change_at_speed(&self.pattern);
                    inertia = inertia.with_next_edge_term(&setting, &change)?;
                }
                EdgeTerm::Factor => inertia = inertia.with_curvature_factor(&setting)?,
                EdgeTerm::Next | EdgeTerm::Leading => {}
            }
            match self.case.inertia.order {
                Order::First => Ok(inertia),
                Order::Second => inertia.with_second_order(&setting),
            }
        })
    }

    /// The pattern in the gap at the middle of the cell, the same everywhere.
    pub(super) fn level(&self) -> Result<Arc<Pattern>> {
        let space = self.space();
        self.level.get(|| {
            let gap = Gap::Uniform(space.reference_gap);
            let flat = Space::new(space.mesh.clone(), &gap, space.reference_gap);
            let expected = self.pattern.shape_factor.relative_half_width;
            let pair = solve_pair(&flat, self.case.drive.ends, expected)?;
            Ok(Pattern::unit(&flat, &pair, &self.case.in_gap(gap)))
        })
    }

    /// The observation region of the pattern that departures are measured from, at the reach of the edge layer.
    pub(super) fn region(&self) -> Result<Arc<Region>> {
        let space = self.space();
        let level = if space.uniform_gap() { None } else { Some(self.level()?) };
        let Pattern { velocity, stream_function, .. } = level.as_deref().unwrap_or(&self.pattern);
        self.region.get(|| Ok(Region::new(space, Margin::REACH, velocity, stream_function)))
    }

    /// The same obstacles in an unbounded stream.
    pub(super) fn unconfined(&self, watch: &(dyn Fn(Stage) + Sync)) -> Result<Arc<Option<Unconfined>>> {
        self.unconfined.get(|| unconfined(&self.case, &self.plan, self.space(), &self.pattern, watch))
    }

    /// The Kutta circulation at sharp tails.
    pub(super) fn circulation(&self) -> Result<Arc<Option<Circulation>>> {
        let (space, pair) = (self.space(), &self.solved.pair);
        self.circulation.get(|| {
            let tails = sharp_tails(space).found;
            solve_circulation(space, &tails, pair, self.case.drive.ends, &self.pattern)
        })
    }

    /// What the bubbles in the cell ask for, if there are any.
    pub(super) fn bubbles(&self, watch: &(dyn Fn(Stage) + Sync)) -> Result<Arc<Option<Bubbles>>> {
        self.bubbles.get(|| {
            let Setting { space, operator, ends, .. } = self.setting();
            let Some(without) = Without::solve(&self.case, &self.plan, space, 1.0, watch)? else { return Ok(None) };
            let level = if space.uniform_gap() { None } else { Some(self.level()?) };
            let Pattern { velocity, stream_function, .. } = level.as_deref().unwrap_or(&self.pattern);
            let alone = without.on(space, &self.case, velocity, stream_function)?;
            let rims = solve_rims(space, operator, ends, &self.pattern)?;
            Ok(Some(Bubbles { without, alone, rims }))
        })
    }
}
