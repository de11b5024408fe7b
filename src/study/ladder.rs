//! A convergence study: one case on a ladder of meshes, every quantity judged.
//!
//! On the ladder of uniform halving every triangle of a mesh is split into four, new vertices on outlines go onto the true curve,
//! and the probes are vertices of every mesh ([`Mesh::with_vertices_at`]), so that values need no interpolation. The coarsest mesh follows curves and
//! passages but is not graded into corners: the order then is the one theory has for uniform meshes. Both problems are solved
//! far below the discretisation error on every mesh.

use super::{Settings, Study};
use crate::case::Case;
use crate::convergence::{Judgement, Kind, Sharpest, Verdict, expected_order, judge, mesh_size, sharpest_corner};
use crate::error::Problems;
use crate::fem::Space;
use crate::ideal::{Cycle, Goal, Solved, Stage, check_memory, solve_ideal, solve_pair};
use crate::mesh::{Mesh, SizeField, SizeOptions};
use crate::outline::Plan;
use crate::{Error, Result};
use serde_json::Value;
use std::sync::Arc;
use std::time::Instant;

/// Fewest meshes of a ladder.
pub const LEAST_MESHES: usize = 3;
/// Meshes of a ladder by default, if the finest has no more than [`USUAL`] triangles, else one less.
const LEVELS: usize = 5;
const USUAL: usize = 500_000;
/// Half-width given to the solver as expected: iteration goes on until what is left is at rounding.
const TIGHT: f64 = 1e-9;
/// Least growth of the number of triangles from one mesh of an adaptive ladder to the next.
const STEP: f64 = 2.0;

/// Which meshes.
#[derive(Debug, Clone, PartialEq)]
pub enum Meshes {
    /// Nested meshes, each with half the size of the one before; five if none are asked for, four if the finest would be large.
    Halving {
        /// Number of meshes.
        levels: Option<usize>,
    },
    /// One graded mesh of about each number of triangles, as `solve --triangles` makes them.
    Sizes(Vec<usize>),
    /// Adaptive meshes, each for a quarter of the half-width of the bracket before.
    Adaptive {
        /// Number of meshes.
        levels: Option<usize>,
    },
}

/// What to study.
#[derive(Debug, Clone, PartialEq)]
pub struct LadderSettings {
    /// The meshes.
    pub meshes: Meshes,
    /// Whether to study the inertia departure.
    pub inertia: bool,
    /// Whether to study the edge layer.
    pub edge_layer: bool,
    /// Whether to study the measures of the departure budget; it includes the corrections.
    pub departure: bool,
    /// Further scalars of the report, by their keys joined by dots, entries of lists by name: `drive.head_m`,
    /// `probes.shoulder.angle_deg`.
    pub also: Vec<String>,
}

/// One mesh of a ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Triangles.
    pub triangles: usize,
    /// Size sqrt(area/N), m.
    pub size: f64,
    /// Lower and upper bound of the shape factor.
    pub bounds: [f64; 2],
    /// What chords in place of curves can add to the shape factor, to first order.
    pub allowance: f64,
    /// Values of the quantities, in their order.
    pub values: Vec<f64>,
}

/// One quantity over the ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// Its name: `shape_factor`, `probe.NAME.pressure`, `departure.edge_layer.speed_rms`, or a key of the report.
    pub name: String,
    /// Its unit, `1` for numbers.
    pub unit: String,
    /// Expected order.
    pub expected: f64,
    /// The verdict on it.
    pub judgement: Judgement,
    key: String,
    kind: Kind,
}

/// A case on a ladder of meshes.
#[derive(Debug)]
pub struct Ladder {
    /// The meshes, coarse to fine.
    pub rungs: Vec<Rung>,
    /// The quantities, the shape factor first.
    pub quantities: Vec<Quantity>,
    /// Whether the meshes are nested.
    pub nested: bool,
    /// The corner that sets the order on meshes not graded into corners.
    pub sharpest: Option<Sharpest>,
    /// Whether meshes are graded into corners.
    pub graded: bool,
    /// What a reader must know.
    pub notes: Vec<String>,
    /// The study on the finest mesh.
    pub finest: Study,
}

