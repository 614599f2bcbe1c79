//! The solution of a method as frozen objects.

use std::sync::Arc;

use densepath::fluid::error::significant;
use densepath::hardware::ProfilePoint;
use densepath::path::{BandBudget, ColumnSummary, Pass, Station};
use densepath::report::{STATION_QUANTITIES, to_json, to_text};
use densepath::{Method, Quantity, Solution, read_method};
use pyo3::IntoPyObjectExt;
use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::document::{self, Document};
use crate::error::{Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::notice::PyNotice;
use crate::pickle::{Reduced, reduced};
use crate::state::{Origin, PyState};
use crate::table::{Column, PyTable};

/// A piece of a solution for a pickle: the document, which piece, and its index.
type Piece = (String, &'static str, usize);

/// Solves the whole path of a method: pressure, flow, state at every station, bands, duties and notices.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document: the path of a file, its text (of more than one line), or a mapping of the same shape.
///
/// Returns
/// -------
/// Solution
///     All that follows from the method in steady flow.
///
/// Raises
/// ------
/// DocumentError
///     If the document cannot be read or describes no instrument.
/// FlowError, ConvergenceError, RangeError
///     If the flow is choked, reversed or changes its phase where it must not, or no solution exists.
///
/// Notes
/// -----
/// The interpreter is free for other threads while the path is solved.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.solve("no/such/method.toml")
/// Traceback (most recent call last):
/// ...
/// densepath.errors.DocumentError: cannot read no/such/method.toml: No such file or directory (os error 2)
#[pyfunction]
pub fn solve(py: Python<'_>, source: &Bound<'_, PyAny>) -> Outcome<PySolution> {
    let Document { text, method } = document::read(source)?;
    PySolution::of(py, text.into(), method)
}

/// The solution of a pickle.
#[pyfunction]
pub fn restore_solution(py: Python<'_>, document: &str) -> Outcome<PySolution> {
    PySolution::of(py, document.into(), read_method(document)?)
}

/// A piece of the solution of a pickle: `station` or `column` with its index, or `bands`.
#[pyfunction]
pub fn restore_piece<'py>(
    py: Python<'py>,
    document: &str,
    piece: &str,
    index: usize,
) -> Outcome<Bound<'py, PyAny>> {
    let whole = restore_solution(py, document)?;
    let found = match piece {
        "station" => whole.at(index).map(|station| station.into_bound_py_any(py)),
        "column" => whole
            .column_at(index)
            .map(|column| column.into_bound_py_any(py)),
        _ => whole.bands().map(|bands| bands.into_bound_py_any(py)),
    };
    found
        .transpose()?
        .ok_or_else(|| argument("piece", "a piece of the solution", piece))
}

/// A solution, solved again from the text of its document.
pub fn solve_again(document: &str) -> densepath::Result<Solution> {
    read_method(document)?.solve()
}

/// All that follows from a method in steady flow; immutable. Made by `solve`.
///
/// Tables hold SI values by the names of their quantities; `str(solution)` is a report in the units of the laboratory.
#[pyclass(frozen, eq, hash, module = "densepath", name = "Solution")]
#[derive(Debug)]
pub struct PySolution {
    document: Arc<str>,
    method: Method,
    solution: Solution,
}

impl PartialEq for PySolution {
    fn eq(&self, other: &Self) -> bool {
        self.document == other.document
    }
}

impl std::hash::Hash for PySolution {
    fn hash<H: std::hash::Hasher>(&self, hasher: &mut H) {
        self.document.hash(hasher);
    }
}

impl PySolution {
    fn of(py: Python<'_>, document: Arc<str>, method: Method) -> Outcome<Self> {
        let solution = enter(py, || method.solve())?;
        Ok(Self {
            document,
            method,
            solution,
        })
    }

    fn at(&self, index: usize) -> Option<PyStation> {
        let station = self.solution.stations.get(index)?.clone();
        Some(PyStation {
            station,
            document: self.document.clone(),
            index,
        })
    }

