//! Notices as frozen objects.

use densepath::Notice;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::pickle::{Reduced, reduced};

/// Code, severity, quantity, station and text.
type Fields = (String, String, Option<String>, String, String);

/// A doubt or a caution that travels with a result.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> notices = dp.solve("tests/methods/packed.toml").notices
/// >>> [(notice.code, notice.station) for notice in notices if notice.severity == "caution"]
/// [('blocked_in_liquid', 'pump'), ('asphyxiation', 'vent'), ('cold_burn', 'loop'), ('cold_burn', 'regulator')]
#[pyclass(
    frozen,
    eq,
    hash,
    from_py_object,
    module = "densepath",
    name = "Notice"
)]
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct PyNotice {
    /// str: What it is about, one of `dp.list_notices()`.
    #[pyo3(get)]
    code: String,
    /// str: "caution" (somebody or something can be hurt), "warning" (the result is doubtful) or "remark".
    #[pyo3(get)]
    severity: String,
    /// str or None: Quantity concerned.
    #[pyo3(get)]
    quantity: Option<String>,
    /// str: Name of the station or part; empty where the notice concerns the whole.
    #[pyo3(get)]
    station: String,
    /// str: What to know and to do.
    #[pyo3(get)]
    text: String,
}

impl From<&Notice> for PyNotice {
    fn from(notice: &Notice) -> Self {
        Self {
            code: notice.code.name().to_owned(),
            severity: notice.code.severity().name().to_owned(),
            quantity: notice.quantity.map(|quantity| quantity.name().to_owned()),
            station: notice.station.clone(),
            text: notice.text.clone(),
        }
    }
}

#[pymethods]
impl PyNotice {
    #[new]
    #[pyo3(signature = (code, severity, quantity, station, text))]
    fn new(
        code: String,
        severity: String,
        quantity: Option<String>,
        station: String,
        text: String,
    ) -> Self {
        Self {
            code,
            severity,
            quantity,
            station,
            text,
        }
    }

    /// The notice as a dictionary.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> (notice,) = dp.Fluid("carbon dioxide").state(temperature=307.0, pressure=80e5).notices
    /// >>> told = notice.to_dict()
    /// >>> told["code"], told["severity"], told["quantity"]
    /// ('near_critical', 'warning', 'density')
    pub fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("code", &self.code)?;
        dict.set_item("severity", &self.severity)?;
        dict.set_item("quantity", &self.quantity)?;
        dict.set_item("station", &self.station)?;
        dict.set_item("text", &self.text)?;
        Ok(dict)
    }

    fn __str__(&self) -> String {
        let place = if self.station.is_empty() {
            String::new()
        } else {
            format!(" at {}", self.station)
        };
        format!("{}{place}: {}", self.severity, self.text)
    }

    fn __repr__(&self) -> String {
        format!("Notice({}, {self})", self.code, self = self.__str__())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, Fields> {
        let Self {
            code,
            severity,
            quantity,
            station,
            text,
        } = self.clone();
        reduced(py, "Notice", (code, severity, quantity, station, text))
    }
}
