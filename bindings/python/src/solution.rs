//! The solution of a method as frozen objects.

use std::collections::HashMap;

use densepath::flow::bands::largest_plug;
use densepath::fluid::error::significant;
use densepath::hardware::{Fact, ProfilePoint};
use densepath::method::solve_documents;
use densepath::path::{BandBudget, BandRow, ColumnSummary, Detection, Pass, Station, Watch};
use densepath::report::{STATION_QUANTITIES, to_json, to_text};
use densepath::{Error, Method, Quantity, Solution, read_method};
use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use crate::bands::PyChromatogram;
use crate::document::{self, Document};
use crate::error::{Outcome, enter, exception};
use crate::fluid::PyFluid;
use crate::pickle::{Reduced, reduced};
use crate::record::{Notices, Several, finite, nested, record};
use crate::state::PyState;
use crate::table::{Column, PyTable};
use crate::watched::{Listener, watch_within, watched};

/// Solves the whole path of a method: pressure, flow, state at every station, bands, duties and notices.
///
/// Parameters
/// ----------
/// source : path, str or mapping
///     A method document: the path of a file, its text (of more than one line), or a mapping of the same shape.
/// time_limit : float, keyword-only, optional
///     Seconds after which the work is given up.
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
/// StoppedError
///     If the time is over before the work is done.
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
#[pyo3(signature = (source, *, time_limit = None))]
pub fn solve(
    py: Python<'_>,
    source: &Bound<'_, PyAny>,
    time_limit: Option<f64>,
) -> Outcome<PySolution> {
    let Document { text, mut method } = document::read(source)?;
    if time_limit.is_some() {
        method.path.watch = watch_within(time_limit)?;
    }
    PySolution::of(py, text, method)
}

/// Solves many methods on all cores: documents one by one, or one document with other values of some of its inputs.
///
/// Parameters
/// ----------
/// source : sequence of (path, str or mapping), or path, str or mapping
///     The method documents as `solve` takes them; with `changes` the one document that is changed.
/// changes : mapping of (str, str) to sequence of float, optional
///     Values in SI by the two words of their inputs, as `method_inputs` tells them. All sequences are as long as there are methods.
/// raises : bool, keyword-only
///     Whether the first method without solution raises its error; otherwise its error stands in its place.
/// progress : bool or callable, keyword-only, optional
///     True for a bar of `tqdm`, where that is installed; or a function that is told the number solved and the number to solve, which
///     is None where it is not known.
/// time_limit : float, keyword-only, optional
///     Seconds after which the work is given up.
///
/// Returns
/// -------
/// list of Solution
///     One for each method, each as `solve` finds it, to the last bit.
///
/// Raises
/// ------
/// DocumentError, ArgumentError
///     If the document cannot be read, a change names none of its inputs, or the changes are not of one length.
/// DensepathError
///     The error of the first method that has one, if `raises`: a `StoppedError` if the time was over before.
///
/// Notes
/// -----
/// The interpreter is free for other threads meanwhile, and an interrupt stops the work. `RAYON_NUM_THREADS` in the environment limits the cores.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> solved = dp.solve_many("tests/methods/packed.toml", {("column", "length"): [0.15, 0.25]})
/// >>> [f"{solution.column.pressure_drop / 1e5:.1f} bar" for solution in solved]
/// ['16.4 bar', '27.8 bar']
#[pyfunction]
#[pyo3(signature = (source, changes = None, *, raises = true, progress = None, time_limit = None))]
pub fn solve_many<'py>(
    py: Python<'py>,
    source: &Bound<'py, PyAny>,
    changes: Option<HashMap<(String, String), Vec<f64>>>,
    raises: bool,
    progress: Option<&Bound<'py, PyAny>>,
    time_limit: Option<f64>,
) -> Outcome<Vec<Bound<'py, PyAny>>> {
    let watch = watch_within(time_limit)?;
    let solved = if let Some(changes) = changes {
        let mut method = document::read(source)?.method;
        method.path.watch = watch.clone();
        let input = |((of, key), values): ((String, String), Vec<f64>)| {
            Ok::<_, Error>((method.input(&of, &key)?, values))
        };
        let changes: Vec<_> = changes.into_iter().map(input).collect::<Result<_, _>>()?;
        let listener = Listener::of(
            py,
            progress,
            changes.first().map(|(_, values)| values.len()),
        )?;
        watched(py, &watch, &listener, || method.solve_with(&changes))?
    } else {
        let texts = source
            .try_iter()?
            .map(|one| document::text_from(&one?))
            .collect::<Outcome<Vec<_>>>()?;
        let listener = Listener::of(py, progress, Some(texts.len()))?;
        watched(py, &watch, &listener, || {
            Ok(solve_documents(&texts, &watch))
        })?
    };
    let found = solved.into_iter().map(|solved| match solved {
        Ok((method, solution)) => {
            let solution = PySolution {
                document: method.document().to_owned(),
                method,
                solution,
            };
            Ok(Bound::new(py, solution)?.into_any())
        }
        Err(error) if raises => Err(error.into()),
        Err(error) => Ok(exception(py, &error)
            .into_value(py)
            .into_bound(py)
            .into_any()),
    });
    found.collect()
}

