//! Phases side by side as states: coexistence of one substance in the cubic equation, and the borders of mixtures.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::cell::OnceCell;

use super::{Mixed, Mixture};
use crate::eos::Coexistence;
pub(crate) use crate::eos::equilibrium::BoundaryKind;
use crate::eos::equilibrium::{Boundary, BoundaryScan, Given, boundaries, estimated_boundary};
use crate::eos::mixture::MixtureIsotherm;
use crate::error::{Error, Result, finite};
use crate::num::root::{Tolerance, bracketed};
use crate::quantity::Quantity;
use crate::state::solve::PRESSURE_MIN;
use crate::state::{Phase, Saturation, State};

/// Share of the critical temperature and of the critical pressure from which on liquid and vapour are one to rounding.
const AT_CRITICAL: (f64, f64) = (1.0 - 1e-8, 1.0 - 1e-7);

/// The borders of one phase of a mixture at a temperature in K or at a pressure in Pa.
pub(crate) struct Borders<'a> {
    mixed: Mixed<'a>,
    given: Given,
    scan: OnceCell<BoundaryScan<'a>>,
}

impl Borders<'_> {
    /// The first border below a pressure in Pa or temperature in K.
    pub(crate) fn below(&self, from: f64) -> Result<Option<Boundary>> {
        let (low, _) = self.mixed.bounds(self.given);
        if from > low {
            self.next(from, low)
        } else {
            Ok(None)
        }
    }

    /// The first border above a pressure in Pa or temperature in K, of those that lie no farther from it than told.
    pub(crate) fn above(&self, from: f64, reach: f64) -> Result<Option<Boundary>> {
        let (_, high) = self.mixed.bounds(self.given);
        let last = high.min(from + reach);
        if from < last {
            self.next(from, last)
        } else {
            Ok(None)
        }
    }

    /// Where the substances are known to mix in all proportions it is passed over without a search.
    fn next(&self, from: f64, last: f64) -> Result<Option<Boundary>> {
        let Some(from) = self.mixed.last_clear(self.given, from, last) else {
            return Ok(None);
        };
        if self.scan.get().is_none() {
            let Mixed { mixture, .. } = self.mixed;
            let bounds = mixture.bounds(self.given);
            let fractions = mixture.composition.amount_fractions();
            let scan =
                BoundaryScan::new(mixture.system.model.as_ref(), self.given, fractions, bounds)?;
            let _ = self.scan.set(scan);
        }
        self.scan
            .get()
            .map_or(Ok(None), |scan| scan.next(from, last))
    }
}

/// Steps in K and ratios of pressures from one state to the next that is looked up.
const CLEAR_STEPS: (f64, f64) = (4.0, 1.1);

impl Mixture {
    /// Where borders are sought.
    fn bounds(&self, given: Given) -> (f64, f64) {
        let range = self.range;
        match given {
            Given::Temperature(_) => (PRESSURE_MIN, range.pressure_max),
            Given::Pressure(_) => (range.temperature_min, range.temperature_max),
        }
    }
}

