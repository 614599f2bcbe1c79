//! The private module `densepath._core`: the library's calls as Python objects. It translates and never computes.

mod arguments;
mod error;
mod fluid;
mod function;
mod notice;
mod pickle;
mod registry;
mod state;
mod table;
mod ufunc;

use pyo3::prelude::*;

/// The compiled part of densepath; use the package `densepath`.
#[pymodule(gil_used = false)]
mod _core {
    #[pymodule_export]
    use super::fluid::{PyCriticalPoint, PyFluid, restore_fluid, substances};
    #[pymodule_export]
    use super::notice::PyNotice;
    #[pymodule_export]
    use super::state::{PySaturation, PyState, restore_saturation, restore_state};
    #[pymodule_export]
    use super::table::{list_errors, list_notices, list_quantities};

    use super::{PyModule, PyModuleMethods, PyResult, table, ufunc};

    /// Version of the library.
    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");

    #[pymodule_init]
    fn init(module: &pyo3::Bound<'_, PyModule>) -> PyResult<()> {
        module.add("UNITS", table::units(module.py())?)?;
        module.add("UFUNCS", ufunc::all(module.py())?)
    }
}
