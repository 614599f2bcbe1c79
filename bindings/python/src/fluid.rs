//! A substance and its critical point.

use densepath::{CriticalPoint, Error, Fluid, Quantity, State};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString, PyTuple};

use crate::error::{Outcome, argument, enter};
use crate::pickle::{Reduced, reduced};
use crate::record::record;
use crate::registry;
use crate::state::{PySaturation, PyState};
use crate::table::{Column, PyTable};

/// A substance with its models; cheap to copy and safe to share between threads and processes.
///
/// Parameters
/// ----------
/// name : str
///     Name in words, a trade name or the formula, in any case.
///
/// Raises
/// ------
/// UnknownFluidError
///     If no substance has this name; the hint names the nearest.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> co2 = dp.Fluid("carbon dioxide")
/// >>> co2.density(313.15, [80e5, 150e5]).round(3)
/// array([277.897, 780.233])
#[pyclass(frozen, eq, hash, from_py_object, module = "densepath", name = "Fluid")]
#[derive(Debug, Clone)]
pub struct PyFluid {
    pub fluid: Fluid,
    identity: i64,
}

impl From<Fluid> for PyFluid {
    fn from(fluid: Fluid) -> Self {
        Self {
            identity: registry::identity_of(&fluid),
            fluid,
        }
    }
}

impl PartialEq for PyFluid {
    fn eq(&self, other: &Self) -> bool {
        self.identity == other.identity
    }
}

impl std::hash::Hash for PyFluid {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.identity.hash(state);
    }
}

#[pymethods]
impl PyFluid {
    #[new]
    fn new(name: &Bound<'_, PyAny>) -> Outcome<Self> {
        let Ok(text) = name.cast::<PyString>() else {
            let kind = name.get_type().name()?.to_string();
            return Err(argument("name", "the name of a substance", kind));
        };
        Ok(Fluid::new(&text.to_cow()?)?.into())
    }

    /// str: Name in words.
    #[getter]
    fn name(&self) -> &str {
        self.fluid.name()
    }

    /// str: Chemical formula.
    #[getter]
    fn formula(&self) -> Outcome<&str> {
        Ok(&self.fluid.record()?.formula)
    }

    /// tuple of str: Other names that the substance answers to.
    #[getter]
    fn aliases<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyTuple>> {
        Ok(PyTuple::new(py, &self.fluid.record()?.aliases)?)
    }

    /// str: Number in the registry of the Chemical Abstracts Service.
    #[getter]
    fn cas_number(&self) -> Outcome<&str> {
        Ok(&self.fluid.record()?.cas_number)
    }

    /// str: Name of the equation of state, with author and year.
    #[getter]
    fn model(&self) -> &str {
        self.fluid.model()
    }

    /// str: Where the equation of state was published.
    #[getter]
    fn source(&self) -> String {
        self.fluid.source()
    }

    /// Table: Every model of the substance, with the range that its authors state and its source.
    #[getter]
    fn models(&self) -> Outcome<PyTable> {
        let models = self.fluid.record()?.models();
        let columns = vec![
            Column::words("subject", models.iter().map(|model| model.subject)),
            Column::words("model", models.iter().map(|model| model.name)),
            Column::named(
                "temperature_min",
                "K",
                models.iter().map(|model| model.valid.temperature_min),
            ),
            Column::named(
                "temperature_max",
                "K",
                models.iter().map(|model| model.valid.temperature_max),
            ),
            Column::named(
                "pressure_max",
                "Pa",
                models.iter().map(|model| model.valid.pressure_max),
            ),
            Column::words(
                "source",
                models.iter().map(|model| model.source.to_string()),
            ),
        ];
        Ok(PyTable::of(&format!("models of {}", self.name()), columns))
    }

    /// float: Molar mass M in kg/mol.
    #[getter]
    fn molar_mass(&self) -> f64 {
        self.fluid.molar_mass()
    }

    /// tuple of float: Lowest and highest temperature in K of the equation of state.
    #[getter]
    fn temperature_range(&self) -> (f64, f64) {
        let range = self.fluid.range();
        (range.temperature_min, range.temperature_max)
    }

    /// tuple of float: Lowest and highest temperature in K of the dome under which liquid and vapour coexist; the highest is not
    /// part of it.
    #[getter]
    fn saturation_range(&self) -> Outcome<(f64, f64)> {
        let top = self.fluid.saturation_temperature_max()?;
        Ok((self.fluid.triple_temperature()?, top))
    }

    /// float: Highest pressure in Pa of the equation of state.
    #[getter]
    fn pressure_max(&self) -> f64 {
        self.fluid.range().pressure_max
    }

    /// int: Hash of the data record: the first argument of the functions in `densepath.ufuncs`.
    #[getter]
    fn identity(&self) -> i64 {
        self.identity
    }

