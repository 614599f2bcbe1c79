//! States and saturation as frozen objects.

use std::hash::{Hash, Hasher};
use std::sync::Arc;

use densepath::fluid::eos::solid::SolidPoint;
use densepath::fluid::error::significant;
use densepath::{Error, Fluid, PROPERTIES, Quantity, Result, State};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use crate::error::{Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::notice::PyNotice;
use crate::pickle::{Reduced, reduced};
use crate::solution::solve_again;

/// A step as plain values: its word and up to two numbers.
type Written = (&'static str, f64, f64);

/// A way as plain values: the fluid, the steps, and the document and the index of the station that it begins with.
type Way = (PyFluid, Vec<Written>, Option<(String, usize)>);

/// One step on the way to a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    TemperaturePressure(f64, f64),
    TemperatureDensity(f64, f64),
    PressureEnthalpy(f64, f64),
    PressureEntropy(f64, f64),
    LiquidAtTemperature(f64),
    VapourAtTemperature(f64),
    LiquidAtPressure(f64),
    VapourAtPressure(f64),
    ExpandTo(f64),
    Liquid,
    Vapour,
}

impl Step {
    /// The step as plain values, for a pickle.
    fn write(self) -> Written {
        match self {
            Step::TemperaturePressure(t, p) => ("temperature_pressure", t, p),
            Step::TemperatureDensity(t, rho) => ("temperature_density", t, rho),
            Step::PressureEnthalpy(p, h) => ("pressure_specific_enthalpy", p, h),
            Step::PressureEntropy(p, s) => ("pressure_specific_entropy", p, s),
            Step::LiquidAtTemperature(t) => ("liquid_at_temperature", t, 0.0),
            Step::VapourAtTemperature(t) => ("vapour_at_temperature", t, 0.0),
            Step::LiquidAtPressure(p) => ("liquid_at_pressure", p, 0.0),
            Step::VapourAtPressure(p) => ("vapour_at_pressure", p, 0.0),
            Step::ExpandTo(p) => ("expand_to", p, 0.0),
            Step::Liquid => ("liquid", 0.0, 0.0),
            Step::Vapour => ("vapour", 0.0, 0.0),
        }
    }

    fn read(word: &str, a: f64, b: f64) -> Outcome<Self> {
        Ok(match word {
            "temperature_pressure" => Step::TemperaturePressure(a, b),
            "temperature_density" => Step::TemperatureDensity(a, b),
            "pressure_specific_enthalpy" => Step::PressureEnthalpy(a, b),
            "pressure_specific_entropy" => Step::PressureEntropy(a, b),
            "liquid_at_temperature" => Step::LiquidAtTemperature(a),
            "vapour_at_temperature" => Step::VapourAtTemperature(a),
            "liquid_at_pressure" => Step::LiquidAtPressure(a),
            "vapour_at_pressure" => Step::VapourAtPressure(a),
            "expand_to" => Step::ExpandTo(a),
            "liquid" => Step::Liquid,
            "vapour" => Step::Vapour,
            other => {
                return Err(argument(
                    "steps",
                    "the steps of a state",
                    format!("\"{other}\""),
                ));
            }
        })
    }

    /// The state after this step: from the state before it, or from the fluid alone.
    fn take(self, fluid: &Fluid, before: Option<State>) -> Result<State> {
        let needs_state = || Error::Argument {
            argument: "steps".to_owned(),
            expected: "the steps of a state",
            got: "a step without a state before it".to_owned(),
        };
        match self {
            Step::TemperaturePressure(t, p) => State::from_tp(fluid, t, p),
            Step::TemperatureDensity(t, rho) => State::from_t_rho(fluid, t, rho),
            Step::PressureEnthalpy(p, h) => State::from_ph(fluid, p, h),
            Step::PressureEntropy(p, s) => State::from_ps(fluid, p, s),
            Step::LiquidAtTemperature(t) => Ok(fluid.saturation_at_temperature(t)?.liquid),
            Step::VapourAtTemperature(t) => Ok(fluid.saturation_at_temperature(t)?.vapour),
            Step::LiquidAtPressure(p) => Ok(fluid.saturation_at_pressure(p)?.liquid),
            Step::VapourAtPressure(p) => Ok(fluid.saturation_at_pressure(p)?.vapour),
            Step::ExpandTo(p) => before.ok_or_else(needs_state)?.expand_to(p),
            Step::Liquid => before
                .and_then(|state| state.liquid().cloned())
                .ok_or_else(needs_state),
            Step::Vapour => before
                .and_then(|state| state.vapour().cloned())
                .ok_or_else(needs_state),
        }
    }
}

/// The way to a state: what a pickle carries, so that the same state comes out to the last bit.
#[derive(Debug, Clone)]
pub struct Origin {
    /// The method document whose solution the way begins in, and the index of the station, if it begins there.
    station: Option<(Arc<str>, usize)>,
    steps: Vec<Step>,
}

impl From<Step> for Origin {
    fn from(step: Step) -> Self {
        Origin {
            station: None,
            steps: vec![step],
        }
    }
}

impl Origin {
    /// The way that goes on with one more step.
    fn then(&self, step: Step) -> Self {
        let mut longer = self.clone();
        longer.steps.push(step);
        longer
    }

    /// The way to a station of the solution of a method document.
    pub fn at_station(document: Arc<str>, index: usize) -> Self {
        Origin {
            station: Some((document, index)),
            steps: Vec::new(),
        }
    }

    /// The state that the way begins with, if it does not begin with the fluid alone.
    fn start(&self) -> Result<Option<State>> {
        let Some((document, index)) = &self.station else {
            return Ok(None);
        };
        let stations = solve_again(document)?.stations;
        Ok(stations.get(*index).map(|station| station.state.clone()))
    }
}

/// The state of a fluid at one point; immutable. Made by `Fluid.state`.
///
/// Every property of the library is an attribute with the name of its quantity, in SI units.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> state
/// State(carbon dioxide, supercritical, temperature = 313.15 K, pressure = 1.5e7 Pa, density = 780.233 kg/m3)
#[pyclass(frozen, eq, hash, module = "densepath", name = "State")]
#[derive(Debug, Clone)]
pub struct PyState {
    pub state: State,
    origin: Origin,
}

impl PyState {
    /// The state at the end of a way.
    pub fn from_origin(fluid: &Fluid, origin: Origin) -> Result<Self> {
        let first = Error::Internal {
            place: "the steps of a state",
        };
        let end = origin
            .steps
            .iter()
            .try_fold(origin.start()?, |before, step| {
                step.take(fluid, before).map(Some)
            })?;
        Ok(Self {
            state: end.ok_or(first)?,
            origin,
        })
    }

    /// A state whose way is known.
    pub fn with_origin(state: State, origin: Origin) -> Self {
        Self { state, origin }
    }

    /// What tells two states apart.
    fn key(&self) -> [u64; 4] {
        let state = &self.state;
        let fraction = state.vapour_fraction().unwrap_or(f64::NAN);
        [
            state.temperature(),
            state.pressure(),
            state.density(),
            fraction,
        ]
        .map(f64::to_bits)
    }

    fn part(&self, state: Option<&State>, step: Step) -> Option<Self> {
        state.map(|state| Self {
            state: state.clone(),
            origin: self.origin.then(step),
        })
    }
}

impl PartialEq for PyState {
    fn eq(&self, other: &Self) -> bool {
        self.state.fluid() == other.state.fluid()
            && self.state.phase() == other.state.phase()
            && self.key() == other.key()
    }
}

impl Hash for PyState {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        self.key().hash(hasher);
    }
}

