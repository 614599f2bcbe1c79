//! The state at a pressure and one more variable.
//!
//! Along an isobar the enthalpy, the entropy and the internal energy rise with temperature, through the region of two phases
//! too, so that each of them fixes the state. The density falls, but for the few fluids that shrink when they are warmed.

use super::close;
use super::pure::Pure;
use super::solve::{PRESSURE_MIN, usual_density, usual_pressure};
use super::transition::{Place, Transition, caloric_of_solid};
use super::{Body, Fluid, State, shift};
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result, finite, positive, within};
use crate::num::root::{Tolerance, newton_bisect, roots_of_two_branches};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// Temperature to which an iteration is driven, relative.
const TEMPERATURE: Tolerance = Tolerance {
    relative: 2.0 * f64::EPSILON,
    iterations: 200,
};

/// Share of the critical temperature below which a liquid may shrink when it is warmed, and by how much at most: an allowance
/// for water, whose density rises by 0.02 % from 0 degC to 4 degC.
const SHRINKING_BELOW: f64 = 0.9;
const SHRINKING: f64 = 0.02;

impl State {
    /// The state at a pressure p in Pa and a specific enthalpy h in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // A heater of 2 W in a stream of 3 g/min behind the regulator.
    /// let cold = State::from_tp(&co2, 313.15, 15e6)?.expand_to(2e6)?;
    /// let warm = State::from_ph(&co2, 2e6, cold.specific_enthalpy() + 2.0 / (3e-3 / 60.0))?;
    /// assert!((warm.specific_enthalpy() - cold.specific_enthalpy() - 40e3).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_ph(fluid: &Fluid, pressure: f64, specific_enthalpy: f64) -> Result<Self> {
        Self::from_caloric(
            fluid,
            pressure,
            Quantity::SpecificEnthalpy,
            specific_enthalpy,
        )
    }

    /// The state at a pressure p in Pa and a specific entropy s in J/(kg K); two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let suction = State::from_tp(&co2, 278.15, 5.5e6)?;
    /// let delivery = State::from_ps(&co2, 20e6, suction.specific_entropy())?;
    /// // The work of an ideal pump on a liquid is nearly dp/rho.
    /// let work = delivery.specific_enthalpy() - suction.specific_enthalpy();
    /// assert!((work * suction.density() / 14.5e6 - 1.0).abs() < 0.05);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_ps(fluid: &Fluid, pressure: f64, specific_entropy: f64) -> Result<Self> {
        Self::from_caloric(fluid, pressure, Quantity::SpecificEntropy, specific_entropy)
    }

    /// The state at a pressure p in Pa and a specific internal energy u in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_pu(&co2, 15e6, state.specific_internal_energy())?;
    /// assert!((same.temperature() - 313.15).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_pu(fluid: &Fluid, pressure: f64, specific_internal_energy: f64) -> Result<Self> {
        Self::from_caloric(
            fluid,
            pressure,
            Quantity::SpecificInternalEnergy,
            specific_internal_energy,
        )
    }

    /// The state at a pressure p in Pa and a density rho in kg/m3; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside. Not unique where the fluid
    /// shrinks when it is warmed, as water below 4 degC does: error 403 if the density is met on both sides of the largest.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let water = Fluid::new("water")?;
    /// let warm = State::from_tp(&water, 353.15, 101_325.0)?;
    /// let back = State::from_p_rho(&water, 101_325.0, warm.density())?;
    /// assert!((back.temperature() - 353.15).abs() < 1e-9);
    /// assert_eq!(State::from_p_rho(&water, 101_325.0, 999.95).unwrap_err().code(), 403);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_p_rho(fluid: &Fluid, pressure: f64, density: f64) -> Result<Self> {
        if let Some((of_model, shift)) = fluid.unshifted() {
            let before = shift::before(density, shift)?;
            return Self::from_p_rho(&of_model, pressure, before)?.shifted(shift);
        }
        positive(Quantity::Pressure, pressure)?;
        if let Some(mixed) = fluid.mixed() {
            return mixed.state_on_isobar_at_density(pressure, density);
        }
        let fluid = fluid.reference()?;
        usual_density(density, f64::MAX, fluid.model())?;
        usual_pressure(fluid, pressure)?;
        let pair = [(Quantity::Pressure, pressure), (Quantity::Density, density)];
        if let Some(state) = close::state(fluid, pair) {
            return state.admit();
        }
        let isobar = Isobar::new(fluid, pressure)?;
        isobar.at_density(density)?.admit()
    }

    /// The state at a pressure and a caloric quantity.
    fn from_caloric(fluid: &Fluid, pressure: f64, quantity: Quantity, target: f64) -> Result<Self> {
        if let Some((of_model, shift)) = fluid.unshifted() {
            let before = shift::caloric_before(quantity, target, shift, pressure);
            return Self::from_caloric(&of_model, pressure, quantity, before)?.shifted(shift);
        }
        finite(quantity, target)?;
        positive(Quantity::Pressure, pressure)?;
        if let Some(mixed) = fluid.mixed() {
            return mixed.state_on_isobar(pressure, quantity, target);
        }
        let fluid = fluid.reference()?;
        usual_pressure(fluid, pressure)?;
        let pair = [(Quantity::Pressure, pressure), (quantity, target)];
        if let Some(state) = close::state(fluid, pair) {
            return state.admit();
        }
        Isobar::new(fluid, pressure)?.at(quantity, target)?.admit()
    }
}

