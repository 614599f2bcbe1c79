//! The handle of a substance that all its states share.

use std::sync::{Arc, OnceLock};

use super::Saturation;
use super::pure::{Pure, Substance};
use crate::eos::solid::Solid;
use crate::eos::{Coexistence, Helmholtz};
use crate::error::{Error, Result};
use crate::fluids::record::Range;
use crate::fluids::{self, FluidRecord};
use crate::quantity::Quantity;

/// A fluid with its equation of state; cheap to copy and safe to share between threads.
#[derive(Debug, Clone)]
pub struct Fluid {
    substance: Arc<Substance>,
    /// Whether models may be asked beyond their ranges.
    extrapolating: bool,
}

/// How far beyond its highest temperature a model may be asked by a fluid that extrapolates (common practice, no source).
const TEMPERATURE_BEYOND: f64 = 1.5;
/// How far beyond its highest pressure.
const PRESSURE_BEYOND: f64 = 10.0;

/// The critical point of an equation of state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CriticalPoint {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
}

/// Every substance of the library.
///
/// Error 901 if a data file of the library cannot be read, which the tests exclude.
pub fn substances() -> Result<&'static [Fluid]> {
    static SUBSTANCES: OnceLock<Result<Vec<Fluid>>> = OnceLock::new();
    let known = SUBSTANCES.get_or_init(|| (0..fluids::count()).map(Fluid::at).collect());
    known.as_deref().map_err(Clone::clone)
}