/// Solves a case on a ladder of meshes and judges every quantity. `watch` is told what is going on.
///
/// # Errors
/// [`Error::Usage`] for fewer than three meshes, sizes that do not grow, a finest mesh beyond memory or `mesh.max_triangles`, or an
/// unknown key; [`Error::Failed`] if a mesh cannot be made or a solver does not come to its end.
pub fn solve_ladder(
    case: &Case,
    plan: &Arc<Plan>,
    wish: &LadderSettings,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Ladder> {
    let mut climb = Climb { case, plan, wish, quantities: Vec::new(), rungs: Vec::new(), finest: None };
    let mut notes = Vec::new();
    match &wish.meshes {
        Meshes::Halving { levels } => climb.halving(*levels, &mut notes, watch)?,
        Meshes::Sizes(sizes) => climb.sizes(sizes, watch)?,
        Meshes::Adaptive { levels } => climb.adaptive(*levels, &mut notes, watch)?,
    }
    let Climb { quantities, rungs, finest, .. } = climb;
    let finest = finest.ok_or_else(|| too_few(rungs.len()))?;
    let graded = !matches!(wish.meshes, Meshes::Halving { .. });
    let sharpest = sharpest_corner(plan, case.drive.ends);
    let mut ladder = Ladder { rungs, quantities, nested: !graded, sharpest, graded, notes, finest };
    ladder.judge();
    Ok(ladder)
}

/// A ladder in the making.
struct Climb<'a> {
    case: &'a Case,
    plan: &'a Arc<Plan>,
    wish: &'a LadderSettings,
    quantities: Vec<Quantity>,
    rungs: Vec<Rung>,
    finest: Option<Study>,
}

