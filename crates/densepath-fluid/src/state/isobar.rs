//! The state at a pressure and one more variable.
//!
//! Along an isobar the enthalpy, the entropy and the internal energy rise with temperature, through the region of two phases
//! too, so that each of them fixes the state. The density falls, but for the few fluids that shrink when they are warmed.

use super::pure::Pure;
use super::solve::{PRESSURE_MIN, usual_pressure};
use super::{Fluid, Phase, State};
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result, finite, positive, within};
use crate::num::root::{Tolerance, newton_bisect, roots_of_two_branches};
use crate::quantity::Quantity;

/// Vapour fraction outside 0 and 1 within which a state counts as saturated liquid or vapour.
const SATURATED: f64 = 1e-10;

/// Temperature to which an iteration is driven, relative.
const TEMPERATURE: Tolerance = Tolerance {
    relative: 2.0 * f64::EPSILON,
    iterations: 200,
};

impl State {
    /// The state at a pressure p in Pa and a specific enthalpy h in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
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
    pub fn from_ps(fluid: &Fluid, pressure: f64, specific_entropy: f64) -> Result<Self> {
        Self::from_caloric(fluid, pressure, Quantity::SpecificEntropy, specific_entropy)
    }

    /// The state at a pressure p in Pa and a specific internal energy u in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
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
        positive(Quantity::Pressure, pressure)?;
        positive(Quantity::Density, density)?;
        if let Some(mixed) = fluid.mixed() {
            return mixed.state_on_isobar_at_density(pressure, density);
        }
        let fluid = fluid.reference()?;
        usual_pressure(fluid, pressure)?;
        let isobar = Isobar::new(fluid, pressure)?;
        isobar.at_density(density)?.admit()
    }

    /// The state at a pressure and a caloric quantity.
    fn from_caloric(fluid: &Fluid, pressure: f64, quantity: Quantity, target: f64) -> Result<Self> {
        finite(quantity, target)?;
        positive(Quantity::Pressure, pressure)?;
        if let Some(mixed) = fluid.mixed() {
            return mixed.state_on_isobar(pressure, quantity, target);
        }
        let fluid = fluid.reference()?;
        usual_pressure(fluid, pressure)?;
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
}