    /// The state that two variables determine.
    ///
    /// Give any two that determine it; enthalpy with internal energy does not. Inside the dome the state has two phases.
    ///
    /// Parameters
    /// ----------
    /// temperature : float, optional
    ///     Temperature T in K.
    /// pressure : float, optional
    ///     Pressure p in Pa, absolute.
    /// density : float, optional
    ///     Density rho in kg/m3.
    /// specific_enthalpy : float, optional
    ///     Specific enthalpy h in J/kg.
    /// specific_entropy : float, optional
    ///     Specific entropy s in J/(kg K).
    /// specific_internal_energy : float, optional
    ///     Specific internal energy u in J/kg.
    ///
    /// Returns
    /// -------
    /// State
    ///     The state, immutable.
    ///
    /// Raises
    /// ------
    /// ArgumentError
    ///     If the variables are no such pair.
    /// DomainError, RangeError
    ///     If a value can belong to no state, or lies outside the range of the model.
    /// ConvergenceError
    ///     If more than one state has the two values.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5).phase
    /// 'supercritical'
    #[allow(clippy::too_many_arguments, reason = "keywords of Python")]
    #[pyo3(signature = (*, temperature = None, pressure = None, density = None, specific_enthalpy = None, specific_entropy = None, specific_internal_energy = None))]
    fn state(
        &self,
        py: Python<'_>,
        temperature: Option<f64>,
        pressure: Option<f64>,
        density: Option<f64>,
        specific_enthalpy: Option<f64>,
        specific_entropy: Option<f64>,
        specific_internal_energy: Option<f64>,
    ) -> Outcome<PyState> {
        let given = [
            (Quantity::Temperature, temperature),
            (Quantity::Pressure, pressure),
            (Quantity::Density, density),
            (Quantity::SpecificEnthalpy, specific_enthalpy),
            (Quantity::SpecificEntropy, specific_entropy),
            (Quantity::SpecificInternalEnergy, specific_internal_energy),
        ];
        let given: Vec<_> = given
            .into_iter()
            .filter_map(|(quantity, value)| Some((quantity, value?)))
            .collect();
        let [one, other] = given[..] else {
            let names: Vec<_> = given.iter().map(|(quantity, _)| quantity.name()).collect();
            let got = if names.is_empty() {
                "none".to_owned()
            } else {
                names.join(" with ")
            };
            return Err(argument("state", "two variables by their names", got));
        };
        Ok(enter(py, || State::from_pair(&self.fluid, one, other))?.into())
    }

    /// Liquid and vapour in equilibrium, at a temperature or at a pressure.
    ///
    /// Parameters
    /// ----------
    /// temperature : float, optional
    ///     Temperature T in K.
    /// pressure : float, optional
    ///     Pressure p in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// Saturation
    ///     Temperature and pressure, and the liquid and the vapour as states.
    ///
    /// Raises
    /// ------
    /// PhaseError
    ///     Outside the range from the triple point to the critical point.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> print(f"{dp.Fluid('carbon dioxide').saturation(temperature=293.15).pressure:.6g}")
    /// 5.72905e+06
    #[pyo3(signature = (*, temperature = None, pressure = None))]
    fn saturation(
        &self,
        py: Python<'_>,
        temperature: Option<f64>,
        pressure: Option<f64>,
    ) -> Outcome<PySaturation> {
        let one = "temperature or pressure";
        let found = match (temperature, pressure) {
            (Some(t), None) => enter(py, || self.fluid.saturation_at_temperature(t)),
            (None, Some(p)) => enter(py, || self.fluid.saturation_at_pressure(p)),
            (None, None) => Err(argument("saturation", one, "nothing")),
            (Some(_), Some(_)) => Err(argument("saturation", one, "both")),
        };
        Ok(found?.into())
    }

    /// The critical point of the equation of state.
    ///
    /// Returns
    /// -------
    /// CriticalPoint
    ///     Temperature in K, pressure in Pa and density in kg/m3.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("carbon dioxide").critical_point().temperature
    /// 304.1282
    fn critical_point(&self) -> Outcome<PyCriticalPoint> {
        Ok(self.fluid.critical_point()?.into())
    }

    /// The substance as a dictionary of plain values.
    fn to_dict<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        let range = self.fluid.range();
        dict.set_item("name", self.name())?;
        dict.set_item("formula", self.formula()?)?;
        dict.set_item("cas_number", self.cas_number()?)?;
        dict.set_item("model", self.model())?;
        dict.set_item("source", self.source())?;
        dict.set_item("molar_mass", self.molar_mass())?;
        dict.set_item("temperature_min", range.temperature_min)?;
        dict.set_item("temperature_max", range.temperature_max)?;
        dict.set_item("pressure_max", range.pressure_max)?;
        Ok(dict)
    }

    fn _repr_html_<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyAny>> {
        let present = py.import("densepath._present")?;
        Ok(present.call_method1("table_to_html", (self.models()?,))?)
    }

    fn __repr__(&self) -> String {
        format!("Fluid(\"{}\", model=\"{}\")", self.name(), self.model())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (String, i64)> {
        reduced(py, "restore_fluid", (self.name().to_owned(), self.identity))
    }
}

/// The fluid of a pickle; refused if this process knows it with other data.
#[pyfunction]
pub fn restore_fluid(name: &str, identity: i64) -> Outcome<PyFluid> {
    let fluid = PyFluid::from(Fluid::new(name)?);
    if fluid.identity == identity {
        Ok(fluid)
    } else {
        Err(Error::UnknownFluid {
            name: format!("{name} with the data of identity {identity}"),
            nearest: None,
        }
        .into())
    }
}

/// Every substance that the library knows.
///
/// Returns
/// -------
/// tuple of Fluid
///     With `.name`, `.model`, `.source`, `.temperature_range` and `.pressure_max` of each.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.substances()[0].name
/// 'carbon dioxide'
#[pyfunction]
pub fn substances(py: Python<'_>) -> Outcome<Bound<'_, PyTuple>> {
    let fluids = densepath::substances()?.iter().cloned().map(PyFluid::from);
    Ok(PyTuple::new(py, fluids.collect::<Vec<_>>())?)
}

record! {
    /// The critical point of a fluid; immutable.
    PyCriticalPoint "CriticalPoint" {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// float: Density rho in kg/m3.
        density: f64 ["kg/m3"],
    }
}

impl From<CriticalPoint> for PyCriticalPoint {
    fn from(point: CriticalPoint) -> Self {
        let CriticalPoint {
            temperature,
            pressure,
            density,
            ..
        } = point;
        Self {
            temperature,
            pressure,
            density,
        }
    }
}
