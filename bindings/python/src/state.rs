//! States and saturation as frozen objects.

use std::hash::{Hash, Hasher};

use densepath::fluid::eos::solid::SolidPoint;
use densepath::fluid::error::significant;
use densepath::fluid::fluids::uncertainty::StatedUncertainty;
use densepath::fluid::transport::diffusion::Diffusing;
use densepath::{PROPERTIES, Quantity, Saturation, State};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use crate::error::{Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::function::property_named;
use crate::notice::PyNotice;
use crate::pickle::{Reduced, reduced};
use crate::record::record;

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
#[pyclass(frozen, eq, hash, from_py_object, module = "densepath", name = "State")]
#[derive(Debug, Clone)]
pub struct PyState {
    pub state: State,
}

impl From<State> for PyState {
    fn from(state: State) -> Self {
        Self { state }
    }
}

impl PyState {
    /// What tells two states of a fluid apart, bit by bit.
    fn key(&self) -> Vec<u64> {
        let numbers = self.state.to_numbers();
        numbers.into_iter().map(f64::to_bits).collect()
    }
}

impl PartialEq for PyState {
    fn eq(&self, other: &Self) -> bool {
        self.state.fluid() == other.state.fluid() && self.key() == other.key()
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

macro_rules! derivatives {
    ($($name:ident $doc:literal;)*) => {
        #[pymethods]
        impl PyState {
            $(
                #[doc = concat!("float: ", $doc, " PhaseError for two phases.")]
                #[getter]
                fn $name(&self) -> Outcome<f64> {
                    Ok(self.state.$name()?)
                }
            )*
        }
    };
}

derivatives! {
    dp_drho_t "Derivative of the pressure in the density at constant temperature in m2/s2.";
    dp_dt_rho "Derivative of the pressure in the temperature at constant density in Pa/K.";
    drho_dp_h "Derivative of the density in the pressure at constant enthalpy in s2/m2.";
    drho_dp_s "Derivative of the density in the pressure at constant entropy in s2/m2.";
    drho_dh_p "Derivative of the density in the specific enthalpy at constant pressure in kg2/(m3 J).";
    dh_dp_t "Derivative of the specific enthalpy in the pressure at constant temperature in m3/kg.";
}

#[pymethods]
impl PyState {
    /// Relative standard uncertainty that the source of its model states for a property of this state; see `Fluid.uncertainty`.
    ///
    /// Parameters
    /// ----------
    /// property : str
    ///     Name of the property, such as "density".
    ///
    /// Returns
    /// -------
    /// float
    ///     Relative standard uncertainty; for the refractive index relative to n - 1.
    ///
    /// Raises
    /// ------
    /// MissingModelError
    ///     If none is known for the property, or near the critical point.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5).uncertainty("density")
    /// 0.0005
    fn uncertainty(&self, property: &str) -> Outcome<f64> {
        Ok(self.state.uncertainty(property_named(property)?)?)
    }

    /// Where the figure of `uncertainty` comes from: the source of the model, a comparison by this project, or its judgement.
    ///
    /// Parameters
    /// ----------
    /// property : str
    ///     Name of the property, such as "density".
    ///
    /// Returns
    /// -------
    /// str
    ///     In words.
    ///
    /// Raises
    /// ------
    /// MissingModelError
    ///     If no uncertainty is known.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5).uncertainty_basis("density")
    /// 'stated with the model'
    fn uncertainty_basis(&self, property: &str) -> Outcome<String> {
        let known = self.state.stated_uncertainty(property_named(property)?)?;
        Ok(known.basis())
    }

    /// Diffusion coefficients D in m2/s of a solute at infinite dilution, by each law that what is known of the solute suffices
    /// for.
    ///
    /// Parameters
    /// ----------
    /// molar_volume : float
    ///     Molar volume of the solute as a liquid at its normal boiling point in m3/mol.
    /// molar_mass : float, optional, keyword-only
    ///     Molar mass of the solute in kg/mol, which one of the laws asks for.
    ///
    /// Returns
    /// -------
    /// dict of str to float
    ///     The coefficient by the name of its law. Their spread is a lower bound of their uncertainty, which is 25 % each as a
    ///     relative standard uncertainty (common practice, no source).
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     In a fluid too thin for the laws.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=100e5)
    /// >>> print(f"{state.diffusion_coefficients(96e-6)['wilke_chang']:.4g}")
    /// 2.086e-08
    #[pyo3(signature = (molar_volume, *, molar_mass = None))]
    fn diffusion_coefficients<'py>(
        &self,
        py: Python<'py>,
        molar_volume: f64,
        molar_mass: Option<f64>,
    ) -> Outcome<Bound<'py, PyDict>> {
        let solute = Diffusing {
            molar_volume,
            molar_mass,
        };
        let found = PyDict::new(py);
        for (law, coefficient) in self.state.diffusion_estimates(solute)? {
            found.set_item(law.name(), coefficient)?;
        }
        Ok(found)
    }

    /// Fluid: The fluid.
    #[getter]
    fn fluid(&self) -> PyFluid {
        self.state.fluid().clone().into()
    }

    /// str: "liquid", "vapour", "supercritical", "liquid + vapour", "solid + vapour" or "solid"; of a mixture also
    /// "liquid + liquid", "liquid + liquid + vapour", "solid + liquid" and "solid + liquid + vapour".
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

    /// tuple of tuple: The fluid phases by falling density, each its mass fraction and its state; one where it is one phase.
    #[getter]
    fn phases<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let phases = self.state.fluid_phases().into_iter();
        let phases = phases.map(|(share, state)| (share, PyState::from(state.clone())));
        PyTuple::new(py, phases.collect::<Vec<_>>())
    }

    /// tuple of float: Fugacity coefficients phi of the substances, dimensionless, in the order of `fluid.substances`.
    /// PhaseError for two phases.
    #[getter]
    fn fugacity_coefficients<'py>(&self, py: Python<'py>) -> Outcome<Bound<'py, PyTuple>> {
        Ok(PyTuple::new(py, self.state.fugacity_coefficients()?)?)
    }

    /// State or None: The liquid of a state of several phases, the densest if there are more.
    #[getter]
    fn liquid(&self) -> Option<PyState> {
        self.state.liquid().cloned().map(PyState::from)
    }

    /// Solid or None: The solid of a state of solid and vapour.
    #[getter]
    fn solid(&self) -> Option<PySolid> {
        self.state.solid().map(PySolid::from)
    }

    /// State or None: The vapour of a state of several phases.
    #[getter]
    fn vapour(&self) -> Option<PyState> {
        self.state.vapour().cloned().map(PyState::from)
    }

    /// float: Pressure in Pa above the one at which a second phase appears at this temperature; negative in two phases and for a
    /// vapour, infinite where none appears.
    #[getter]
    fn single_phase_margin(&self) -> Outcome<f64> {
        Ok(self.state.single_phase_margin()?)
    }

    /// float: Speed of sound in m/s of slow waves, in which the phases stay in equilibrium; that of one phase alone.
    ///
    /// Raises
    /// ------
    /// PhaseError
    ///     At a triple point, where the pressure stays while the volume changes (301).
    #[getter]
    fn equilibrium_speed_of_sound(&self) -> Outcome<f64> {
        Ok(self.state.equilibrium_speed_of_sound()?)
    }

    /// tuple of Notice: The doubts that belong to the state itself.
    #[getter]
    fn notices<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(
            py,
            self.state
                .all_notices()
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
        Ok(enter(py, || self.state.expand_to(pressure))?.into())
    }

    /// The state as a dictionary of plain values; None for a property that it does not have.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> told = dp.Fluid("carbon dioxide").state(temperature=298.15, density=500.0).to_dict()
    /// >>> told["phase"], round(told["vapour_fraction"], 3), told["speed_of_sound"]
    /// ('liquid + vapour', 0.218, None)
    pub fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> series = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5).to_pandas()
    /// >>> print(f"{series['density']:.2f} {series.attrs['units']['density']}")
    /// 780.23 kg/m3
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

    fn __reduce__<'py>(&self, py: Python<'py>) -> Reduced<'py, (PyFluid, Vec<f64>)> {
        reduced(py, "restore_state", (self.fluid(), self.state.to_numbers()))
    }
}

