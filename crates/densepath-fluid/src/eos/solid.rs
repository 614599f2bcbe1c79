//! The Gibbs energy of the solid and its equilibrium with the fluid phases, on plain numbers.
//!
//! The equation of Jäger and Span is explicit in g(T,p); volume, entropy and the second-order properties are its analytic
//! derivatives. Its zero of enthalpy and entropy is moved to that of the fluid: at the triple point the Gibbs energies of
//! solid and liquid are equal and their enthalpies differ by the enthalpy of fusion. The triple point is that of the fluid's
//! equation, so that the lines of melting, sublimation and vapour pressure meet in one point.
//!
//! Where solid and fluid coexist their Gibbs energies are equal. For carbon dioxide, with the vapour of Span and Wagner 1996
//! extrapolated below the triple point, this gives a sublimation temperature of 194.658 K at 101325 Pa (auxiliary line
//! 194.6855 K) and an enthalpy of sublimation there of 572.9 kJ/kg. The differences to the auxiliary lines are stated in
//! [`super::lines`].

use super::helmholtz::{Helmholtz, Isotherm};
use crate::error::{Error, Result, within};
use crate::fluids::solid::SolidRecord;
use crate::num::root::{Tolerance, newton_bisect};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// Densities between which the liquid beside the solid is sought, over that at the triple point.
const MELTING_DENSITY: [f64; 2] = [0.99, 1.4];

/// A step of this relative size ends the searches; the Gibbs energies carry no more digits.
const TOLERANCE: Tolerance = Tolerance {
    relative: 1e-14,
    iterations: 200,
};

/// Gibbs energy of a solid with its zero tied to that of the fluid.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
/// // Dry ice at 1 atm and 194.7 K weighs nearly 1.6 kg per litre.
/// assert!((solid.at(194.7, 101_325.0)?.density / 1000.0 - 1.57).abs() < 0.02);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Solid {
    record: SolidRecord,
    triple: TriplePoint,
    /// Specific gas constant R/M in J/(kg K).
    specific_gas_constant: f64,
    /// Added to the specific Gibbs energy of the record at the triple point, in J/kg.
    gibbs_shift: f64,
    /// Added to the specific entropy of the record, in J/(kg K).
    entropy_shift: f64,
    /// Enthalpy of sublimation at the triple point over R, in K.
    sublimation_steepness: f64,
}

/// Liquid and vapour of the fluid's equation at the triple point.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
/// let triple = solid.triple_point();
/// assert!((triple.temperature - 216.592).abs() < 1e-3 && (triple.pressure / 0.51795e6 - 1.0).abs() < 1e-3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TriplePoint {
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Density of the liquid in kg/m3.
    pub liquid_density: f64,
    /// Density of the vapour in kg/m3.
    pub vapour_density: f64,
}

/// The solid at one temperature and pressure.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
/// let ice = solid.at(194.7, 101_325.0)?;
/// assert!((ice.specific_enthalpy() - 194.7 * ice.specific_entropy - ice.specific_gibbs_energy).abs() < 1e-3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolidPoint {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Specific Gibbs energy g in J/kg.
    pub specific_gibbs_energy: f64,
    /// Specific entropy s in J/(kg K).
    pub specific_entropy: f64,
    /// Specific isobaric heat capacity `c_p` in J/(kg K).
    pub specific_isobaric_heat_capacity: f64,
    /// Isobaric expansivity `alpha_V` in 1/K.
    pub isobaric_expansivity: f64,
    /// Isothermal compressibility `kappa_T` in 1/Pa.
    pub isothermal_compressibility: f64,
}

