//! Solutions that several runs share.

use super::once::Once;
use super::settings::Settings;
use super::solution::Solution;
use crate::base::Result;
use crate::base::hash::sha256;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::theory::ideal::{Goal, Stage, solve_ideal_with_room};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// Solutions in the unit state, found again by what they follow from: runs that differ in drive, fluid, tolerance, probes, lines, dye or sweep
/// share one mesh and all that was solved on it. What a run finds does not depend on what was solved before.
///
/// Threads may share it, those of a rayon pool as well; they wait for each other only outside such a pool.
#[derive(Debug)]
pub struct Shared {
    /// The longest unused first.
    entries: Mutex<Vec<(String, Arc<Once<Solution>>)>>,
    most: usize,
    made: AtomicUsize,
}

impl Shared {
    /// None yet, and never more than so many: the longest unused is dropped. One mesh and what is solved on it takes some 1 kB a triangle, and
    /// a departure asks for two or three.
    pub fn new(most: usize) -> Shared {
        Shared { entries: Mutex::default(), most: most.max(1), made: AtomicUsize::new(0) }
    }

    /// How many solutions were made so far.
    pub fn made(&self) -> usize {
        self.made.load(Ordering::Relaxed)
    }

    /// The solution of a case to a goal.
    ///
    /// # Errors
    /// As [`super::Study::solve`].
    pub(super) fn solution(
        &self,
        case: &Case,
        plan: &Arc<Plan>,
        settings: Settings,
        watch: &(dyn Fn(Stage) + Sync),
    ) -> Result<Arc<Solution>> {
        let goal = settings.goal_of(case);
        self.entry(key(case, plan, goal, settings)).get(|| {
            let solved = solve_ideal_with_room(plan, case, goal, settings.bytes_for_corrections(), watch)?;
            self.made.fetch_add(1, Ordering::Relaxed);
            Ok(Solution::new(case, plan, solved))
        })
    }

    fn entry(&self, key: String) -> Arc<Once<Solution>> {
        let mut entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        let known = entries.iter().position(|(other, _)| *other == key);
        let entry = known.map_or_else(|| (key, Arc::default()), |k| entries.remove(k));
        let solution = entry.1.clone();
        entries.push(entry);
        let beyond = entries.len().saturating_sub(self.most);
        entries.drain(..beyond);
        solution
    }
}

/// All that mesh and unit state follow from; the corrections tell how much memory the mesh leaves free.
pub(super) fn key(case: &Case, plan: &Plan, goal: Goal, settings: Settings) -> String {
    let (cell, mesh) = (&case.cell, &case.mesh);
    let corrections = [settings.edge_layer, settings.inertia];
    let text = format!("{:?}", (plan, &cell.shape, &cell.gap, case.drive.ends, mesh, case.inertia, goal, corrections));
    sha256(text.as_bytes())
}