/// The state of a pickle.
#[pyfunction]
#[allow(
    clippy::needless_pass_by_value,
    reason = "arguments of Python arrive as values"
)]
pub fn restore_state(fluid: &PyFluid, numbers: Vec<f64>) -> Outcome<PyState> {
    Ok(State::from_numbers(&fluid.fluid, &numbers)?.into())
}

record! {
    /// The solid of a state of solid and vapour; immutable.
    PySolid "Solid"
    from r#"after = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5).expand_to(101325.0)"#
        "ice = after.solid"
        shows ice.temperature as ".2f" = "194.66"
    {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// float: Density rho in kg/m3.
        density: f64 ["kg/m3"],
        /// float: Specific enthalpy h in J/kg.
        specific_enthalpy: f64 ["J/kg"],
        /// float: Specific entropy s in J/(kg K).
        specific_entropy: f64 ["J/(kg K)"],
    }
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

record! {
    /// Liquid and vapour in equilibrium; immutable. Made by `Fluid.saturation`.
    PySaturation "Saturation"
    from r#"boiling = dp.Fluid("carbon dioxide").saturation(temperature=293.15)"#
        shows boiling.liquid.density as ".1f" = "773.4"
    {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// State: The boiling liquid.
        liquid: PyState [""],
        /// State: The dry vapour.
        vapour: PyState [""],
    }
}

impl From<Saturation> for PySaturation {
    fn from(found: Saturation) -> Self {
        let Saturation {
            temperature,
            pressure,
            liquid,
            vapour,
        } = found;
        Self {
            temperature,
            pressure,
            liquid: liquid.into(),
            vapour: vapour.into(),
        }
    }
}

#[pymethods]
impl PySaturation {
    /// float: Surface tension gamma in N/m between the two phases.
    #[getter]
    fn surface_tension(&self) -> Outcome<f64> {
        let fluid = self.liquid.state.fluid();
        Ok(fluid.surface_tension(self.temperature)?)
    }

