//! The functions of a fluid that take arrays: one table for the methods of `Fluid`, the ufuncs and their documentation.

use std::borrow::Cow;

use densepath::{Fluid, PROPERTIES, Quantity, Result};
use numpy::{PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyFloat;

use crate::arguments::{OnError, plain_number};
use crate::error::{Outcome, argument, exception};
use crate::fluid::PyFluid;

/// A quantity as a function of two others.
pub struct Function {
    /// Name of the function.
    pub name: Cow<'static, str>,
    /// What it is, with its unit.
    pub summary: Cow<'static, str>,
    /// Names of the two variables.
    pub arguments: [&'static str; 2],
    /// Values of both for carbon dioxide as Python writes them, and what an example shows for them.
    pub example: ([&'static str; 2], &'static str),
    /// The call of the library.
    pub call: Call,
}

/// A call of the library.
pub enum Call {
    /// A function of its own.
    Value(fn(&Fluid, f64, f64) -> Result<f64>),
    /// The uncertainty of a property.
    Uncertainty(Quantity),
}

impl Function {
    /// The function at two values.
    pub fn at(&self, fluid: &Fluid, first: f64, second: f64) -> Result<f64> {
        match self.call {
            Call::Value(value) => value(fluid, first, second),
            Call::Uncertainty(property) => fluid.uncertainty(property, first, second),
        }
    }

    /// The property of which it is the function of temperature and pressure.
    pub fn quantity(&self) -> Option<Quantity> {
        let named = |quantity: &Quantity| quantity.name() == self.name;
        match self.call {
            Call::Value(_) => PROPERTIES.iter().copied().find(named),
            Call::Uncertainty(_) => None,
        }
    }

    /// The uncertainty of a property.
    pub fn uncertainty(property: Quantity) -> Self {
        // What the source of carbon dioxide states for the state of the examples, and what follows; of the others it states none.
        let stated = match property {
            Quantity::Density | Quantity::CompressionFactor => "0.0005",
            Quantity::SpecificIsobaricHeatCapacity => "0.015",
            Quantity::SpeedOfSound => "0.01",
            Quantity::DynamicViscosity => "0.02",
            Quantity::KinematicViscosity => "0.0200062",
            Quantity::ThermalConductivity => "0.025",
            Quantity::RelativePermittivity => "0.001",
            Quantity::RefractiveIndex => "0.005",
            _ => "nan",
        };
        Self {
            name: format!("{property}_uncertainty").into(),
            summary: format!(
                "Relative standard uncertainty of the {property}, where a source states it or that of what it follows from."
            )
            .into(),
            arguments: ["temperature", "pressure"],
            example: (["313.15", "150e5"], stated),
            call: Call::Uncertainty(property),
        }
    }
}

macro_rules! equation_of_state {
    () => {
        "Valid: in the range of the fluid's equation of state; for carbon dioxide from 216.592 K to 1100 K and up to 800 MPa.\n\
         \n\
         Source: for carbon dioxide Span and Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), doi 10.1063/1.555991."
    };
}

macro_rules! correlation {
    () => {
        "Valid: in the range of the fluid's correlation, which `Fluid.models` states; an error outside.\n\
         \n\
         Uncertainty: `Fluid.uncertainty` gives what the authors of the correlation state.\n\
         \n\
         Source: of the correlation, in `Fluid.models`."
    };
}

macro_rules! parameter {
    (temperature) => {
        "temperature : float or array_like\n    Temperature T in K.\n"
    };
    (pressure) => {
        "pressure : float or array_like\n    Pressure p in Pa, absolute.\n"
    };
    (density) => {
        "density : float or array_like\n    Density rho in kg/m3.\n"
    };
}

macro_rules! text_of {
    ($name:ident ($first:ident, $second:ident) $summary:literal $notes:expr, ($x:literal, $y:literal) $digits:literal) => {
        concat!(
            $summary,
            "\n\nParameters\n----------\n",
            parameter!($first),
            parameter!($second),
            "on_error : {\"raise\", \"nan\", \"warn\"}, keyword-only\n    \
             What becomes of an element that fails: an exception that counts the failures and explains the first one, a silent \
             NaN, or NaN with one `DensepathWarning`.\n\
             \nReturns\n-------\nfloat or array\n    \
             A float for two plain numbers, else what `numpy`, `pandas`, `xarray` or `dask` makes of the arguments.\n\
             \nRaises\n------\nDomainError, RangeError, PhaseError\n    \
             If an element has no such state, lies outside the range of the model, or has two phases where one is needed.\n\
             \nNotes\n-----\n",
            $notes,
            "\n\nExamples\n--------\n>>> import densepath as dp\n>>> co2 = dp.Fluid(\"carbon dioxide\")\n>>> print(f\"{co2.",
            stringify!($name),
            "(",
            $x,
            ", ",
            $y,
            "):.6g}\")\n",
            $digits,
            "\n"
        )
    };
}

macro_rules! functions {
    ($($name:ident ($first:ident, $second:ident) $summary:literal $notes:expr, ($x:literal, $y:literal) $digits:literal;)*) => {
        /// Every function, in the order of the reports.
        pub const FUNCTIONS: &[Function] = &[$(Function {
            name: Cow::Borrowed(stringify!($name)),
            summary: Cow::Borrowed($summary),
            arguments: [stringify!($first), stringify!($second)],
            example: ([$x, $y], $digits),
            call: Call::Value(Fluid::$name),
        },)*];

        #[pymethods]
        impl PyFluid {
            $(
                #[doc = text_of!($name ($first, $second) $summary $notes, ($x, $y) $digits)]
                #[pyo3(signature = ($first, $second, *, on_error = "raise"))]
                fn $name<'py>(
                    slf: &Bound<'py, Self>,
                    $first: &Bound<'py, PyAny>,
                    $second: &Bound<'py, PyAny>,
                    on_error: &str,
                ) -> Outcome<Bound<'py, PyAny>> {
                    evaluate(slf, stringify!($name), Fluid::$name, ($first, $second), on_error)
                }
            )*
        }
    };
}

functions! {
    density(temperature, pressure)
        "Density rho in kg/m3."
        equation_of_state!(), ("313.15", "150e5") "780.233";
    pressure(temperature, density)
        "Pressure p in Pa at a temperature and a density; the vapour pressure inside the dome."
        equation_of_state!(), ("313.15", "780.233") "1.5e+07";
    isopycnic(temperature, density)
        "Pressure p in Pa of one phase at a temperature and a density: a line of constant density ends where a second phase appears."
        equation_of_state!(), ("313.15", "780.233") "1.5e+07";
    compression_factor(temperature, pressure)
        "Compression factor Z, dimensionless."
        equation_of_state!(), ("313.15", "150e5") "0.324958";
    specific_enthalpy(temperature, pressure)
        "Specific enthalpy h in J/kg, zero for the ideal gas of carbon dioxide at 298.15 K."
        equation_of_state!(), ("313.15", "150e5") "-221298";
    specific_entropy(temperature, pressure)
        "Specific entropy s in J/(kg K), zero for the ideal gas of carbon dioxide at 298.15 K and 101325 Pa."
        equation_of_state!(), ("313.15", "150e5") "-1492.9";
    specific_internal_energy(temperature, pressure)
        "Specific internal energy u in J/kg."
        equation_of_state!(), ("313.15", "150e5") "-240523";
    specific_gibbs_energy(temperature, pressure)
        "Specific Gibbs energy g in J/kg."
        equation_of_state!(), ("313.15", "150e5") "246205";
    specific_helmholtz_energy(temperature, pressure)
        "Specific Helmholtz energy a in J/kg."
        equation_of_state!(), ("313.15", "150e5") "226980";
    specific_isobaric_heat_capacity(temperature, pressure)
        "Specific isobaric heat capacity c_p in J/(kg K)."
        equation_of_state!(), ("313.15", "150e5") "2674.7";
    specific_isochoric_heat_capacity(temperature, pressure)
        "Specific isochoric heat capacity c_v in J/(kg K)."
        equation_of_state!(), ("313.15", "150e5") "932.857";
    speed_of_sound(temperature, pressure)
        "Speed of sound c in m/s."
        equation_of_state!(), ("313.15", "150e5") "427.385";
    joule_thomson_coefficient(temperature, pressure)
        "Joule-Thomson coefficient mu_JT in K/Pa: the change of temperature with pressure at constant enthalpy."
        equation_of_state!(), ("313.15", "150e5") "9.2296e-07";
    isothermal_compressibility(temperature, pressure)
        "Isothermal compressibility kappa_T in 1/Pa."
        equation_of_state!(), ("313.15", "150e5") "2.01186e-08";
    isobaric_expansivity(temperature, pressure)
        "Isobaric expansivity alpha_V in 1/K."
        equation_of_state!(), ("313.15", "150e5") "0.00934414";
    dynamic_viscosity(temperature, pressure)
        "Dynamic viscosity eta in Pa s."
        correlation!(), ("313.15", "150e5") "6.84616e-05";
    kinematic_viscosity(temperature, pressure)
        "Kinematic viscosity nu = eta / rho in m2/s."
        correlation!(), ("313.15", "150e5") "8.77451e-08";
    thermal_conductivity(temperature, pressure)
        "Thermal conductivity lambda in W/(m K), with its enhancement near the critical point."
        correlation!(), ("313.15", "150e5") "0.0853349";
    relative_permittivity(temperature, pressure)
        "Relative permittivity epsilon_r, dimensionless."
        correlation!(), ("313.15", "150e5") "1.46986";
    refractive_index(temperature, pressure)
        "Refractive index n at the sodium D line, dimensionless."
        correlation!(), ("313.15", "150e5") "1.18396";
    single_phase_margin(temperature, pressure)
        "Pressure in Pa above the one at which a second phase appears at this temperature; negative below it."
        "Infinite where no second phase appears: of a substance at and above its critical temperature. In two phases it counts \
         from the pressure that brings back one phase, of a vapour from the vapour pressure or the dew point.", ("298.15", "150e5") "8.56576e+06";
}

#[pymethods]
impl PyFluid {
    /// Several properties at a temperature and a pressure, each state solved once.
    ///
    /// Parameters
    /// ----------
    /// names : sequence of str
    ///     Names of properties, such as "density" and "speed_of_sound".
    /// temperature : float or array_like
    ///     Temperature T in K.
    /// pressure : float or array_like
    ///     Pressure p in Pa, absolute.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What becomes of an element that fails.
    ///
    /// Returns
    /// -------
    /// dict of str to array
    ///     For each name an array of the shape of the arguments broadcast; the arrays share one block of memory.
    ///
    /// Raises
    /// ------
    /// DomainError, RangeError, PhaseError
    ///     If an element has no such state, lies outside the range of the model, or has two phases where one is needed.
    /// ArgumentError
    ///     If a name is that of no property, or the arguments do not broadcast.
    ///
    /// Notes
    /// -----
    /// Valid: in the ranges of the models, which `Fluid.models` states.
    ///
    /// Uncertainty: `Fluid.uncertainty` gives what the authors of the models state.
    ///
    /// Source: of the models, in `Fluid.models`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> found = dp.Fluid("CO2").properties(["density", "speed_of_sound"], 313.15, [80e5, 150e5])
    /// >>> found["density"].round(2)
    /// array([277.9 , 780.23])
    #[pyo3(signature = (names, temperature, pressure, *, on_error = "raise"))]
    fn properties<'py>(
        slf: &Bound<'py, Self>,
        names: &Bound<'py, PyAny>,
        temperature: &Bound<'py, PyAny>,
        pressure: &Bound<'py, PyAny>,
        on_error: &str,
    ) -> Outcome<Bound<'py, PyAny>> {
        static BY_ARRAY: PyOnceLock<Py<PyAny>> = PyOnceLock::new();
        OnError::read(on_error)?;
        let call = BY_ARRAY.import(slf.py(), "densepath._arrays", "properties")?;
        Ok(call.call1((slf, names, temperature, pressure, on_error))?)
    }

    /// Relative standard uncertainty that the source of its model states for a property at a temperature and a pressure.
    ///
    /// Parameters
    /// ----------
    /// property : str
    ///     Name of the property, such as "density".
    /// temperature : float or array_like
    ///     Temperature T in K.
    /// pressure : float or array_like
    ///     Pressure p in Pa, absolute.
    /// on_error : {"raise", "nan", "warn"}, keyword-only
    ///     What becomes of an element that fails.
    ///
    /// Returns
    /// -------
    /// float or array
    ///     Uncertainty relative to the value, dimensionless; for the refractive index relative to n - 1.
    ///
    /// Raises
    /// ------
    /// RangeError, MissingModelError
    ///     Where none is known: outside the range of the models, near the critical point, or for this property at all.
    ///
    /// Notes
    /// -----
    /// Source: the authors of each model, for the equation of state of carbon dioxide Span and Wagner, J. Phys. Chem. Ref. Data
    /// 25, 1509 (1996), doi 10.1063/1.555991, abstract (from memory).
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("carbon dioxide").uncertainty("density", 313.15, 150e5)
    /// 0.0005
    #[pyo3(signature = (property, temperature, pressure, *, on_error = "raise"))]
    fn uncertainty<'py>(
        slf: &Bound<'py, Self>,
        property: &str,
        temperature: &Bound<'py, PyAny>,
        pressure: &Bound<'py, PyAny>,
        on_error: &str,
    ) -> Outcome<Bound<'py, PyAny>> {
        let quantity = property_named(property)?;
        let of = |fluid: &Fluid, first, second| fluid.uncertainty(quantity, first, second);
        let name = Function::uncertainty(quantity).name;
        evaluate(slf, &name, of, (temperature, pressure), on_error)
    }
}

