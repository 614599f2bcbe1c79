//! A substance with its reference equation: what the states of one substance are computed from.

use crate::num::once::OnceLock;
use core::ops::Deref;

use super::cells::Cells;
use super::transition::Transition;
use super::{Fluid, Phase, Saturation, State};
use crate::eos::lines::{BubbleAndDew, Line};
use crate::eos::solid::{Solid, SolidEquilibrium, TriplePoint};
use crate::eos::{Coexistence, Helmholtz, Prepared};
use crate::error::{Error, Result, finite, within};
use crate::fluids::record::{EquationOfState, Range};
use crate::fluids::{Composition, FluidRecord};
use crate::num::root::{Tolerance, bracketed};
use crate::quantity::Quantity;

/// Relative distance from a border of the solid within which a state counts as lying on it.
const BORDER: f64 = 1e-9;
/// Relative distance between the melting pressure of the auxiliary line and that of equal Gibbs energies, at most: 0.93 % for
/// carbon dioxide, which [`super::over_solid`] holds.
pub(super) const LINES_APART: f64 = 0.02;
/// The same for the melting temperature at a pressure.
const LINES_APART_TEMPERATURE: f64 = 0.004;

/// Pressure in Pa up to which a substance that is warm enough is told to be fluid without its melting line.
const USUAL_PRESSURE: f64 = 100e6;

/// Where the dome of a substance begins and ends.
#[derive(Debug, Clone)]
struct DomeEnds {
    triple: Coexistence,
    /// Pressure at the top in Pa.
    pressure_max: f64,
}

/// A substance with its reference equation, made once from its record.
#[derive(Debug)]
pub(crate) struct Substance {
    record: &'static FluidRecord,
    equation: &'static EquationOfState,
    helmholtz: Helmholtz,
    solid: Option<Solid>,
    /// The hottest point of the melting line of the solid's equation.
    melting_end: Option<SolidEquilibrium>,
    composition: Composition,
    /// Whether the highest pressure is beyond the highest density at the lowest temperature, far inside the solid.
    ends_at_melting: bool,
    /// Temperature in K from which on nothing melts at usual pressures, sought when it is first asked for.
    molten_from: OnceLock<f64>,
    /// Verified polynomials of the density, made when they are first asked for.
    cells: OnceLock<Option<Cells>>,
    /// Isotherms for the flow along them, made when they are first asked for.
    isotherms: Prepared,
    /// The lowest and the highest point of the dome, made when they are first asked for.
    dome_ends: OnceLock<Result<DomeEnds>>,
}

impl Substance {
    pub(super) fn new(record: &'static FluidRecord, equation: &'static EquationOfState) -> Self {
        let helmholtz = Helmholtz::new(equation);
        let solid = record.solid.as_ref().and_then(|solid| {
            let triple = helmholtz
                .coexistence_at_temperature(equation.triple_point.temperature)
                .ok()?;
            let triple = TriplePoint {
                temperature: triple.temperature,
                pressure: triple.pressure,
                liquid_density: triple.liquid_density,
                vapour_density: triple.vapour_density,
            };
            Some(Solid::new(solid, equation.molar_mass, &helmholtz, triple))
        });
        let melting_end = solid
            .as_ref()
            .and_then(|solid| solid.melting_end(&helmholtz).ok());
        let range = equation.valid;
        let coldest = helmholtz.isotherm(range.temperature_min);
        let ends_at_melting = coldest.pressure(helmholtz.density_max).pressure < range.pressure_max;
        Self {
            record,
            equation,
            helmholtz,
            solid,
            melting_end,
            composition: Composition::of_one(equation.molar_mass),
            ends_at_melting,
            molten_from: OnceLock::new(),
            cells: OnceLock::new(),
            isotherms: Prepared::default(),
            dome_ends: OnceLock::new(),
        }
    }

    /// Verified polynomials of the density; nothing for a mixture taken for one substance.
    pub(super) fn cells(&self) -> Option<&Cells> {
        self.cells.get_or_init(|| Cells::new(self)).as_ref()
    }

    /// As [`Substance::cells`] if they have been asked for.
    pub(super) fn filled_cells(&self) -> Option<&Cells> {
        self.cells.get()?.as_ref()
    }