impl SolidPoint {
    /// Specific enthalpy h in J/kg.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let ice = solid.at(194.7, 101_325.0)?;
    /// // h = u + p v.
    /// assert!((ice.specific_enthalpy() - ice.specific_internal_energy() - 101_325.0 / ice.density).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_enthalpy(&self) -> f64 {
        self.specific_gibbs_energy + self.temperature * self.specific_entropy
    }

    /// Specific internal energy u in J/kg.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// // Warmer ice has more energy.
    /// assert!(solid.at(200.0, 1e5)?.specific_internal_energy() > solid.at(190.0, 1e5)?.specific_internal_energy());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_internal_energy(&self) -> f64 {
        self.specific_enthalpy() - self.pressure / self.density
    }

    /// Specific isochoric heat capacity c_v in J/(kg K): `c_p - c_v = T alpha_V^2 / (rho kappa_T)`.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let ice = solid.at(194.7, 101_325.0)?;
    /// assert!(ice.specific_isochoric_heat_capacity() < ice.specific_isobaric_heat_capacity);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_isochoric_heat_capacity(&self) -> f64 {
        let alpha = self.isobaric_expansivity;
        let volume = self.density * self.isothermal_compressibility;
        self.specific_isobaric_heat_capacity - self.temperature * alpha * alpha / volume
    }

    /// `(dp/dT)_rho` in Pa/K.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let ice = solid.at(194.7, 101_325.0)?;
    /// assert!((ice.dp_dt_rho() * ice.isothermal_compressibility / ice.isobaric_expansivity - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dp_dt_rho(&self) -> f64 {
        self.isobaric_expansivity / self.isothermal_compressibility
    }

    /// `(dp/drho)_T` in m2/s2.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let ice = solid.at(194.7, 101_325.0)?;
    /// assert!((ice.dp_drho_t() * ice.density * ice.isothermal_compressibility - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dp_drho_t(&self) -> f64 {
        1.0 / (self.density * self.isothermal_compressibility)
    }

    /// Joule-Thomson coefficient `(T alpha_V - 1) / (rho c_p)` in K/Pa.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// // A solid warms where it is throttled: T alpha_V is below 1.
    /// assert!(solid.at(194.7, 101_325.0)?.joule_thomson_coefficient() < 0.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn joule_thomson_coefficient(&self) -> f64 {
        (self.temperature * self.isobaric_expansivity - 1.0)
            / (self.density * self.specific_isobaric_heat_capacity)
    }
}

/// Solid and fluid in equilibrium.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
/// let both = solid.sublimation(fluid.helmholtz()?, 194.7)?;
/// assert!(both.solid.density > 300.0 * both.fluid_density);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolidEquilibrium {
    /// The solid, at the common temperature and pressure.
    pub solid: SolidPoint,
    /// Density of the fluid beside it in kg/m3.
    pub fluid_density: f64,
}

