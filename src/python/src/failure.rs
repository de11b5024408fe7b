//! Errors of the library as exceptions of the package, which `errors.py` of the package defines.

use pyo3::prelude::*;
use pyo3::types::PyDict;
use twinplate::Error;
use twinplate::base::error::Problems;

/// The exception for an error.
pub fn raised(py: Python<'_>, error: &Error) -> PyErr {
    exception(py, error).unwrap_or_else(|failure| failure)
}

fn exception(py: Python<'_>, error: &Error) -> PyResult<PyErr> {
    let class = match error {
        Error::Input(_) => "CaseError",
        Error::Usage(_) | Error::CutShort { .. } => "UsageError",
        Error::Folder(_) => "FolderError",
        Error::File { .. } => "FileError",
        Error::Memory(_) => "TooLargeError",
        Error::Mesh { .. } | Error::NoConvergence(_) | Error::Stopped | Error::Failed { .. } => "SolveError",
    };
    let class = py.import("twinplate.errors")?.getattr(class)?;
    let value = match error {
        Error::Input(problems) => class.call1((problems.render(false), each(py, problems)?))?,
        other => class.call1((other.what(), other.remedy()))?,
    };
    Ok(PyErr::from_value(value))
}

/// Every mistake with its place; columns count in characters, `start` in bytes of the text.
fn each<'py>(py: Python<'py>, problems: &Problems) -> PyResult<Vec<Bound<'py, PyDict>>> {
    let one = |problem: &twinplate::base::error::Problem| {
        let known = PyDict::new(py);
        known.set_item("file", problem.file.display().to_string())?;
        let (line, column) = problems.line_and_column(problem).unzip();
        known.set_item("line", line)?;
        known.set_item("column", column)?;
        known.set_item("start", problem.span.as_ref().map(|span| span.start))?;
        known.set_item("message", &problem.message)?;
        known.set_item("remedy", &problem.remedy)?;
        Ok(known)
    };
    problems.list.iter().map(one).collect()
}