impl Climb<'_> {
    fn halving(
        &mut self,
        levels: Option<usize>,
        notes: &mut Vec<String>,
        watch: &(dyn Fn(Stage) + Sync),
    ) -> Result<()> {
        let options =
            SizeOptions { growth: self.case.mesh.growth, max_edge: self.case.mesh.max_edge, ..SizeOptions::default() };
        let field = SizeField::from_plan(self.plan, &options);
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
            notes.push(format!(
                "the probe \"{}\" stands too near an edge to be a vertex of the meshes; its values are interpolated, which blurs \
                 their order",
                probe.name
            ));
        }
        let middle = [0.5 * self.case.cell.length, 0.5 * self.case.cell.width];
        let gap = self.case.cell.gap.at(middle);
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
            notes.push(format!(
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
            return Err(Error::Usage(format!(
                "the sizes of a ladder must grow, but {} stands before {}\nremedy: list numbers of triangles in ascending order, each \
                 about four times the one before, say --sizes 2000,8000,32000,128000",
                sizes[k],
                sizes[k + 1]
            )));
        }
        self.affordable(sizes.iter().copied().max().unwrap_or(0), true)?;
        for &n in sizes {
            let clock = Instant::now();
            let goal = Goal::Triangles(n);
            let solved = solve_ideal(self.plan, self.case, goal, watch)?;
            if self.rungs.last().is_some_and(|last| last.triangles >= solved.space.mesh.triangles.len()) {
                return Err(Error::Usage(format!(
                    "the meshes for {n} triangles and for the size before do not differ: the outlines ask for more\nremedy: start the \
                     ladder at {} triangles or more",
                    solved.space.mesh.triangles.len()
                )));
            }
            self.add(solved, goal, clock, watch)?;
        }
        Ok(())
    }

    fn adaptive(
        &mut self,
        levels: Option<usize>,
        notes: &mut Vec<String>,
        watch: &(dyn Fn(Stage) + Sync),
    ) -> Result<()> {
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
            let solved = solve_ideal(self.plan, self.case, goal, watch).map_err(|error| match error {
                Error::Failed { what, .. } if !self.rungs.is_empty() => Error::Usage(format!(
                    "{what}\nremedy: ask for at most --levels {}, the meshes solved so far",
                    self.rungs.len()
                )),
                other => other,
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
                notes.push(format!(
                    "the ladder ends with {n} triangles, for mesh.max_triangles = {most_triangles} leaves no room for a narrower bracket"
                ));
                break;
            }
            target = 0.25 * half_width.min(target);
            if target < 1e-12 {
                notes.push("the bracket is closed to rounding; the ladder ends there".into());
                break;
            }
        }
        if self.rungs.len() < LEAST_MESHES {
            return Err(too_few(self.rungs.len()));
        }
        Ok(())
    }

    /// Refuses a finest mesh that is larger than the case or the memory allows.
    fn affordable(&self, triangles: usize, by_command: bool) -> Result<()> {
        let most = self.case.mesh.max_triangles;
        let what = if triangles > most {
            format!("the finest mesh of the ladder would have {triangles} triangles, but mesh.max_triangles is {most}")
        } else {
            match check_memory(triangles) {
                Ok(()) => return Ok(()),
                Err(Error::Failed { what, .. }) => what,
                Err(other) => return Err(other),
            }
        };
        if by_command {
            let remedy = "ask for fewer --levels or smaller --sizes, or raise mesh.max_triangles in the case";
            return Err(Error::Usage(format!("{what}\nremedy: {remedy}")));
        }
        let mut problems = Problems::default();
        let remedy = "ask for three meshes with --levels 3, let mesh.max_edge be larger, or raise mesh.max_triangles";
        problems.add(&self.case.file, None, what, remedy);
        problems.into_result()
    }

    /// Solves what was asked for on one mesh and takes down the values.
    fn add(&mut self, solved: Solved, goal: Goal, clock: Instant, watch: &(dyn Fn(Stage) + Sync)) -> Result<()> {
        let wish = self.wish;
        let settings = Settings {
            goal: Some(goal),
            inertia: wish.inertia || wish.departure,
            edge_layer: wish.edge_layer || wish.departure,
            ..Settings::default()
        };
        let study = Study::finish(self.case.clone(), self.plan.clone(), goal, solved, settings, clock)?;
        let mut report = serde_json::to_value(study.report())
            .map_err(|e| Error::failed(format!("a report cannot be made: {e}"), "report this as a fault"))?;
        if wish.departure {
            let budget = study.budget(watch)?;
            if let Some(map) = report.as_object_mut() {
                map.extend(budget.keys(&study));
            }
        }
        if self.quantities.is_empty() {
            self.quantities = quantities(&report, wish)?;
        }
        let values = self.quantities.iter().map(|q| {
            number_at(&report, &q.key).ok_or_else(|| {
                Error::failed(
                    format!("{} exists on some meshes of the ladder only", q.name),
                    "start the ladder with a finer mesh",
                )
            })
        });
        let values = values.collect::<Result<Vec<f64>>>()?;
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

fn too_few(meshes: usize) -> Error {
    Error::Usage(format!(
        "a ladder of {meshes} mesh{} shows no order; the least is {LEAST_MESHES}, and four confirm one\nremedy: ask for --levels 4 or more, \
         or list four --sizes",
        if meshes == 1 { "" } else { "es" }
    ))
}

/// The quantities of a report that are studied.
fn quantities(report: &Value, wish: &LadderSettings) -> Result<Vec<Quantity>> {
    let mut list = Vec::new();
    let mut add = |name: String, key: String, kind: Kind| {
        if number_at(report, &key).is_some() {
            let unit = unit_of(&key);
            let judgement = judge(&[], &[], 2.0, 0.0);
            list.push(Quantity { name, unit, expected: 2.0, judgement, key, kind });
        }
    };
    add("shape_factor".into(), "shape_factor.value".into(), Kind::Pattern);
    for bound in ["lower", "upper"] {
        add(format!("shape_factor.{bound}"), format!("shape_factor.{bound}"), Kind::Pattern);
    }
    let names = |of: &Value| -> Vec<String> {
        let list = of.as_array().map(Vec::as_slice).unwrap_or_default();
        list.iter().filter_map(|entry| entry["name"].as_str().map(str::to_owned)).collect()
    };
    for name in names(&report["probes"]) {
        add(format!("probe.{name}.pressure"), format!("probes.{name}.pressure_pa"), Kind::Pattern);
        add(format!("probe.{name}.speed_ratio"), format!("probes.{name}.speed_ratio"), Kind::Pattern);
    }
    add("edge_layer.shape_factor".into(), "edge_layer.shape_factor".into(), Kind::EdgeLayer);
    for name in names(&report["edge_layer"]["probes"]) {
        let own = format!("edge_layer.probe.{name}.speed_ratio");
        add(own, format!("edge_layer.probes.{name}.speed_ratio"), Kind::EdgeLayer);
    }
    for name in names(&report["inertia"]["probes"]) {
        for (short, long) in [("pressure", "pressure_pa"), ("midplane_speed_ratio", "midplane_speed_ratio")] {
            add(format!("inertia.probe.{name}.{short}"), format!("inertia.probes.{name}.{long}"), Kind::Pattern);
        }
    }
    for name in names(&report["departure"]["contributions"]) {
        for measure in ["speed_rms", "speed_max", "direction_max_deg", "shift_max_m", "pressure_coefficient_max"] {
            let key = format!("departure.contributions.{name}.{measure}");
            add(format!("departure.{name}.{measure}"), key, Kind::Region);
        }
    }
    for key in &wish.also {
        if number_at(report, key).is_none() {
            return Err(Error::Usage(format!(
                "the report has no number under the key \"{key}\"\nremedy: join the keys of report.json by dots and name entries of lists, say \
                 drive.pressure_drop_pa or probes.NAME.angle_deg; keys of corrections need --inertia, --edge-layer or --departure"
            )));
        }
        let kind = match key.split('.').next() {
            Some("departure" | "sweep") => Kind::Region,
            Some("edge_layer") => Kind::EdgeLayer,
            _ => Kind::Pattern,
        };
        add(key.clone(), key.clone(), kind);
    }
    Ok(list)
}

/// A number in JSON by keys joined by dots; an entry of a list goes by its `name`, its `obstacle` or its position. Names may hold dots.
fn number_at(value: &Value, path: &str) -> Option<f64> {
    let below = |key: &str, inner: &Value| {
        if path == key {
            return inner.as_f64();
        }
        path.strip_prefix(key).and_then(|rest| rest.strip_prefix('.')).and_then(|rest| number_at(inner, rest))
    };
    match value {
        Value::Object(map) => map.iter().find_map(|(key, inner)| below(key, inner)),
        Value::Array(list) => list.iter().enumerate().find_map(|(k, inner)| {
            let name = ["name", "obstacle"].into_iter().find_map(|key| inner[key].as_str());
            name.and_then(|name| below(name, inner)).or_else(|| below(&k.to_string(), inner))
        }),
        _ => None,
    }
}

/// The unit at the end of a key of the report.
fn unit_of(key: &str) -> String {
    const UNITS: [(&str, &str); 10] = [
        ("_m2_per_s", "m2/s"),
        ("_m3_per_s", "m3/s"),
        ("_n_per_m", "N/m"),
        ("_kg_per_m3", "kg/m3"),
        ("_m_per_s", "m/s"),
        ("_pa_s", "Pa s"),
        ("_pa", "Pa"),
        ("_deg", "deg"),
        ("_s", "s"),
        ("_m", "m"),
    ];
    UNITS.iter().find(|(end, _)| key.ends_with(end)).map_or("1", |(_, unit)| unit).to_owned()
}

impl Ladder {
    /// Sizes, coarse to fine, m.
    pub fn sizes(&self) -> Vec<f64> {
        self.rungs.iter().map(|rung| rung.size).collect()
    }

    /// Values of a quantity, coarse to fine.
    pub fn values(&self, quantity: usize) -> Vec<f64> {
        self.rungs.iter().map(|rung| rung.values[quantity]).collect()
    }

    fn judge(&mut self) {
        let sizes = self.sizes();
        for k in 0..self.quantities.len() {
            let values = self.values(k);
            let noise = self.noise(&self.quantities[k], &values);
            let quantity = &mut self.quantities[k];
            quantity.expected = expected_order(self.sharpest.as_ref(), quantity.kind, self.graded);
            quantity.judgement = judge(&sizes, &values, quantity.expected, noise);
            let faster = quantity.judgement.observed_order.is_some_and(|p| p > quantity.expected + 0.25);
            if faster && quantity.kind == Kind::Pattern && quantity.expected < 2.0 {
                quantity.judgement.why += "; the part of the sharpest corner is small as yet, or symmetry keeps the fluid from turning round it";
            }
            if quantity.kind == Kind::Region && quantity.judgement.verdict != Verdict::Asymptotic {
                quantity.judgement.why += "; the rim of the observed region and the places next to stagnation points, where maxima sit, follow the mesh";
            }
        }
        self.explain_mean();
    }

    /// Differences that iteration and rounding can make, units of the quantity: pressures relative to the pressure drop, speeds to
    /// the mean speed, all else to the value.
    fn noise(&self, quantity: &Quantity, values: &[f64]) -> f64 {
        let largest = values.iter().fold(0.0, |a: f64, v| a.max(v.abs()));
        match quantity.kind {
            _ if quantity.name.starts_with("shape_factor") => 1e-12 * largest,
            _ if quantity.name.ends_with(".pressure") => 1e-9 * self.finest.pattern.drive.pressure_drop.abs(),
            _ if quantity.name.ends_with("speed_ratio") => 1e-8,
            _ => 1e-8 * largest,
        }
    }

    /// The shape factor is the mean of its bounds, whose errors have opposite signs and may cancel: then its order means little and
    /// those of the bounds count.
    fn explain_mean(&mut self) {
        let sound = |q: &Quantity| q.judgement.verdict == Verdict::Asymptotic;
        if let [mean, lower, upper, ..] = self.quantities.as_mut_slice() {
            let blurred = matches!(mean.judgement.verdict, Verdict::NotYet | Verdict::Oscillating);
            if blurred && sound(lower) && sound(upper) {
                mean.judgement.why +=
                    "; it is the mean of two bounds whose errors nearly cancel, and both bounds are asymptotic";
            }
        }
    }
}
