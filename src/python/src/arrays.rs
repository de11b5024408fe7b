//! Fields and lines as numpy arrays, by the names they have in VTK files. What a field computes goes over as it is; what the study holds
//! is copied once.

use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::borrow::Cow;
use twinplate::base::field::{Field, Values};

/// Rows of so many numbers as an array of two dimensions.
pub fn rows<'py, T: numpy::Element + Copy, const N: usize>(
    py: Python<'py>,
    values: &[[T; N]],
) -> PyResult<Bound<'py, PyArray2<T>>> {
    PyArray1::from_vec(py, values.as_flattened().to_vec()).reshape([values.len(), N])
}

/// Numbers as an array, without a copy where they are owned.
pub fn numbers<'py>(py: Python<'py>, values: Cow<'_, [f64]>) -> Bound<'py, PyArray1<f64>> {
    PyArray1::from_vec(py, values.into_owned())
}

/// Fields by their names; vectors as they are in files, with a third component that is zero.
pub fn fields<'py>(py: Python<'py>, fields: Vec<Field<'_>>, into: &Bound<'py, PyDict>) -> PyResult<()> {
    for field in fields {
        match field.values {
            Values::Scalar(values) => into.set_item(field.name, numbers(py, values))?,
            Values::Plane(values) => {
                let space: Vec<[f64; 3]> = values.iter().map(|v| [v[0], v[1], 0.0]).collect();
                into.set_item(field.name, rows(py, &space)?)?;
            }
        }
    }
    Ok(())
}