/// Several properties of lists of temperatures and pressures, row after row, not a number where one fails; and whether none did.
/// Behind `Fluid.properties`.
#[pyfunction]
#[allow(
    clippy::needless_pass_by_value,
    reason = "Python hands its arguments over"
)]
pub fn properties_of_lists<'py>(
    py: Python<'py>,
    fluid: &PyFluid,
    names: Vec<String>,
    temperature: PyReadonlyArray1<'py, f64>,
    pressure: PyReadonlyArray1<'py, f64>,
) -> Outcome<(Bound<'py, PyArray2<f64>>, bool)> {
    let quantities = names
        .iter()
        .map(|name| property_named(name))
        .collect::<Outcome<Vec<Quantity>>>()?;
    let (t, p) = (list_of(&temperature)?, list_of(&pressure)?);
    let fluid = &fluid.fluid;
    let mut rows = vec![0.0; t.len() * quantities.len()];
    // Which failed is told by the values, as by those of the ufuncs.
    let found = py.detach(|| fluid.properties_into(&quantities, t, p, &mut rows));
    let table = PyArray1::from_vec(py, rows);
    Ok((table.reshape([t.len(), quantities.len()])?, found.is_ok()))
}

pub fn list_of<'a>(array: &'a PyReadonlyArray1<'_, f64>) -> Outcome<&'a [f64]> {
    let wrong = |_| argument("temperature and pressure", "contiguous arrays", "others");
    array.as_slice().map_err(wrong)
}