impl Fluid {
    /// The substance called `name`: its name in words, a trade name or its formula, in any case.
    ///
    /// Error 201 names the nearest known substance.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// assert_eq!(Fluid::new("CO2")?.name(), "carbon dioxide");
    /// assert_eq!(Fluid::new("carbon dioxid").unwrap_err().code(), 201);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(name: &str) -> Result<Self> {
        Self::at(fluids::find(name)?)
    }

    /// The substance of a record.
    fn at(index: usize) -> Result<Self> {
        Ok(Self {
            substance: substance(index)?,
            extrapolating: false,
        })
    }

    /// The reference equation, where the states follow that of one substance.
    #[allow(clippy::unnecessary_wraps, reason = "mixtures will have none")]
    pub(crate) fn pure(&self) -> Option<Pure<'_>> {
        Some(Pure {
            handle: self,
            substance: &self.substance,
        })
    }

    /// As [`Fluid::pure`]; error 202 that names what is needed where there is none.
    pub(crate) fn pure_for(&self, property: Quantity, need: &'static str) -> Result<Pure<'_>> {
        self.pure().ok_or_else(|| Error::MissingModel {
            property,
            fluid: self.name().to_owned(),
            need,
        })
    }

    /// As [`Fluid::pure`]; error 202 where there is none.
    pub(super) fn reference(&self) -> Result<Pure<'_>> {
        self.pure_for(
            Quantity::Density,
            "it follows no reference equation of one substance",
        )
    }

    /// The same fluid, whose models may be asked beyond their ranges: up to one and a half times the highest temperature and ten
    /// times the highest pressure of each. What they say there is told by a notice of the state and has no uncertainty.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, NoticeCode, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// assert_eq!(State::from_tp(&co2, 1200.0, 1e6).unwrap_err().code(), 102);
    /// let hot = State::from_tp(&co2.extrapolating(), 1200.0, 1e6)?;
    /// assert_eq!(hot.notices()[0].code, NoticeCode::Extrapolated);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    #[must_use]
    pub fn extrapolating(&self) -> Self {
        Self {
            extrapolating: true,
            ..self.clone()
        }
    }

    /// Whether its models may be asked beyond their ranges.
    pub fn is_extrapolating(&self) -> bool {
        self.extrapolating
    }

    /// The range in which a model may be asked: that which its authors state, or a wider one for a fluid that extrapolates.
    pub(crate) fn admitted(&self, stated: Range) -> Range {
        if !self.extrapolating {
            return stated;
        }
        Range {
            temperature_max: TEMPERATURE_BEYOND * stated.temperature_max,
            pressure_max: PRESSURE_BEYOND * stated.pressure_max,
            ..stated
        }
    }

    /// Name in words.
    pub fn name(&self) -> &str {
        &self.substance.record().name
    }

    /// Name of the equation of state, with author and year.
    pub fn model(&self) -> &str {
        self.substance.model()
    }

    /// Where the equation of state was published.
    pub fn source(&self) -> String {
        self.substance.equation().source.to_string()
    }

    /// A text with everything that the numbers of the fluid depend on: another one as soon as a coefficient differs.
    pub fn fingerprint(&self) -> String {
        format!("{} {:?}", self.extrapolating, self.substance.record())
    }

    /// The data record of the substance, with the source of every coefficient; error 202 for a mixture.
    pub fn record(&self) -> Result<&'static FluidRecord> {
        let need = "a mixture has no record of its own: ask its substances";
        Ok(self.pure_for(Quantity::AmountFraction, need)?.record())
    }

    /// The reference equation of the substance on plain numbers; error 202 where the states follow none.
    pub fn helmholtz(&self) -> Result<&Helmholtz> {
        Ok(self.reference()?.substance.helmholtz())
    }

    /// The solid, where its equation is known.
    pub fn solid(&self) -> Option<&Solid> {
        self.substance.solid()
    }

    /// Pressure in Pa above which the solid is stable at a temperature in K: that of melting, or of sublimation below the triple
    /// point; infinite where neither line is known.
    ///
    /// That of melting is never below the triple point of the equation of state, which lies a few pascals above that of the line, so that the
    /// boiling liquid of the triple point is a fluid.
    pub fn melting_pressure(&self, temperature: f64) -> f64 {
        self.pure().map_or(f64::INFINITY, |pure| {
            pure.substance.melting_pressure(temperature)
        })
    }

    /// Whether the equation takes a mixture for one substance: right in one phase, without meaning where there are two.
    pub fn is_pseudo_pure(&self) -> bool {
        self.pure().is_some_and(|pure| pure.is_pseudo_pure())
    }

    /// Pressures in Pa of the bubble and the dew point at a temperature in K of a mixture that its equation takes for one
    /// substance; nothing for a substance, and above the temperature where both lines end.
    ///
    /// *Source*: of the record; for air Lemmon et al., J. Phys. Chem. Ref. Data 29, 331 (2000), doi 10.1063/1.1285884.
    pub fn bubble_and_dew_pressure(&self, temperature: f64) -> Option<(f64, f64)> {
        self.pure()?.bubble_and_dew_pressure(temperature)
    }

    /// Molar mass M in kg/mol.
    pub fn molar_mass(&self) -> f64 {
        self.substance.equation().molar_mass
    }

    /// Specific gas constant R/M in J/(kg K) of the equation of state.
    pub fn specific_gas_constant(&self) -> f64 {
        self.substance.helmholtz().specific_gas_constant
    }

    /// Critical point of the equation of state.
    pub fn critical_point(&self) -> Result<CriticalPoint> {
        let equation = self.substance.equation();
        let point = &equation.critical_point;
        Ok(CriticalPoint {
            temperature: point.temperature,
            pressure: point.pressure,
            density: point.molar_density * equation.molar_mass,
        })
    }

    /// Temperature of the triple point in K; error 202 for a mixture.
    pub fn triple_temperature(&self) -> Result<f64> {
        let need = "a mixture has no triple point";
        let pure = self.pure_for(Quantity::Temperature, need)?;
        Ok(pure.triple_temperature())
    }

    /// Highest temperature in K at which liquid and vapour coexist: the top of the dome of the equation, which lies in the
    /// last digits beside the critical point stated; error 202 for a mixture.
    pub fn saturation_temperature_max(&self) -> Result<f64> {
        let pure = self.pure_for(Quantity::Temperature, NO_SATURATION)?;
        Ok(pure.helmholtz().dome_top.temperature)
    }

    /// Range of the equation of state stated by its authors.
    pub fn range(&self) -> Range {
        self.substance.range()
    }

    /// Liquid and vapour in equilibrium at a temperature T in K.
    ///
    /// *Valid* from the triple point to the critical point; error 302 outside. Error 202 for a mixture.
    pub fn saturation_at_temperature(&self, temperature: f64) -> Result<Saturation> {
        let pure = self.pure_for(Quantity::VapourFraction, NO_SATURATION)?;
        Ok(pure.saturation(&pure.coexistence_at_temperature(temperature)?))
    }

    /// Liquid and vapour in equilibrium at a pressure p in Pa.
    ///
    /// *Valid* from the triple point to the critical point; error 302 outside. Error 202 for a mixture.
    pub fn saturation_at_pressure(&self, pressure: f64) -> Result<Saturation> {
        let pure = self.pure_for(Quantity::VapourFraction, NO_SATURATION)?;
        Ok(pure.saturation(&pure.coexistence_at_pressure(pressure)?))
    }

    /// Densities and pressure of liquid and vapour in equilibrium at a temperature in K.
    pub fn coexistence_at_temperature(&self, temperature: f64) -> Result<Coexistence> {
        self.pure_for(Quantity::VapourFraction, NO_SATURATION)?
            .coexistence_at_temperature(temperature)
    }

    /// Densities and temperature of liquid and vapour in equilibrium at a pressure in Pa.
    pub fn coexistence_at_pressure(&self, pressure: f64) -> Result<Coexistence> {
        self.pure_for(Quantity::VapourFraction, NO_SATURATION)?
            .coexistence_at_pressure(pressure)
    }
}

/// Why a mixture has no saturation.
const NO_SATURATION: &str = "liquid and vapour of a mixture differ in composition: ask for its bubble point or its dew point";

/// The substance of a record; every call with the same index shares one model. Error 202 for one without reference equation.
fn substance(index: usize) -> Result<Arc<Substance>> {
    static SUBSTANCES: [OnceLock<Arc<Substance>>; fluids::count()] =
        [const { OnceLock::new() }; fluids::count()];
    let record = fluids::record(index)?;
    let equation = record.reference_equation()?;
    let place = SUBSTANCES.get(index).ok_or(Error::Internal {
        place: "the index of the substances",
    })?;
    Ok(place
        .get_or_init(|| Arc::new(Substance::new(record, equation)))
        .clone())
}

impl PartialEq for Fluid {
    fn eq(&self, other: &Self) -> bool {
        let same = || self.substance.record() == other.substance.record();
        self.extrapolating == other.extrapolating
            && (Arc::ptr_eq(&self.substance, &other.substance) || same())
    }
}
