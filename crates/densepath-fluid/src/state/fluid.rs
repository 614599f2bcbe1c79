//! The handle of a substance that all its states share.

use std::sync::{Arc, OnceLock};

use super::{Saturation, State};
use crate::eos::lines::{BubbleAndDew, Line};
use crate::eos::solid::{Solid, TriplePoint};
use crate::eos::{Coexistence, Helmholtz};
use crate::error::{Error, Result, finite};
use crate::fluids::record::Range;
use crate::fluids::{self, FluidRecord};
use crate::num::root::{Tolerance, bracketed};
use crate::quantity::Quantity;

/// A substance with its equation of state; cheap to copy and safe to share between threads.
#[derive(Debug, Clone)]
pub struct Fluid {
    model: Arc<Model>,
}

#[derive(Debug)]
struct Model {
    record: &'static FluidRecord,
    helmholtz: Helmholtz,
    solid: Option<Solid>,
    /// Whether the highest pressure is beyond the highest density at the lowest temperature, far inside the solid.
    ends_at_melting: bool,
}

impl Model {
    fn new(record: &'static FluidRecord) -> Self {
        let helmholtz = Helmholtz::new(&record.equation_of_state);
        let solid = record.solid.as_ref().and_then(|solid| {
            let eos = &record.equation_of_state;
            let triple = helmholtz
                .coexistence_at_temperature(eos.triple_point.temperature)
                .ok()?;
            let triple = TriplePoint {
                temperature: triple.temperature,
                pressure: triple.pressure,
                liquid_density: triple.liquid_density,
                vapour_density: triple.vapour_density,
            };
            Some(Solid::new(solid, eos.molar_mass, &helmholtz, triple))
        });
        let range = record.equation_of_state.valid;
        let coldest = helmholtz.isotherm(range.temperature_min);
        let ends_at_melting = coldest.pressure(helmholtz.density_max).pressure < range.pressure_max;
        Self {
            record,
            helmholtz,
            solid,
            ends_at_melting,
        }
    }
}

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

    /// The substance of a record; every call with the same index shares one model.
    fn at(index: usize) -> Result<Self> {
        static MODELS: [OnceLock<Arc<Model>>; fluids::count()] =
            [const { OnceLock::new() }; fluids::count()];
        let record = fluids::record(index)?;
        let model = MODELS.get(index).ok_or(Error::Internal {
            place: "the index of the substances",
        })?;
        Ok(Self {
            model: model.get_or_init(|| Arc::new(Model::new(record))).clone(),
        })
    }

    /// Name in words.
    pub fn name(&self) -> &str {
        &self.model.record.name
    }

    /// Name of the equation of state, with author and year.
    pub fn model(&self) -> &str {
        &self.model.record.equation_of_state.name
    }

    /// The data record, with the source of every coefficient.
    pub fn record(&self) -> &'static FluidRecord {
        self.model.record
    }

    /// The equation of state on plain numbers.
    pub fn helmholtz(&self) -> &Helmholtz {
        &self.model.helmholtz
    }

    /// The solid, where its equation is known.
    pub fn solid(&self) -> Option<&Solid> {
        self.model.solid.as_ref()
    }

    /// Pressure in Pa above which the solid is stable at a temperature in K; infinite where no melting line is known there.
    ///
    /// Never below the triple point of the equation of state, which lies a few pascals above that of the line, so that the
    /// boiling liquid of the triple point is a fluid.
    pub fn melting_pressure(&self, temperature: f64) -> f64 {
        let line = self.model.record.melting_line.as_ref();
        let triple = self
            .solid()
            .map_or(0.0, |solid| solid.triple_point().pressure);
        line.and_then(|line| Line::melting(line).pressure(temperature).ok())
            .map_or(f64::INFINITY, |pressure| pressure.max(triple))
    }

    /// Error 303 if the solid is the stable phase at a temperature in K and a pressure in Pa.
    pub(super) fn refuse_solid(&self, temperature: f64, pressure: f64) -> Result<()> {
        let limit = self.melting_pressure(temperature);
        if pressure <= limit {
            return Ok(());
        }
        Err(Error::Solid {
            temperature,
            pressure,
            limit,
        })
    }

    /// Lowest temperature in K at which the liquid is sought at a pressure in Pa: that of the range, or the melting
    /// temperature, if the equation does not carry the liquid beyond it.
    pub(super) fn coldest(&self, pressure: f64) -> Result<f64> {
        let lowest = self.range().temperature_min;
        match &self.model.record.melting_line {
            Some(line)
                if self.model.ends_at_melting && pressure > self.melting_pressure(lowest) =>
            {
                Line::melting(line).temperature(pressure)
            }
            _ => Ok(lowest),
        }
    }

    /// As [`Fluid::coldest`], at a density in kg/m3.
    pub(super) fn coldest_at_density(&self, density: f64) -> Result<f64> {
        let lowest = self.range().temperature_min;
        let line = self.model.record.melting_line.as_ref();
        let Some(line) = line.filter(|_| self.model.ends_at_melting) else {
            return Ok(lowest);
        };
        let excess = |temperature| {
            let isotherm = self.helmholtz().isotherm(temperature);
            let melting = Line::melting(line).pressure(temperature)?;
            Ok(isotherm.pressure(density).pressure - melting)
        };
        if excess(lowest)? <= 0.0 {
            return Ok(lowest);
        }
        bracketed(
            "melting temperature at given density",
            lowest,
            line.valid.temperature_max,
            Tolerance::default(),
            excess,
        )
    }

    /// Whether the equation takes a mixture for one substance: right in one phase, without meaning where there are two.
    pub fn is_mixture(&self) -> bool {
        self.bubble_and_dew_lines().is_some()
    }

    fn bubble_and_dew_lines(&self) -> Option<BubbleAndDew<'_>> {
        let record = &self.model.record.equation_of_state;
        record.bubble_and_dew_lines.as_ref().map(BubbleAndDew::new)
    }

    /// Pressures in Pa of the bubble and the dew point at a temperature in K of a mixture that its equation takes for one
    /// substance; nothing for a substance, and above the temperature where both lines end.
    ///
    /// *Source*: of the record; for air Lemmon et al., J. Phys. Chem. Ref. Data 29, 331 (2000), doi 10.1063/1.1285884.
    pub fn bubble_and_dew_pressure(&self, temperature: f64) -> Option<(f64, f64)> {
        self.bubble_and_dew_lines()?.pressures(temperature)
    }

    /// Temperatures in K of the bubble and the dew point at a pressure in Pa; nothing where there are none.
    pub(super) fn bubble_and_dew_temperature(&self, pressure: f64) -> Result<Option<(f64, f64)>> {
        match self.bubble_and_dew_lines() {
            Some(lines) => lines.temperatures(self.range().temperature_min, pressure),
            None => Ok(None),
        }
    }

    /// Error 202 between the bubble and the dew line of a mixture taken for one substance.
    pub(super) fn refuse_between_bubble_and_dew(
        &self,
        temperature: f64,
        pressure: f64,
    ) -> Result<()> {
        match self.bubble_and_dew_pressure(temperature) {
            Some((bubble, dew)) if pressure < bubble && pressure > dew => Err(self.no_phases()),
            _ => Ok(()),
        }
    }

    /// The error of asking a mixture taken for one substance for its phases.
    pub(super) fn no_phases(&self) -> Error {
        Error::MissingModel {
            property: Quantity::VapourFraction,
            fluid: self.name().to_owned(),
            need: "its equation takes a mixture for one substance and knows nothing between its bubble and its dew line",
        }
    }

    /// Molar mass M in kg/mol.
    pub fn molar_mass(&self) -> f64 {
        self.model.record.equation_of_state.molar_mass
    }

    /// Critical point of the equation of state.
    pub fn critical_point(&self) -> CriticalPoint {
        let point = &self.model.record.equation_of_state.critical_point;
        CriticalPoint {
            temperature: point.temperature,
            pressure: point.pressure,
            density: point.molar_density * self.molar_mass(),
        }
    }

    /// Temperature of the triple point in K.
    pub fn triple_temperature(&self) -> f64 {
        self.model.record.equation_of_state.triple_point.temperature
    }

    /// Range of the equation of state stated by its authors.
    pub fn range(&self) -> Range {
        self.model.record.equation_of_state.valid
    }

    /// Liquid and vapour in equilibrium at a temperature T in K.
    ///
    /// *Valid* from the triple point to the critical point; error 302 outside. Error 202 for a mixture taken for one substance.
    pub fn saturation_at_temperature(&self, temperature: f64) -> Result<Saturation> {
        Ok(self.saturation(&self.coexistence_at_temperature(temperature)?))
    }

    /// Liquid and vapour in equilibrium at a pressure p in Pa.
    ///
    /// *Valid* from the triple point to the critical point; error 302 outside. Error 202 for a mixture taken for one substance.
    pub fn saturation_at_pressure(&self, pressure: f64) -> Result<Saturation> {
        Ok(self.saturation(&self.coexistence_at_pressure(pressure)?))
    }

    /// Densities and pressure of liquid and vapour in equilibrium at a temperature in K.
    pub fn coexistence_at_temperature(&self, temperature: f64) -> Result<Coexistence> {
        let (min, max) = (
            self.triple_temperature(),
            self.helmholtz().dome_top.temperature,
        );
        finite(Quantity::Temperature, temperature)?;
        if self.is_mixture() {
            return Err(self.no_phases());
        }
        if !(min..max).contains(&temperature) {
            return Err(Error::NoCoexistence {
                quantity: Quantity::Temperature,
                value: temperature,
                min,
                max,
            });
        }
        self.helmholtz().coexistence_at_temperature(temperature)
    }

    /// Densities and temperature of liquid and vapour in equilibrium at a pressure in Pa.
    pub fn coexistence_at_pressure(&self, pressure: f64) -> Result<Coexistence> {
        let top = self.helmholtz().dome_top;
        let triple = self.triple_temperature();
        finite(Quantity::Pressure, pressure)?;
        if self.is_mixture() {
            return Err(self.no_phases());
        }
        let lowest = self.coexistence_at_temperature(triple)?;
        let highest = top.temperature * (1.0 - f64::EPSILON);
        let max = self.helmholtz().isotherm(top.temperature);
        let max = max.pressure(top.density).pressure;
        if !(lowest.pressure..max).contains(&pressure) {
            return Err(Error::NoCoexistence {
                quantity: Quantity::Pressure,
                value: pressure,
                min: lowest.pressure,
                max,
            });
        }
        if pressure == lowest.pressure {
            return Ok(lowest);
        }
        self.helmholtz()
            .coexistence_at_pressure(pressure, triple, highest)
    }

    fn saturation(&self, found: &Coexistence) -> Saturation {
        let (liquid, vapour) = State::coexisting(self, found);
        Saturation {
            temperature: found.temperature,
            pressure: found.pressure,
            liquid,
            vapour,
        }
    }
}

impl PartialEq for Fluid {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.model, &other.model) || self.model.record == other.model.record
    }
}