/// The solution of a pickle.
#[pyfunction]
pub fn restore_solution(py: Python<'_>, document: &str) -> Outcome<PySolution> {
    PySolution::of(py, document.to_owned(), read_method(document)?)
}

/// All that follows from a method in steady flow; immutable. Made by `solve`.
///
/// Tables hold SI values by the names of their quantities; `str(solution)` is a report in the units of the laboratory.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> solution = dp.solve("tests/methods/packed.toml")
/// >>> print(f"{solution.delivery_pressure / 1e5:.1f} bar, {solution.mass_flow_rate:.3g} kg/s")
/// 193.6 bar, 4.99e-05 kg/s
/// >>> [notice.station for notice in solution.notices if notice.code == "asphyxiation"]
/// ['vent']
#[pyclass(frozen, eq, hash, module = "densepath", name = "Solution")]
#[derive(Debug)]
pub struct PySolution {
    document: String,
    pub(crate) method: Method,
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
    fn of(py: Python<'_>, document: String, mut method: Method) -> Outcome<Self> {
        let solution = enter(py, || method.solve())?;
        // What is asked of the method afterwards has no limit of time.
        method.path.watch = Watch::default();
        Ok(Self {
            document,
            method,
            solution,
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

    /// Table: The fluid at the supply, at the pump and at the outlet of each part of the main line.
    #[getter]
    fn stations(&self) -> PyTable {
        let stations: Vec<_> = self.solution.stations.iter().collect();
        PyTable::of("stations", station_columns(&stations))
    }

    /// Table: The fluid at the outlet of each part of the branches; ``branch_of`` is the part at whose outlet the branch begins.
    #[getter]
    fn branches(&self) -> PyTable {
        let branches = self.solution.branches.iter();
        let pairs = branches.flat_map(|branch| branch.stations.iter().map(|of| (&branch.tee, of)));
        let (tees, stations): (Vec<_>, Vec<_>) = pairs.unzip();
        let mut columns = station_columns(&stations);
        let tees = tees.into_iter().map(String::as_str);
        columns.insert(0, Column::words("branch_of", tees));
        PyTable::of("branches", columns)
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> outlet = dp.solve("tests/methods/packed.toml").station("column")
    /// >>> print(f"{outlet.pressure / 1e5:.1f} bar, {outlet.temperature:.2f} K, {outlet.density:.1f} kg/m3")
    /// 154.2 bar, 311.18 K, 800.2 kg/m3
    fn station(&self, name: &str) -> PyResult<PyStation> {
        let found = self.solution.station(name).map(PyStation::from);
        found.ok_or_else(|| {
            let stations = self.solution.all_stations();
            let names: Vec<_> = stations.map(|station| station.name.as_str()).collect();
            PyKeyError::new_err(format!(
                "no station \"{name}\"; there are {}",
                names.join(", ")
            ))
        })
    }

    /// Station or None: What leaves the instrument.
    #[getter]
    fn outlet(&self) -> Option<PyStation> {
        self.solution.outlet().map(PyStation::from)
    }

    /// BandBudget or None: What each part does to the band, if there is an injection, a column and a solute.
    #[getter]
    fn bands(&self) -> Option<PyBandBudget> {
        self.solution.bands.as_ref().map(PyBandBudget::from)
    }

    /// tuple of BandBudget: What each part does to the band of each solute.
    #[getter]
    fn bands_of_solutes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let budgets = self
            .solution
            .bands_of_solutes
            .iter()
            .map(PyBandBudget::from);
        PyTuple::new(py, budgets.collect::<Vec<_>>())
    }

    /// tuple of Detection: The bands at every detector, and at the end of every line where nothing detects; those of the main line
    /// first.
    #[getter]
    fn detections<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let detections = self.solution.detections.iter().map(PyDetection::from);
        PyTuple::new(py, detections.collect::<Vec<_>>())
    }

    /// The bands at one detector, or at the last part of a line where nothing detects, by the name of the part.
    ///
    /// Parameters
    /// ----------
    /// part : str
    ///     Name of the part.
    ///
    /// Returns
    /// -------
    /// Detection
    ///     The bands there.
    ///
    /// Raises
    /// ------
    /// ArgumentError
    ///     If nothing detects in a part of this name.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> at = dp.solve("tests/methods/packed.toml").detection("UV cell")
    /// >>> print(f"{at.injected_share:.0%} arrives, {at.bands_of_solutes[0].time:.1f} s after the injection")
    /// 100% arrives, 113.5 s after the injection
    fn detection(&self, part: &str) -> Outcome<PyDetection> {
        Ok(self.solution.detection(part)?.into())
    }

    /// What a detector records of an injection at time zero, without noise; programmed if the document has programs.
    ///
    /// Parameters
    /// ----------
    /// start, end : float
    ///     First and last time in s.
    /// data_rate : float
    ///     Samples per second in Hz.
    /// areas : sequence of float, keyword-only, optional
    ///     Areas of the peaks, in the order of the solutes; 1 if not given.
    /// detector : str, keyword-only, optional
    ///     Name of the detector, or of the last part of a line where nothing detects; the first of the main line if not given.
    ///
    /// Returns
    /// -------
    /// Chromatogram
    ///     Record, peaks, resolutions and peak capacity.
    ///
    /// Raises
    /// ------
    /// DomainError
    ///     For a rate not above zero, or an end before the start.
    /// RangeError
    ///     Where a law of a solute leaves its range on the way.
    /// ArgumentError
    ///     If nothing detects in a part of this name, or no band reaches it from a column.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> record = dp.solve("tests/methods/packed.toml").chromatogram(0.0, 180.0, 20.0)
    /// >>> print(f"{record.peaks.solute[0]} at {record.peaks.time[0]:.1f} s, {len(record.record)} samples")
    /// invented aromatic at 113.5 s, 3601 samples
    #[pyo3(signature = (start, end, data_rate, *, areas = Vec::new(), detector = None))]
    fn chromatogram(
        &self,
        py: Python<'_>,
        start: f64,
        end: f64,
        data_rate: f64,
        areas: Vec<f64>,
        detector: Option<&str>,
    ) -> Outcome<PyChromatogram> {
        let (method, solution) = (&self.method, &self.solution);
        let found = enter(py, || match (detector, method.programs.is_empty()) {
            (None, true) => solution.chromatogram(areas, start, end, data_rate),
            (None, false) => method.chromatogram(areas, start, end, data_rate),
            (Some(part), true) => {
                let detection = solution.detection(part)?;
                detection.chromatogram(areas, start, end, data_rate)
            }
            (Some(part), false) => method.chromatogram_at(part, areas, start, end, data_rate),
        })?;
        PyChromatogram::of(&found)
    }

    /// Column or None: The first column.
    #[getter]
    fn column(&self) -> Option<PyColumn> {
        self.solution.columns.first().map(PyColumn::from)
    }

    /// tuple of Column: The columns: those of the main line, then those of its branches.
    #[getter]
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let columns = self.solution.columns.iter().map(PyColumn::from);
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
        let facts = self.solution.facts.iter();
        facts_of(facts.map(|entry| (entry.part.as_str(), &entry.fact)))
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> solution = dp.solve("tests/methods/packed.toml")
    /// >>> print(f"{solution.fact('regulator', 'heat for the set outlet temperature'):.1f} W")
    /// 10.7 W
    fn fact(&self, part: &str, name: &str) -> PyResult<f64> {
        let missing = || PyKeyError::new_err(format!("{part}: {name}"));
        self.solution.fact(part, name).ok_or_else(missing)
    }

    /// tuple of Notice: Doubts and cautions, cautions first.
    #[getter]
    fn notices(&self) -> Notices {
        self.solution.notices.as_slice().into()
    }

    /// The report as text in the units of the laboratory, at most 100 columns wide unless a title or a single word takes more.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> text = dp.solve("tests/methods/packed.toml").to_text()
    /// >>> next(line.strip() for line in text.splitlines() if "hold-up time" in line)
    /// 'pressure drop 27.7716 bar, hold-up time 47.2783 s'
    fn to_text(&self) -> String {
        to_text(&self.solution)
    }

    /// The solution as JSON in SI units, with the unit in each key.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> import json
    /// >>> written = json.loads(dp.solve("tests/methods/packed.toml").to_json())
    /// >>> print(f"{written['delivery_pressure / Pa']:.4g} Pa")
    /// 1.936e+07 Pa
    fn to_json(&self) -> String {
        to_json(&self.solution).to_string()
    }

    /// The solution as a dictionary of plain values in SI units, with the unit in each key.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> told = dp.solve("tests/methods/packed.toml").to_dict()
    /// >>> print(f"{told['title']}: {told['mass_flow_rate / (kg/s)']:.4g} kg/s")
    /// Purity check on a 4.6 mm packed column: 4.99e-05 kg/s
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("json")?.call_method1("loads", (self.to_json(),))
    }

    /// The stations as a `pandas.DataFrame` with the names as index and the SI units in `attrs["units"]`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> frame = dp.solve("tests/methods/packed.toml").to_pandas()
    /// >>> print(f"{frame.loc['column', 'density']:.1f} {frame.attrs['units']['density']}")
    /// 800.2 kg/m3
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("solution_to_pandas", (slf,))
    }