    /// The data record.
    pub(super) fn record(&self) -> &'static FluidRecord {
        self.record
    }

    /// The substance alone.
    pub(super) fn composition(&self) -> &Composition {
        &self.composition
    }

    /// The record of the equation of state.
    pub(super) fn equation(&self) -> &'static EquationOfState {
        self.equation
    }

    /// Name of the equation of state, with author and year.
    pub(super) fn model(&self) -> &'static str {
        &self.equation.name
    }

    /// The equation of state on plain numbers.
    pub(crate) fn helmholtz(&self) -> &Helmholtz {
        &self.helmholtz
    }

    /// The solid, where its equation is known.
    pub(crate) fn solid(&self) -> Option<&Solid> {
        self.solid.as_ref()
    }

    /// Name of the equation of the solid, with authors and year; of the equation of state where there is none.
    pub(super) fn solid_model(&self) -> &'static str {
        let solid = self.record.solid.as_ref();
        solid.map_or(self.model(), |solid| &solid.name)
    }

    /// Temperature of the triple point in K.
    pub(crate) fn triple_temperature(&self) -> f64 {
        self.equation.triple_point.temperature
    }

    /// Critical pressure stated, in Pa.
    pub(super) fn critical_pressure(&self) -> f64 {
        self.equation.critical_point.pressure
    }

    /// Range of the equation of state stated by its authors.
    pub(super) fn range(&self) -> Range {
        self.equation.valid
    }

    /// Solid and vapour in equilibrium at a temperature in K below the triple point, where the solid is known.
    pub(super) fn sublimation(&self, temperature: f64) -> Result<Option<SolidEquilibrium>> {
        self.solid()
            .filter(|solid| temperature < solid.triple_point().temperature)
            .map(|solid| solid.sublimation(&self.helmholtz, temperature))
            .transpose()
    }

    /// The hottest point of the melting line within the equation of the solid, where that is known.
    pub(super) fn melting_end(&self) -> Option<&SolidEquilibrium> {
        self.melting_end.as_ref()
    }

    /// Solid and liquid in equilibrium at a temperature in K from the triple point to the end of the equation of the solid,
    /// where that is known.
    pub(super) fn melting(&self, temperature: f64) -> Result<Option<SolidEquilibrium>> {
        self.solid()
            .zip(self.melting_end())
            .filter(|(solid, end)| {
                (solid.triple_point().temperature..=end.solid.temperature).contains(&temperature)
            })
            .map(|(solid, _)| solid.melting(&self.helmholtz, temperature))
            .transpose()
    }

    /// As [`Fluid::melting_pressure`].
    pub(super) fn melting_pressure(&self, temperature: f64) -> f64 {
        let triple = self
            .solid()
            .map_or(0.0, |solid| solid.triple_point().pressure);
        match (self.sublimation(temperature), self.melting(temperature)) {
            (Ok(Some(found)), _) => found.solid.pressure,
            (_, Ok(Some(found))) => found.solid.pressure.max(triple),
            _ => self.auxiliary_melting_pressure(temperature),
        }
    }

    /// Pressure in Pa of the auxiliary melting line, infinite where there is none.
    fn auxiliary_melting_pressure(&self, temperature: f64) -> f64 {
        let line = self.record.melting_line.as_ref();
        line.and_then(|line| Line::melting(line).pressure(temperature).ok())
            .unwrap_or(f64::INFINITY)
    }

    /// Error 303 if the solid is the stable phase at a temperature in K and a pressure in Pa.
    pub(super) fn refuse_solid(&self, temperature: f64, pressure: f64) -> Result<()> {
        if self.is_far_from_melting(temperature, pressure) {
            return Ok(());
        }
        let limit = self.melting_pressure(temperature);
        if pressure <= limit * (1.0 + BORDER) {
            return Ok(());
        }
        Err(Error::Solid {
            temperature,
            pressure,
            limit,
        })
    }

    /// Whether the auxiliary line alone tells that a temperature in K from the triple point on and a pressure in Pa are those
    /// of a fluid.
    pub(super) fn is_far_from_melting(&self, temperature: f64, pressure: f64) -> bool {
        let is_usual = pressure <= USUAL_PRESSURE && temperature > self.molten_from();
        let beyond = || (1.0 - LINES_APART) * self.auxiliary_melting_pressure(temperature);
        temperature >= self.triple_temperature() && (is_usual || pressure < beyond())
    }

    /// Temperature in K from which on the auxiliary melting line lies beyond usual pressures; infinite where it does not tell.
    fn molten_from(&self) -> f64 {
        *self.molten_from.get_or_init(|| {
            let line = self.record.melting_line.as_ref().map(Line::melting);
            let rising = line.filter(Line::is_rising);
            let found = rising.map(|line| line.temperature(USUAL_PRESSURE / (1.0 - LINES_APART)));
            found.and_then(Result::ok).unwrap_or(f64::INFINITY)
        })
    }

    /// Whether the auxiliary melting line ends the liquid on cooling at a pressure in Pa: where the equation does not carry it
    /// beyond, or where nothing is known of the solid any more.
    fn freezes_at(&self, pressure: f64) -> bool {
        let beyond_solid = self
            .melting_end()
            .is_some_and(|end| pressure > end.solid.pressure);
        self.ends_at_melting || beyond_solid
    }

    /// Lowest temperature in K at which the liquid is sought at a pressure in Pa: that of the range, or the melting
    /// temperature of the auxiliary line.
    pub(super) fn coldest(&self, pressure: f64) -> Result<f64> {
        if !self.freezes_at(pressure) {
            return Ok(self.range().temperature_min);
        }
        let found = self.auxiliary_melting_temperature(pressure)?;
        let end = self.melting_end();
        Ok(end.map_or(found, |end| found.max(end.solid.temperature)))
    }

    /// Temperature in K of the auxiliary melting line, or the lowest of the range.
    fn auxiliary_melting_temperature(&self, pressure: f64) -> Result<f64> {
        let lowest = self.range().temperature_min;
        match &self.record.melting_line {
            Some(line) if pressure > self.auxiliary_melting_pressure(lowest) => {
                Line::melting(line).temperature(pressure)
            }
            _ => Ok(lowest),
        }
    }

    /// A temperature in K at which a substance whose solid is known is a liquid at a pressure in Pa for certain, near its
    /// melting line.
    pub(super) fn surely_molten(&self, pressure: f64) -> Result<f64> {
        Ok(self.auxiliary_melting_temperature(pressure)? * (1.0 + LINES_APART_TEMPERATURE))
    }

    /// As [`Substance::coldest`], at a density in kg/m3.
    pub(super) fn coldest_at_density(&self, density: f64) -> Result<f64> {
        let lowest = self.range().temperature_min;
        let beyond_solid = self.melting_end().filter(|end| density > end.fluid_density);
        let ends = self.ends_at_melting || beyond_solid.is_some();
        let Some(line) = self.record.melting_line.as_ref().filter(|_| ends) else {
            return Ok(lowest);
        };
        let lowest = beyond_solid.map_or(lowest, |end| end.solid.temperature);
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

    /// As [`Fluid::is_pseudo_pure`].
    pub(super) fn is_pseudo_pure(&self) -> bool {
        self.bubble_and_dew_lines().is_some()
    }

    fn bubble_and_dew_lines(&self) -> Option<BubbleAndDew<'_>> {
        let lines = self.equation.bubble_and_dew_lines.as_ref();
        lines.map(BubbleAndDew::new)
    }

    /// As [`Fluid::bubble_and_dew_pressure`].
    pub(crate) fn bubble_and_dew_pressure(&self, temperature: f64) -> Option<(f64, f64)> {
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
            fluid: self.record.name.clone(),
            need: "its equation takes a mixture for one substance and knows nothing between its bubble and its dew line",
        }
    }

    /// Densities and pressure of liquid and vapour in equilibrium at a temperature in K.
    pub(crate) fn coexistence_at_temperature(&self, temperature: f64) -> Result<Coexistence> {
        let (min, max) = (
            self.triple_temperature(),
            self.helmholtz().dome_top.temperature,
        );
        finite(Quantity::Temperature, temperature)?;
        if self.is_pseudo_pure() {
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

    /// Pressure in Pa at the top of the dome.
    pub(super) fn pressure_of_dome_top(&self) -> f64 {
        let top = self.helmholtz().dome_top;
        let isotherm = self.helmholtz().isotherm(top.temperature);
        isotherm.pressure(top.density).pressure
    }

    /// Densities and temperature of liquid and vapour in equilibrium at a pressure in Pa.
    pub(super) fn coexistence_at_pressure(&self, pressure: f64) -> Result<Coexistence> {
        let top = self.helmholtz().dome_top;
        let triple = self.triple_temperature();
        finite(Quantity::Pressure, pressure)?;
        if self.is_pseudo_pure() {
            return Err(self.no_phases());
        }
        let ends = self.dome_ends.get_or_init(|| {
            Ok(DomeEnds {
                triple: self.coexistence_at_temperature(triple)?,
                pressure_max: self.pressure_of_dome_top(),
            })
        });
        let (lowest, max) = match ends {
            Ok(ends) => (ends.triple, ends.pressure_max),
            Err(error) => return Err(error.clone()),
        };
        let highest = top.temperature * (1.0 - f64::EPSILON);
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
}

/// A handle whose states follow the reference equation of one substance, with that substance.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pure<'a> {
    /// The handle, which the states share.
    pub(super) handle: &'a Fluid,
    pub(super) substance: &'a Substance,
}

impl Deref for Pure<'_> {
    type Target = Substance;

    fn deref(&self) -> &Substance {
        self.substance
    }
}

