//! States of mixtures from pairs of variables.

use super::Mixed;
use super::cross::{Crossing, Inner, no_edge};
use super::response::Response;
use crate::eos::equilibrium::{Equilibrium, Given, PhaseShare, flash};
use crate::eos::mixture::MixtureIsotherm;
use crate::eos::{EnergyPoint, TauDerivatives};
use crate::error::{Error, Result, finite, positive, within};
use crate::num::extremum::maximum;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::num::once::OnceLock;
use crate::quantity::Quantity;
use crate::state::isobar::caloric;
use crate::state::solve::{PRESSURE_MIN, usual_density};
use crate::state::{Content, Energy, Fluid, Part, Phase, State, phase_of};

/// Where iterations in temperature start, in K.
const USUAL_TEMPERATURE: f64 = 300.0;
/// Pressures at which an isotherm is looked at for states that share a caloric quantity.
const ISOTHERM_SAMPLES: u32 = 40;
/// Part of a quantity that rounding takes.
const ROUNDING: f64 = 2e-14;
/// Amount fraction below which a phase may count as empty of a substance.
const EMPTY: f64 = 1e-12;
/// Relative difference of densities at which two states of one phase are the same.
const SAME_DENSITY: f64 = 1e-8;
/// Name of a solver in errors.
const AT_DENSITY: &str = "pressure at given temperature and density";