    /// The stations as an `xarray.Dataset` along the dimension "name".
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> stations = dp.solve("tests/methods/packed.toml").to_xarray()
    /// >>> print(f"{float(stations['density'].sel(name='column')):.1f} {stations['density'].attrs['units']}")
    /// 800.2 kg/m3
    fn to_xarray<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.getattr("stations")?.call_method0("to_xarray")
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
        reduced(py, "restore_solution", (self.document.clone(),))
    }
}

/// A table of results, each with the name of its part.
pub fn facts_of<'a>(facts: impl Iterator<Item = (&'a str, &'a Fact)>) -> PyTable {
    let facts: Vec<_> = facts.collect();
    let columns = vec![
        Column::words("part", facts.iter().map(|(part, _)| *part)),
        Column::words("name", facts.iter().map(|(_, fact)| fact.name)),
        Column::named("value", "SI", facts.iter().map(|(_, fact)| fact.value)),
        Column::words("unit", facts.iter().map(|(_, fact)| fact.quantity.unit())),
        Column::words(
            "quantity",
            facts.iter().map(|(_, fact)| fact.quantity.name()),
        ),
    ];
    PyTable::of("facts", columns)
}

/// The points along a part, with its name.
fn points_of(pass: &Pass) -> (&str, &[ProfilePoint]) {
    (&pass.name, &pass.outlet.profile)
}