macro_rules! attributes {
    ($($name:ident $quantity:ident $doc:literal;)*) => {
        #[pymethods]
        impl PyState {
            $(
                #[doc = concat!("float: ", $doc)]
                #[getter]
                fn $name(&self) -> Outcome<f64> {
                    Ok(self.state.get(Quantity::$quantity)?)
                }
            )*
        }
    };
}

attributes! {
    temperature Temperature "Temperature T in K.";
    pressure Pressure "Pressure p in Pa, absolute.";
    density Density "Density rho in kg/m3, of all phases together.";
    compression_factor CompressionFactor "Compression factor Z.";
    specific_enthalpy SpecificEnthalpy "Specific enthalpy h in J/kg.";
    specific_entropy SpecificEntropy "Specific entropy s in J/(kg K).";
    specific_internal_energy SpecificInternalEnergy "Specific internal energy u in J/kg.";
    specific_gibbs_energy SpecificGibbsEnergy "Specific Gibbs energy g in J/kg.";
    specific_helmholtz_energy SpecificHelmholtzEnergy "Specific Helmholtz energy a in J/kg.";
    specific_isobaric_heat_capacity SpecificIsobaricHeatCapacity
        "Specific isobaric heat capacity c_p in J/(kg K). PhaseError for two phases.";
    specific_isochoric_heat_capacity SpecificIsochoricHeatCapacity
        "Specific isochoric heat capacity c_v in J/(kg K). PhaseError for two phases.";
    speed_of_sound SpeedOfSound "Speed of sound c in m/s. PhaseError for two phases.";
    joule_thomson_coefficient JouleThomsonCoefficient "Joule-Thomson coefficient mu_JT in K/Pa. PhaseError for two phases.";
    isothermal_compressibility IsothermalCompressibility
        "Isothermal compressibility kappa_T in 1/Pa. PhaseError for two phases.";
    isobaric_expansivity IsobaricExpansivity "Isobaric expansivity alpha_V in 1/K. PhaseError for two phases.";
    dynamic_viscosity DynamicViscosity "Dynamic viscosity eta in Pa s. PhaseError for two phases.";
    kinematic_viscosity KinematicViscosity "Kinematic viscosity nu in m2/s. PhaseError for two phases.";
    thermal_conductivity ThermalConductivity "Thermal conductivity lambda in W/(m K). PhaseError for two phases.";
    relative_permittivity RelativePermittivity "Relative permittivity epsilon_r. PhaseError for two phases.";
    refractive_index RefractiveIndex "Refractive index n at the sodium D line. PhaseError for two phases.";
}