impl Mixed<'_> {
    /// One phase of the mixture at a temperature in K, a pressure in Pa and a density in kg/m3; its phase is none where its word is
    /// not known yet.
    pub(in crate::state) fn phase_of(
        &self,
        temperature: f64,
        pressure: f64,
        density: f64,
        phase: Option<Phase>,
    ) -> State {
        State {
            fluid: self.handle.clone(),
            temperature,
            pressure,
            density,
            phase,
            is_beside: false,
            content: Content::One(Energy::Sought(OnceLock::new())),
            of_model: None,
        }
    }

    /// As [`Mixed::phase_of`], with an isotherm at hand.
    pub(in crate::state) fn single(
        &self,
        isotherm: &dyn MixtureIsotherm,
        density: f64,
        pressure: f64,
        phase: Option<Phase>,
    ) -> State {
        let energy = Energy::Known(self.energy_of(isotherm, density));
        State {
            content: Content::One(energy),
            ..self.phase_of(isotherm.temperature(), pressure, density, phase)
        }
    }

    /// The Helmholtz energy of one phase at a temperature in K and a density in kg/m3.
    pub(in crate::state) fn energy(&self, temperature: f64, density: f64) -> EnergyPoint {
        self.energy_of(self.isotherm(temperature).as_ref(), density)
    }

    fn energy_of(&self, isotherm: &dyn MixtureIsotherm, density: f64) -> EnergyPoint {
        let components = self.system.components.iter().zip(self.fractions());
        let present = components.filter(|(_, x)| **x > 0.0);
        // The partial density of each substance: the mixing of ideal gases is in its logarithm.
        let ideal = present.fold(TauDerivatives::default(), |sum, (component, x)| {
            let partial = x * component.model_molar_mass / self.model_molar_mass * density;
            let part = component.ideal.at(isotherm.temperature(), partial);
            sum + TauDerivatives {
                value: x * part.value,
                first: x * part.first,
                second: x * part.second,
            }
        });
        EnergyPoint {
            ideal,
            residual: isotherm.residual(self.molar_density(density)),
        }
    }

    fn within_temperatures(&self, temperature: f64) -> Result<()> {
        positive(Quantity::Temperature, temperature)?;
        let range = self.admitted_range();
        let (low, high) = (range.temperature_min, range.temperature_max);
        within(Quantity::Temperature, temperature, low, high, self.name())?;
        Ok(())
    }

    fn within_pressures(&self, pressure: f64) -> Result<()> {
        positive(Quantity::Pressure, pressure)?;
        let (max, model) = (self.admitted_range().pressure_max, self.name());
        within(Quantity::Pressure, pressure, 0.0, max, model)?;
        within(
            Quantity::Pressure,
            pressure,
            PRESSURE_MIN,
            max,
            "this library",
        )?;
        Ok(())
    }

    /// Error 101 or 102 for a density in kg/m3 that none is asked for; how high it may be depends on the temperature.
    fn check_density(&self, density: f64) -> Result<()> {
        usual_density(density, f64::MAX, self.name())
    }

    /// Error 101 or 102 for a temperature in K or a pressure in Pa at which no states are given.
    pub(crate) fn check_given(&self, given: Given) -> Result<()> {
        match given {
            Given::Temperature(temperature) => self.within_temperatures(temperature),
            Given::Pressure(pressure) => self.within_pressures(pressure),
        }
    }

    /// The state at a temperature in K and a pressure in Pa.
    pub(in crate::state) fn state(&self, temperature: f64, pressure: f64) -> Result<State> {
        self.within_temperatures(temperature)?;
        self.within_pressures(pressure)?;
        self.admit(self.at(temperature, pressure)?)
    }

    /// The fluid phases at a temperature in K and a pressure in Pa, without the check of the range.
    pub(super) fn fluid_at(&self, temperature: f64, pressure: f64) -> Result<State> {
        Ok(named(
            self.state_of(&self.fluid_phases(temperature, pressure)?)?,
        ))
    }

    /// The fluid phases of least Gibbs energy at a temperature in K and a pressure in Pa.
    pub(super) fn fluid_phases(&self, temperature: f64, pressure: f64) -> Result<Equilibrium> {
        flash(self.model(), temperature, pressure, self.fractions())
    }

    /// Phases in equilibrium as a state, in which a dense phase beside denser ones may have no word yet.
    pub(super) fn state_of(&self, found: &Equilibrium) -> Result<State> {
        let (temperature, pressure) = (found.temperature, found.pressure);
        if let [only] = found.phases.as_slice() {
            let density = self.density(only.molar_density);
            return Ok(self.phase_of(temperature, pressure, density, None));
        }
        self.refuse_emptied(found)?;
        let shares = self.mass_shares(&found.phases);
        let mut parts = Vec::with_capacity(found.phases.len());
        let phases = found.phases.iter().zip(shares).enumerate();
        for (place, (phase, share)) in phases {
            let (fractions, density) = (&phase.fractions, phase.molar_density);
            let state = self.beside((temperature, pressure), fractions, density, place == 0)?;
            parts.push(Part::of_fluid(state, share));
        }
        parts.reverse();
        Ok(State::of_parts(
            self.handle.clone(),
            temperature,
            pressure,
            parts,
        ))
    }

    /// Error 401 if a phase has been emptied of a substance that is in another one in amounts that it should share.
    ///
    /// Between phases in equilibrium `x_i phi_i` is one, also where an amount is too small for a number.
    fn refuse_emptied(&self, found: &Equilibrium) -> Result<()> {
        let (temperature, pressure) = (found.temperature, found.pressure);
        for phase in &found.phases {
            for index in 0..phase.fractions.len() {
                let of = |phase: &PhaseShare| phase.fractions.get(index).copied().unwrap_or(0.0);
                let most = found.phases.iter().max_by(|a, b| of(a).total_cmp(&of(b)));
                let Some(rich) = most.filter(|rich| of(rich) > 0.0 && of(phase) == 0.0) else {
                    continue;
                };
                let coefficient = |phase: &PhaseShare| {
                    let isotherm = self.model().at(temperature, &phase.fractions);
                    let all = isotherm.ln_fugacity_coefficients(phase.molar_density, pressure);
                    all.get(index).copied().unwrap_or(f64::NAN)
                };
                let missing = of(rich) * (coefficient(rich) - coefficient(phase)).exp();
                if missing.is_nan() || missing > EMPTY {
                    return Err(Error::NoConvergence {
                        solver: "phases at given temperature and pressure",
                        iterations: 0,
                        residual: missing,
                        tolerance: EMPTY,
                    });
                }
            }
        }
        Ok(())
    }

    /// A phase beside others, the thinnest of them or not; a word that takes a search for critical points is sought when asked for.
    ///
    /// All but the thinnest are liquids. The thinnest is a vapour unless it is denser than its substances at their critical
    /// points and a liquid on its own.
    pub(super) fn beside(
        &self,
        (temperature, pressure): (f64, f64),
        fractions: &[f64],
        molar_density: f64,
        is_thinnest: bool,
    ) -> Result<State> {
        let handle = if fractions == self.fractions() {
            self.handle.clone()
        } else {
            self.handle.with_amount_fractions(fractions)?
        };
        let Some(mixed) = handle.mixed() else {
            return pure_phase(&handle, temperature, pressure, is_thinnest);
        };
        let density = mixed.density(molar_density);
        let phase = match (is_thinnest, mixed.is_dense(molar_density)) {
            (false, _) => Some(Phase::Liquid),
            (true, false) => Some(Phase::Vapour),
            (true, true) => None,
        };
        Ok(State {
            is_beside: true,
            ..mixed.phase_of(temperature, pressure, density, phase)
        })
    }

    /// The state itself with all its words; error 102 above the highest pressure.
    pub(super) fn admit(&self, state: State) -> Result<State> {
        let state = named(state);
        let limit = self.admitted_range().pressure_max;
        within(Quantity::Pressure, state.pressure, 0.0, limit, self.name())?;
        self.refuse_unknown_solid(&state)?;
        Ok(state)
    }

    /// The state at a temperature in K and a density in kg/m3.
    pub(in crate::state) fn state_at_density(
        &self,
        temperature: f64,
        density: f64,
    ) -> Result<State> {
        self.state_at_density_from(&Inner::default(), temperature, density)
    }

    /// The state at a temperature in K with the density of another of the mixture, sought from its pressure.
    pub(in crate::state) fn state_on_isochore_at(
        &self,
        from: &State,
        temperature: f64,
    ) -> Result<State> {
        let inner = Inner::default();
        inner.keep(from.pressure);
        self.state_at_density_from(&inner, temperature, from.density)
    }

    fn state_at_density_from(
        &self,
        inner: &Inner,
        temperature: f64,
        density: f64,
    ) -> Result<State> {
        self.within_temperatures(temperature)?;
        self.check_density(density)?;
        self.admit(self.at_density(temperature, density, inner)?)
    }

    /// One phase at a temperature in K and a density in kg/m3, stable or not; error 502 where it is not even a metastable one.
    pub(in crate::state) fn one_phase_at_density(
        &self,
        temperature: f64,
        density: f64,
    ) -> Result<State> {
        self.within_temperatures(temperature)?;
        let isotherm = self.isotherm(temperature);
        let highest = self.density(isotherm.molar_density_max());
        usual_density(density, highest, self.name())?;
        let molar_density = self.molar_density(density);
        let pressure = isotherm.pressure(molar_density);
        if pressure > 0.0 && isotherm.dp_drho(molar_density) > 0.0 {
            return Ok(self.single(isotherm.as_ref(), density, pressure, None));
        }
        Err(Error::PhaseChange {
            position: 0.0,
            temperature,
            pressure,
        })
    }

    /// As [`Mixed::state_at_density`], without the checks of the range.
    fn at_density(&self, temperature: f64, density: f64, inner: &Inner) -> Result<State> {
        let isotherm = self.isotherm(temperature);
        let highest = self.density(isotherm.molar_density_max());
        within(Quantity::Density, density, 0.0, highest, self.name())?;
        let molar_density = self.molar_density(density);
        let pressure = isotherm.pressure(molar_density);
        let limit = self.admitted_range().pressure_max;
        // Above the limit no solid is known: the fluid alone would need such pressures to be as dense as it is beside a solid.
        let is_admitted = pressure > 0.0 && pressure <= limit;
        if is_admitted && isotherm.dp_drho(molar_density) > 0.0 {
            inner.count(AT_DENSITY)?;
            let state = self.at(temperature, pressure)?;
            if state.is_one_phase() && (state.density / density - 1.0).abs() < SAME_DENSITY {
                return Ok(self.single(isotherm.as_ref(), density, pressure, None));
            }
        }
        let at = |logarithm: f64| {
            inner.count(AT_DENSITY)?;
            self.at(temperature, logarithm.exp())
        };
        let excess = |state: &State| {
            // The volume is what phases share in proportion to their masses.
            let volume = density / state.density;
            let yielding = Response::of(state).and_then(|r| r.yielding_to_ln_pressure());
            (1.0 - volume, yielding.map(|yielding| -density * yielding))
        };
        let crossing = Crossing {
            solver: AT_DENSITY,
            at: &at,
            excess: &excess,
            edge: &|one, other| self.edge_pressure(one, other),
            tolerance: ROUNDING,
        };
        let (low, high) = (VACUUM.ln(), limit.ln());
        let start = inner.last().unwrap_or(pressure);
        let start = start.clamp(PRESSURE_MIN, self.range.pressure_max).ln();
        let found = crossing.solve(low, high, start)?;
        let mut state = found.ok_or_else(|| Error::OutOfRange {
            quantity: Quantity::Density,
            value: density,
            min: 0.0,
            max: highest,
            model: self.name().to_owned(),
        })?;
        state.density = density;
        inner.keep(state.pressure);
        Ok(state)
    }

    /// The state at a pressure in Pa and a caloric quantity.
    pub(in crate::state) fn state_on_isobar(
        &self,
        pressure: f64,
        quantity: Quantity,
        target: f64,
    ) -> Result<State> {
        self.state_on_isobar_from(USUAL_TEMPERATURE, pressure, quantity, target)
    }

    /// As [`Mixed::state_on_isobar`], sought from a temperature in K.
    fn state_on_isobar_from(
        &self,
        start: f64,
        pressure: f64,
        quantity: Quantity,
        target: f64,
    ) -> Result<State> {
        finite(quantity, target)?;
        self.within_pressures(pressure)?;
        let excess = |state: &State| {
            let slope = Response::of(state).and_then(|response| response.on_isobar(quantity));
            (caloric(state, quantity) - target, slope)
        };
        let tolerance = ROUNDING * self.scale(quantity);
        let found = self.on_isobar(start, pressure, &excess, tolerance)?;
        self.admit(found.ok_or_else(|| self.not_reached(quantity, target, [pressure; 2]))?)
    }

    /// The state at a pressure in Pa with the entropy of another of the mixture, sought from the temperature to which its own leads
    /// as `d ln T / d ln p`.
    pub(in crate::state) fn state_on_isentrope(
        &self,
        from: &State,
        pressure: f64,
    ) -> Result<State> {
        positive(Quantity::Pressure, pressure)?;
        let exponent = Response::of(from).and_then(|response| response.isentropic_exponent());
        let exponent = exponent.filter(|exponent| exponent.is_finite());
        let start = from.temperature * (pressure / from.pressure).powf(exponent.unwrap_or(0.0));
        let entropy = from.specific_entropy();
        self.state_on_isobar_from(start, pressure, Quantity::SpecificEntropy, entropy)
    }

    /// The state at a pressure in Pa and a density in kg/m3, which falls with temperature.
    pub(in crate::state) fn state_on_isobar_at_density(
        &self,
        pressure: f64,
        density: f64,
    ) -> Result<State> {
        self.check_density(density)?;
        self.within_pressures(pressure)?;
        let excess = |state: &State| {
            let volume = density / state.density;
            let expansion = Response::of(state).and_then(|response| response.expansion());
            (volume - 1.0, expansion.map(|expansion| density * expansion))
        };
        let found = self.on_isobar(USUAL_TEMPERATURE, pressure, &excess, ROUNDING)?;
        let missed = || self.not_reached(Quantity::Density, density, [pressure; 2]);
        self.admit(found.ok_or_else(missed)?)
    }

    fn on_isobar(
        &self,
        start: f64,
        pressure: f64,
        excess: &dyn Fn(&State) -> (f64, Option<f64>),
        tolerance: f64,
    ) -> Result<Option<State>> {
        let crossing = Crossing {
            solver: "temperature of a mixture at given pressure",
            at: &|temperature| self.at(temperature, pressure),
            excess,
            edge: &|one, other| self.edge_temperature(one, other),
            tolerance,
        };
        let (low, high) = (
            self.range.temperature_min,
            self.admitted_range().temperature_max,
        );
        crossing.solve(low, high, start)
    }

    /// The state at a density in kg/m3 and a caloric quantity.
    pub(in crate::state) fn state_on_isochore(
        &self,
        density: f64,
        quantity: Quantity,
        target: f64,
    ) -> Result<State> {
        self.on_isochore(density, quantity, target, &Inner::default())
    }

    /// As [`Mixed::state_on_isochore`], with the count of the states that it asks for.
    pub(super) fn on_isochore(
        &self,
        density: f64,
        quantity: Quantity,
        target: f64,
        inner: &Inner,
    ) -> Result<State> {
        finite(quantity, target)?;
        self.check_density(density)?;
        let excess = |state: &State| {
            let slope = Response::of(state).map(|response| response.on_isochore(quantity));
            (caloric(state, quantity) - target, slope)
        };
        let crossing = Crossing {
            solver: "temperature of a mixture at given density",
            at: &|temperature| self.at_density(temperature, density, inner),
            excess: &excess,
            edge: &no_edge,
            tolerance: ROUNDING * self.scale(quantity),
        };
        let (low, high) = (
            self.range.temperature_min,
            self.admitted_range().temperature_max,
        );
        let found = crossing.solve(low, high, USUAL_TEMPERATURE)?;
        self.admit(found.ok_or_else(|| self.not_reached(quantity, target, self.pressures()))?)
    }

    /// The state at a temperature in K and a caloric quantity; error 403 if there are several.
    pub(in crate::state) fn state_on_isotherm(
        &self,
        temperature: f64,
        quantity: Quantity,
        target: f64,
    ) -> Result<State> {
        finite(quantity, target)?;
        self.within_temperatures(temperature)?;
        let mut found = self.all_on_isotherm(temperature, quantity, target)?;
        let solutions = found.len();
        match (found.pop(), solutions) {
            (Some(state), 1) => self.admit(state),
            (None, _) => Err(self.not_reached(quantity, target, self.pressures())),
            _ => Err(Error::NotUnique {
                quantity,
                value: target,
                solutions,
            }),
        }
    }

    /// Every state of an isotherm with a caloric quantity, by rising pressure.
    fn all_on_isotherm(
        &self,
        temperature: f64,
        quantity: Quantity,
        target: f64,
    ) -> Result<Vec<State>> {
        let (low, high) = (PRESSURE_MIN.ln(), self.admitted_range().pressure_max.ln());
        let at = |logarithm: f64| self.at(temperature, logarithm.exp());
        let distance = |logarithm: f64| Ok(caloric(&at(logarithm)?, quantity) - target);
        let place = |step: u32| low + (high - low) * f64::from(step) / f64::from(ISOTHERM_SAMPLES);
        let mut samples = Vec::new();
        for step in 0..=ISOTHERM_SAMPLES {
            samples.push((place(step), distance(place(step))?));
        }
        // Between samples of one sign the quantity may turn back across the value.
        let turns: Vec<(f64, f64, f64)> = samples
            .windows(3)
            .filter_map(|window| {
                let [(start, a), (_, b), (end, c)] = window else {
                    return None;
                };
                let same_side = a * b > 0.0 && b * c > 0.0;
                // Of a value so far away that all are equal, none is a turn.
                let [before, there, after] = [a, b, c].map(|distance| distance.abs());
                let turns = there <= before.min(after) && there < before.max(after);
                (same_side && turns).then_some((*start, *end, b.signum()))
            })
            .collect();
        for (start, end, side) in turns {
            let nearest = maximum(start, end, |logarithm| Ok(-side * distance(logarithm)?))?;
            if let Some(logarithm) = nearest {
                samples.push((logarithm, distance(logarithm)?));
            }
        }
        samples.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut found = Vec::new();
        for window in samples.windows(2) {
            let [(start, a), (end, b)] = window else {
                continue;
            };
            if (*a < 0.0) == (*b < 0.0) {
                continue;
            }
            let sign = if *a < 0.0 { 1.0 } else { -1.0 };
            let excess = |state: &State| {
                let slope = Response::of(state).and_then(|response| response.on_isotherm(quantity));
                let distance = caloric(state, quantity) - target;
                (sign * distance, slope.map(|slope| sign * slope))
            };
            let crossing = Crossing {
                solver: "pressure of a mixture at given temperature",
                at: &at,
                excess: &excess,
                edge: &|one, other| self.edge_pressure(one, other),
                tolerance: ROUNDING * self.scale(quantity),
            };
            found.extend(crossing.solve(*start, *end, 0.5 * (start + end))?);
        }
        Ok(found)
    }

    /// The size of a caloric quantity that rounding is measured by: R T or R per mass.
    fn scale(&self, quantity: Quantity) -> f64 {
        let gas_constant = self.specific_gas_constant();
        match quantity {
            Quantity::SpecificEntropy => gas_constant,
            _ => gas_constant * USUAL_TEMPERATURE,
        }
    }

    /// The highest and the lowest pressure in Pa of the range.
    fn pressures(&self) -> [f64; 2] {
        [self.range.pressure_max, PRESSURE_MIN]
    }

    /// The error of a value that no state has between the coldest of the range, at one pressure in Pa, and the hottest, at another.
    fn not_reached(&self, quantity: Quantity, value: f64, [of_cold, of_hot]: [f64; 2]) -> Error {
        let range = self.range;
        let ends = [
            (range.temperature_min, of_cold),
            (range.temperature_max, of_hot),
        ];
        let of = |(temperature, pressure)| {
            let state = self.at(temperature, pressure).ok()?;
            Some(match quantity {
                Quantity::Density => state.density,
                _ => caloric(&state, quantity),
            })
        };
        let [cold, hot] = ends.map(|end| of(end).unwrap_or(f64::NAN));
        Error::OutOfRange {
            quantity,
            value,
            min: cold.min(hot),
            max: cold.max(hot),
            model: self.name().to_owned(),
        }
    }
}

/// The state with the words of all its phases.
pub(super) fn named(mut state: State) -> State {
    let Content::Several(parts) = &mut state.content else {
        return state;
    };
    for part in parts.iter_mut() {
        if let Some(phase) = part.fluid().filter(|phase| phase.phase.is_none()) {
            part.name(phase.phase());
        }
    }
    state.phase = Some(phase_of(parts));
    state
}

/// A phase beside others in which the amounts of all substances but one are too small for a number.
fn pure_phase(fluid: &Fluid, temperature: f64, pressure: f64, is_thinnest: bool) -> Result<State> {
    let mut state = State::fluid_from_tp(fluid.reference()?, temperature, pressure)?;
    state.phase = Some(if is_thinnest {
        Phase::Vapour
    } else {
        Phase::Liquid
    });
    Ok(state)
}

/// Lowest pressure in Pa at which a density is sought.
const VACUUM: f64 = 1e-3;