impl Solid {
    /// The solid of a data record beside a fluid of molar mass M (kg/mol) with its triple point.
    ///
    /// *Source*: Jäger, Span, J. Chem. Eng. Data 57, 590 (2012), doi 10.1021/je2011677: equal Gibbs energies and the
    /// enthalpy of fusion at the triple point fix the zero.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// use densepath_fluid::eos::solid::Solid;
    /// let same = fluid.record()?.solid.as_ref().map(|record| Ok::<_, densepath_fluid::Error>(Solid::new(record, fluid.molar_mass(), fluid.helmholtz()?, solid.triple_point())));
    /// assert!(same.is_some_and(|same| same.is_ok_and(|same| same.temperature_min() == solid.temperature_min())));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(
        record: &SolidRecord,
        molar_mass: f64,
        fluid: &Helmholtz,
        triple: TriplePoint,
    ) -> Self {
        let unshifted = Self {
            record: record.clone(),
            triple,
            specific_gas_constant: record.gas_constant / molar_mass,
            gibbs_shift: 0.0,
            entropy_shift: 0.0,
            sublimation_steepness: 0.0,
        };
        let own = unshifted.isotherm(triple.temperature).at(triple.pressure);
        let isotherm = fluid.isotherm(triple.temperature);
        let fusion = record.molar_enthalpy_of_fusion / molar_mass;
        let liquid = triple.liquid_density;
        let entropy = isotherm.specific_entropy(liquid) - fusion / triple.temperature;
        let evaporation =
            isotherm.specific_enthalpy(triple.vapour_density) - isotherm.specific_enthalpy(liquid);
        Self {
            gibbs_shift: isotherm.specific_gibbs_energy(liquid) - own.specific_gibbs_energy,
            entropy_shift: entropy - own.specific_entropy,
            sublimation_steepness: (fusion + evaporation) / fluid.specific_gas_constant,
            ..unshifted
        }
    }

    /// The triple point that the solid is tied to.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let triple = solid.triple_point();
    /// assert!(triple.liquid_density > 80.0 * triple.vapour_density);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn triple_point(&self) -> TriplePoint {
        self.triple
    }

    /// Lowest temperature in K of the equation.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// assert_eq!(solid.at(solid.temperature_min() - 1.0, 1e5).unwrap_err().code(), 102);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature_min(&self) -> f64 {
        self.record.valid.temperature_min
    }

    /// The solid at temperature T (K) and pressure p (Pa); whether it is stable there is not asked.
    ///
    /// *Valid* and *Uncertainty*: of the record; error 102 outside.
    /// *Source*: Jäger, Span, J. Chem. Eng. Data 57, 590 (2012), doi 10.1021/je2011677.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let ice = solid.at(194.7, 101_325.0)?;
    /// assert_eq!((ice.temperature, ice.pressure), (194.7, 101_325.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at(&self, temperature: f64, pressure: f64) -> Result<SolidPoint> {
        let (valid, model) = (&self.record.valid, &self.record.name);
        let (low, high) = (valid.temperature_min, valid.temperature_max);
        within(Quantity::Temperature, temperature, low, high, model)?;
        within(Quantity::Pressure, pressure, 0.0, valid.pressure_max, model)?;
        Ok(self.isotherm(temperature).at(pressure))
    }

    /// The solid at temperature T (K) and density rho (kg/m3), compressed or at the end of its range; whether it is stable there
    /// is not asked.
    ///
    /// *Valid* and *Uncertainty*: of the record; error 102 for a density that no pressure of its range gives.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let ice = solid.at(194.7, 10e6)?;
    /// assert!((solid.at_density(194.7, ice.density)?.pressure / 10e6 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at_density(&self, temperature: f64, density: f64) -> Result<SolidPoint> {
        let valid = &self.record.valid;
        let (min, max) = (
            self.at(temperature, 0.0)?.density,
            self.at(temperature, valid.pressure_max)?.density,
        );
        within(Quantity::Density, density, min, max, &self.record.name)?;
        let isotherm = self.isotherm(temperature);
        let name = "pressure of the solid at given density";
        let start = valid.pressure_max * (density - min) / (max - min);
        let pressure = newton_bisect(
            name,
            0.0,
            valid.pressure_max,
            start,
            TOLERANCE,
            |pressure| {
                let point = isotherm.at(pressure);
                let slope = point.density * point.isothermal_compressibility;
                Ok((point.density - density, slope))
            },
        )?;
        Ok(SolidPoint {
            density,
            ..isotherm.at(pressure)
        })
    }

    /// Highest pressure in Pa of the equation.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// assert_eq!(solid.at(194.7, 1.1 * solid.pressure_max()).unwrap_err().code(), 102);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure_max(&self) -> f64 {
        self.record.valid.pressure_max
    }

    /// The hottest point of the melting line within the range of the equation, a hair below its highest pressure or at its highest
    /// temperature.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let end = solid.melting_end(fluid.helmholtz()?)?.solid;
    /// assert!(end.pressure <= solid.pressure_max() && end.temperature > 216.6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn melting_end(&self, fluid: &Helmholtz) -> Result<SolidEquilibrium> {
        let valid = &self.record.valid;
        match self.melting_at_pressure(fluid, valid.pressure_max * (1.0 - 1e-11)) {
            Err(Error::NoCoexistence { .. }) => {
                self.melting_unchecked(fluid, valid.temperature_max)
            }
            found => found,
        }
    }

    /// Solid and vapour in equilibrium at temperature T (K): the sublimation pressure.
    ///
    /// *Valid* from the lower limit of the record to the triple point; error 302 outside. The vapour is extrapolated below
    /// the triple point, where it is nearly an ideal gas.
    /// *Source*: equality of the Gibbs energies of solid and vapour.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// // 1 atm at 194.66 K, by equal Gibbs energies.
    /// assert!((solid.sublimation(fluid.helmholtz()?, 194.658)?.solid.pressure / 101_325.0 - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn sublimation(&self, fluid: &Helmholtz, temperature: f64) -> Result<SolidEquilibrium> {
        let [low, high] = self.sublimation_range();
        coexists(Quantity::Temperature, temperature, low, high)?;
        // Clapeyron's equation with the enthalpy of sublimation of the triple point starts the search.
        let exponent =
            self.sublimation_steepness * (1.0 / temperature - 1.0 / self.triple.temperature);
        let start = self.triple.vapour_density * (-exponent).exp();
        let margin = (0.1 + 0.1 * exponent).exp();
        let bracket = [start / margin, start * margin];
        self.equilibrium(&fluid.isotherm(temperature), bracket, start)
    }

    /// Solid and liquid in equilibrium at temperature T (K): the melting pressure.
    ///
    /// *Valid* from the triple point up to the limits of the record in temperature and pressure; error 302 or 102 outside.
    /// *Source*: equality of the Gibbs energies of solid and liquid.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let both = solid.melting(fluid.helmholtz()?, 220.0)?;
    /// // Carbon dioxide expands as it melts.
    /// assert!(both.solid.density > both.fluid_density && both.solid.pressure > 10e6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn melting(&self, fluid: &Helmholtz, temperature: f64) -> Result<SolidEquilibrium> {
        let [low, high] = self.melting_range();
        coexists(Quantity::Temperature, temperature, low, high)?;
        let found = self.melting_unchecked(fluid, temperature)?;
        let valid = &self.record.valid;
        let pressure = found.solid.pressure;
        within(
            Quantity::Pressure,
            pressure,
            0.0,
            valid.pressure_max,
            &self.record.name,
        )?;
        Ok(found)
    }

    /// Solid and vapour in equilibrium at pressure p (Pa): the sublimation temperature. Error 302 outside the line.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// assert!((solid.sublimation_at_pressure(fluid.helmholtz()?, 101_325.0)?.solid.temperature - 194.658).abs() < 2e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn sublimation_at_pressure(
        &self,
        fluid: &Helmholtz,
        pressure: f64,
    ) -> Result<SolidEquilibrium> {
        let steps = (pressure / self.triple.pressure).ln() / self.sublimation_steepness;
        let start = 1.0 / (1.0 / self.triple.temperature - steps);
        let range = self.sublimation_range();
        at_pressure(fluid, range, start, pressure, |temperature| {
            self.sublimation(fluid, temperature)
        })
    }

    /// Solid and liquid in equilibrium at pressure p (Pa): the melting temperature. Error 302 outside the line.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// # let Some(solid) = fluid.solid() else { return Err(densepath_fluid::Error::Internal { place: "dry ice is known" }) };
    /// let both = solid.melting_at_pressure(fluid.helmholtz()?, 20e6)?;
    /// assert!((solid.melting(fluid.helmholtz()?, both.solid.temperature)?.solid.pressure / 20e6 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn melting_at_pressure(
        &self,
        fluid: &Helmholtz,
        pressure: f64,
    ) -> Result<SolidEquilibrium> {
        let (valid, model) = (&self.record.valid, &self.record.name);
        within(Quantity::Pressure, pressure, 0.0, valid.pressure_max, model)?;
        let range = self.melting_range();
        at_pressure(fluid, range, range[0], pressure, |temperature| {
            self.melting_unchecked(fluid, temperature)
        })
    }

    fn sublimation_range(&self) -> [f64; 2] {
        [self.record.valid.temperature_min, self.triple.temperature]
    }

    fn melting_range(&self) -> [f64; 2] {
        [self.triple.temperature, self.record.valid.temperature_max]
    }

    fn melting_unchecked(&self, fluid: &Helmholtz, temperature: f64) -> Result<SolidEquilibrium> {
        let bracket = MELTING_DENSITY.map(|factor| factor * self.triple.liquid_density);
        let start = self.triple.liquid_density;
        self.equilibrium(&fluid.isotherm(temperature), bracket, start)
    }

    /// The density of the fluid at which its Gibbs energy is that of the solid at the same pressure.
    fn equilibrium(
        &self,
        fluid: &Isotherm,
        [low, high]: [f64; 2],
        start: f64,
    ) -> Result<SolidEquilibrium> {
        let solid = self.isotherm(fluid.temperature());
        let ideal = fluid.ideal().value + 1.0;
        let difference = |density: f64| {
            let point = fluid.pressure(density);
            let gibbs = fluid.thermal_energy() * (ideal + point.potential);
            let solid = solid.at(point.pressure);
            let slope = (1.0 / density - 1.0 / solid.density) * point.dp_drho;
            Ok((gibbs - solid.specific_gibbs_energy, slope))
        };
        let name = "equilibrium of solid and fluid";
        let density = newton_bisect(name, low, high, start, TOLERANCE, difference)?;
        Ok(SolidEquilibrium {
            solid: solid.at(fluid.pressure(density).pressure),
            fluid_density: density,
        })
    }

    /// The equation at one temperature in K, with all that depends on temperature alone computed once.
    fn isotherm(&self, temperature: f64) -> SolidIsotherm<'_> {
        let record = &self.record;
        let theta = temperature / record.temperature_reference;
        SolidIsotherm {
            solid: self,
            temperature,
            caloric: caloric(&record.g, theta),
            expansion: expansion(&record.g_alpha, theta).exp(),
            stiffness: stiffness(&record.g_kappa, theta),
        }
    }
}

