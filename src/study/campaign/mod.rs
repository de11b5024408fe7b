//! Many runs of one case with other values: which run is which, what is done for each, and the order they are done in.
//!
//! Every run is computed by one thread, so that all cores work whatever the runs are, and is the same to the last byte as if it were the
//! only one.

mod measure;
mod order;
pub mod seek;
pub mod uncertainty;

pub use measure::{Measured, Unfound, measure};
pub use order::{Order, Part, scaling_keys};

use super::{Filled, Findings, Rig, Settings, Shared, Study, Wanted, fill_cell, solve_decided_with};
use crate::base::row::Section;
use crate::base::stop::{Stop, go_on};
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::campaign::{Campaign, Keep, MeshWish, Work};
use crate::input::case::Case;
use crate::theory::ideal::Goal;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// What one run found.
#[derive(Debug)]
pub enum Found {
    /// The pattern, with the budget where one was asked for.
    Pattern(Box<Study>, Box<Findings>),
    /// The design sheet.
    Sheet(Box<Study>, Box<Rig>),
    /// The filling.
    Filled(Box<Filled>),
}

impl Found {
    /// Its report, without times and files.
    pub fn sections(&self) -> Vec<Section> {
        match self {
            Found::Pattern(study, found) => study.report(found),
            Found::Sheet(study, rig) => study.rig_sections(rig),
            Found::Filled(filled) => filled.report(),
        }
    }

    /// Triangles of its mesh.
    pub fn triangles(&self) -> Option<usize> {
        match self {
            Found::Pattern(study, _) | Found::Sheet(study, _) => Some(study.solved.space.mesh.triangles.len()),
            Found::Filled(_) => None,
        }
    }

    /// Whether the wanted accuracy was reached.
    pub fn reached(&self) -> bool {
        match self {
            Found::Pattern(study, _) | Found::Sheet(study, _) => study.reached(),
            Found::Filled(_) => true,
        }
    }
}

impl MeshWish {
    /// The goal of a case; none if the case has its own.
    pub fn goal(&self, case: &Case) -> Option<Goal> {
        let by_error = |relative| Goal::Error { relative, most_triangles: case.mesh.max_triangles };
        self.triangles.map(Goal::Triangles).or(self.error.map(by_error))
    }
}

/// Computes the case of a run; what only files show is only prepared if all files are kept. Runs share solutions.
///
/// # Errors
/// As [`solve_decided_with`] and [`fill_cell`].
pub fn work(campaign: &Campaign, case: Case, plan: Arc<Plan>, shared: &Shared) -> Result<Found> {
    let settings = settings(campaign, &case);
    match campaign.work {
        Work::Solve => {
            let study = Study::solve_with(case, plan, settings, shared, &|_| {})?;
            let found = study.find(Wanted::default(), &|_| {})?;
            Ok(Found::Pattern(Box::new(study), Box::new(found)))
        }
        Work::Departure => {
            let (study, budget) = solve_decided_with(&case, &plan, settings, shared, &|_| {})?;
            let wanted = Wanted { departure: true, ..Wanted::default() };
            let found = match campaign.keep {
                Keep::All => study.find_with(Some(budget), wanted, &|_| {})?,
                Keep::Report | Keep::Lines => Findings { budget: Some(budget), ..Findings::default() },
            };
            Ok(Found::Pattern(Box::new(study), Box::new(found)))
        }
        Work::Rig => {
            let (study, budget) = solve_decided_with(&case, &plan, settings, shared, &|_| {})?;
            let rig = study.rig(&budget)?;
            Ok(Found::Sheet(Box::new(study), Box::new(rig)))
        }
        Work::Fill => Ok(Found::Filled(Box::new(fill_cell(case, plan, settings.goal, &|_| {})?))),
    }
}

/// What is computed of a case.
fn settings(campaign: &Campaign, case: &Case) -> Settings {
    let corrected = matches!(campaign.work, Work::Departure | Work::Rig);
    Settings { goal: campaign.mesh.goal(case), inertia: corrected, edge_layer: corrected }
}

impl Campaign {
    /// The settings that make the command for one case do the same.
    pub fn settings(&self) -> String {
        let MeshWish { triangles, error } = self.mesh;
        let triangles = triangles.map_or(String::new(), |n| format!(" triangles={n}"));
        let error = error.map_or(String::new(), |e| format!(" error={e}"));
        format!("{}{triangles}{error}", self.work.word())
    }

