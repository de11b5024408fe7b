//! The meshes of a ladder, one after the other, and what is taken down on each.

use super::quantity::{Quantity, Rung, quantities};
use super::settings::{LEAST_MESHES, LadderSettings, Meshes};
use crate::base::error::Usage;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::numerics::fem::Space;
use crate::numerics::mesh::{Mesh, SizeField, SizeOptions};
use crate::study::{Settings, Solution, Study};
use crate::theory::convergence::mesh_size;
use crate::theory::ideal::{Cycle, Goal, Solved, Stage, check_memory, solve_ideal_with_room, solve_pair};
use std::sync::Arc;
use std::time::Instant;

/// Meshes of a ladder by default, if the finest has no more than [`USUAL`] triangles, else one less.
const LEVELS: usize = 5;
const USUAL: usize = 500_000;
/// Half-width given to the solver as expected: iteration goes on until what is left is at rounding.
const TIGHT: f64 = 1e-9;
/// Least growth of the number of triangles from one mesh of an adaptive ladder to the next.
const STEP: f64 = 2.0;

/// A ladder in the making.
pub(super) struct Climb<'a> {
    case: &'a Case,
    plan: &'a Arc<Plan>,
    wish: &'a LadderSettings,
    pub(super) quantities: Vec<Quantity>,
    pub(super) rungs: Vec<Rung>,
    pub(super) notes: Vec<String>,
    pub(super) finest: Option<Study>,
}

impl<'a> Climb<'a> {
    /// A ladder without meshes.
    pub(super) fn new(case: &'a Case, plan: &'a Arc<Plan>, wish: &'a LadderSettings) -> Self {
        Climb { case, plan, wish, quantities: Vec::new(), rungs: Vec::new(), notes: Vec::new(), finest: None }
    }

    /// Solves on every mesh.
    pub(super) fn run(&mut self, watch: &(dyn Fn(Stage) + Sync)) -> Result<()> {
        match &self.wish.meshes {
            Meshes::Halving { levels } => self.halving(*levels, watch),
            Meshes::Sizes(sizes) => self.sizes(sizes, watch),
            Meshes::Adaptive { levels } => self.adaptive(*levels, watch),
        }
    }

    fn halving(&mut self, levels: Option<usize>, watch: &(dyn Fn(Stage) + Sync)) -> Result<()> {
        let options = SizeOptions {
            growth: self.case.mesh.growth,
            max_edge: self.case.mesh.max_edge,
            most_triangles: self.case.mesh.max_triangles as f64,
            ..SizeOptions::default()
        };
        let field = SizeField::from_plan(self.plan, &options)?;
        let estimate = field.estimate_triangles(self.plan)?;
        watch(Stage::Meshing(estimate as usize));
        let mut mesh = Mesh::generate(self.plan, &field, 2 * estimate as usize + 1000)?;
        let finest = |levels: usize| mesh.triangles.len().saturating_mul(4usize.saturating_pow(levels as u32 - 1));
        let usual = if finest(LEVELS) <= USUAL { LEVELS } else { LEVELS - 1 };
        let number = levels.unwrap_or(usual);
        if number < LEAST_MESHES {
            return Err(too_few(number));
        }
        self.affordable(finest(number), levels.is_some())?;
        let places: Vec<_> = self.case.probes.iter().map(|probe| probe.at).collect();
        let at;
        (mesh, at) = mesh.with_vertices_at(&places);
        for (probe, _) in self.case.probes.iter().zip(&at).filter(|(_, vertex)| vertex.is_none()) {
            self.notes.push(format!(
                "the probe \"{}\" stands too near an edge to be a vertex of the meshes; its values are interpolated, which blurs \
                 their order",
                probe.name
            ));
        }
        let gap = self.case.cell.middle_gap();
        let mut held_back = 0;
        for level in 0..number {
            let clock = Instant::now();
            if level > 0 {
                let refined = mesh.refine_uniform();
                held_back += refined.1;
                mesh = refined.0;
            }
            watch(Stage::Solving(mesh.triangles.len()));
            let next = (level + 1 < number).then(|| mesh.clone());
            let meshing = clock.elapsed();
            let space = Space::new(Arc::new(mesh), &self.case.cell.gap, gap);
            let pair = solve_pair(&space, self.case.drive.ends, TIGHT)?;
            let cycle = Cycle {
                triangles: space.mesh.triangles.len(),
                levels: level + 1,
                relative_half_width: (pair.upper - pair.lower) / (pair.upper + pair.lower),
                iterations: pair.iterations,
                meshing,
                solving: clock.elapsed() - meshing,
            };
            watch(Stage::Done(cycle));
            let solved = Solved { space, pair, cycles: vec![cycle], reached: true };
            self.add(solved, Goal::Triangles(cycle.triangles), clock, watch)?;
            match next {
                Some(coarse) => mesh = coarse,
                None => break,
            }
        }
        if held_back > 0 {
            self.notes.push(format!(
                "{held_back} vertices could not be moved onto their curve without folding a triangle; orders may suffer"
            ));
        }
        Ok(())
    }