/// An isobar through all phases of a fluid.
pub(super) struct Isobar<'a> {
    fluid: Pure<'a>,
    pressure: f64,
    low: f64,
    high: f64,
    crossing: Crossing,
    /// Whether the pressure is that of the top of the dome or above.
    over_dome: bool,
}

/// Where an isobar leaves the hottest phase that another one borders on.
enum Crossing {
    /// Nowhere.
    None,
    /// To liquid, or to solid below the triple point.
    Phases(Transition),
    /// Between the bubble and the dew point of a mixture, of whose phases nothing is known.
    Mixture { bubble: State, dew: State },
}

/// One fluid phase on an isobar, between two temperatures.
struct Stretch {
    low: f64,
    high: f64,
    /// Densities in kg/m3 between which its states lie, where they are known.
    densities: Option<(f64, f64)>,
}

/// The end of an isobar: its temperature and what is there.
pub(super) struct End {
    /// Temperature in K.
    pub temperature: f64,
    /// Specific entropy in J/(kg K).
    pub specific_entropy: f64,
    /// Density in kg/m3.
    pub density: f64,
    /// Specific enthalpy in J/kg.
    pub specific_enthalpy: f64,
}

impl End {
    fn of(state: &State) -> Self {
        Self {
            temperature: state.temperature,
            specific_entropy: state.specific_entropy(),
            density: state.density,
            specific_enthalpy: state.specific_enthalpy(),
        }
    }
}

impl<'a> Isobar<'a> {
    pub(super) fn new(fluid: Pure<'a>, pressure: f64) -> Result<Self> {
        let range = fluid.admitted_range();
        let over_solid = fluid
            .solid()
            .is_some_and(|solid| pressure < solid.triple_point().pressure);
        let crossing = if over_solid {
            match fluid.freezing_at_pressure(pressure)? {
                Some(found) => Crossing::Phases(found),
                None => Crossing::None,
            }
        } else if fluid.is_pseudo_pure() {
            match fluid.bubble_and_dew_temperature(pressure)? {
                Some((bubble, dew)) => Crossing::Mixture {
                    bubble: State::fluid_from_tp(fluid, bubble, pressure)?,
                    dew: State::fluid_from_tp(fluid, dew, pressure)?,
                },
                None => Crossing::None,
            }
        } else {
            match fluid.coexistence_at_pressure(pressure) {
                Ok(found) => Crossing::Phases(Transition::of_liquid(fluid, &found)),
                Err(Error::NoCoexistence { .. }) => Crossing::None,
                Err(other) => return Err(other),
            }
        };
        Ok(Self {
            fluid,
            pressure,
            low: fluid.coldest(pressure)?.max(range.temperature_min),
            high: range.temperature_max,
            crossing,
            over_dome: pressure >= fluid.pressure_of_dome_top(),
        })
    }