pub fn property_named(name: &str) -> Outcome<Quantity> {
    PROPERTIES
        .iter()
        .copied()
        .find(|quantity| quantity.name() == name)
        .ok_or_else(|| argument("property", "the name of a property", name))
}

/// One function: plain numbers by the short way, anything else by its ufunc.
fn evaluate<'py>(
    fluid: &Bound<'py, PyFluid>,
    name: &str,
    of: impl Fn(&Fluid, f64, f64) -> Result<f64>,
    (first, second): (&Bound<'py, PyAny>, &Bound<'py, PyAny>),
    on_error: &str,
) -> Outcome<Bound<'py, PyAny>> {
    let py = fluid.py();
    let rule = OnError::read(on_error)?;
    let (Some(a), Some(b)) = (plain_number(first), plain_number(second)) else {
        static BY_ARRAY: PyOnceLock<Py<PyAny>> = PyOnceLock::new();
        let call = BY_ARRAY.import(py, "densepath._arrays", "evaluate")?;
        return Ok(call.call1((fluid, name, first, second, on_error))?);
    };
    let value = match of(&fluid.get().fluid, a, b) {
        Ok(value) => value,
        Err(error) if rule == OnError::Raise => return Err(error.into()),
        Err(error) => {
            if rule == OnError::Warn {
                static WARN: PyOnceLock<Py<PyAny>> = PyOnceLock::new();
                WARN.import(py, "densepath._arrays", "warn")?
                    .call1((exception(py, &error),))?;
            }
            f64::NAN
        }
    };
    Ok(PyFloat::new(py, value).into_any())
}
