//! Errors of the library as exceptions of `densepath.errors`, with their numbers as attributes.

use std::panic::{AssertUnwindSafe, catch_unwind};

use densepath::Error;
use pyo3::prelude::*;

/// What a call can fail with: an error of the library, or one of the interpreter.
#[derive(Debug)]
pub enum Fault {
    /// An error of the library.
    Library(Error),
    /// An error of the interpreter, such as an argument of the wrong type.
    Python(PyErr),
}

/// Result of every call of the interface.
pub type Outcome<T> = Result<T, Fault>;

impl From<Error> for Fault {
    fn from(error: Error) -> Self {
        Fault::Library(error)
    }
}

impl From<PyErr> for Fault {
    fn from(error: PyErr) -> Self {
        Fault::Python(error)
    }
}

impl From<Fault> for PyErr {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Library(error) => Python::attach(|py| exception(py, &error)),
            Fault::Python(error) => error,
        }
    }
}

/// The exception that stands for an error; an error met while making it takes its place.
pub fn exception(py: Python<'_>, error: &Error) -> PyErr {
    build(py, error).unwrap_or_else(|failure| failure)
}

fn build(py: Python<'_>, error: &Error) -> PyResult<PyErr> {
    let class = py
        .import("densepath.errors")?
        .getattr(error.root().class())?;
    let value = class.call1((error.to_string(),))?;
    value.setattr("code", error.code())?;
    value.setattr("quantity", error.quantity().map(densepath::Quantity::name))?;
    value.setattr("value", error.value())?;
    value.setattr("unit", error.unit())?;
    value.setattr("min", error.min())?;
    value.setattr("max", error.max())?;
    value.setattr("hint", error.hint())?;
    value.setattr("element", error.element())?;
    let raised = PyErr::from_value(value);
    if let Error::InElement { source, .. } = error {
        raised.set_cause(py, Some(exception(py, source)));
    }
    Ok(raised)
}

/// An error 104 about an argument.
pub fn argument(name: &str, expected: &'static str, got: impl Into<String>) -> Fault {
    Fault::Library(Error::Argument {
        argument: name.to_owned(),
        expected,
        got: got.into(),
    })
}

/// Runs a long call without holding the interpreter; a panic becomes error 901.
pub fn enter<T: Send>(
    py: Python<'_>,
    call: impl FnOnce() -> densepath::Result<T> + Send,
) -> Outcome<T> {
    let place = "a call from Python";
    py.detach(|| catch_unwind(AssertUnwindSafe(call)).unwrap_or(Err(Error::Internal { place })))
        .map_err(Fault::Library)
}