#[pymethods]
impl PyState {
    /// Fluid: The fluid.
    #[getter]
    fn fluid(&self) -> PyFluid {
        self.state.fluid().clone().into()
    }

    /// str: "liquid", "vapour", "supercritical", "liquid + vapour", "solid + vapour" or "solid".
    #[getter]
    fn phase(&self) -> &'static str {
        self.state.phase().name()
    }

    /// float or None: Mass fraction of vapour; None above the critical point.
    #[getter]
    fn vapour_fraction(&self) -> Option<f64> {
        self.state.vapour_fraction()
    }

    /// float: Mass fraction of solid.
    #[getter]
    fn solid_fraction(&self) -> f64 {
        self.state.solid_fraction()
    }

    /// State or None: The liquid of a state of liquid and vapour.
    #[getter]
    fn liquid(&self) -> Option<PyState> {
        self.part(self.state.liquid(), Step::Liquid)
    }

    /// Solid or None: The solid of a state of solid and vapour.
    #[getter]
    fn solid(&self) -> Option<PySolid> {
        self.state.solid().map(PySolid::from)
    }

    /// State or None: The vapour of a state of two phases.
    #[getter]
    fn vapour(&self) -> Option<PyState> {
        self.part(self.state.vapour(), Step::Vapour)
    }

    /// float: Pressure in Pa above the one at which a second phase appears at this temperature; infinite at and above the
    /// critical temperature.
    #[getter]
    fn single_phase_margin(&self) -> Outcome<f64> {
        Ok(self.state.single_phase_margin()?)
    }

    /// tuple of Notice: The doubts that belong to the state itself.
    #[getter]
    fn notices<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(
            py,
            self.state
                .notices()
                .iter()
                .map(PyNotice::from)
                .collect::<Vec<_>>(),
        )
    }

    /// The state after throttling without heat exchange: same enthalpy, solid included.
    ///
    /// Parameters
    /// ----------
    /// pressure : float
    ///     Pressure p in Pa after the expansion, absolute.
    ///
    /// Returns
    /// -------
    /// State
    ///     The state once the velocity has died out.
    ///
    /// Notes
    /// -----
    /// Valid: for a valve or an orifice without heat exchange.
    ///
    /// Source: first law for an adiabatic steady flow.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
    /// >>> state.expand_to(60e5).phase
    /// 'liquid + vapour'
    fn expand_to(&self, py: Python<'_>, pressure: f64) -> Outcome<PyState> {
        enter(py, || {
            let origin = self.origin.then(Step::ExpandTo(pressure));
            Ok(PyState {
                state: self.state.expand_to(pressure)?,
                origin,
            })
        })
    }

    /// The state as a dictionary of plain values; None for a property that it does not have.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        let state = &self.state;
        dict.set_item("fluid", state.fluid().name())?;
        dict.set_item("phase", state.phase().name())?;
        for quantity in [Quantity::Temperature, Quantity::Pressure]
            .iter()
            .chain(PROPERTIES)
        {
            dict.set_item(quantity.name(), state.get(*quantity).ok())?;
        }
        dict.set_item("vapour_fraction", state.vapour_fraction())?;
        dict.set_item("solid_fraction", state.solid_fraction())?;
        Ok(dict)
    }

    /// The state as a `pandas.Series`, with the SI units in `attrs["units"]`.
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("state_to_pandas", (slf,))
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("state_to_html", (slf,))
    }

    fn __repr__(&self) -> String {
        let state = &self.state;
        format!(
            "State({}, {}, temperature = {} K, pressure = {} Pa, density = {} kg/m3)",
            state.fluid().name(),
            state.phase().name(),
            significant(state.temperature()),
            significant(state.pressure()),
            significant(state.density())
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, Way> {
        let steps = self.origin.steps.iter().map(|step| step.write()).collect();
        let station = self.origin.station.as_ref();
        let station = station.map(|(document, index)| (document.to_string(), *index));
        reduced(py, "restore_state", (self.fluid(), steps, station))
    }
}

/// The state of a pickle.
#[pyfunction]
#[allow(
    clippy::needless_pass_by_value,
    reason = "arguments of Python arrive as values"
)]
#[pyo3(signature = (fluid, steps, station = None))]
pub fn restore_state(
    fluid: &PyFluid,
    steps: Vec<(String, f64, f64)>,
    station: Option<(String, usize)>,
) -> Outcome<PyState> {
    let steps = steps
        .iter()
        .map(|(word, a, b)| Step::read(word, *a, *b))
        .collect::<Outcome<Vec<_>>>()?;
    let station = station.map(|(document, index)| (document.into(), index));
    let origin = Origin { station, steps };
    Ok(PyState::from_origin(&fluid.fluid, origin)?)
}

