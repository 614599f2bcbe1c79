//! Properties over a region as a table.

use densepath::{PropertyTable, Quantity};
use numpy::{PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyFloat};

use crate::arguments::{OnError, plain_number};
use crate::error::{Outcome, enter};
use crate::fluid::PyFluid;
use crate::function::{list_of, property_named};
use crate::pickle::{Reduced, reduced};

/// Properties of a fluid between two temperatures and two pressures as a table with a known largest error.
///
/// It is made once, kept as bytes, and read by the C library in a loop that controls an instrument.
///
/// Parameters
/// ----------
/// fluid : Fluid
///     The fluid.
/// properties : sequence of str
///     Names of properties, such as "density" and "dynamic_viscosity"; 1 to 32 of them.
/// temperature : tuple of float, keyword-only
///     Lowest and highest temperature T in K.
/// pressure : tuple of float, keyword-only
///     Lowest and highest pressure p in Pa, absolute.
/// tolerance : float, keyword-only
///     Largest relative error, from 1e-10 to 0.1.
///
/// Raises
/// ------
/// DomainError, RangeError, PhaseError
///     If limits are not positive or in rising order, or if a state of the region lies outside the range of the model or has several
///     phases.
/// ConvergenceError
///     If a border of the phases, a critical point or the size of a table stands in the way.
/// ArgumentError
///     For no property, one named twice or unknown, or a tolerance out of range.
///
/// Notes
/// -----
/// Valid: in its region.
///
/// Uncertainty: that of the models, and `largest_error` on top, relative to the value; of energies, entropy, the Joule-Thomson and the
/// expansion coefficient, which can be zero, relative to their span in the region where that is larger.
///
/// Source: of the models, in `Fluid.models`; polynomials of degree seven through values at the zeros of Chebyshev polynomials (textbook
/// knowledge).
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> co2 = dp.Fluid("carbon dioxide")
/// >>> table = dp.PropertyTable(co2, ["density"], temperature=(310.0, 330.0), pressure=(12e6, 30e6), tolerance=1e-6)
/// >>> round(table.value("density", 313.15, 15e6), 2)
/// 780.23
/// >>> table.largest_error("density") <= 1e-6
/// True
/// >>> dp.PropertyTable.from_bytes(table.to_bytes()) == table
/// True
#[pyclass(frozen, eq, module = "densepath", name = "PropertyTable")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyPropertyTable {
    table: PropertyTable,
}

