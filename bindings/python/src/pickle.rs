//! What `__reduce__` returns: a callable of `densepath._core` and its arguments.

use pyo3::prelude::*;

/// A callable and its arguments.
pub type Reduced<'py, A> = PyResult<(Bound<'py, PyAny>, A)>;

/// The callable of this name with these arguments.
pub fn reduced<'py, A>(py: Python<'py>, callable: &str, arguments: A) -> Reduced<'py, A> {
    Ok((py.import("densepath._core")?.getattr(callable)?, arguments))
}