    /// Relative standard uncertainty that its source states for the vapour pressure or the surface tension.
    ///
    /// Parameters
    /// ----------
    /// property : {"pressure", "surface_tension"}
    ///     The quantity; each phase answers for its own properties.
    ///
    /// Returns
    /// -------
    /// float
    ///     Relative standard uncertainty.
    ///
    /// Raises
    /// ------
    /// MissingModelError
    ///     If the source states none.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> dp.Fluid("propan-2-ol").saturation(temperature=330.0).uncertainty("pressure")
    /// 0.005
    fn uncertainty(&self, property: &str) -> Outcome<f64> {
        Ok(self.stated_uncertainty(property)?.relative)
    }

    /// Where the figure of `uncertainty` comes from: the source of the model, a comparison by this project, or its judgement.
    ///
    /// Parameters
    /// ----------
    /// property : {"pressure", "surface_tension"}
    ///     The quantity.
    ///
    /// Returns
    /// -------
    /// str
    ///     In words.
    ///
    /// Raises
    /// ------
    /// MissingModelError
    ///     If no uncertainty is known.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> boiling = dp.Fluid("argon").saturation(temperature=100.0)
    /// >>> boiling.uncertainty_basis("pressure").split(",")[0]
    /// 'largest deviation from the Wagner equation of the VDI Heat Atlas 2010'
    fn uncertainty_basis(&self, property: &str) -> Outcome<String> {
        Ok(self.stated_uncertainty(property)?.basis())
    }

    /// The equilibrium as a `pandas.DataFrame`, one column a phase.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> frame = dp.Fluid("carbon dioxide").saturation(temperature=293.15).to_pandas()
    /// >>> frame.columns.tolist(), frame.loc["density"].round(1).tolist()
    /// (['liquid', 'vapour'], [773.4, 194.2])
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py()
            .import("densepath._present")?
            .call_method1("pair_to_pandas", (slf,))
    }
}

impl PySaturation {
    fn stated_uncertainty(&self, property: &str) -> Outcome<StatedUncertainty<'static>> {
        let quantity = match property {
            "pressure" => Quantity::Pressure,
            "surface_tension" => Quantity::SurfaceTension,
            other => return Err(argument("property", "pressure or surface_tension", other)),
        };
        let fluid = self.liquid.state.fluid();
        let saturation = fluid.saturation_at_temperature(self.temperature)?;
        Ok(saturation.stated_uncertainty(quantity)?)
    }
}