    /// Reads the case of a run.
    ///
    /// # Errors
    /// [`Error::Input`] with the mistakes that its values make.
    pub fn read_run(&self, run: usize) -> Result<(Case, Arc<Plan>)> {
        super::read_text(&self.case_text(run), &self.base.file)
    }
}

/// Solutions that a worker keeps: those of the case at work on its meshes, and of the one before.
const KEPT: usize = 6;

/// Does something for every run of some groups, several groups at once, each on a thread of its own on which nothing else is done in
/// parallel; groups are begun in their order, and the runs of one share what was solved. The first error ends it: runs that are at work
/// are finished and those after them left.
///
/// # Errors
/// The first error that `each` returns; [`Error::Failed`] if no thread can be started.
pub fn on_all_cores(
    groups: &[&[usize]],
    threads: usize,
    each: &(dyn Fn(usize, &Shared) -> Result<()> + Sync),
) -> Result<()> {
    let (next, ended) = (AtomicUsize::new(0), AtomicBool::new(false));
    let first: Mutex<Option<Error>> = Mutex::new(None);
    let fail = |error: Error| {
        ended.store(true, Ordering::Relaxed);
        first.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(error);
    };
    let no_thread = |e: String| Error::failed(format!("no thread could be started: {e}"), "close other programs");
    let stop = Stop::of_this_thread();
    let worker = || {
        if let Some(stop) = &stop {
            stop.here();
        }
        let pool = match rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build() {
            Ok(pool) => pool,
            Err(error) => return fail(no_thread(error.to_string())),
        };
        let shared = Shared::new(KEPT);
        while let Some(group) = groups.get(next.fetch_add(1, Ordering::Relaxed)) {
            for &run in *group {
                if ended.load(Ordering::Relaxed) {
                    return;
                }
                if let Err(error) = pool.install(|| go_on().and_then(|()| each(run, &shared))) {
                    fail(error);
                }
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, groups.len().max(1)) {
            if let Err(error) = std::thread::Builder::new().spawn_scoped(scope, worker) {
                fail(no_thread(error.to_string()));
            }
        }
    });
    first.into_inner().unwrap_or_else(PoisonError::into_inner).map_or(Ok(()), Err)
}

/// What went wrong in one line: of a case with mistakes the first of them with its remedy, and how many more there are.
pub fn in_one_line(error: &Error) -> String {
    let text = match error {
        Error::Input(problems) => {
            let more = problems.list.len().saturating_sub(1);
            let more = if more > 0 { format!(" (and {more} more)") } else { String::new() };
            let first = problems.list.first().map(|first| format!("{}; {}", first.message, first.remedy));
            first.unwrap_or_default() + &more
        }
        other => other.what(),
    };
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_run_is_done_once_and_the_first_error_ends_it() {
        let runs: Vec<usize> = (0..50).collect();
        let groups: Vec<&[usize]> = runs.chunks(3).collect();
        for threads in [1, 3] {
            let done = Mutex::new(Vec::new());
            on_all_cores(&groups, threads, &|run, _| {
                assert_eq!(rayon::current_num_threads(), 1);
                done.lock().unwrap().push(run);
                Ok(())
            })
            .unwrap();
            let mut done = done.into_inner().unwrap();
            done.sort_unstable();
            assert_eq!(done, runs);
            let count = AtomicUsize::new(0);
            let error = on_all_cores(&groups, threads, &|run, _| {
                count.fetch_add(1, Ordering::Relaxed);
                if run == 4 { Err(Error::failed("four", "none")) } else { Ok(()) }
            });
            assert_eq!(error.unwrap_err().what(), "four");
            assert!(count.into_inner() < 50);
            let (stop, count) = (Stop::default(), AtomicUsize::new(0));
            let stopped = std::thread::scope(|scope| {
                let work = || {
                    stop.here();
                    on_all_cores(&groups, threads, &|_, _| {
                        count.fetch_add(1, Ordering::Relaxed);
                        stop.raise();
                        Ok(())
                    })
                };
                scope.spawn(work).join().unwrap()
            });
            assert!(matches!(stopped, Err(Error::Stopped)) && count.into_inner() <= threads);
        }
    }
}