    /// The state at a caloric quantity.
    pub(super) fn at(&self, quantity: Quantity, target: f64) -> Result<State> {
        match &self.crossing {
            Crossing::None => {}
            Crossing::Phases(transition) => match transition.place(self.fluid, quantity, target) {
                Place::Here(state) => return Ok(state),
                Place::Thin => return self.one_phase(quantity, target, &self.thin_stretch()),
                Place::Dense if matches!(transition.dense, Body::Solid(_)) => {
                    return self.solid(quantity, target, transition.temperature());
                }
                Place::Dense => {}
            },
            Crossing::Mixture { bubble, dew } => {
                if target >= caloric(dew, quantity) {
                    return self.one_phase(quantity, target, &self.thin_stretch());
                } else if target > caloric(bubble, quantity) {
                    return Err(self.fluid.no_phases());
                }
            }
        }
        let dense = self.dense_stretch();
        let surely_molten = match self.fluid.solid() {
            Some(_) => self.fluid.surely_molten(self.pressure)?,
            None => return self.one_phase(quantity, target, &dense),
        };
        let molten = self.fluid_at(&dense, surely_molten);
        if surely_molten < dense.high && caloric(&molten?, quantity) <= target {
            let low = surely_molten;
            return self.one_phase(quantity, target, &Stretch { low, ..dense });
        }
        // The melting line of equal Gibbs energies costs more than the rest, and is asked for only near it.
        let Some(melting) = self.fluid.freezing_at_pressure(self.pressure)? else {
            return self.one_phase(quantity, target, &dense);
        };
        let temperature = melting.temperature();
        match melting.place(self.fluid, quantity, target) {
            Place::Here(state) => Ok(state),
            Place::Dense => self.solid(quantity, target, temperature),
            Place::Thin => {
                let low = temperature;
                self.one_phase(quantity, target, &Stretch { low, ..dense })
            }
        }
    }

    /// The fluid above the crossing, or all of it where there is none.
    fn thin_stretch(&self) -> Stretch {
        match &self.crossing {
            Crossing::Phases(Transition { thin, .. }) => Stretch {
                low: thin.temperature,
                high: self.high,
                densities: Some((0.0, thin.density)),
            },
            Crossing::Mixture { dew, .. } => Stretch {
                low: dew.temperature,
                high: self.high,
                densities: None,
            },
            Crossing::None => Stretch {
                low: self.low,
                high: self.high,
                densities: None,
            },
        }
    }

    /// The fluid below the crossing, or all of it where there is none.
    fn dense_stretch(&self) -> Stretch {
        let dense_max = self.fluid.helmholtz().density_max;
        match &self.crossing {
            Crossing::Phases(Transition { dense, thin }) => {
                // Few liquids shrink when they are warmed, all far below their critical temperature.
                let top = self.fluid.helmholtz().dome_top.temperature;
                let shrinks = thin.temperature < SHRINKING_BELOW * top;
                let allowance = if shrinks { SHRINKING } else { 0.0 };
                Stretch {
                    low: self.low,
                    high: thin.temperature,
                    densities: Some(((1.0 - allowance) * dense.density(), dense_max)),
                }
            }
            Crossing::Mixture { bubble, .. } => Stretch {
                low: self.low,
                high: bubble.temperature,
                densities: None,
            },
            Crossing::None => self.thin_stretch(),
        }
    }

    /// The fluid at a temperature in K of a stretch.
    fn fluid_at(&self, stretch: &Stretch, temperature: f64) -> Result<State> {
        self.fluid_near(stretch, temperature, None)
    }

    /// As [`Isobar::fluid_at`], with a density in kg/m3 that may be near.
    fn fluid_near(&self, stretch: &Stretch, temperature: f64, near: Option<f64>) -> Result<State> {
        let (fluid, pressure) = (self.fluid, self.pressure);
        let helmholtz = fluid.helmholtz();
        let top = helmholtz.dome_top;
        match stretch.densities {
            Some(between) => State::fluid_between(fluid, temperature, pressure, between, near),
            None if self.over_dome && temperature < top.temperature => {
                let between = (top.density, helmholtz.density_max);
                State::fluid_between(fluid, temperature, pressure, between, near)
            }
            None => State::fluid_from_tp(fluid, temperature, pressure),
        }
    }

    /// One fluid phase at a caloric quantity.
    fn one_phase(&self, quantity: Quantity, target: f64, stretch: &Stretch) -> Result<State> {
        let Stretch { low, high, .. } = *stretch;
        let (fluid, pressure) = (self.fluid, self.pressure);
        let at = |temperature| self.fluid_at(stretch, temperature);
        let [min, max] = [caloric(&at(low)?, quantity), caloric(&at(high)?, quantity)];
        if target < min && low > fluid.range().temperature_min {
            fluid.refuse_solid(low * (1.0 - 1e-10), pressure)?;
        }
        within(quantity, target, min, max, fluid.model())?;
        let start = low + (high - low) * (target - min) / (max - min);
        let solver = "temperature at given pressure";
        let mut near = None;
        let temperature = newton_bisect(solver, low, high, start, TEMPERATURE, |temperature| {
            let state = self.fluid_near(stretch, temperature, near)?;
            near = Some(state.density);
            Ok((caloric(&state, quantity) - target, slope(&state, quantity)?))
        })?;
        self.fluid_near(stretch, temperature, near)
    }