    fn sizes(&mut self, sizes: &[usize], watch: &(dyn Fn(Stage) + Sync)) -> Result<()> {
        if sizes.len() < LEAST_MESHES {
            return Err(too_few(sizes.len()));
        }
        if let Some(k) = sizes.windows(2).position(|pair| pair[0] >= pair[1]) {
            return Err(Usage::FallingSizes { before: sizes[k], after: sizes[k + 1] }.into());
        }
        self.affordable(sizes.iter().copied().max().unwrap_or(0), true)?;
        for &n in sizes {
            let clock = Instant::now();
            let goal = Goal::Triangles(n);
            let solved = self.solve(goal, watch)?;
            if self.rungs.last().is_some_and(|last| last.triangles >= solved.space.mesh.triangles.len()) {
                return Err(Usage::EqualMeshes { asked: n, made: solved.space.mesh.triangles.len() }.into());
            }
            self.add(solved, goal, clock, watch)?;
        }
        Ok(())
    }

    fn adaptive(&mut self, levels: Option<usize>, watch: &(dyn Fn(Stage) + Sync)) -> Result<()> {
        let number = levels.unwrap_or(LEVELS);
        if number < LEAST_MESHES {
            return Err(too_few(number));
        }
        let most_triangles = self.case.mesh.max_triangles;
        let mut target = 0.5;
        let mut first = true;
        while self.rungs.len() < number {
            let clock = Instant::now();
            let goal = Goal::Error { relative: target, most_triangles };
            let solved = self.solve(goal, watch).map_err(|error| match self.rungs.len() {
                solved if solved >= LEAST_MESHES && !matches!(error, Error::Stopped) => {
                    Error::CutShort { solved, cause: Box::new(error) }
                }
                _ => error,
            })?;
            let reached = solved.reached;
            let half_width = (solved.pair.upper - solved.pair.lower) / (solved.pair.upper + solved.pair.lower);
            let n = solved.space.mesh.triangles.len();
            // the first mesh follows the plan alone and is not adapted yet
            let grown = self.rungs.last().map_or(!first, |last| n as f64 >= STEP * last.triangles as f64);
            first = false;
            if grown {
                self.add(solved, goal, clock, watch)?;
            }
            if !reached {
                self.notes.push(format!(
                    "the ladder ends with {n} triangles, for mesh.max_triangles = {most_triangles} leaves no room for a narrower bracket"
                ));
                break;
            }
            target = 0.25 * half_width.min(target);
            if target < 1e-12 {
                self.notes.push("the bracket is closed to rounding; the ladder ends there".into());
                break;
            }
        }
        if self.rungs.len() < LEAST_MESHES {
            return Err(too_few(self.rungs.len()));
        }
        Ok(())
    }

    /// What is computed on every mesh.
    fn settings(&self) -> Settings {
        Settings {
            inertia: self.wish.inertia || self.wish.departure,
            edge_layer: self.wish.edge_layer || self.wish.departure,
            ..Settings::default()
        }
    }

    fn solve(&self, goal: Goal, watch: &(dyn Fn(Stage) + Sync)) -> Result<Solved> {
        solve_ideal_with_room(self.plan, self.case, goal, self.settings().bytes_for_corrections(), watch)
    }

    /// Refuses a finest mesh that is larger than the case or the memory allows.
    fn affordable(&self, triangles: usize, chosen: bool) -> Result<()> {
        let most = self.case.mesh.max_triangles;
        let what = if triangles > most {
            format!("the finest mesh of the ladder would have {triangles} triangles, but mesh.max_triangles is {most}")
        } else {
            match check_memory(triangles, self.settings().bytes_for_corrections()) {
                Ok(()) => return Ok(()),
                Err(error) => error.what(),
            }
        };
        Err(Usage::LargeLadder { what, chosen, file: self.case.file.clone() }.into())
    }

    /// Solves what was asked for on one mesh and takes down the values.
    fn add(&mut self, solved: Solved, goal: Goal, clock: Instant, watch: &(dyn Fn(Stage) + Sync)) -> Result<()> {
        let wish = self.wish;
        let settings = Settings { goal: Some(goal), ..self.settings() };
        let unit = Arc::new(Solution::new(self.case, self.plan, solved));
        let study = Study::finish(self.case.clone(), self.plan.clone(), unit, settings, clock)?;
        let mut report = study.sections();
        if wish.departure {
            report.extend(study.budget(watch)?.sections(&study));
        }
        if self.quantities.is_empty() {
            self.quantities = quantities(&report, wish)?;
        }
        let values = self.quantities.iter().map(|q| q.value(&report)).collect::<Result<Vec<f64>>>()?;
        let mesh = &study.solved.space.mesh;
        let area: f64 = (0..mesh.triangles.len()).map(|t| study.solved.space.area(t)).sum();
        let shape = study.pattern.shape_factor;
        self.rungs.push(Rung {
            triangles: mesh.triangles.len(),
            size: mesh_size(area, mesh.triangles.len()),
            bounds: [shape.lower, shape.upper],
            allowance: shape.outline_allowance,
            values,
        });
        self.finest = Some(study);
        Ok(())
    }
}

pub(super) fn too_few(meshes: usize) -> Error {
    Usage::FewMeshes { meshes, least: LEAST_MESHES }.into()
}
