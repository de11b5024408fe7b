//! What a run found.

use crate::arrays::{fields, numbers, rows};
use crate::failure::raised;
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::path::PathBuf;
use std::sync::Arc;
use twinplate::base::row::{Row, Section, Value, walk};
use twinplate::input::case::Case;
use twinplate::report::FigureSettings;
use twinplate::report::json::json;
use twinplate::study::{read, read_text};
use twinplate::theory::streaklines::Streakline;
use twinplate::{Findings, Folder, Others, Plan, Result, Study};

/// A case file, or the text of a case with the file that messages show and that other files are relative to.
#[derive(Debug, Clone, FromPyObject)]
#[pyo3(from_item_all)]
pub struct Source {
    text: Option<String>,
    file: PathBuf,
}

impl Source {
    /// The case and its plan.
    pub fn read(&self) -> Result<(Case, Arc<Plan>)> {
        match &self.text {
            Some(text) => read_text(text, &self.file),
            None => read(&self.file),
        }
    }
}

/// A study with what was found from it and its report.
#[pyclass(frozen, module = "twinplate._core")]
pub struct Run {
    pub study: Study,
    pub found: Findings,
    pub sections: Vec<Section>,
}

#[pymethods]
impl Run {
    /// The report as JSON text.
    fn report_json(&self, py: Python<'_>) -> PyResult<String> {
        json(&self.sections).map_err(|error| raised(py, &error))
    }

    /// Value, lower and upper bound, relative half-width and allowance of the shape factor.
    fn shape_factor(&self) -> [f64; 5] {
        let shape = self.study.pattern.shape_factor;
        [shape.value, shape.lower, shape.upper, shape.relative_half_width, shape.outline_allowance]
    }

    /// Whether the wanted accuracy was reached.
    #[getter]
    fn reached(&self) -> bool {
        self.study.reached()
    }

    /// Title of the case.
    #[getter]
    fn title(&self) -> &str {
        &self.study.case.title
    }

    /// Fields at the vertices, and at the triangles.
    fn fields<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyDict>, Bound<'py, PyDict>)> {
        let known = self.study.fields(&self.found);
        let (vertices, triangles) = (PyDict::new(py), PyDict::new(py));
        fields(py, known.vertices, &vertices)?;
        fields(py, known.triangles, &triangles)?;
        triangles.set_item("validity", PyArray1::from_vec(py, self.study.validity()))?;
        Ok((vertices, triangles))
    }

    /// Units of the fields by their names.
    fn units<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let known = self.study.fields(&self.found);
        let units = PyDict::new(py);
        for field in known.vertices.iter().chain(&known.triangles) {
            units.set_item(field.name, field.unit)?;
        }
        units.set_item("validity", "1")?;
        Ok(units)
    }

    /// Points (m) and triangles of the mesh.
    fn mesh<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
        let mesh = &self.study.solved.space.mesh;
        Ok((rows(py, &mesh.points)?.into_any(), rows(py, &mesh.triangles)?.into_any()))
    }

    /// The streaklines as their file has them: points, time, speed, height, and the stream function of the line.
    fn streaklines<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let one = |line: &Streakline| -> PyResult<Bound<'py, PyDict>> {
            let line = line.thinned();
            let known = PyDict::new(py);
            known.set_item("points", rows(py, &line.points)?)?;
            known.set_item("time", numbers(py, line.times.into()))?;
            known.set_item("speed", numbers(py, line.speeds.into()))?;
            known.set_item("height", numbers(py, line.heights.into()))?;
            known.set_item("stream_function", line.stream_function)?;
            Ok(known)
        };
        let lines: Vec<_> = self.study.lines.iter().map(one).collect::<PyResult<_>>()?;
        PyList::new(py, lines)
    }

    /// All that is known at places: what the columns are with their values, and which places lie in the fluid.
    fn sample<'py>(&self, py: Python<'py>, places: Vec<[f64; 2]>) -> PyResult<(Bound<'py, PyDict>, Bound<'py, PyAny>)> {
        let sampled = py.detach(|| self.study.sampler().sample(&places));
        let columns = PyDict::new(py);
        for key in &sampled.keys {
            columns.set_item(*key, numbers(py, sampled.column(key).unwrap_or_default().into()))?;
        }
        let inside = sampled.places.iter().map(Option::is_some).collect();
        Ok((columns, PyArray1::<bool>::from_vec(py, inside).into_any()))
    }

    /// The streakline figure.
    fn svg(&self, py: Python<'_>) -> PyResult<String> {
        let drawn = py.detach(|| self.study.streakline_figure(&FigureSettings::default()).map(|figure| figure.svg()));
        drawn.map_err(|error| raised(py, &error))
    }

    /// Every quantity with its path: path, name, value, unit, error, meaning.
    fn quantities<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let list = PyList::empty(py);
        let mut failed = None;
        walk(&self.sections, &mut |path, row| {
            if let Err(error) = quantity(py, path, row).and_then(|record| list.append(record)) {
                failed.get_or_insert(error);
            }
        });
        failed.map_or(Ok(list), Err)
    }

    /// Writes the files of the run into a folder, as the program does.
    fn write(slf: &Bound<'_, Self>, folder: PathBuf, replace: bool) -> PyResult<()> {
        let py = slf.py();
        let run = slf.get();
        let others = if replace { Others::Replaced } else { Others::Refused };
        let written = py.detach(|| {
            let mut folder = Folder::open(&folder, &run.study.case, others)?;
            folder.command = "a script in Python".to_owned();
            run.study.write_found(&run.found, folder)
        });
        written.map(drop).map_err(|error| raised(py, &error))
    }
}

fn quantity<'py>(py: Python<'py>, path: &str, row: &Row) -> PyResult<Bound<'py, PyDict>> {
    let record = PyDict::new(py);
    record.set_item("path", path)?;
    record.set_item("name", &*row.name)?;
    record.set_item("value", plain(py, &row.value)?)?;
    record.set_item("unit", row.kind.unit())?;
    record.set_item("error", row.error)?;
    record.set_item("meaning", &*row.meaning)?;
    Ok(record)
}

fn plain<'py>(py: Python<'py>, value: &Value) -> PyResult<Bound<'py, PyAny>> {
    Ok(match value {
        Value::Number(x) => x.into_pyobject(py)?.into_any(),
        Value::Count(n) => n.into_pyobject(py)?.into_any(),
        Value::Flag(flag) => flag.into_pyobject(py)?.to_owned().into_any(),
        Value::Text(text) => text.into_pyobject(py)?.into_any(),
        Value::Word(word) => word.into_pyobject(py)?.into_any(),
        Value::List(list) => {
            let parts: Vec<_> = list.iter().map(|inner| plain(py, inner)).collect::<PyResult<_>>()?;
            PyList::new(py, parts)?.into_any()
        }
    })
}