/// A table of the points along parts.
pub fn profile(title: &str, parts: &[(&str, &[ProfilePoint])]) -> PyTable {
    PyTable::of(title, profile_columns(parts))
}

/// Its columns.
pub fn profile_columns(parts: &[(&str, &[ProfilePoint])]) -> Vec<Column> {
    let points = || parts.iter().flat_map(|(_, points)| *points);
    let names = parts
        .iter()
        .flat_map(|(name, points)| points.iter().map(|_| *name));
    vec![
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
    ]
}

record! {
    /// The fluid at one place of the path; immutable.
    PyStation "Station"
    from r#"station = dp.solve("tests/methods/packed.toml").station("preheater")"#
        shows station.reynolds_number as ".0f" = "4927"
    {
        /// str: Name of the part whose outlet it is.
        name: String [""],
        /// str: The word for the sort of part.
        kind: String [""],
        /// State: The state of the fluid, with all its properties.
        state: PyState [""],
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// float: Density rho in kg/m3.
        density: f64 ["kg/m3"],
        /// float: Mass flow rate q_m in kg/s.
        mass_flow_rate: f64 ["kg/s"],
        /// float: Volume flow rate q_V in m3/s at the local density.
        volume_flow_rate: f64 ["m3/s"],
        /// float or None: Mean velocity u in m/s, where the part is a conduit.
        velocity: Option<f64> ["m/s"],
        /// float or None: Reynolds number Re, where the part is a conduit.
        reynolds_number: Option<f64> ["1"],
        /// float or None: Pressure in Pa above the one at which a second phase appears; None where there are two phases.
        single_phase_margin: Option<f64> ["Pa"],
        /// float or None: Share of the injected amount of every solute that goes on here; None before the injector.
        injected_share: Option<f64> ["1"],
    }
}

