//! The flow by the closure, beside what the series has.

use super::{Budget, Study};
use crate::base::row::Section;
use crate::base::{Point, Result};
use crate::theory::closure::{BySeries, Closure, Comparison, Departure, solve_closure};
use crate::theory::departure::{Effect, Scale, View};
use crate::theory::ideal::Stage;
use std::time::{Duration, Instant};

/// The flow by the closure.
#[derive(Debug)]
pub struct ByClosure {
    /// The flow itself.
    pub closure: Closure,
    /// Its departure at the probes.
    pub at_probes: Departure,
    /// How it stands to the series, where a budget was made.
    pub comparison: Option<Comparison>,
    /// Wall-clock time it took.
    pub spent: Duration,
}

impl Study {
    pub(super) fn by_closure(&self, budget: Option<&Budget>, watch: &(dyn Fn(Stage) + Sync)) -> Result<ByClosure> {
        let clock = Instant::now();
        let closure = solve_closure(&self.case, &self.plan, self.pattern.drive.flow_rate, watch)?;
        let places: Vec<Point> = self.case.probes.iter().map(|probe| probe.at).collect();
        let at_probes = closure.departure_at(&places);
        let comparison = budget.and_then(|budget| self.beside_series(budget, &closure));
        Ok(ByClosure { closure, at_probes, comparison, spent: clock.elapsed() })
    }

    /// None without inertia and edge layer.
    fn beside_series(&self, budget: &Budget, closure: &Closure) -> Option<Comparison> {
        let (space, inertia) = (&self.solved.space, self.inertia.as_ref()?);
        let of = |effect: Effect| {
            let found = budget.contributions.iter().find(|c| c.effect == effect);
            found.map(|c| c.departure(Scale::ONE, View::GapMean))
        };
        let (edge_layer, first) = (of(Effect::EdgeLayer)?, of(Effect::Inertia)?);
        let reference = budget.reference(self);
        let places: Vec<Point> = budget.region.vertices.iter().map(|&v| space.mesh.points[v]).collect();
        let series = BySeries {
            edge_layer: &edge_layer,
            inertia: &first,
            bands: &inertia.bands,
            edge_number: inertia.edge_number(space, &self.case.fluid),
        };
        Some(Comparison::new(&reference, &closure.departure_at(&places), &series))
    }

    pub(super) fn closure_section(&self, found: &ByClosure) -> Section {
        let probes = self.probes();
        let ideal = probes.vector(&self.pattern.velocity);
        let speed = self.pattern.drive.mean_speed;
        found.closure.section(&probes, &ideal, &found.at_probes, speed, found.comparison.as_ref())
    }
}
