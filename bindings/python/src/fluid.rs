//! A substance or a mixture, and its critical points.

use std::sync::OnceLock;

use densepath::fluid::phase::PseudoCritical;
use densepath::{CriticalPoint, Error, Fluid, ModelChoice, Quantity, State};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyMapping, PyString, PyTuple};

use crate::error::{Fault, Outcome, argument, enter};
use crate::mixture::{PyFlash, PyPhaseBoundary, fractions, given};
use crate::pickle::{Reduced, reduced};
use crate::record::record;
use crate::registry;
use crate::state::{PySaturation, PyState};
use crate::table::{Column, PyTable};

/// A substance or a mixture with its models; cheap to copy and safe to share between threads and processes.
///
/// Parameters
/// ----------
/// substances : str or mapping of str to float
///     Name of a substance in words, a trade name or the formula, in any case; or the substances of a mixture with their amount
///     fractions x, which must sum to 1 within 1e-9 and may be zero.
/// model : {"best", "multi-fluid", "cubic"}, keyword-only
///     The best model with parameters from measurements, which of a mixture is the multi-fluid equation where every pair has
///     such parameters and the cubic equation otherwise; or one of the two.
/// extrapolate : bool, keyword-only
///     Whether the models may be asked beyond their ranges, up to 1.5 times the highest temperature and ten times the highest
///     pressure of each. A notice of the state tells of it.
/// viscosity_factor : float, keyword-only
///     What the dynamic viscosity of the model is multiplied by, 0.1 to 10: a measured ratio, or the model's uncertainty put into a
///     budget. The thermal conductivity stays.
/// volume_shift : float, keyword-only
///     What is added to the specific volume of the model at each temperature and pressure, in m3/kg; see `with_density_factor`.
///
/// Raises
/// ------
/// UnknownFluidError
///     If no substance has this name; the hint names the nearest.
/// CompositionError
///     If the fractions do not sum to 1, or one is none.
/// MissingModelError
///     If a substance has no such model, or a pair of substances no parameters for it.
/// ArgumentError
///     If a substance is named twice, or the model is another word.
/// RangeError
///     If no model is corrected by such a factor.
///
/// Notes
/// -----
/// Uncertainty: `Fluid.uncertainty` gives what is stated for a state.
///
/// Source: `Fluid.source` names the equations of the substances and the parameters of the pairs.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> co2 = dp.Fluid("carbon dioxide")
/// >>> co2.density(313.15, [80e5, 150e5]).round(3)
/// array([277.897, 780.233])
/// >>> dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}).amount_fractions
/// (0.9, 0.1)
#[pyclass(frozen, eq, hash, from_py_object, module = "densepath", name = "Fluid")]
#[derive(Debug, Clone)]
pub struct PyFluid {
    pub fluid: Fluid,
    identity: OnceLock<i64>,
}

impl From<Fluid> for PyFluid {
    fn from(fluid: Fluid) -> Self {
        Self {
            fluid,
            identity: OnceLock::new(),
        }
    }
}

impl PyFluid {
    /// Hash of everything that the numbers of the fluid depend on.
    fn key(&self) -> i64 {
        *self
            .identity
            .get_or_init(|| registry::identity_of(&self.fluid))
    }
}

impl PartialEq for PyFluid {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl std::hash::Hash for PyFluid {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.key().hash(state);
    }
}

/// The fluid of some substances with the model wanted.
fn made(
    substances: &[(String, f64)],
    choice: ModelChoice,
    extrapolate: bool,
    viscosity_factor: f64,
    volume_shift: f64,
) -> Outcome<PyFluid> {
    let parts: Vec<(&str, f64)> = substances.iter().map(|(n, x)| (n.as_str(), *x)).collect();
    let fluid = Fluid::mixture_with_model(&parts, choice)?
        .with_viscosity_factor(viscosity_factor)?
        .with_volume_shift(volume_shift)?;
    Ok(PyFluid::from(if extrapolate {
        fluid.extrapolating()
    } else {
        fluid
    }))
}

/// The items of a mapping of Python, read one by one.
pub fn items<T>(
    mapping: &Bound<'_, PyMapping>,
    mut read: impl FnMut(&Bound<'_, PyAny>, &Bound<'_, PyAny>) -> Outcome<T>,
) -> Outcome<Vec<T>> {
    let items = mapping.items()?;
    let pairs = items.iter().map(|item| {
        let (key, value) = item.extract::<(Bound<'_, PyAny>, Bound<'_, PyAny>)>()?;
        read(&key, &value)
    });
    pairs.collect()
}

