//! Cells for tests, read from the text of a case or given as plans, and their solutions on single and nested meshes.
#![allow(dead_code)]

use std::path::Path;
use std::sync::Arc;
use twinplate::Point;
use twinplate::base::error::Problems;
use twinplate::geometry::Plan;
use twinplate::input::case::{Case, Ends, Gap, parse};
use twinplate::numerics::fem::Space;
use twinplate::numerics::mesh::{Mesh, SizeField, SizeOptions};
use twinplate::study::{Settings, Study, reference_length};
use twinplate::theory::ideal::{Goal, Pair, Pattern, first_size_field, solve_pair};

/// A case of water, mean speed 1 mm/s, gap 1 mm; `more` is appended to the text.
pub fn cell(length: f64, width: f64, ends: Ends, more: &str) -> (Case, Arc<Plan>) {
    cell_of_gap(length, width, "0.001", ends, more)
}

/// As [`cell`], with the gap as it stands in the file.
pub fn cell_of_gap(length: f64, width: f64, gap: &str, ends: Ends, more: &str) -> (Case, Arc<Plan>) {
    let text = text_of_gap(length, width, gap, ends, more);
    let case = parse(&text, Path::new("case.toml")).into_result().unwrap_or_else(|e| panic!("{e}"));
    let mut problems = Problems::default();
    let plan = Plan::new(&case, &mut problems).unwrap_or_else(|| panic!("{}", problems.render(false)));
    (case, Arc::new(plan))
}

/// The text of such a case.
pub fn text_of_gap(length: f64, width: f64, gap: &str, ends: Ends, more: &str) -> String {
    let ends = match ends {
        Ends::HeldPressure => "held-pressure",
        Ends::GivenInflow => "given-inflow",
    };
    format!(
        "title = \"test\"\n[cell]\nlength = {length:?}\nwidth = {width:?}\ngap = {gap}\n[fluid]\ndensity = 1000.0\n\
         viscosity = 0.001\n[drive]\nmean_speed = 0.001\nends = \"{ends}\"\n{more}\n"
    )
}

/// The text of a round post.
pub fn circle(centre: Point, diameter: f64) -> String {
    format!("[[obstacle]]\ncircle = {{ centre = {centre:?}, diameter = {diameter:?} }}\n")
}

/// The text of an ellipse; the angle in degrees.
pub fn ellipse(centre: Point, semi_axes: [f64; 2], angle: f64) -> String {
    format!("[[obstacle]]\nellipse = {{ centre = {centre:?}, semi_axes = {semi_axes:?}, angle = {angle:?} }}\n")
}

/// A case solved on one graded mesh of about so many triangles.
pub fn study(case: Case, plan: Arc<Plan>, triangles: usize, inertia: bool) -> Study {
    let settings = Settings { goal: Some(Goal::Triangles(triangles)), inertia, ..Settings::default() };
    Study::solve(case, plan, settings, &|_| {}).unwrap()
}

/// A mesh ready for computing, and the pair on it.
pub struct Grid {
    pub space: Space,
    pub pair: Pair,
}

impl Grid {
    pub fn new(mesh: Mesh, gap: &Gap, reference_gap: f64, ends: Ends) -> Grid {
        let space = Space::new(Arc::new(mesh), gap, reference_gap);
        let pair = solve_pair(&space, ends, 1e-3).unwrap();
        Grid { space, pair }
    }

    pub fn pattern(&self, case: &Case) -> Pattern {
        Pattern::new(&self.space, &self.pair, case, reference_length(case, &self.space.mesh.plan))
    }

    pub fn width(&self) -> f64 {
        self.pair.upper - self.pair.lower
    }

    /// A linear vertex field of vectors at places in the fluid.
    pub fn vectors_at(&self, field: &[[f64; 2]], places: &[Point]) -> Vec<[f64; 2]> {
        vectors_at(&self.space, field, places)
    }
}

/// A linear vertex field of vectors at places in the fluid; between a curve and its chord the nearest triangle serves.
pub fn vectors_at(space: &Space, field: &[[f64; 2]], places: &[Point]) -> Vec<[f64; 2]> {
    let locator = space.locator();
    let value = |&at: &Point| {
        let (t, w) = locator.find(at, None).or_else(|| locator.nearest(at)).unwrap();
        let corners = space.mesh.triangles[t as usize].map(|v| field[v as usize]);
        [0, 1].map(|k| (0..3).map(|i| w[i] * corners[i][k]).sum())
    };
    places.iter().map(value).collect()
}

/// A mesh and its uniform refinements, coarse to fine, each with all levels below it.
pub fn nested(base: Mesh, levels: usize) -> Vec<Mesh> {
    let mut meshes = vec![base];
    while meshes.len() < levels {
        meshes.push(meshes[meshes.len() - 1].refined());
    }
    meshes
}

/// The pair of a case on nested meshes; the coarsest is graded as the program would and has about `base` triangles.
pub fn ladder(case: &Case, plan: &Arc<Plan>, base: usize, levels: usize) -> Vec<Grid> {
    let field = first_size_field(plan, case, Goal::Triangles(base)).unwrap();
    ladder_of(case, plan, &field, base, levels)
}

/// The same, graded as a field asks.
pub fn ladder_of(case: &Case, plan: &Arc<Plan>, field: &SizeField, base: usize, levels: usize) -> Vec<Grid> {
    let mesh = Mesh::generate_with_count(plan, field, base).unwrap();
    let middle = case.cell.middle_gap();
    nested(mesh, levels).into_iter().map(|mesh| Grid::new(mesh, &case.cell.gap, middle, case.drive.ends)).collect()
}

/// The pair of a plan with held ends and unit gap on nested meshes; the coarsest has the size h everywhere.
pub fn uniform_ladder(plan: &Arc<Plan>, h: f64, levels: usize) -> Vec<Grid> {
    let mesh = Mesh::generate(plan, &SizeField::new(h, 0.3, vec![]), 100_000).unwrap();
    held(nested(mesh, levels))
}

fn held(meshes: Vec<Mesh>) -> Vec<Grid> {
    meshes.into_iter().map(|mesh| Grid::new(mesh, &Gap::Uniform(1.0), 1.0, Ends::HeldPressure)).collect()
}

/// The pair of a plan with held ends and unit gap on one mesh, graded into corners, of about so many triangles.
pub fn graded(plan: &Arc<Plan>, triangles: usize) -> Grid {
    let corner = |_: f64, size: f64| 0.01 * size;
    let options = SizeOptions { corner_size: Some(Box::new(corner)), ..SizeOptions::default() };
    let field = SizeField::from_plan(plan, &options).unwrap();
    let mesh = Mesh::generate_with_count(plan, &field, triangles).unwrap();
    held(vec![mesh]).remove(0)
}

/// Orders observed between neighbours of a list of errors, each on a mesh of half the size of the one before.
pub fn orders(errors: &[f64]) -> Vec<f64> {
    errors.windows(2).map(|e| (e[0] / e[1]).abs().log2()).collect()
}
