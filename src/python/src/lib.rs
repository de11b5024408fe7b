//! The Python module `twinplate._core`: the library's runs with the GIL released, their results as numpy arrays. What Python users see is
//! made from it in `package/twinplate`.

mod arrays;
mod campaign;
mod failure;
mod run;
mod wait;

use pyo3::prelude::*;
use run::{Run, Source};
use twinplate::base::Error;
use twinplate::input::case::{Case, Order};
use twinplate::study::{Meshes, solve_decided};
use twinplate::theory::closure::check_closure;
use twinplate::theory::ideal::Goal;
use twinplate::{LadderSettings, Settings, Study, Wanted, solve_ladder};
use wait::waited;

/// What every run may be told.
#[derive(Debug, Clone, Copy, FromPyObject)]
#[pyo3(from_item_all)]
struct Options {
    triangles: Option<usize>,
    error: Option<f64>,
    order: Option<usize>,
    threads: Option<usize>,
}

impl Options {
    /// The goal, as the program takes it; the order of the series goes into the case.
    fn goal(&self, case: &mut Case) -> twinplate::Result<Option<Goal>> {
        match self.order {
            None => {}
            Some(1) => case.inertia.order = Order::First,
            Some(2) => case.inertia.order = Order::Second,
            Some(other) => return Err(Error::argument(format!("order is {other}"), "give 1 or 2")),
        }
        let most_triangles = case.mesh.max_triangles;
        match (self.triangles, self.error) {
            (Some(_), Some(_)) => Err(Error::argument("both triangles and error are given", "keep one of them")),
            (Some(n), None) if !(10..=400_000_000).contains(&n) => {
                Err(Error::argument(format!("triangles is {n}"), "give a number from 10 to 400000000"))
            }
            (Some(n), None) => Ok(Some(Goal::Triangles(n))),
            (None, Some(relative)) if relative > 0.0 && relative < 1.0 => {
                Ok(Some(Goal::Error { relative, most_triangles }))
            }
            (None, Some(other)) => {
                Err(Error::argument(format!("error is {other}"), "give a number between 0 and 1, such as 1e-3"))
            }
            (None, None) => Ok(None),
        }
    }
}

/// The ideal pattern of a case, with the corrections asked for.
#[pyfunction]
fn solve(
    py: Python<'_>,
    source: Source,
    inertia: bool,
    edge_layer: bool,
    closure: bool,
    options: Options,
) -> PyResult<Run> {
    waited(py, options.threads, move || {
        let (mut case, plan) = source.read()?;
        let goal = options.goal(&mut case)?;
        if closure {
            check_closure(&case, &plan)?;
        }
        let study = Study::solve(case, plan, Settings { goal, inertia, edge_layer }, &|_| {})?;
        let found = study.find(Wanted { closure, ..Wanted::default() }, &|_| {})?;
        let sections = study.report(&found);
        Ok(Run { study, found, sections })
    })
}

/// Every departure from the ideal pattern, measured and judged.
#[pyfunction]
fn departure(py: Python<'_>, source: Source, closure: bool, options: Options) -> PyResult<Run> {
    waited(py, options.threads, move || {
        let (mut case, plan) = source.read()?;
        let goal = options.goal(&mut case)?;
        if closure {
            check_closure(&case, &plan)?;
        }
        let settings = Settings { goal, inertia: true, edge_layer: true };
        let (study, budget) = solve_decided(&case, &plan, settings, &|_| {})?;
        let wanted = Wanted { departure: true, closure, ..Wanted::default() };
        let found = study.find_with(Some(budget), wanted, &|_| {})?;
        let sections = study.report(&found);
        Ok(Run { study, found, sections })
    })
}

/// The design sheet of the cell.
#[pyfunction]
fn rig(py: Python<'_>, source: Source, options: Options) -> PyResult<Run> {
    waited(py, options.threads, move || {
        let (mut case, plan) = source.read()?;
        let goal = options.goal(&mut case)?;
        let settings = Settings { goal, inertia: true, edge_layer: true };
        let (study, budget) = solve_decided(&case, &plan, settings, &|_| {})?;
        let sections = study.rig_sections(&study.rig(&budget)?);
        Ok(Run { study, found: Default::default(), sections })
    })
}

/// What a ladder of meshes may be told.
#[derive(Debug, Clone, FromPyObject)]
#[pyo3(from_item_all)]
struct LadderOptions {
    levels: Option<usize>,
    sizes: Option<Vec<usize>>,
    adaptive: bool,
    inertia: bool,
    edge_layer: bool,
    departure: bool,
    also: Vec<String>,
}

/// A case on a ladder of meshes.
#[pyfunction]
fn converge(py: Python<'_>, source: Source, ladder: LadderOptions, options: Options) -> PyResult<Run> {
    waited(py, options.threads, move || {
        let (mut case, plan) = source.read()?;
        options.goal(&mut case)?;
        let LadderOptions { levels, sizes, adaptive, inertia, edge_layer, departure, also } = ladder;
        let meshes = match (sizes, adaptive) {
            (Some(sizes), false) if levels.is_none() => Meshes::Sizes(sizes),
            (None, true) => Meshes::Adaptive { levels },
            (None, false) => Meshes::Halving { levels },
            _ => return Err(Error::argument("sizes stand beside levels or adaptive", "keep one of them")),
        };
        let wish = LadderSettings { meshes, inertia, edge_layer, departure, also };
        let ladder = solve_ladder(&case, &plan, &wish, &|_| {})?;
        let mut sections = ladder.finest.sections();
        sections.extend(ladder.sections());
        Ok(Run { study: ladder.finest, found: Default::default(), sections })
    })
}

/// The JSON schema of reports or of the case file.
#[pyfunction]
fn schema(of_case: bool) -> String {
    use twinplate::report::schema::{case_schema, report_schema};
    if of_case { case_schema().to_string() } else { report_schema().to_string() }
}

/// The module.
#[pymodule]
fn _core(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Run>()?;
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    module.add_function(wrap_pyfunction!(solve, module)?)?;
    module.add_function(wrap_pyfunction!(departure, module)?)?;
    module.add_function(wrap_pyfunction!(rig, module)?)?;
    module.add_function(wrap_pyfunction!(converge, module)?)?;
    module.add_function(wrap_pyfunction!(campaign::campaign, module)?)?;
    module.add_function(wrap_pyfunction!(campaign::collect, module)?)?;
    module.add_function(wrap_pyfunction!(schema, module)?)
}