impl From<&Station> for PyStation {
    fn from(station: &Station) -> Self {
        let motion = station.motion;
        Self {
            name: station.name.clone(),
            kind: station.kind.to_owned(),
            temperature: station.state.temperature(),
            pressure: station.state.pressure(),
            density: station.state.density(),
            mass_flow_rate: station.mass_flow_rate,
            volume_flow_rate: station.get(Quantity::VolumeFlowRate).unwrap_or(f64::NAN),
            velocity: motion.map(|motion| motion.velocity),
            reynolds_number: motion.and_then(|motion| finite(motion.reynolds_number)),
            single_phase_margin: station.single_phase_margin(),
            injected_share: station.injected_share,
            state: station.state.clone().into(),
        }
    }
}

#[pymethods]
impl PyStation {
    /// str: Phase of the fluid.
    #[getter]
    fn phase(&self) -> &'static str {
        self.state.state.phase().name()
    }
}

record! {
    /// Variances in time from the injection to the detector; immutable.
    PyBandBudget "BandBudget"
    from r#"bands = dp.solve("tests/methods/packed.toml").bands"#
        shows bands.apparent_plate_number as ".0f" = "21182"
    {
        /// str: Name of the solute.
        solute: String [""],
        /// Table: Time, variance and share of each part, with the smallest and the largest variance where the law leaves a
        /// bracket.
        rows: PyTable [""],
        /// float: Sum of the variances in s2.
        time_variance: f64 ["s2"],
        /// float: Time from injection to detection in s.
        time: f64 ["s"],
        /// float: Retention time t_R on the columns in s.
        retention_time: f64 ["s"],
        /// float: Hold-up time t_M of the columns in s.
        hold_up_time: f64 ["s"],
        /// float: Retention factor k = (t_R - t_M) / t_M over the columns.
        retention_factor: f64 ["1"],
        /// float: Plate number N of the columns alone.
        column_plate_number: f64 ["1"],
        /// float: Plate number N with the variance of all parts.
        apparent_plate_number: f64 ["1"],
    }
}

impl From<&BandBudget> for PyBandBudget {
    fn from(budget: &BandBudget) -> Self {
        Self {
            solute: budget.solute.clone(),
            rows: band_rows(&budget.rows),
            time_variance: budget.time_variance,
            time: budget.time,
            retention_time: budget.retention_time,
            hold_up_time: budget.hold_up_time,
            retention_factor: budget.retention_factor,
            column_plate_number: budget.column_plate_number,
            apparent_plate_number: budget.apparent_plate_number,
        }
    }
}

nested!(PyBandBudget);

record! {
    /// The bands at a detector, or at the end of a line where nothing detects; immutable.
    ///
    /// Of an injected amount n the concentration there is ``n w f(t) / q_V``, with the injected share w, the profile f of the chromatogram
    /// of a solute with the area 1, and the volume flow rate q_V.
    PyDetection "Detection"
    from r#"detection = dp.solve("tests/methods/packed.toml").detections[0]"#
        shows detection.part = "'UV cell'"
    {
        /// str: Name of the detector, or of the last part of a line where nothing detects.
        part: String [""],
        /// str or None: Name of the part at whose outlet its branch begins; None on the main line.
        branch_of: Option<String> [""],
        /// float: Share of the injected amount of every solute that arrives.
        injected_share: f64 ["1"],
        /// float: Volume flow rate q_V in m3/s that arrives.
        volume_flow_rate: f64 ["m3/s"],
        /// tuple of BandBudget: What each part on the way does to the band of each solute; empty where no column lies before.
        bands_of_solutes: Several<PyBandBudget> [""],
    }
}