impl Mixed<'_> {
    /// Liquid and vapour of one substance at a temperature in K.
    pub(in crate::state) fn coexistence_at_temperature(
        &self,
        temperature: f64,
    ) -> Result<Coexistence> {
        finite(Quantity::Temperature, temperature)?;
        let critical = self.critical_of_one()?;
        let min = self.range.temperature_min;
        if !(min..AT_CRITICAL.0 * critical.0).contains(&temperature) {
            return Err(Error::NoCoexistence {
                quantity: Quantity::Temperature,
                value: temperature,
                min,
                max: critical.0,
            });
        }
        let isotherm = self.isotherm(temperature);
        let pressure = self.vapour_pressure(isotherm.as_ref(), critical)?;
        let found = isotherm.densities(pressure)?;
        Ok(Coexistence {
            temperature,
            pressure,
            liquid_density: self.density(found.liquid),
            vapour_density: self.density(found.vapour),
        })
    }

    /// Liquid and vapour of one substance at a pressure in Pa.
    pub(in crate::state) fn coexistence_at_pressure(&self, pressure: f64) -> Result<Coexistence> {
        finite(Quantity::Pressure, pressure)?;
        let (temperature, max) = self.critical_of_one()?;
        let coldest = self.range.temperature_min;
        let min = self.coexistence_at_temperature(coldest)?.pressure;
        if !(min..AT_CRITICAL.1 * max).contains(&pressure) {
            return Err(Error::NoCoexistence {
                quantity: Quantity::Pressure,
                value: pressure,
                min,
                max,
            });
        }
        let solver = "boiling temperature at given pressure";
        let highest = AT_CRITICAL.0 * temperature * (1.0 - f64::EPSILON);
        let found = bracketed(
            solver,
            coldest,
            highest,
            Tolerance::default(),
            |temperature| {
                let found = self.coexistence_at_temperature(temperature)?;
                Ok((found.pressure / pressure).ln())
            },
        )?;
        self.coexistence_at_temperature(found)
    }

    /// The pressure in Pa at which liquid and vapour of one substance have one Gibbs energy, between the limits of stability
    /// that lie on both sides of the critical density.
    fn vapour_pressure(
        &self,
        isotherm: &dyn MixtureIsotherm,
        (temperature, pressure): (f64, f64),
    ) -> Result<f64> {
        let middle = self.critical_density_of_one(temperature, pressure)?;
        let limit = |solver, end| {
            bracketed(solver, end, middle, Tolerance::default(), |density| {
                Ok(isotherm.dp_drho(density))
            })
        };
        let highest = isotherm.molar_density_max();
        let vapour = limit("limit of stability of a vapour", 1e-9 * highest)?;
        let liquid = limit("limit of stability of a liquid", highest)?;
        let top = isotherm.pressure(vapour) * (1.0 - 1e-14);
        let bottom = isotherm.pressure(liquid).max(1e-15 * top) * (1.0 + 1e-14);
        let difference = |logarithm: f64| {
            let pressure = logarithm.exp();
            let found = isotherm.densities(pressure)?;
            let energy = |density: f64| isotherm.residual_gibbs_energy(density, pressure);
            Ok(energy(found.vapour) - energy(found.liquid))
        };
        let solver = "vapour pressure in the cubic equation";
        let (low, high) = (bottom.ln(), top.ln());
        Ok(bracketed(solver, low, high, Tolerance::default(), difference)?.exp())
    }

    /// Molar density in mol/m3 at the critical point of one substance.
    ///
    /// Where the three roots of the pressure meet, rounding leaves the root six digits, too few to lie between limits of stability
    /// close to the critical point. The slope of the pressure in the density is symmetrical about its least value there.
    fn critical_density_of_one(&self, temperature: f64, pressure: f64) -> Result<f64> {
        const ASIDE: f64 = 1e-4;
        let isotherm = self.isotherm(temperature);
        let near = isotherm.densities(pressure)?.vapour;
        let tilt = |density: f64| {
            let slope = |side: f64| isotherm.dp_drho(density * side);
            Ok(slope(1.0 + ASIDE) - slope(1.0 - ASIDE))
        };
        let solver = "critical density of a cubic equation";
        bracketed(solver, 0.9 * near, 1.1 * near, Tolerance::default(), tilt)
    }

    /// Critical temperature in K and pressure in Pa of the one substance present; error 202 for a mixture.
    pub(in crate::state) fn critical_of_one(&self) -> Result<(f64, f64)> {
        let need = "liquid and vapour of a mixture differ in composition: ask for its bubble point or its dew point";
        let missing = || Error::MissingModel {
            property: Quantity::VapourFraction,
            fluid: self.name().to_owned(),
            need,
        };
        self.record().ok_or_else(missing)?;
        let present = self.fractions().iter().position(|x| *x > 0.0);
        let critical = self.model().critical_constants(present.unwrap_or(0));
        Ok((critical.temperature, critical.pressure))
    }

    /// Liquid and vapour of one substance as states.
    pub(in crate::state) fn saturation(&self, found: &Coexistence) -> Saturation {
        let isotherm = self.isotherm(found.temperature);
        let one =
            |density, phase| self.single(isotherm.as_ref(), density, found.pressure, Some(phase));
        Saturation {
            temperature: found.temperature,
            pressure: found.pressure,
            liquid: one(found.liquid_density, Phase::Liquid),
            vapour: one(found.vapour_density, Phase::Vapour),
        }
    }

    /// Every border of one phase at a temperature in K, by rising pressure, or at a pressure in Pa, by rising temperature.
    pub(crate) fn boundaries(&self, given: Given) -> Result<Vec<Boundary>> {
        boundaries(self.model(), given, self.fractions(), self.bounds(given))
    }

    /// The borders of one phase at a temperature in K or at a pressure in Pa, to be met one by one.
    pub(crate) fn borders(&self, given: Given) -> Borders<'_> {
        Borders {
            mixed: *self,
            given,
            scan: OnceCell::new(),
        }
    }

    /// How far from a state towards a last one no composition is known to part; nothing where none is all the way.
    fn last_clear(&self, given: Given, from: f64, last: f64) -> Option<f64> {
        let (low, high) = (from.min(last), from.max(last));
        let mut clear = from;
        let mut next = from;
        loop {
            let (temperature, pressure) = match given {
                Given::Temperature(temperature) => (temperature, next),
                Given::Pressure(pressure) => (next, pressure),
            };
            if !self.model().mixes(temperature, pressure) {
                return Some(clear);
            }
            if next == last {
                return None;
            }
            clear = next;
            next = match given {
                Given::Temperature(_) if from < last => next * CLEAR_STEPS.1,
                Given::Temperature(_) => next / CLEAR_STEPS.1,
                Given::Pressure(_) if from < last => next + CLEAR_STEPS.0,
                Given::Pressure(_) => next - CLEAR_STEPS.0,
            }
            .clamp(low, high);
        }
    }

    /// Whether no composition is known to part from a pressure in Pa below a state to as much above it.
    pub(crate) fn is_clear_within(&self, state: &State, pressure: f64) -> bool {
        let given = Given::Temperature(state.temperature);
        let (low, high) = (state.pressure - pressure, state.pressure + pressure);
        low > 0.0 && self.last_clear(given, low, high).is_none()
    }

    /// The border of a kind that an estimate leads to, inside the range.
    pub(crate) fn estimated_boundary(
        &self,
        given: Given,
        kind: BoundaryKind,
    ) -> Result<Option<Boundary>> {
        let found = estimated_boundary(self.model(), given, self.fractions(), kind)?;
        let (low, high) = self.bounds(given);
        Ok(found.filter(|boundary| {
            let sought = match given {
                Given::Temperature(_) => boundary.pressure,
                Given::Pressure(_) => boundary.temperature,
            };
            (low..=high).contains(&sought)
        }))
    }

    /// The mixture at a border and the first of the other phase, as states: the denser and the thinner.
    pub(crate) fn states_at(&self, boundary: &Boundary) -> Result<(State, State)> {
        let (temperature, pressure) = (boundary.temperature, boundary.pressure);
        let is_bubble = boundary.kind == BoundaryKind::Bubble;
        let mixture = self.beside(
            (temperature, pressure),
            self.fractions(),
            boundary.molar_density,
            !is_bubble,
        )?;
        let other = self.beside(
            (temperature, pressure),
            &boundary.incipient_fractions,
            boundary.incipient_molar_density,
            is_bubble,
        )?;
        Ok(if is_bubble {
            (mixture, other)
        } else {
            (other, mixture)
        })
    }

    /// Logarithms of the fugacity coefficients of one phase of a density in kg/m3 at a temperature in K and a pressure in Pa.
    pub(crate) fn ln_fugacity_coefficients(
        &self,
        temperature: f64,
        pressure: f64,
        density: f64,
    ) -> Vec<f64> {
        let isotherm = self.isotherm(temperature);
        let found = isotherm.ln_fugacity_coefficients(self.molar_density(density), pressure);
        found.to_vec()
    }
}