impl<'a> Pure<'a> {
    /// Isotherms for the flow along them.
    pub(crate) fn isotherms(self) -> &'a Prepared {
        &self.substance.isotherms
    }
}

impl Pure<'_> {
    /// Solid and vapour in equilibrium at a pressure in Pa below the triple point, or solid and liquid above, as far as the
    /// equation of the solid reaches; nothing where the solid is not known.
    pub(super) fn freezing_at_pressure(self, pressure: f64) -> Result<Option<Transition>> {
        let (Some(solid), Some(end)) = (self.solid(), self.melting_end()) else {
            return Ok(None);
        };
        let fluid = self.helmholtz();
        if pressure < solid.triple_point().pressure {
            let found = solid.sublimation_at_pressure(fluid, pressure)?;
            return Ok(Some(Transition::of_solid(self, &found, Phase::Vapour)));
        }
        if pressure > end.solid.pressure {
            return Ok(None);
        }
        let found = solid.melting_at_pressure(fluid, pressure)?;
        Ok(Some(Transition::of_solid(self, &found, Phase::Liquid)))
    }

    /// As [`Pure::freezing_at_pressure`], at a temperature in K.
    pub(super) fn freezing(self, temperature: f64) -> Result<Option<Transition>> {
        if let Some(found) = self.sublimation(temperature)? {
            return Ok(Some(Transition::of_solid(self, &found, Phase::Vapour)));
        }
        let found = self.melting(temperature)?;
        Ok(found.map(|found| Transition::of_solid(self, &found, Phase::Liquid)))
    }

    /// Range in which states are given: that of the equation, wider for a fluid that extrapolates.
    pub(super) fn admitted_range(self) -> Range {
        self.handle.admitted(self.substance.range())
    }

    /// Error 102 for a temperature in K outside the range, but for the vapour over a solid that is known.
    pub(super) fn check_temperature(self, temperature: f64) -> Result<()> {
        let range = self.admitted_range();
        let (low, high) = (range.temperature_min, range.temperature_max);
        let over_solid = self
            .solid()
            .is_some_and(|solid| (solid.temperature_min()..low).contains(&temperature));
        if !over_solid {
            within(Quantity::Temperature, temperature, low, high, self.model())?;
        }
        Ok(())
    }

    pub(super) fn saturation(self, found: &Coexistence) -> Saturation {
        let (liquid, vapour) = State::coexisting(self, found);
        Saturation {
            temperature: found.temperature,
            pressure: found.pressure,
            liquid,
            vapour,
        }
    }
}