/// Where an isobar leaves one phase.
enum Crossing {
    /// Nowhere.
    None,
    /// Where solid and vapour coexist, below which all is solid.
    Sublimation { solid: SolidPoint, vapour: State },
    /// Where liquid and vapour coexist.
    Boiling { liquid: State, vapour: State },
    /// Between the bubble and the dew point of a mixture, of whose phases nothing is known.
    Mixture { bubble: State, dew: State },
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
        let (low, high) = (range.temperature_min, range.temperature_max);
        let isobar = |low, crossing| Self {
            fluid,
            pressure,
            low,
            high,
            crossing,
        };
        if let Some((solid, vapour)) = sublimation(fluid, pressure)? {
            let low = vapour.temperature;
            return Ok(isobar(low, Crossing::Sublimation { solid, vapour }));
        }
        let low = fluid.coldest(pressure)?.max(low);
        if fluid.is_pseudo_pure() {
            let crossing = match fluid.bubble_and_dew_temperature(pressure)? {
                Some((bubble, dew)) => Crossing::Mixture {
                    bubble: State::fluid_from_tp(fluid, bubble, pressure)?,
                    dew: State::fluid_from_tp(fluid, dew, pressure)?,
                },
                None => Crossing::None,
            };
            return Ok(isobar(low, crossing));
        }
        let crossing = match fluid.coexistence_at_pressure(pressure) {
            Ok(found) => {
                let (liquid, vapour) = State::coexisting(fluid, &found);
                Crossing::Boiling { liquid, vapour }
            }
            Err(Error::NoCoexistence { .. }) => Crossing::None,
            Err(other) => return Err(other),
        };
        Ok(isobar(low, crossing))
    }

    /// The state at a caloric quantity.
    pub(super) fn at(&self, quantity: Quantity, target: f64) -> Result<State> {
        let (mut low, mut high) = (self.low, self.high);
        match &self.crossing {
            Crossing::None => {}
            Crossing::Sublimation { solid, vapour } => {
                if target <= caloric(vapour, quantity) {
                    let at_solid = caloric_of_solid(solid, quantity);
                    let whole = caloric(vapour, quantity) - at_solid;
                    return State::solid_vapour(
                        *solid,
                        vapour.clone(),
                        (target - at_solid) / whole,
                    );
                }
                low = vapour.temperature;
            }
            Crossing::Boiling { liquid, vapour } => {
                let (at_liquid, at_vapour) = (caloric(liquid, quantity), caloric(vapour, quantity));
                let fraction = (target - at_liquid) / (at_vapour - at_liquid);
                if (0.0..=1.0).contains(&fraction) {
                    return Ok(State::liquid_vapour(
                        liquid.clone(),
                        vapour.clone(),
                        fraction,
                    ));
                }
                // A hair outside the dome the temperature no longer tells the two sides apart.
                if (-SATURATED..0.0).contains(&fraction) {
                    return Ok(liquid.clone());
                }
                if (1.0..1.0 + SATURATED).contains(&fraction) {
                    return Ok(vapour.clone());
                }
                if target < at_liquid {
                    high = liquid.temperature;
                } else {
                    low = vapour.temperature;
                }
            }
            Crossing::Mixture { bubble, dew } => {
                if target <= caloric(bubble, quantity) {
                    high = bubble.temperature;
                } else if target >= caloric(dew, quantity) {
                    low = dew.temperature;
                } else {
                    return Err(self.fluid.no_phases());
                }
            }
        }
        self.one_phase(quantity, target, low, high)
    }

    /// One phase at a caloric quantity between two temperatures on one side of the dome.
    fn one_phase(&self, quantity: Quantity, target: f64, low: f64, high: f64) -> Result<State> {
        let (fluid, pressure) = (self.fluid, self.pressure);
        let at = |temperature| State::fluid_from_tp(fluid, temperature, pressure);
        let [min, max] = [caloric(&at(low)?, quantity), caloric(&at(high)?, quantity)];
        if target < min && (low > fluid.range().temperature_min || fluid.solid().is_some()) {
            fluid.refuse_solid(low * (1.0 - SATURATED), pressure)?;
        }
        within(quantity, target, min, max, fluid.model())?;
        let start = low + (high - low) * (target - min) / (max - min);
        let solver = "temperature at given pressure";
        let temperature = newton_bisect(solver, low, high, start, TEMPERATURE, |temperature| {
            let state = at(temperature)?;
            Ok((caloric(&state, quantity) - target, slope(&state, quantity)?))
        })?;
        at(temperature)
    }

    /// The state at a density in kg/m3. Error 403 if there are two.
    fn at_density(&self, density: f64) -> Result<State> {
        let low = || State::fluid_from_tp(self.fluid, self.low, self.pressure);
        let high = || State::fluid_from_tp(self.fluid, self.high, self.pressure);
        let mut found = self.two_phases_at_density(density)?;
        let parts = match &self.crossing {
            Crossing::None => vec![(low()?, high()?)],
            Crossing::Sublimation { vapour, .. } => vec![(vapour.clone(), high()?)],
            Crossing::Boiling { liquid, vapour } => {
                vec![(low()?, liquid.clone()), (vapour.clone(), high()?)]
            }
            Crossing::Mixture { bubble, dew } => {
                vec![(low()?, bubble.clone()), (dew.clone(), high()?)]
            }
        };
        // A state on the border of two phases has been found with them.
        let border = found.first().map(|state| state.temperature);
        for (cold, hot) in parts {
            let states = at_densities(self.fluid, &cold, &hot, density)?;
            found.extend(
                states
                    .into_iter()
                    .filter(|state| Some(state.temperature) != border),
            );
        }
        let solutions = found.len();
        match (found.pop(), solutions) {
            (Some(state), 1) => Ok(state),
            (None, _) => Err(Error::OutOfRange {
                quantity: Quantity::Density,
                value: density,
                min: high()?.density,
                max: low()?.density,
                model: self.fluid.model().to_owned(),
            }),
            _ => Err(Error::NotUnique {
                quantity: Quantity::Density,
                value: density,
                solutions,
            }),
        }
    }

    /// The state of two phases at a density in kg/m3, none or one.
    fn two_phases_at_density(&self, density: f64) -> Result<Vec<State>> {
        let share =
            |dense: f64, vapour: f64| (1.0 / density - 1.0 / dense) / (1.0 / vapour - 1.0 / dense);
        match &self.crossing {
            Crossing::Sublimation { solid, vapour } if density >= vapour.density => {
                let fraction = share(solid.density, vapour.density);
                Ok(vec![State::solid_vapour(*solid, vapour.clone(), fraction)?])
            }
            Crossing::Boiling { liquid, vapour }
                if (vapour.density..=liquid.density).contains(&density) =>
            {
                let fraction = share(liquid.density, vapour.density);
                let mut state = State::liquid_vapour(liquid.clone(), vapour.clone(), fraction);
                state.density = density;
                Ok(vec![state])
            }
            Crossing::Mixture { bubble, dew }
                if density < bubble.density && density > dew.density =>
            {
                Err(self.fluid.no_phases())
            }
            _ => Ok(Vec::new()),
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
        let cold = match &self.crossing {
            Crossing::Sublimation { solid, .. } => End {
                temperature: solid.temperature,
                specific_entropy: solid.specific_entropy,
                density: solid.density,
                specific_enthalpy: solid.specific_enthalpy(),
            },
            _ => End::of(&State::fluid_from_tp(self.fluid, self.low, self.pressure)?),
        };
        Ok([cold, End::of(&hot)])
    }
}