#[pymethods]
impl PyFluid {
    #[new]
    #[pyo3(signature = (substances, *, model = "best", extrapolate = false, viscosity_factor = 1.0, volume_shift = 0.0))]
    fn new(
        substances: &Bound<'_, PyAny>,
        model: &str,
        extrapolate: bool,
        viscosity_factor: f64,
        volume_shift: f64,
    ) -> Outcome<Self> {
        let choice: ModelChoice = model.parse()?;
        if let Ok(name) = substances.cast::<PyString>() {
            return made(
                &[(name.to_string(), 1.0)],
                choice,
                extrapolate,
                viscosity_factor,
                volume_shift,
            );
        }
        let wrong = |what: &Bound<'_, PyAny>| -> Fault {
            let expected = "the name of a substance, or names with amount fractions";
            what.get_type().name().map_or_else(Fault::Python, |kind| {
                argument("substances", expected, kind.to_string())
            })
        };
        let mapping = substances
            .cast::<PyMapping>()
            .map_err(|_| wrong(substances))?;
        let parts = items(mapping, |name, fraction| {
            let name = name.cast::<PyString>().map_err(|_| wrong(name))?;
            let fraction = fraction.extract().map_err(|_| wrong(fraction))?;
            Ok((name.to_string(), fraction))
        })?;
        made(&parts, choice, extrapolate, viscosity_factor, volume_shift)
    }

    /// str: Name in words; of a mixture the names of its substances.
    #[getter]
    fn name(&self) -> &str {
        self.fluid.name()
    }

    /// tuple of str: Names of the substances, in the order of the fractions.
    #[getter]
    fn substances<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.fluid.substances())
    }

    /// tuple of float: Amount fractions x of the substances.
    #[getter]
    fn amount_fractions<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.fluid.amount_fractions())
    }

    /// tuple of float: Mass fractions w of the substances.
    #[getter]
    fn mass_fractions<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.fluid.mass_fractions())
    }

    /// dict of str to float: Amount fraction of each substance, which makes the same fluid again.
    #[getter]
    fn composition<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        fractions(py, &self.fluid.substances(), self.fluid.amount_fractions())
    }

    /// bool: Whether the models may be asked beyond their ranges.
    #[getter]
    fn extrapolates(&self) -> bool {
        self.fluid.is_extrapolating()
    }

    /// float: What the viscosity of the model is multiplied by.
    #[getter]
    fn viscosity_factor(&self) -> f64 {
        self.fluid.viscosity_factor()
    }

    /// float: What is added to the specific volume of the model, in m3/kg.
    #[getter]
    fn volume_shift(&self) -> f64 {
        self.fluid.volume_shift()
    }

    /// The same fluid whose density at a state is a factor times that of its model.
    ///
    /// A measured ratio, or the model's uncertainty put into a budget; it replaces one in force. A constant is added to the specific volume
    /// at each temperature and pressure, and that times the pressure to the enthalpy, so that all states stay consistent: a liquid moves
    /// by about the same share, a thin gas by next to nothing. Entropy, internal energy, heat capacities, phase equilibria, viscosity,
    /// conductivity and diffusion stay.
    ///
    /// Parameters
    /// ----------
    /// factor : float
    ///     What the density is multiplied by, 0.8 to 1.25.
    /// temperature, pressure : float
    ///     Temperature in K and pressure in Pa of the state, of one phase, at which the factor holds.
    ///
    /// Returns
    /// -------
    /// Fluid
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     If no model is corrected by such a factor, or the state lies outside the range.
    /// TwoPhaseError
    ///     If the state has two phases.
    ///
    /// Notes
    /// -----
    /// Source: Péneloux, Rauzy, Frèze, Fluid Phase Equilib. 8, 7 (1982), doi 10.1016/0378-3812(82)80002-2, from memory.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> dense = co2.with_density_factor(1.01, 313.15, 150e5)
    /// >>> round(dense.density(313.15, 150e5) / co2.density(313.15, 150e5), 9)
    /// 1.01
    fn with_density_factor(&self, factor: f64, temperature: f64, pressure: f64) -> Outcome<Self> {
        let corrected = self
            .fluid
            .with_density_factor(factor, temperature, pressure)?;
        Ok(corrected.into())
    }

    /// str: Chemical formula. MissingModelError for a mixture.
    #[getter]
    fn formula(&self) -> Outcome<&str> {
        Ok(&self.fluid.record()?.formula)
    }

    /// tuple of str: Other names that the substance answers to. MissingModelError for a mixture.
    #[getter]
    fn aliases<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyTuple>> {
        Ok(PyTuple::new(py, &self.fluid.record()?.aliases)?)
    }

    /// str: Number in the registry of the Chemical Abstracts Service. MissingModelError for a mixture.
    #[getter]
    fn cas_number(&self) -> Outcome<&str> {
        Ok(&self.fluid.record()?.cas_number)
    }

    /// str: Name of the equation of state, with author and year; of a mixture with the parameters of each pair; with what corrects it.
    #[getter]
    fn model(&self) -> String {
        self.fluid.corrected_model()
    }

    /// str: Where the equation of state was published; of a mixture also the parameters of each pair.
    #[getter]
    fn source(&self) -> String {
        self.fluid.source()
    }

    /// Table: Every model of the substance, with the range that its authors state and its source. MissingModelError for a
    /// mixture: ask its substances.
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
        let title = [format!("models of {}", self.name())];
        let title = title.into_iter().chain(self.fluid.corrections());
        Ok(PyTable::of(&title.collect::<Vec<_>>().join("; "), columns))
    }

    /// float: Molar mass M in kg/mol.
    #[getter]
    fn molar_mass(&self) -> f64 {
        self.fluid.molar_mass()
    }

    /// tuple of float: Lowest and highest temperature in K of the equation of state; of a mixture from the highest of the lowest
    /// of its substances to the lowest of their highest, where carbon dioxide, whose solid is known, counts down to 173 K.
    #[getter]
    fn temperature_range(&self) -> (f64, f64) {
        let range = self.fluid.range();
        (range.temperature_min, range.temperature_max)
    }

    /// tuple of float: Lowest and highest temperature in K of the dome under which liquid and vapour coexist; the highest is not
    /// part of it. MissingModelError for a mixture.
    #[getter]
    fn saturation_range(&self) -> Outcome<(f64, f64)> {
        let top = self.fluid.saturation_temperature_max()?;
        Ok((self.fluid.saturation_temperature_min()?, top))
    }

    /// float: Highest pressure in Pa of the equation of state.
    #[getter]
    fn pressure_max(&self) -> f64 {
        self.fluid.range().pressure_max
    }

    /// int: Hash of all that the numbers depend on, the composition included: the first argument of the functions in
    /// `densepath.ufuncs`. A process that has not made or read the fluid of a mixture does not know it.
    #[getter]
    fn identity(&self) -> i64 {
        let identity = self.key();
        registry::keep(identity, &self.fluid);
        identity
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
        let found = match given("saturation", temperature, pressure)? {
            (Quantity::Temperature, t) => enter(py, || self.fluid.saturation_at_temperature(t)),
            (_, p) => enter(py, || self.fluid.saturation_at_pressure(p)),
        };
        Ok(found?.into())
    }

    /// The bubble point: the state in which a liquid begins to boil.
    ///
    /// Of several at a temperature that of the lowest pressure, of several at a pressure that of the highest temperature;
    /// `phase_boundaries` gives all. Of a substance its saturation.
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
    /// PhaseBoundary
    ///     Temperature and pressure, the liquid, which is the fluid itself, and the first bubble of vapour.
    ///
    /// Raises
    /// ------
    /// PhaseError, ConvergenceError
    ///     If there is none, from 1 kPa to the highest pressure of the range.
    /// ArgumentError
    ///     Unless one of the two is given.
    ///
    /// Notes
    /// -----
    /// Valid: in the range of the equation of state; phases of solid are not sought.
    ///
    /// Source: equal fugacities of every substance in both phases.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.3, "acetone": 0.7})
    /// >>> point = fluid.bubble_point(temperature=313.15)
    /// >>> point.vapour.fluid.amount_fractions[0] > 0.9
    /// True
    #[pyo3(signature = (*, temperature = None, pressure = None))]
    fn bubble_point(
        &self,
        py: Python<'_>,
        temperature: Option<f64>,
        pressure: Option<f64>,
    ) -> Outcome<PyPhaseBoundary> {
        let found = match given("bubble_point", temperature, pressure)? {
            (Quantity::Temperature, t) => enter(py, || self.fluid.bubble_point_at_temperature(t)),
            (_, p) => enter(py, || self.fluid.bubble_point_at_pressure(p)),
        };
        Ok(found?.into())
    }

    /// The dew point: the state in which a vapour begins to condense.
    ///
    /// Of several at a temperature that of the lowest pressure, of several at a pressure that of the highest temperature; the
    /// others are retrograde ones, and `phase_boundaries` gives all. Of a substance its saturation.
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
    /// PhaseBoundary
    ///     Temperature and pressure, the first drop of liquid, and the vapour, which is the fluid itself.
    ///
    /// Raises
    /// ------
    /// PhaseError, ConvergenceError
    ///     If there is none, from 1 kPa to the highest pressure of the range.
    /// ArgumentError
    ///     Unless one of the two is given.
    ///
    /// Notes
    /// -----
    /// Valid: in the range of the equation of state; phases of solid are not sought.
    ///
    /// Source: equal fugacities of every substance in both phases.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.3, "acetone": 0.7})
    /// >>> point = fluid.dew_point(temperature=313.15)
    /// >>> point.pressure < fluid.bubble_point(temperature=313.15).pressure
    /// True
    #[pyo3(signature = (*, temperature = None, pressure = None))]
    fn dew_point(
        &self,
        py: Python<'_>,
        temperature: Option<f64>,
        pressure: Option<f64>,
    ) -> Outcome<PyPhaseBoundary> {
        let found = match given("dew_point", temperature, pressure)? {
            (Quantity::Temperature, t) => enter(py, || self.fluid.dew_point_at_temperature(t)),
            (_, p) => enter(py, || self.fluid.dew_point_at_pressure(p)),
        };
        Ok(found?.into())
    }

    /// Every border between one and two phases at a temperature or at a pressure.
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
    /// tuple of PhaseBoundary
    ///     Bubble and dew points, the retrograde ones and those between liquids too, by rising pressure at a temperature and by
    ///     rising temperature at a pressure; empty where there is one phase throughout.
    ///
    /// Raises
    /// ------
    /// PhaseError
    ///     For a substance, outside the range from the triple point to the critical point.
    /// ArgumentError
    ///     Unless one of the two is given.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.3, "acetone": 0.7})
    /// >>> [border.kind for border in fluid.phase_boundaries(temperature=313.15) if border.pressure < 100e5]
    /// ['dew', 'bubble']
    #[pyo3(signature = (*, temperature = None, pressure = None))]
    fn phase_boundaries<'py>(
        &self,
        py: Python<'py>,
        temperature: Option<f64>,
        pressure: Option<f64>,
    ) -> Outcome<Bound<'py, PyTuple>> {
        let found = match given("phase_boundaries", temperature, pressure)? {
            (Quantity::Temperature, t) => enter(py, || self.fluid.boundaries_at_temperature(t)),
            (_, p) => enter(py, || self.fluid.boundaries_at_pressure(p)),
        };
        let found = found?.into_iter().map(PyPhaseBoundary::from);
        Ok(PyTuple::new(py, found.collect::<Vec<_>>())?)
    }

    /// The phases at a temperature and a pressure.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    /// pressure : float
    ///     Pressure p in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// Flash
    ///     The phases by falling density, each with its share and its composition; one where the fluid does not part.
    ///
    /// Raises
    /// ------
    /// DomainError, RangeError
    ///     If a value can belong to no state, or lies outside the range of the model.
    /// PhaseError
    ///     Where carbon dioxide freezes out; other solids are not known.
    ///
    /// Notes
    /// -----
    /// Valid: in the range of the equation of state.
    ///
    /// Source: the least Gibbs energy, by the distance to the tangent plane of Michelsen, Fluid Phase Equilib. 9, 1 (1982),
    /// doi 10.1016/0378-3812(82)85001-2.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> gas = dp.Fluid({"carbon dioxide": 0.5, "nitrogen": 0.5})
    /// >>> liquid, vapour = gas.flash(230.0, 5e6).phases
    /// >>> liquid.composition["carbon dioxide"] > 0.9 > vapour.composition["carbon dioxide"]
    /// True
    fn flash(&self, py: Python<'_>, temperature: f64, pressure: f64) -> Outcome<PyFlash> {
        Ok(enter(py, || self.fluid.flash(temperature, pressure))?.into())
    }

    /// Pressure in Pa above which the solid is stable: that of melting, or of sublimation below the triple point.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    ///
    /// Returns
    /// -------
    /// float
    ///     Pressure in Pa; infinite where the solid of the fluid is not known.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> print(f"{dp.Fluid('carbon dioxide').melting_pressure(230.0) / 1e6:.4g} MPa")
    /// 67.42 MPa
    fn melting_pressure(&self, temperature: f64) -> f64 {
        self.fluid.melting_pressure(temperature)
    }

    /// The state on the pseudo-critical line at a temperature above the critical one.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    /// definition : {"heat_capacity", "density_gradient", "expansivity"}, keyword-only
    ///     What is largest on the isotherm: the isobaric heat capacity, the slope of the density in the pressure, or the isobaric
    ///     expansivity.
    ///
    /// Returns
    /// -------
    /// State
    ///     The state on the line.
    ///
    /// Raises
    /// ------
    /// RangeError, ConvergenceError
    ///     Below the critical temperature, and where the property has no largest value.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> print(f"{dp.Fluid('carbon dioxide').pseudo_critical(313.15).pressure / 1e5:.4g} bar")
    /// 88.64 bar
    #[pyo3(signature = (temperature, *, definition = "heat_capacity"))]
    fn pseudo_critical(
        &self,
        py: Python<'_>,
        temperature: f64,
        definition: &str,
    ) -> Outcome<PyState> {
        let definition: PseudoCritical = definition.parse().map_err(|()| {
            argument(
                "definition",
                "heat_capacity, density_gradient or expansivity",
                definition,
            )
        })?;
        Ok(enter(py, || self.fluid.pseudo_critical(temperature, definition))?.into())
    }

    /// Temperature in K by which a state of one phase is away from the nearest temperature at which a second phase appears.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    /// pressure : float
    ///     Pressure p in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Difference in K at the same pressure; negative in two phases, infinite where no second phase appears in the range.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> print(f"{dp.Fluid('carbon dioxide').single_phase_temperature_margin(293.15, 50e5):.4g} K")
    /// 5.716 K
    fn single_phase_temperature_margin(
        &self,
        py: Python<'_>,
        temperature: f64,
        pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.fluid
                .single_phase_temperature_margin(temperature, pressure)
        })
    }

    /// Specific enthalpy of mixing: that of the mixture less those of its substances at the same temperature and pressure.
    ///
    /// Parameters
    /// ----------
    /// temperature : float
    ///     Temperature T in K.
    /// pressure : float
    ///     Pressure p in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Specific enthalpy in J/kg; zero for one substance.
    ///
    /// Notes
    /// -----
    /// Uncertainty: that of the model; the parameters of pairs are seldom fitted to heats of mixing.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> fluid = dp.Fluid({"carbon dioxide": 0.5, "acetone": 0.5})
    /// >>> fluid.specific_enthalpy_of_mixing(313.15, 150e5) < 0.0
    /// True
    fn specific_enthalpy_of_mixing(
        &self,
        py: Python<'_>,
        temperature: f64,
        pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.fluid
                .specific_enthalpy_of_mixing(temperature, pressure)
        })
    }

    /// The critical point of the equation of state; of a mixture the stable one of liquid and vapour.
    ///
    /// Returns
    /// -------
    /// CriticalPoint
    ///     Temperature in K, pressure in Pa and density in kg/m3.
    ///
    /// Raises
    /// ------
    /// ConvergenceError
    ///     If the mixture has none, as those of very unlike substances.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("carbon dioxide").critical_point().temperature
    /// 304.1282
    fn critical_point(&self, py: Python<'_>) -> Outcome<PyCriticalPoint> {
        Ok(enter(py, || self.fluid.critical_point())?.into())
    }

    /// Every critical point of the composition, by falling temperature.
    ///
    /// Returns
    /// -------
    /// tuple of CriticalPoint
    ///     The stable ones, and those at which another phase is more stable.
    ///
    /// Notes
    /// -----
    /// Source: conditions of Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid({"carbon dioxide": 0.9, "acetone": 0.1}).critical_points()[0].stable
    /// True
    fn critical_points<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyTuple>> {
        let found = enter(py, || self.fluid.critical_points())?;
        let found = found.into_iter().map(PyCriticalPoint::from);
        Ok(PyTuple::new(py, found.collect::<Vec<_>>())?)
    }

    /// The fluid as a dictionary of plain values; None for what a mixture does not have.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> told = dp.Fluid("carbon dioxide").to_dict()
    /// >>> told["formula"], told["cas_number"], told["temperature_min"]
    /// ('CO2', '124-38-9', 216.592)
    fn to_dict<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        let range = self.fluid.range();
        let record = self.fluid.record().ok();
        dict.set_item("name", self.name())?;
        dict.set_item("formula", record.map(|record| &record.formula))?;
        dict.set_item("cas_number", record.map(|record| &record.cas_number))?;
        dict.set_item("composition", self.composition(py)?)?;
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
        let table = if self.fluid.record().is_ok() {
            self.models()?
        } else {
            self.parts()
        };
        Ok(present.call_method1("table_to_html", (table,))?)
    }

    fn __repr__(&self) -> String {
        let own = self.fluid.substances();
        let named = |(name, x): (&&str, &f64)| format!("\"{name}\": {x}");
        let substances = if let [name] = own[..] {
            format!("\"{name}\"")
        } else {
            let pairs = own.iter().zip(self.fluid.amount_fractions());
            format!("{{{}}}", pairs.map(named).collect::<Vec<_>>().join(", "))
        };
        let beyond = if self.fluid.is_extrapolating() {
            ", extrapolate=True"
        } else {
            ""
        };
        let corrected = [
            ("viscosity_factor", self.fluid.viscosity_factor(), 1.0),
            ("volume_shift", self.fluid.volume_shift(), 0.0),
        ];
        let corrected = corrected.map(|(key, value, usual)| {
            if value == usual {
                String::new()
            } else {
                format!(", {key}={value:?}")
            }
        });
        format!(
            "Fluid({substances}, model=\"{}\"{beyond}{})",
            self.fluid.model(),
            corrected.concat()
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, Written> {
        let names = self.fluid.substances().into_iter().map(str::to_owned);
        let fractions = self.fluid.amount_fractions().iter().copied();
        let written = (
            names.zip(fractions).collect(),
            self.fluid.choice().name().to_owned(),
            self.fluid.is_extrapolating(),
            self.fluid.viscosity_factor(),
            self.fluid.volume_shift(),
            self.key(),
        );
        reduced(py, "restore_fluid", written)
    }
}

impl PyFluid {
    /// What a mixture is made of.
    fn parts(&self) -> PyTable {
        let fluid = &self.fluid;
        let columns = vec![
            Column::words("substance", fluid.substances()),
            Column::numbers(
                Quantity::AmountFraction,
                fluid.amount_fractions().iter().copied(),
            ),
            Column::numbers(
                Quantity::MassFraction,
                fluid.mass_fractions().iter().copied(),
            ),
        ];
        PyTable::of(&format!("{} ({})", self.name(), self.model()), columns)
    }
}

/// Substances with their amount fractions, the word for the model, whether it is asked beyond its range, what corrects it, and the
/// identity.
type Written = (Vec<(String, f64)>, String, bool, f64, f64, i64);

/// The fluid of a pickle; refused if this process has other data for it.
#[pyfunction]
#[allow(
    clippy::needless_pass_by_value,
    reason = "arguments of Python arrive as values"
)]
pub fn restore_fluid(
    substances: Vec<(String, f64)>,
    model: &str,
    extrapolate: bool,
    viscosity_factor: f64,
    volume_shift: f64,
    identity: i64,
) -> Outcome<PyFluid> {
    let model = model.parse()?;
    let fluid = made(
        &substances,
        model,
        extrapolate,
        viscosity_factor,
        volume_shift,
    )?;
    if fluid.identity() == identity {
        Ok(fluid)
    } else {
        Err(Error::UnknownFluid {
            name: format!("{} with the data of identity {identity}", fluid.name()),
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
    /// A critical point of a fluid; immutable.
    PyCriticalPoint "CriticalPoint"
    from r#"point = dp.Fluid("carbon dioxide").critical_point()"#
        shows point.pressure as ".0f" = "7377300"
    {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// float: Density rho in kg/m3.
        density: f64 ["kg/m3"],
        /// bool: Whether no other phase is more stable there.
        stable: bool [""],
    }
}

impl From<CriticalPoint> for PyCriticalPoint {
    fn from(point: CriticalPoint) -> Self {
        let CriticalPoint {
            temperature,
            pressure,
            density,
            is_stable,
        } = point;
        Self {
            temperature,
            pressure,
            density,
            stable: is_stable,
        }
    }
}