/// The temperature at which `line` has a pressure, by Newton's method with the slope of Clapeyron.
fn at_pressure(
    fluid: &Helmholtz,
    [low, high]: [f64; 2],
    start: f64,
    pressure: f64,
    line: impl Fn(f64) -> Result<SolidEquilibrium>,
) -> Result<SolidEquilibrium> {
    let (min, max) = (line(low)?.solid.pressure, line(high)?.solid.pressure);
    coexists(Quantity::Pressure, pressure, min, max)?;
    let residual = |temperature: f64| {
        let found = line(temperature)?;
        let entropy = fluid
            .isotherm(temperature)
            .specific_entropy(found.fluid_density);
        let slope = (entropy - found.solid.specific_entropy)
            / (1.0 / found.fluid_density - 1.0 / found.solid.density);
        let p = found.solid.pressure;
        Ok(((p / pressure).ln(), slope / p))
    };
    let name = "temperature of solid and fluid at given pressure";
    line(newton_bisect(name, low, high, start, TOLERANCE, residual)?)
}

/// Error 302 unless `min <= value <= max`.
fn coexists(quantity: Quantity, value: f64, min: f64, max: f64) -> Result<()> {
    if (min..=max).contains(&value) {
        Ok(())
    } else {
        Err(Error::NoCoexistence {
            quantity,
            value,
            min,
            max,
        })
    }
}