impl From<&Detection> for PyDetection {
    fn from(detection: &Detection) -> Self {
        let bands = detection.bands_of_solutes.iter();
        Self {
            part: detection.part.clone(),
            branch_of: detection.branch_of.clone(),
            injected_share: detection.injected_share,
            volume_flow_rate: detection.volume_flow_rate,
            bands_of_solutes: Several(bands.map(PyBandBudget::from).collect()),
        }
    }
}

fn band_rows(rows: &[BandRow]) -> PyTable {
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

#[pymethods]
impl PyBandBudget {
    /// Width in s of the largest plug that costs no more than a share of the plates that the columns have.
    ///
    /// Parameters
    /// ----------
    /// share : float
    ///     Share of the plates, between 0 and 1.
    ///
    /// Returns
    /// -------
    /// float
    ///     The width in s; times the volume flow rate at the injector it is the largest volume to inject.
    ///
    /// Raises
    /// ------
    /// DomainError
    ///     For a share that is not between 0 and 1.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> solution = dp.solve("tests/methods/packed.toml")
    /// >>> width = solution.bands.largest_plug(0.05)
    /// >>> print(f"{width:.2f} s, {width * solution.station('loop').volume_flow_rate * 1e9:.1f} uL")
    /// 0.61 s, 32.8 uL
    fn largest_plug(&self, share: f64) -> Outcome<f64> {
        Ok(largest_plug(
            self.retention_time,
            self.column_plate_number,
            share,
        )?)
    }

    /// The rows as a `pandas.DataFrame`, with the SI units in `attrs["units"]`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> frame = dp.solve("tests/methods/packed.toml").bands.to_pandas()
    /// >>> frame["part"][frame["share"].idxmax()], frame.attrs["units"]["time_variance"]
    /// ('column', 's2')
    fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("densepath._present")?
            .call_method1("table_to_pandas", (self.rows.clone(),))
    }

    /// The rows as an `xarray.Dataset` along the dimension "part".
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dataset = dp.solve("tests/methods/packed.toml").bands.to_xarray()
    /// >>> print(f"{float(dataset['share'].sel(part='UV cell')):.3f}")
    /// 0.019
    fn to_xarray<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("densepath._present")?
            .call_method1("table_to_xarray", (self.rows.clone(),))
    }
}

record! {
    /// A column at a glance; immutable.
    PyColumn "Column"
    from r#"column = dp.solve("tests/methods/packed.toml").column"#
        shows column.hold_up_time as ".1f" = "47.3"
    {
        /// str: Name of the part.
        name: String [""],
        /// State: The fluid at the inlet.
        inlet: PyState [""],
        /// State: The fluid at the outlet.
        outlet: PyState [""],
        /// float: Pressure drop in Pa.
        pressure_drop: f64 ["Pa"],
        /// float: Hold-up time t_M in s.
        hold_up_time: f64 ["s"],
        /// Table: Points from inlet to outlet.
        profile: PyTable [""],
    }
}

impl From<&ColumnSummary> for PyColumn {
    fn from(column: &ColumnSummary) -> Self {
        Self {
            name: column.name.clone(),
            inlet: column.inlet.clone().into(),
            outlet: column.outlet.clone().into(),
            pressure_drop: column.pressure_drop,
            hold_up_time: column.hold_up_time,
            profile: profile(&column.name, &[(&column.name, &column.profile)]),
        }
    }
}

/// The columns of a table of stations.
fn station_columns(stations: &[&Station]) -> Vec<Column> {
    let stations = stations.iter();
    let mut columns = vec![
        Column::words(
            "name",
            stations.clone().map(|station| station.name.as_str()),
        ),
        Column::words("kind", stations.clone().map(|station| station.kind)),
        Column::words(
            "phase",
            stations.clone().map(|station| station.state.phase().name()),
        ),
    ];
    columns.extend(STATION_QUANTITIES.iter().map(|&quantity| {
        let values = stations.clone();
        let values = values.map(|station| station.get(quantity).unwrap_or(f64::NAN));
        Column::numbers(quantity, values)
    }));
    columns
}