/// The solid of a state of solid and vapour; immutable.
#[pyclass(frozen, eq, module = "densepath", name = "Solid")]
#[derive(Debug, Clone, PartialEq)]
pub struct PySolid {
    /// float: Temperature T in K.
    #[pyo3(get)]
    temperature: f64,
    /// float: Pressure p in Pa.
    #[pyo3(get)]
    pressure: f64,
    /// float: Density rho in kg/m3.
    #[pyo3(get)]
    density: f64,
    /// float: Specific enthalpy h in J/kg.
    #[pyo3(get)]
    specific_enthalpy: f64,
    /// float: Specific entropy s in J/(kg K).
    #[pyo3(get)]
    specific_entropy: f64,
}

impl From<&SolidPoint> for PySolid {
    fn from(solid: &SolidPoint) -> Self {
        Self {
            temperature: solid.temperature,
            pressure: solid.pressure,
            density: solid.density,
            specific_enthalpy: solid.specific_enthalpy(),
            specific_entropy: solid.specific_entropy,
        }
    }
}

#[pymethods]
impl PySolid {
    #[new]
    fn new(
        temperature: f64,
        pressure: f64,
        density: f64,
        specific_enthalpy: f64,
        specific_entropy: f64,
    ) -> Self {
        Self {
            temperature,
            pressure,
            density,
            specific_enthalpy,
            specific_entropy,
        }
    }