/// A function of the reduced temperature theta with its first two derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Jet {
    value: f64,
    first: f64,
    second: f64,
}

impl Jet {
    const ZERO: Self = Self {
        value: 0.0,
        first: 0.0,
        second: 0.0,
    };

    /// `self + factor * other`.
    fn plus(self, factor: f64, other: Self) -> Self {
        Self {
            value: self.value + factor * other.value,
            first: self.first + factor * other.first,
            second: self.second + factor * other.second,
        }
    }

    /// `exp(self)`.
    fn exp(self) -> Self {
        let value = self.value.exp();
        Self {
            value,
            first: value * self.first,
            second: value * (self.second + self.first * self.first),
        }
    }

    /// `ln(x^2 + b x + c) - ln(1 + b + c)`.
    fn ln_quadratic(x: f64, b: f64, c: f64) -> Self {
        let (q, slope) = (x * x + b * x + c, 2.0 * x + b);
        Self {
            value: (q / (1.0 + b + c)).ln(),
            first: slope / q,
            second: (2.0 - slope * slope / q) / q,
        }
    }

    /// `atan((x + a)/b) - atan((1 + a)/b)`.
    fn arc(x: f64, a: f64, b: f64) -> Self {
        let u = (x + a) / b;
        let bell = 1.0 / (1.0 + u * u);
        Self {
            value: u.atan() - ((1.0 + a) / b).atan(),
            first: bell / b,
            second: -2.0 * u * bell * bell / (b * b),
        }
    }

    /// `ln((x^2 + a^2)/(1 + a^2)) - 2 x/a (atan(x/a) - atan(1/a))`, the caloric term of the equation.
    fn oscillator(x: f64, a: f64) -> Self {
        let arc = (x / a).atan() - (1.0 / a).atan();
        let q = x * x + a * a;
        Self {
            value: (q / (1.0 + a * a)).ln() - 2.0 * x / a * arc,
            first: -2.0 / a * arc,
            second: -2.0 / q,
        }
    }
}

/// Part of the reduced Gibbs energy at the reference pressure, with g_0 to g_6.
fn caloric(g: &[f64; 11], theta: f64) -> Jet {
    let x = theta - 1.0;
    let polynomial = Jet {
        value: g[0] + x * (g[1] + x * g[2]),
        first: g[1] + 2.0 * g[2] * x,
        second: 2.0 * g[2],
    };
    polynomial
        .plus(g[3], Jet::oscillator(theta, g[4]))
        .plus(g[5], Jet::oscillator(theta, g[6]))
}

/// Thermal expansion `f_alpha`.
fn expansion(g: &[f64; 9], theta: f64) -> Jet {
    let square = Jet {
        value: theta * theta - 1.0,
        first: 2.0 * theta,
        second: 2.0,
    };
    Jet::ZERO
        .plus(g[0], square)
        .plus(g[1], Jet::ln_quadratic(theta, -g[2], g[3]))
        .plus(g[4], Jet::ln_quadratic(theta, g[2], g[3]))
        .plus(g[5], Jet::arc(theta, -g[6], g[7]))
        .plus(g[8], Jet::arc(theta, g[6], g[7]))
}

