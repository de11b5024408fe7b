//! `rig`: the cell's design sheet.

use super::args::{Common, MeshGoal};
use super::exit::Exit;
use super::job::Job;
use super::tell::tell_briefly;
use crate::base::Result;
use crate::report::digest::Digest;
use crate::report::{BenchCard, FigureSettings};
use crate::study::{Settings, solve_decided};
use std::path::Path;

/// Solves a case with all corrections and writes the design sheet of its cell.
pub fn rig(path: &Path, mesh: MeshGoal, card: BenchCard, drawing: &FigureSettings, common: &Common) -> Result<Exit> {
    let Job { mut case, plan, folder, shown, progress } = Job::begin(path, common)?;
    let settings = Settings { goal: mesh.of(&mut case), inertia: true, edge_layer: true };
    let (study, budget) = solve_decided(&case, &plan, settings, &|stage| progress.stage(stage))?;
    progress.show("sizing the cell");
    let rig = study.rig(&budget)?;
    let sections = study.write_rig(&rig, folder, drawing, card)?;
    progress.end();
    let place = format!(
        "The sheet is in {shown} (rig.txt, rig.json, figures/feasible.* and feasible_by_rms.*{}). Read its cautions on glass under load, cutting, dyes, solvents and lasers first",
        if card == BenchCard::Wanted { "; for the bench bench_card.pdf" } else { "" }
    );
    tell_briefly(common, study.reached(), &sections, Digest::Rig, &place)
}