/// Pressures in Pa between which a fluid is known.
pub(super) fn pressures(fluid: Pure<'_>) -> (f64, f64) {
    (PRESSURE_MIN, fluid.admitted_range().pressure_max)
}

/// Solid and vapour at a pressure below the triple point, where the solid is known.
fn sublimation(fluid: Pure<'_>, pressure: f64) -> Result<Option<(SolidPoint, State)>> {
    let Some(solid) = fluid
        .solid()
        .filter(|solid| pressure < solid.triple_point().pressure)
    else {
        return Ok(None);
    };
    let found = solid.sublimation_at_pressure(fluid.helmholtz(), pressure)?;
    let isotherm = fluid.helmholtz().isotherm(found.solid.temperature);
    let vapour = State::single(
        fluid,
        &isotherm,
        found.fluid_density,
        pressure,
        Phase::Vapour,
    );
    Ok(Some((found.solid, vapour)))
}

/// The states of one phase with a density in kg/m3 between two states of one pressure.
fn at_densities(fluid: Pure<'_>, cold: &State, hot: &State, density: f64) -> Result<Vec<State>> {
    let at = |temperature: f64| {
        if temperature == cold.temperature {
            Ok(cold.clone())
        } else if temperature == hot.temperature {
            Ok(hot.clone())
        } else {
            State::fluid_from_tp(fluid, temperature, cold.pressure)
        }
    };
    let residual = |temperature| {
        let state = at(temperature)?;
        let ratio = state.density / density;
        Ok((1.0 - ratio, ratio * state.isobaric_expansivity()?))
    };
    let (low, high) = (cold.temperature, hot.temperature);
    let solver = "temperature at given pressure and density";
    roots_of_two_branches(solver, low, high, TEMPERATURE, residual)?
        .into_iter()
        .map(at)
        .collect()
}

/// A caloric quantity of a state.
pub(super) fn caloric(state: &State, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::SpecificEntropy => state.specific_entropy(),
        Quantity::SpecificInternalEnergy => state.specific_internal_energy(),
        _ => state.specific_enthalpy(),
    }
}

pub(super) fn caloric_of_solid(solid: &SolidPoint, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::SpecificEntropy => solid.specific_entropy,
        Quantity::SpecificInternalEnergy => solid.specific_internal_energy(),
        _ => solid.specific_enthalpy(),
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