    fn column_at(&self, index: usize) -> Option<PyColumn> {
        let column = self.solution.columns.get(index)?.clone();
        Some(PyColumn {
            column,
            document: self.document.clone(),
            index,
        })
    }
}

#[pymethods]
impl PySolution {
    /// str: Text of the method document, in TOML.
    #[getter]
    fn document(&self) -> &str {
        &self.document
    }

    /// str: What the method is called.
    #[getter]
    fn title(&self) -> &str {
        &self.solution.title
    }

    /// str or None: Where the method comes from, if its document says so.
    #[getter]
    fn scenario(&self) -> Option<&str> {
        self.method.scenario.as_deref()
    }

    /// Fluid: The mobile phase.
    #[getter]
    fn fluid(&self) -> PyFluid {
        self.method.path.fluid.clone().into()
    }

    /// str: Name of the model of the mobile phase.
    #[getter]
    fn model(&self) -> &str {
        &self.solution.model
    }

    /// float: Pressure in Pa at which the pump delivers.
    #[getter]
    fn delivery_pressure(&self) -> f64 {
        self.solution.delivery_pressure
    }

    /// float: Mass flow rate q_m in kg/s.
    #[getter]
    fn mass_flow_rate(&self) -> f64 {
        self.solution.mass_flow_rate
    }

    /// float: Volume flow rate in m3/s of the gas let out, at 20 degC and 101325 Pa.
    #[getter]
    fn gas_volume_flow_rate(&self) -> f64 {
        self.solution.consumption.gas_volume_flow_rate
    }

    /// float: Time in s for which the liquid in the cylinder lasts.
    #[getter]
    fn running_time(&self) -> f64 {
        self.solution.consumption.running_time
    }

    /// Table: The fluid at the supply, at the pump and at the outlet of each part.
    #[getter]
    fn stations(&self) -> PyTable {
        let stations = &self.solution.stations;
        let mut columns = vec![
            Column::words("name", stations.iter().map(|station| station.name.as_str())),
            Column::words("kind", stations.iter().map(|station| station.kind)),
            Column::words(
                "phase",
                stations.iter().map(|station| station.state.phase().name()),
            ),
        ];
        columns.extend(STATION_QUANTITIES.iter().map(|&quantity| {
            let values = stations
                .iter()
                .map(|station| station.get(quantity).unwrap_or(f64::NAN));
            Column::numbers(quantity, values)
        }));
        PyTable::of("stations", columns)
    }

    /// One station by the name of its part.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     Name of the part whose outlet it is.
    ///
    /// Returns
    /// -------
    /// Station
    ///     The fluid there.
    ///
    /// Raises
    /// ------
    /// KeyError
    ///     If no part has this name.
    fn station(&self, name: &str) -> PyResult<PyStation> {
        let stations = &self.solution.stations;
        let index = stations.iter().position(|station| station.name == name);
        index.and_then(|index| self.at(index)).ok_or_else(|| {
            let names: Vec<_> = stations
                .iter()
                .map(|station| station.name.as_str())
                .collect();
            PyKeyError::new_err(format!(
                "no station \"{name}\"; there are {}",
                names.join(", ")
            ))
        })
    }

    /// Station or None: What leaves the instrument.
    #[getter]
    fn outlet(&self) -> Option<PyStation> {
        self.at(self.solution.stations.len().checked_sub(1)?)
    }

    /// BandBudget or None: What each part does to the band, if there is an injection, a column and a solute.
    #[getter]
    fn bands(&self) -> Option<PyBandBudget> {
        let budget = self.solution.bands.clone()?;
        Some(PyBandBudget {
            budget,
            document: self.document.clone(),
        })
    }

    /// Column or None: The first column.
    #[getter]
    fn column(&self) -> Option<PyColumn> {
        self.column_at(0)
    }