    /// The solid as a dictionary of plain values.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("temperature", self.temperature)?;
        dict.set_item("pressure", self.pressure)?;
        dict.set_item("density", self.density)?;
        dict.set_item("specific_enthalpy", self.specific_enthalpy)?;
        dict.set_item("specific_entropy", self.specific_entropy)?;
        Ok(dict)
    }

    fn __repr__(&self) -> String {
        format!(
            "Solid(temperature = {} K, pressure = {} Pa, density = {} kg/m3)",
            significant(self.temperature),
            significant(self.pressure),
            significant(self.density)
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (f64, f64, f64, f64, f64)> {
        let Self {
            temperature,
            pressure,
            density,
            specific_enthalpy,
            specific_entropy,
        } = *self;
        let values = (
            temperature,
            pressure,
            density,
            specific_enthalpy,
            specific_entropy,
        );
        reduced(py, "Solid", values)
    }
}

/// Liquid and vapour in equilibrium. Made by `Fluid.saturation`.
#[pyclass(frozen, eq, module = "densepath", name = "Saturation")]
#[derive(Debug, Clone, PartialEq)]
pub struct PySaturation {
    quantity: Quantity,
    value: f64,
    /// float: Temperature T in K.
    #[pyo3(get)]
    temperature: f64,
    /// float: Pressure p in Pa.
    #[pyo3(get)]
    pressure: f64,
    liquid: PyState,
    vapour: PyState,
}

impl PySaturation {
    /// The equilibrium at a temperature or a pressure.
    pub fn at(fluid: &Fluid, quantity: Quantity, value: f64) -> Result<Self> {
        let (found, steps) = if quantity == Quantity::Temperature {
            let steps = [
                Step::LiquidAtTemperature(value),
                Step::VapourAtTemperature(value),
            ];
            (fluid.saturation_at_temperature(value)?, steps)
        } else {
            let steps = [Step::LiquidAtPressure(value), Step::VapourAtPressure(value)];
            (fluid.saturation_at_pressure(value)?, steps)
        };
        let [liquid, vapour] = steps.map(Origin::from);
        Ok(Self {
            quantity,
            value,
            temperature: found.temperature,
            pressure: found.pressure,
            liquid: PyState {
                state: found.liquid,
                origin: liquid,
            },
            vapour: PyState {
                state: found.vapour,
                origin: vapour,
            },
        })
    }
}

#[pymethods]
impl PySaturation {
    /// State: The boiling liquid.
    #[getter]
    fn liquid(&self) -> PyState {
        self.liquid.clone()
    }

    /// State: The dry vapour.
    #[getter]
    fn vapour(&self) -> PyState {
        self.vapour.clone()
    }

    /// float: Surface tension gamma in N/m between the two phases.
    #[getter]
    fn surface_tension(&self) -> Outcome<f64> {
        let fluid = self.liquid.state.fluid();
        Ok(fluid.surface_tension(self.temperature)?)
    }

    /// The equilibrium as a dictionary: temperature, pressure, and both phases as dictionaries.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("temperature", self.temperature)?;
        dict.set_item("pressure", self.pressure)?;
        dict.set_item("surface_tension", self.surface_tension()?)?;
        dict.set_item("liquid", self.liquid.to_dict(py)?)?;
        dict.set_item("vapour", self.vapour.to_dict(py)?)?;
        Ok(dict)
    }

    /// The equilibrium as a `pandas.DataFrame`, one column a phase.
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("saturation_to_pandas", (slf,))
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("saturation_to_html", (slf,))
    }

    fn __repr__(&self) -> String {
        format!(
            "Saturation({}, temperature = {} K, pressure = {} Pa, liquid {} kg/m3, vapour {} kg/m3)",
            self.liquid.state.fluid().name(),
            significant(self.temperature),
            significant(self.pressure),
            significant(self.liquid.state.density()),
            significant(self.vapour.state.density())
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (PyFluid, &'static str, f64)> {
        let arguments = (self.liquid.fluid(), self.quantity.name(), self.value);
        reduced(py, "restore_saturation", arguments)
    }
}

/// The equilibrium of a pickle.
#[pyfunction]
pub fn restore_saturation(fluid: &PyFluid, quantity: &str, value: f64) -> Outcome<PySaturation> {
    let quantity = if quantity == Quantity::Temperature.name() {
        Quantity::Temperature
    } else {
        Quantity::Pressure
    };
    Ok(PySaturation::at(&fluid.fluid, quantity, value)?)
}