/// Stiffness K of the solid.
fn stiffness(g: &[f64; 3], theta: f64) -> Jet {
    Jet {
        value: g[2] + theta * (g[1] + theta * g[0]),
        first: g[1] + 2.0 * g[0] * theta,
        second: 2.0 * g[0],
    }
}

/// The Gibbs energy of the solid at fixed temperature.
#[derive(Debug, Clone, Copy)]
struct SolidIsotherm<'a> {
    solid: &'a Solid,
    temperature: f64,
    caloric: Jet,
    expansion: Jet,
    stiffness: Jet,
}

impl SolidIsotherm<'_> {
    /// All properties at a pressure in Pa: the reduced Gibbs energy and its derivatives in theta and pi.
    fn at(&self, pressure: f64) -> SolidPoint {
        let (solid, record) = (self.solid, &self.solid.record);
        let (g, m) = (&record.g, 1.0 - 1.0 / record.n);
        let pi = pressure / record.pressure_reference;
        let root = (pi + g[10]).powf(m);
        let power = root - (1.0 + g[10]).powf(m);
        let power_1 = m * root / (pi + g[10]);
        let power_2 = (m - 1.0) * power_1 / (pi + g[10]);

        let compliance = self.expansion.plus(g[8], self.stiffness);
        let energy = self
            .caloric
            .plus(g[7] * (pi - 1.0), compliance)
            .plus(g[9] * power, self.stiffness);
        let volume = Jet::ZERO
            .plus(g[7], compliance)
            .plus(g[9] * power_1, self.stiffness);
        let bend = g[9] * power_2 * self.stiffness.value;

        let r = solid.specific_gas_constant;
        let theta = self.temperature / record.temperature_reference;
        let thermal = r * record.temperature_reference;
        let warming = self.temperature - solid.triple.temperature;
        SolidPoint {
            temperature: self.temperature,
            pressure,
            density: record.pressure_reference / (thermal * volume.value),
            specific_gibbs_energy: thermal * energy.value + solid.gibbs_shift
                - solid.entropy_shift * warming,
            specific_entropy: -r * energy.first + solid.entropy_shift,
            specific_isobaric_heat_capacity: -r * theta * energy.second,
            isobaric_expansivity: volume.first / (volume.value * record.temperature_reference),
            isothermal_compressibility: -bend / (volume.value * record.pressure_reference),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::lines::Line;
    use crate::fluids::{self, FluidRecord};
    use proptest::prelude::*;

    fn co2() -> &'static FluidRecord {
        fluids::record(fluids::find("carbon dioxide").unwrap()).unwrap()
    }

    fn phases() -> (Solid, Helmholtz) {
        let record = co2();
        let state = record.reference_equation().unwrap();
        let fluid = Helmholtz::new(state);
        let found = fluid
            .coexistence_at_temperature(state.triple_point.temperature)
            .unwrap();
        let triple = TriplePoint {
            temperature: found.temperature,
            pressure: found.pressure,
            liquid_density: found.liquid_density,
            vapour_density: found.vapour_density,
        };
        let solid = Solid::new(
            record.solid.as_ref().unwrap(),
            state.molar_mass,
            &fluid,
            triple,
        );
        (solid, fluid)
    }

    /// Jäger, Span, J. Chem. Eng. Data 57, 590 (2012), doi 10.1021/je2011677, table 5, at 216.592 K and 517950 Pa in the
    /// paper's own zero.
    #[test]
    fn agrees_with_the_published_check_values() {
        let (solid, _) = phases();
        let molar_mass = co2().reference_equation().unwrap().molar_mass;
        let own = Solid {
            gibbs_shift: 0.0,
            entropy_shift: 0.0,
            ..solid
        };
        let point = own.at(216.592, 517950.0).unwrap();
        for (value, expected, half_digit) in [
            (point.specific_gibbs_energy * molar_mass, -1447.007522, 5e-7),
            (molar_mass / point.density, 2.848595255e-5, 5e-15),
            (point.specific_entropy * molar_mass, -18.03247012, 5e-9),
            (
                point.specific_isobaric_heat_capacity * molar_mass,
                59.13420271,
                5e-9,
            ),
            (point.isobaric_expansivity, 8.127788321e-4, 5e-14),
            (point.isothermal_compressibility, 2.813585169e-10, 5e-20),
        ] {
            assert!((value - expected).abs() <= half_digit, "{value} {expected}");
        }
    }

    /// Jäger and Span 2012: equal Gibbs energies and 8875 J/mol between liquid and solid at the triple point.
    #[test]
    fn the_zero_is_that_of_the_fluid() {
        let (solid, fluid) = phases();
        let triple = solid.triple_point();
        let point = solid.at(triple.temperature, triple.pressure).unwrap();
        let liquid = fluid.isotherm(triple.temperature);
        let vapour_gibbs = liquid.specific_gibbs_energy(triple.vapour_density);
        let liquid_gibbs = liquid.specific_gibbs_energy(triple.liquid_density);
        assert!((point.specific_gibbs_energy - liquid_gibbs).abs() < 1e-8);
        assert!((point.specific_gibbs_energy - vapour_gibbs).abs() < 1e-7);
        let fusion = liquid.specific_enthalpy(triple.liquid_density) - point.specific_enthalpy();
        assert!((fusion * co2().reference_equation().unwrap().molar_mass - 8875.0).abs() < 1e-8);
    }

    /// Independent computation with CoolProp 8.0.0 for the vapour and liquid: T in K, p in Pa; deviation from the auxiliary
    /// line in percent as stated in the module of the lines.
    #[test]
    fn sublimation_and_melting_agree_with_an_independent_computation() {
        let (solid, fluid) = phases();
        let line = Line::sublimation(co2().sublimation_line.as_ref().unwrap());
        for (temperature, expected, deviation) in [
            (150.0, 852.8375, 1.2094),
            (160.0, 3166.1148, 0.5899),
            (170.0, 10003.3341, 0.4308),
            (180.0, 27666.7615, 0.3981),
            (185.0, 44095.3332, 0.3653),
            (190.0, 68551.0252, 0.3052),
            (194.686, 101555.7945, 0.2234),
            (200.0, 155202.7535, 0.1106),
            (205.0, 227038.8648, 0.0069),
            (210.0, 326898.0083, -0.0585),
            (216.592, 517964.3433, 0.0028),
        ] {
            let p = solid
                .sublimation(&fluid, temperature)
                .unwrap()
                .solid
                .pressure;
            assert!((p / expected - 1.0).abs() < 1e-7, "{temperature} {p}");
            let apart = 100.0 * (p / line.pressure(temperature).unwrap() - 1.0);
            assert!((apart - deviation).abs() < 1e-4, "{temperature} {apart}");
        }
        let line = Line::melting(co2().melting_line.as_ref().unwrap());
        for (temperature, expected, deviation) in [
            (217.0, 2410005.640, -0.8106),
            (220.0, 16617553.447, -0.6050),
            (225.0, 41387035.907, -0.1314),
            (230.0, 67420875.600, 0.1811),
            (240.0, 122973045.356, 0.4534),
            (260.0, 246803832.706, 0.2157),
            (280.0, 386409824.929, -0.4823),
            (290.0, 461806020.342, -0.9203),
        ] {
            let p = solid.melting(&fluid, temperature).unwrap().solid.pressure;
            assert!((p / expected - 1.0).abs() < 1e-7, "{temperature} {p}");
            let apart = 100.0 * (p / line.pressure(temperature).unwrap() - 1.0);
            assert!((apart - deviation).abs() < 1e-4, "{temperature} {apart}");
        }
    }

    /// 194.686 K: Span and Wagner 1996 at 101325 Pa. Enthalpy of sublimation there, calorimetric: 25230 J/mol (Giauque,
    /// Egan, J. Chem. Phys. 5, 45 (1937), doi 10.1063/1.1749929, from memory).
    #[test]
    fn the_normal_sublimation_point_is_near_the_measured_one() {
        let (solid, fluid) = phases();
        let found = solid.sublimation_at_pressure(&fluid, 101325.0).unwrap();
        assert!(
            (found.solid.temperature - 194.658).abs() < 5e-4,
            "{}",
            found.solid.temperature
        );
        assert!((found.solid.pressure / 101325.0 - 1.0).abs() < 1e-12);
        let vapour = fluid.isotherm(found.solid.temperature);
        let heat = vapour.specific_enthalpy(found.fluid_density) - found.solid.specific_enthalpy();
        assert!((heat - 572.9e3).abs() < 50.0, "{heat}");
        assert!(
            (heat * co2().reference_equation().unwrap().molar_mass / 25230.0 - 1.0).abs() < 1e-3
        );
    }

    #[test]
    fn lines_invert_and_refuse() {
        let (solid, fluid) = phases();
        for temperature in [80.0, 120.0, 200.0, 216.5, 216.592] {
            let p = solid
                .sublimation(&fluid, temperature)
                .unwrap()
                .solid
                .pressure;
            let back = solid.sublimation_at_pressure(&fluid, p).unwrap();
            assert!((back.solid.temperature / temperature - 1.0).abs() < 1e-11);
        }
        for temperature in [216.592, 216.593, 230.0, 290.0] {
            let p = solid.melting(&fluid, temperature).unwrap().solid.pressure;
            let back = solid.melting_at_pressure(&fluid, p).unwrap();
            assert!((back.solid.temperature / temperature - 1.0).abs() < 1e-11);
        }
        assert_eq!(solid.sublimation(&fluid, 217.0).unwrap_err().code(), 302);
        assert_eq!(solid.melting(&fluid, 200.0).unwrap_err().code(), 302);
        assert_eq!(solid.melting(&fluid, 299.0).unwrap_err().code(), 102);
        assert_eq!(
            solid.melting_at_pressure(&fluid, 6e8).unwrap_err().code(),
            102
        );
        assert_eq!(
            solid
                .sublimation_at_pressure(&fluid, 6e5)
                .unwrap_err()
                .code(),
            302
        );
        assert_eq!(solid.at(f64::NAN, 1e5).unwrap_err().code(), 101);
        assert_eq!(solid.at(200.0, -1e5).unwrap_err().code(), 102);
    }

    proptest! {
        /// `v = (dg/dp)_T`, `s = -(dg/dT)_p`, `c_p = T (ds/dT)_p`, `alpha v = (dv/dT)_p`, `kappa v = -(dv/dp)_T`.
        #[test]
        fn second_derivatives_are_those_of_the_gibbs_energy(temperature in 85.0..295.0f64, pressure in 1e6..4.9e8f64) {
            let (solid, _) = phases();
            let at = |t, p| solid.at(t, p).unwrap();
            let (dt, dp) = (1e-3 * temperature, 5e5);
            let (warm, cold) = (at(temperature + dt, pressure), at(temperature - dt, pressure));
            let (high, low) = (at(temperature, pressure + dp), at(temperature, pressure - dp));
            let here = at(temperature, pressure);
            let g_t = (warm.specific_gibbs_energy - cold.specific_gibbs_energy) / (2.0 * dt);
            let g_p = (high.specific_gibbs_energy - low.specific_gibbs_energy) / (2.0 * dp);
            let s_t = (warm.specific_entropy - cold.specific_entropy) / (2.0 * dt);
            let v_t = (1.0 / warm.density - 1.0 / cold.density) / (2.0 * dt);
            let v_p = (1.0 / high.density - 1.0 / low.density) / (2.0 * dp);
            let s_p = (high.specific_entropy - low.specific_entropy) / (2.0 * dp);
            prop_assert!((g_t + here.specific_entropy).abs() < 1e-2);
            prop_assert!((g_p * here.density - 1.0).abs() < 1e-6);
            prop_assert!((temperature * s_t / here.specific_isobaric_heat_capacity - 1.0).abs() < 1e-4);
            prop_assert!((v_t * here.density / here.isobaric_expansivity - 1.0).abs() < 1e-4);
            prop_assert!((-v_p * here.density / here.isothermal_compressibility - 1.0).abs() < 1e-5);
            prop_assert!((s_p / -v_t - 1.0).abs() < 1e-4);
        }
    }

    #[test]
    fn the_derivatives_of_the_pressure_are_those_of_its_differences() {
        let (solid, _) = phases();
        let here = solid.at(190.0, 1e6).unwrap();
        let rise = |temperature: f64, density: f64| {
            solid.at_density(temperature, density).unwrap().pressure - here.pressure
        };
        let (warmer, denser) = (1e-4, 1e-7 * here.density);
        let by_temperature = rise(here.temperature + warmer, here.density) / warmer;
        let by_density = rise(here.temperature, here.density + denser) / denser;
        assert!((by_temperature / here.dp_dt_rho() - 1.0).abs() < 1e-4);
        assert!((by_density / here.dp_drho_t() - 1.0).abs() < 1e-4);
    }
}