#[pymethods]
impl PyPropertyTable {
    #[new]
    #[pyo3(signature = (fluid, properties, *, temperature, pressure, tolerance = 1e-6))]
    #[allow(
        clippy::needless_pass_by_value,
        reason = "Python hands its arguments over"
    )]
    fn new(
        py: Python<'_>,
        fluid: &PyFluid,
        properties: Vec<String>,
        temperature: [f64; 2],
        pressure: [f64; 2],
        tolerance: f64,
    ) -> Outcome<Self> {
        let quantities: Outcome<Vec<Quantity>> =
            properties.iter().map(|name| property_named(name)).collect();
        let quantities = quantities?;
        let table = enter(py, || {
            PropertyTable::new(&fluid.fluid, &quantities, temperature, pressure, tolerance)
        })?;
        Ok(Self { table })
    }

    /// The table that `to_bytes` wrote.
    ///
    /// Parameters
    /// ----------
    /// data : bytes
    ///     The bytes. Every number is checked: what was damaged or made up is refused, or is a table that answers.
    ///
    /// Returns
    /// -------
    /// PropertyTable
    ///     The table.
    ///
    /// Raises
    /// ------
    /// DocumentError
    ///     If the bytes are no table, or not a whole and unchanged one.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.PropertyTable.from_bytes(b"")
    /// Traceback (most recent call last):
    ///     ...
    /// densepath.errors.DocumentError: these bytes are no table: at byte 0, the mark of a table; hint: write the table anew with this version of the library
    #[staticmethod]
    fn from_bytes(data: &[u8]) -> Outcome<Self> {
        Ok(Self {
            table: PropertyTable::from_bytes(data)?,
        })
    }

    /// The table as bytes, for `from_bytes`, and for `dp_table_read` of the C library.
    ///
    /// Returns
    /// -------
    /// bytes
    ///     The same on every machine.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> n2 = dp.Fluid("nitrogen")
    /// >>> table = dp.PropertyTable(n2, ["density"], temperature=(290.0, 310.0), pressure=(1e5, 2e5), tolerance=1e-4)
    /// >>> len(table.to_bytes())
    /// 525
    fn to_bytes<'py>(&self, py: Python<'py>) -> Bound<'py, PyBytes> {
        PyBytes::new(py, &self.table.to_bytes())
    }

    /// A property at a temperature and a pressure.
    ///
    /// Parameters
    /// ----------
    /// property : str
    ///     Name of one of the properties of the table.
    /// temperature : float or array_like
    ///     Temperature T in K.
    /// pressure : float or array_like
    ///     Pressure p in Pa, absolute.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What becomes of an element outside of the table.
    ///
    /// Returns
    /// -------
    /// float or array
    ///     The property in its SI unit, an array of the shape of the arguments broadcast.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Outside of the table.
    /// MissingModelError
    ///     If the table does not have the property.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> table = dp.PropertyTable(co2, ["density"], temperature=(310.0, 330.0), pressure=(12e6, 30e6))
    /// >>> table.value("density", 313.15, [15e6, 30e6, 40e6], on_error="nan").round(2)
    /// array([780.23, 909.89,    nan])
    #[pyo3(signature = (property, temperature, pressure, *, on_error = "raise"))]
    fn value<'py>(
        slf: &Bound<'py, Self>,
        property: &str,
        temperature: &Bound<'py, PyAny>,
        pressure: &Bound<'py, PyAny>,
        on_error: &str,
    ) -> Outcome<Bound<'py, PyAny>> {
        let py = slf.py();
        let rule = OnError::read(on_error)?;
        let table = &slf.get().table;
        let index = table.index_of(property_named(property)?)?;
        if let (OnError::Raise, Some(t), Some(p)) =
            (rule, plain_number(temperature), plain_number(pressure))
        {
            return Ok(PyFloat::new(py, table.value(index, t, p)?).into_any());
        }
        let call = py.import("densepath._arrays")?.getattr("table_values")?;
        Ok(call.call1((slf, property, temperature, pressure, on_error))?)
    }

    /// Largest relative error of a property against its model: twice the largest found at 25 places of every rectangle of the table.
    ///
    /// Parameters
    /// ----------
    /// property : str
    ///     Name of one of the properties of the table.
    ///
    /// Returns
    /// -------
    /// float
    ///     The error, dimensionless.
    ///
    /// Raises
    /// ------
    /// MissingModelError
    ///     If the table does not have the property.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> n2 = dp.Fluid("nitrogen")
    /// >>> table = dp.PropertyTable(n2, ["density"], temperature=(290.0, 310.0), pressure=(1e5, 2e5), tolerance=1e-4)
    /// >>> table.largest_error("density") < 1e-4
    /// True
    fn largest_error(&self, property: &str) -> Outcome<f64> {
        let index = self.table.index_of(property_named(property)?)?;
        Ok(self.table.largest_error(index)?)
    }

    /// str: Name of the fluid.
    #[getter]
    fn fluid(&self) -> &str {
        self.table.fluid()
    }

    /// str: Name of its equation of state.
    #[getter]
    fn model(&self) -> &str {
        self.table.model()
    }

    /// tuple of str: Names of the properties.
    #[getter]
    fn properties<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, pyo3::types::PyTuple>> {
        pyo3::types::PyTuple::new(py, self.table.quantities().map(Quantity::name))
    }

    /// tuple of float: Lowest and highest temperature in K.
    #[getter]
    fn temperature(&self) -> (f64, f64) {
        self.table.temperature().into()
    }

    /// tuple of float: Lowest and highest pressure in Pa.
    #[getter]
    fn pressure(&self) -> (f64, f64) {
        self.table.pressure().into()
    }

    /// int: Number of rectangles with a polynomial.
    #[getter]
    fn rectangle_count(&self) -> usize {
        self.table.rectangle_count()
    }

    fn __repr__(&self) -> String {
        let names: Vec<&str> = self.table.quantities().map(Quantity::name).collect();
        let ([cold, hot], [low, high]) = (self.table.temperature(), self.table.pressure());
        format!(
            "<PropertyTable of {}: {}, {cold} to {hot} K, {low} to {high} Pa>",
            self.table.fluid(),
            names.join(", ")
        )
    }

    fn __hash__(&self) -> u64 {
        use std::hash::{DefaultHasher, Hash, Hasher};
        let mut state = DefaultHasher::new();
        self.table.to_bytes().hash(&mut state);
        state.finish()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (Bound<'py, PyBytes>,)> {
        reduced(py, "restore_property_table", (self.to_bytes(py),))
    }
}

/// Restores what was pickled.
#[pyfunction]
pub fn restore_property_table(data: &[u8]) -> Outcome<PyPropertyTable> {
    PyPropertyTable::from_bytes(data)
}

/// A property of a table for lists of temperatures and pressures; not a number outside of it. Behind `PropertyTable.value`.
#[pyfunction]
#[allow(
    clippy::needless_pass_by_value,
    reason = "Python hands its arguments over"
)]
pub fn table_values_of_lists<'py>(
    py: Python<'py>,
    table: &PyPropertyTable,
    property: &str,
    temperature: PyReadonlyArray1<'py, f64>,
    pressure: PyReadonlyArray1<'py, f64>,
) -> Outcome<Bound<'py, PyArray1<f64>>> {
    let index = table.table.index_of(property_named(property)?)?;
    let (t, p) = (list_of(&temperature)?, list_of(&pressure)?);
    let mut values = vec![0.0; t.len()];
    // Failures are told by the values.
    let _ = py.detach(|| table.table.value_into(index, t, p, &mut values));
    Ok(PyArray1::from_vec(py, values))
}