    /// The solid alone at a caloric quantity, below a temperature in K at which it ends.
    fn solid(&self, quantity: Quantity, target: f64, high: f64) -> Result<State> {
        let solid = self.fluid.solid().ok_or_else(no_solid)?;
        let low = solid.temperature_min();
        let at = |temperature| solid.at(temperature, self.pressure);
        let [min, max] = [low, high].map(|end| at(end).map(|end| caloric_of_solid(&end, quantity)));
        let (min, max) = (min?, max?);
        within(quantity, target, min, max, self.fluid.solid_model())?;
        let start = low + (high - low) * (target - min) / (max - min);
        let solver = "temperature of the solid at given pressure";
        let temperature = newton_bisect(solver, low, high, start, TEMPERATURE, |temperature| {
            let point = at(temperature)?;
            let value = caloric_of_solid(&point, quantity) - target;
            Ok((value, slope_of_solid(&point, quantity)))
        })?;
        Ok(State::of_solid(self.fluid, at(temperature)?))
    }

    /// The state at a density in kg/m3. Error 403 if there are two.
    fn at_density(&self, density: f64) -> Result<State> {
        let melting = match &self.crossing {
            Crossing::Phases(Transition {
                dense: Body::Solid(_),
                ..
            }) => None,
            _ => self.fluid.freezing_at_pressure(self.pressure)?,
        };
        let mut found = Vec::new();
        match &self.crossing {
            Crossing::Mixture { bubble, dew }
                if density < bubble.density && density > dew.density =>
            {
                return Err(self.fluid.no_phases());
            }
            Crossing::Phases(transition) if transition.spans(density) => {
                found.push(transition.at_density(self.fluid, density));
            }
            _ => {}
        }
        found.extend(
            melting
                .iter()
                .filter(|melting| melting.spans(density))
                .map(|melting| melting.at_density(self.fluid, density)),
        );
        // A state on the border of two phases has been found with them.
        let border = found.first().map(|state| state.temperature);
        let mut others = Vec::new();
        for stretch in self.stretches(melting.as_ref()) {
            others.extend(self.fluid_at_densities(&stretch, density)?);
        }
        others.extend(self.solid_at_density(melting.as_ref(), density)?);
        found.extend(
            others
                .into_iter()
                .filter(|state| Some(state.temperature) != border),
        );
        let solutions = found.len();
        match (found.pop(), solutions) {
            (Some(state), 1) => Ok(state),
            (None, _) => Err(self.no_density(density)),
            _ => Err(Error::NotUnique {
                quantity: Quantity::Density,
                value: density,
                solutions,
            }),
        }
    }

    /// The stretches of one fluid phase, the colder one above the melting point where that is known.
    fn stretches(&self, melting: Option<&Transition>) -> Vec<Stretch> {
        let thin = self.thin_stretch();
        let melts = melting.map_or(self.low, Transition::temperature);
        match &self.crossing {
            Crossing::None => vec![Stretch { low: melts, ..thin }],
            Crossing::Phases(Transition {
                dense: Body::Solid(_),
                ..
            }) => {
                vec![thin]
            }
            _ => {
                let dense = self.dense_stretch();
                vec![
                    Stretch {
                        low: melts,
                        ..dense
                    },
                    thin,
                ]
            }
        }
    }

    /// The states of one fluid phase with a density in kg/m3.
    fn fluid_at_densities(&self, stretch: &Stretch, density: f64) -> Result<Vec<State>> {
        let at = |temperature: f64| self.fluid_at(stretch, temperature);
        // The density sought is near that of every step but the first.
        let residual = |temperature| {
            let state = self.fluid_near(stretch, temperature, Some(density))?;
            let ratio = state.density / density;
            Ok((1.0 - ratio, ratio * state.isobaric_expansivity()?))
        };
        let Stretch { low, high, .. } = *stretch;
        let solver = "temperature at given pressure and density";
        roots_of_two_branches(solver, low, high, TEMPERATURE, residual)?
            .into_iter()
            .map(at)
            .collect()
    }