    /// tuple of Column: The columns.
    #[getter]
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let columns = (0..self.solution.columns.len()).filter_map(|index| self.column_at(index));
        PyTuple::new(py, columns.collect::<Vec<_>>())
    }

    /// Table: Points along all parts that have a length, inlet to outlet; `position` counts from the inlet of each part.
    #[getter]
    fn profile(&self) -> PyTable {
        let parts: Vec<_> = self.solution.passes.iter().map(points_of).collect();
        profile("profile", &parts)
    }

    /// Table: Heat flow rates into the fluid in W, negative where it is cooled.
    #[getter]
    fn duties(&self) -> PyTable {
        let duties = &self.solution.duties;
        let columns = vec![
            Column::words("part", duties.iter().map(|duty| duty.part.as_str())),
            Column::words("purpose", duties.iter().map(|duty| duty.purpose.as_str())),
            Column::numbers(
                Quantity::HeatFlowRate,
                duties.iter().map(|duty| duty.heat_flow_rate),
            ),
        ];
        PyTable::of("duties", columns)
    }

    /// Table: What only single parts have to tell; each row has the quantity and the SI unit of its own.
    #[getter]
    fn facts(&self) -> PyTable {
        let facts = &self.solution.facts;
        let columns = vec![
            Column::words("part", facts.iter().map(|entry| entry.part.as_str())),
            Column::words("name", facts.iter().map(|entry| entry.fact.name)),
            Column::named("value", "SI", facts.iter().map(|entry| entry.fact.value)),
            Column::words("unit", facts.iter().map(|entry| entry.fact.quantity.unit())),
            Column::words(
                "quantity",
                facts.iter().map(|entry| entry.fact.quantity.name()),
            ),
        ];
        PyTable::of("facts", columns)
    }

    /// A result of a part by its words.
    ///
    /// Parameters
    /// ----------
    /// part : str
    ///     Name of the part.
    /// name : str
    ///     Words of the result, as in the column `name` of `facts`.
    ///
    /// Returns
    /// -------
    /// float
    ///     The value in SI units.
    ///
    /// Raises
    /// ------
    /// KeyError
    ///     If the part tells no such result.
    fn fact(&self, part: &str, name: &str) -> PyResult<f64> {
        let missing = || PyKeyError::new_err(format!("{part}: {name}"));
        self.solution.fact(part, name).ok_or_else(missing)
    }

    /// tuple of Notice: Doubts and cautions, cautions first.
    #[getter]
    fn notices<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(
            py,
            self.solution
                .notices
                .iter()
                .map(PyNotice::from)
                .collect::<Vec<_>>(),
        )
    }

    /// The report as text of at most 100 columns, in the units of the laboratory.
    fn to_text(&self) -> String {
        to_text(&self.solution)
    }

    /// The solution as JSON in SI units, with the unit in each key.
    fn to_json(&self) -> String {
        to_json(&self.solution).to_string()
    }

    /// The solution as a dictionary of plain values in SI units, with the unit in each key.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("json")?.call_method1("loads", (self.to_json(),))
    }

    /// The stations as a `pandas.DataFrame` with the names as index and the SI units in `attrs["units"]`.
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("solution_to_pandas", (slf,))
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("solution_to_html", (slf,))
    }

    fn __str__(&self) -> String {
        self.to_text()
    }

    fn __repr__(&self) -> String {
        let solution = &self.solution;
        format!(
            "Solution(\"{}\", {} stations, delivery_pressure = {} Pa, mass_flow_rate = {} kg/s, {} notices)",
            solution.title,
            solution.stations.len(),
            significant(solution.delivery_pressure),
            significant(solution.mass_flow_rate),
            solution.notices.len()
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (String,)> {
        reduced(py, "restore_solution", (self.document.to_string(),))
    }
}

/// The points along a part, with its name.
fn points_of(pass: &Pass) -> (&str, &[ProfilePoint]) {
    (&pass.name, &pass.outlet.profile)
}

/// A table of the points along parts.
fn profile(title: &str, parts: &[(&str, &[ProfilePoint])]) -> PyTable {
    let points = || parts.iter().flat_map(|(_, points)| *points);
    let names = parts
        .iter()
        .flat_map(|(name, points)| points.iter().map(|_| *name));
    let columns = vec![
        Column::words("part", names),
        Column::named(
            "position",
            Quantity::Length.unit(),
            points().map(|point| point.position),
        ),
        Column::numbers(
            Quantity::Temperature,
            points().map(|point| point.temperature),
        ),
        Column::numbers(Quantity::Pressure, points().map(|point| point.pressure)),
        Column::numbers(Quantity::Density, points().map(|point| point.density)),
        Column::numbers(Quantity::Velocity, points().map(|point| point.velocity)),
        Column::numbers(
            Quantity::RetentionFactor,
            points().map(|point| point.retention_factor),
        ),
        Column::numbers(
            Quantity::PlateHeight,
            points().map(|point| point.plate_height),
        ),
    ];
    PyTable::of(title, columns)
}

/// The fluid at one place of the path; immutable.
#[pyclass(frozen, module = "densepath", name = "Station")]
#[derive(Debug)]
pub struct PyStation {
    station: Station,
    document: Arc<str>,
    index: usize,
}

#[pymethods]
impl PyStation {
    /// str: Name of the part whose outlet it is.
    #[getter]
    fn name(&self) -> &str {
        &self.station.name
    }

    /// str: The word for the sort of part.
    #[getter]
    fn kind(&self) -> &str {
        self.station.kind
    }

    /// State: The state of the fluid, with all its properties.
    #[getter]
    fn state(&self) -> PyState {
        let origin = Origin::at_station(self.document.clone(), self.index);
        PyState::with_origin(self.station.state.clone(), origin)
    }

    /// str: Phase of the fluid.
    #[getter]
    fn phase(&self) -> &'static str {
        self.station.state.phase().name()
    }

    /// float: Temperature T in K.
    #[getter]
    fn temperature(&self) -> f64 {
        self.station.state.temperature()
    }

    /// float: Pressure p in Pa.
    #[getter]
    fn pressure(&self) -> f64 {
        self.station.state.pressure()
    }

    /// float: Density rho in kg/m3.
    #[getter]
    fn density(&self) -> f64 {
        self.station.state.density()
    }

    /// float: Mass flow rate q_m in kg/s.
    #[getter]
    fn mass_flow_rate(&self) -> f64 {
        self.station.mass_flow_rate
    }

    /// float: Volume flow rate q_V in m3/s at the local density.
    #[getter]
    fn volume_flow_rate(&self) -> Outcome<f64> {
        Ok(self.station.get(Quantity::VolumeFlowRate)?)
    }

    /// float or None: Mean velocity u in m/s, where the part is a conduit.
    #[getter]
    fn velocity(&self) -> Option<f64> {
        self.station.motion.map(|motion| motion.velocity)
    }

    /// float or None: Reynolds number Re, where the part is a conduit.
    #[getter]
    fn reynolds_number(&self) -> Option<f64> {
        self.station.motion.map(|motion| motion.reynolds_number)
    }

    /// float or None: Pressure in Pa above the one at which a second phase appears; None where there are two phases.
    #[getter]
    fn single_phase_margin(&self) -> Option<f64> {
        self.station.single_phase_margin
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, Piece> {
        reduced(
            py,
            "restore_piece",
            (self.document.to_string(), "station", self.index),
        )
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.document == other.document && self.index == other.index
    }

    fn __repr__(&self) -> String {
        let state = &self.station.state;
        format!(
            "Station(\"{}\", {}, temperature = {} K, pressure = {} Pa, density = {} kg/m3)",
            self.station.name,
            state.phase().name(),
            significant(state.temperature()),
            significant(state.pressure()),
            significant(state.density())
        )
    }
}

/// Variances in time from the injection to the detector; immutable.
#[pyclass(frozen, module = "densepath", name = "BandBudget")]
#[derive(Debug)]
pub struct PyBandBudget {
    budget: BandBudget,
    document: Arc<str>,
}

#[pymethods]
impl PyBandBudget {
    /// str: Name of the solute.
    #[getter]
    fn solute(&self) -> &str {
        &self.budget.solute
    }

    /// Table: Time, variance and share of each part, with the smallest and the largest variance where the law leaves a bracket.
    #[getter]
    fn rows(&self) -> PyTable {
        let rows = &self.budget.rows;
        let unit = Quantity::TimeVariance.unit();
        let bound = |of: fn((f64, f64)) -> f64| {
            rows.iter()
                .map(move |row| row.bracket.map_or(row.time_variance, of))
        };
        let columns = vec![
            Column::words("part", rows.iter().map(|row| row.part.as_str())),
            Column::numbers(Quantity::Time, rows.iter().map(|row| row.time)),
            Column::numbers(
                Quantity::TimeVariance,
                rows.iter().map(|row| row.time_variance),
            ),
            Column::named("share", "1", rows.iter().map(|row| row.share)),
            Column::named("time_variance_min", unit, bound(|(low, _)| low)),
            Column::named("time_variance_max", unit, bound(|(_, high)| high)),
        ];
        PyTable::of("bands", columns)
    }

    /// float: Sum of the variances in s2.
    #[getter]
    fn time_variance(&self) -> f64 {
        self.budget.time_variance
    }

    /// float: Time from injection to detection in s.
    #[getter]
    fn time(&self) -> f64 {
        self.budget.time
    }

    /// float: Retention time t_R on the columns in s.
    #[getter]
    fn retention_time(&self) -> f64 {
        self.budget.retention_time
    }

    /// float: Hold-up time t_M of the columns in s.
    #[getter]
    fn hold_up_time(&self) -> f64 {
        self.budget.hold_up_time
    }

    /// float: Retention factor k = (t_R - t_M) / t_M over the columns.
    #[getter]
    fn retention_factor(&self) -> f64 {
        self.budget.retention_factor
    }

    /// float: Plate number N of the columns alone.
    #[getter]
    fn column_plate_number(&self) -> f64 {
        self.budget.column_plate_number
    }

    /// float: Plate number N with the variance of all parts.
    #[getter]
    fn apparent_plate_number(&self) -> f64 {
        self.budget.apparent_plate_number
    }

    /// The rows as a `pandas.DataFrame`, with the SI units in `attrs["units"]`.
    fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("densepath._present")?
            .call_method1("table_to_pandas", (self.rows(),))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, Piece> {
        reduced(py, "restore_piece", (self.document.to_string(), "bands", 0))
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.document == other.document
    }

    fn __repr__(&self) -> String {
        format!(
            "BandBudget({}, retention_factor = {}, column_plate_number = {}, apparent_plate_number = {})",
            self.budget.solute,
            significant(self.budget.retention_factor),
            significant(self.budget.column_plate_number),
            significant(self.budget.apparent_plate_number)
        )
    }
}

/// A column at a glance; immutable.
#[pyclass(frozen, module = "densepath", name = "Column")]
#[derive(Debug)]
pub struct PyColumn {
    column: ColumnSummary,
    document: Arc<str>,
    index: usize,
}

#[pymethods]
impl PyColumn {
    /// str: Name of the part.
    #[getter]
    fn name(&self) -> &str {
        &self.column.name
    }

    /// float: Pressure drop in Pa.
    #[getter]
    fn pressure_drop(&self) -> f64 {
        self.column.pressure_drop
    }

    /// float: Hold-up time t_M in s.
    #[getter]
    fn hold_up_time(&self) -> f64 {
        self.column.hold_up_time
    }

    /// float: Density in kg/m3 at the inlet.
    #[getter]
    fn inlet_density(&self) -> f64 {
        self.column.inlet.density()
    }

    /// float: Density in kg/m3 at the outlet.
    #[getter]
    fn outlet_density(&self) -> f64 {
        self.column.outlet.density()
    }

    /// Table: Points from inlet to outlet.
    #[getter]
    fn profile(&self) -> PyTable {
        let points = (self.column.name.as_str(), self.column.profile.as_slice());
        profile(&self.column.name, &[points])
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, Piece> {
        reduced(
            py,
            "restore_piece",
            (self.document.to_string(), "column", self.index),
        )
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.document == other.document && self.index == other.index
    }

    fn __repr__(&self) -> String {
        format!(
            "Column(\"{}\", pressure_drop = {} Pa, hold_up_time = {} s)",
            self.column.name,
            significant(self.column.pressure_drop),
            significant(self.column.hold_up_time)
        )
    }
}