    /// The solid alone with a density in kg/m3, which falls with temperature.
    fn solid_at_density(
        &self,
        melting: Option<&Transition>,
        density: f64,
    ) -> Result<Option<State>> {
        let border = match (&self.crossing, melting) {
            (_, Some(melting)) => melting,
            (Crossing::Phases(found), None) => found,
            _ => return Ok(None),
        };
        let (Body::Solid(warmest), Some(solid)) = (&border.dense, self.fluid.solid()) else {
            return Ok(None);
        };
        let (low, high) = (solid.temperature_min(), warmest.temperature);
        let coldest = solid.at(low, self.pressure)?;
        if density <= warmest.density || density > coldest.density {
            return Ok(None);
        }
        let solver = "temperature of the solid at given pressure and density";
        let share = (coldest.density - density) / (coldest.density - warmest.density);
        let start = low + (high - low) * share;
        let temperature = newton_bisect(solver, low, high, start, TEMPERATURE, |temperature| {
            let point = solid.at(temperature, self.pressure)?;
            let ratio = point.density / density;
            Ok((1.0 - ratio, ratio * point.isobaric_expansivity))
        })?;
        let point = solid.at(temperature, self.pressure)?;
        Ok(Some(State::of_solid(self.fluid, point)))
    }

    /// Why no state has a density in kg/m3.
    fn no_density(&self, density: f64) -> Error {
        let at = |temperature| State::fluid_from_tp(self.fluid, temperature, self.pressure);
        let density_at = |temperature| at(temperature).map_or(f64::NAN, |state| state.density);
        Error::OutOfRange {
            quantity: Quantity::Density,
            value: density,
            min: density_at(self.high),
            max: density_at(self.low),
            model: self.fluid.model().to_owned(),
        }
    }

    /// The mean of the bubble and the dew point of a mixture that has an entropy in J/(kg K): not a state, but a way across
    /// the gap between them.
    pub(super) fn mean(&self, specific_entropy: f64) -> Option<End> {
        let Crossing::Mixture { bubble, dew } = &self.crossing else {
            return None;
        };
        let (bubble, dew) = (End::of(bubble), End::of(dew));
        let share = (specific_entropy - bubble.specific_entropy)
            / (dew.specific_entropy - bubble.specific_entropy);
        let mean = |bubble: f64, dew: f64| bubble + share * (dew - bubble);
        Some(End {
            temperature: mean(bubble.temperature, dew.temperature),
            specific_entropy,
            density: 1.0 / mean(1.0 / bubble.density, 1.0 / dew.density),
            specific_enthalpy: mean(bubble.specific_enthalpy, dew.specific_enthalpy),
        })
    }

    /// The coldest and the hottest end.
    pub(super) fn ends(&self) -> Result<[End; 2]> {
        let hot = State::fluid_from_tp(self.fluid, self.high, self.pressure)?;
        let end = self.fluid.melting_end();
        let frozen = self.fluid.solid().zip(end);
        let cold = match frozen.filter(|(_, end)| self.pressure <= end.solid.pressure) {
            Some((solid, _)) => {
                let point = solid.at(solid.temperature_min(), self.pressure)?;
                State::of_solid(self.fluid, point)
            }
            None => State::fluid_from_tp(self.fluid, self.low, self.pressure)?,
        };
        Ok([End::of(&cold), End::of(&hot)])
    }
}

fn no_solid() -> Error {
    Error::Internal {
        place: "the solid beside a fluid",
    }
}

/// Pressures in Pa between which a fluid is known.
pub(super) fn pressures(fluid: Pure<'_>) -> (f64, f64) {
    (PRESSURE_MIN, fluid.admitted_range().pressure_max)
}

/// A caloric quantity of a state.
pub(super) fn caloric(state: &State, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::SpecificEntropy => state.specific_entropy(),
        Quantity::SpecificInternalEnergy => state.specific_internal_energy(),
        _ => state.specific_enthalpy(),
    }
}

/// Derivative of a caloric quantity in temperature at constant pressure: `(ds/dT)_p = c_p/T`, `(dh/dT)_p = c_p`,
/// `(du/dT)_p = c_p - p alpha_V / rho`.
fn slope(state: &State, quantity: Quantity) -> Result<f64> {
    let heat_capacity = state.specific_isobaric_heat_capacity()?;
    Ok(match quantity {
        Quantity::SpecificEntropy => heat_capacity / state.temperature,
        Quantity::SpecificInternalEnergy => {
            heat_capacity - state.pressure * state.isobaric_expansivity()? / state.density
        }
        _ => heat_capacity,
    })
}

/// As [`slope`], of the solid.
fn slope_of_solid(solid: &SolidPoint, quantity: Quantity) -> f64 {
    let heat_capacity = solid.specific_isobaric_heat_capacity;
    match quantity {
        Quantity::SpecificEntropy => heat_capacity / solid.temperature,
        Quantity::SpecificInternalEnergy => {
            heat_capacity - solid.pressure * solid.isobaric_expansivity / solid.density
        }
        _ => heat_capacity,
    }
}
