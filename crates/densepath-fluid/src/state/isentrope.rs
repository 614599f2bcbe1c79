//! The state at an entropy and an enthalpy or an internal energy.
//!
//! Along an isentrope both rise with pressure, `(dh/dp)_s = 1/rho` and `(du/dp)_s = p / (rho c)^2`, so that each of them fixes
//! the state. An enthalpy and an internal energy do not: of an ideal gas both depend on temperature alone.

use super::close;
use super::isobar::{End, Isobar, caloric, pressures};
use super::pure::Pure;
use super::{Fluid, State, shift};
use crate::error::{Error, Result, finite};
use crate::num::root::{Tolerance, newton_bisect};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

impl State {
    /// The state at a specific enthalpy h in J/kg and a specific entropy s in J/(kg K); two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 402 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_hs(&co2, state.specific_enthalpy(), state.specific_entropy())?;
    /// assert!((same.pressure() / 15e6 - 1.0).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_hs(fluid: &Fluid, specific_enthalpy: f64, specific_entropy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            specific_entropy,
            Quantity::SpecificEnthalpy,
            specific_enthalpy,
        )
    }

    /// The state at a specific entropy s in J/(kg K) and a specific internal energy u in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 402 outside.
    /// *Uncertainty*: of a liquid under low pressure the internal energy hardly depends on the pressure, which is then poorly
    /// determined.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_su(&co2, state.specific_entropy(), state.specific_internal_energy())?;
    /// assert!((same.pressure() / 15e6 - 1.0).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_su(
        fluid: &Fluid,
        specific_entropy: f64,
        specific_internal_energy: f64,
    ) -> Result<Self> {
        from_caloric(
            fluid,
            specific_entropy,
            Quantity::SpecificInternalEnergy,
            specific_internal_energy,
        )
    }
}

/// A point of an isentrope, which is carried beyond the temperatures of the range at constant temperature, so that it reaches
/// all pressures.
enum Point {
    Inside(State),
    Beyond {
        end: End,
        excess: f64,
    },
    /// Between the bubble and the dew point of a mixture.
    Gap(End),
}

impl Point {
    fn new(fluid: Pure<'_>, pressure: f64, entropy: f64) -> Result<Self> {
        let isobar = Isobar::new(fluid, pressure)?;
        match isobar.at(Quantity::SpecificEntropy, entropy) {
            Ok(state) => Ok(Point::Inside(state)),
            Err(Error::OutOfRange { .. } | Error::Solid { .. }) => {
                let [cold, hot] = isobar.ends()?;
                let end = if entropy < cold.specific_entropy {
                    cold
                } else {
                    hot
                };
                let excess = entropy - end.specific_entropy;
                Ok(Point::Beyond { end, excess })
            }
            Err(other) => match isobar.mean(entropy) {
                Some(end) => Ok(Point::Gap(end)),
                None => Err(other),
            },
        }
    }

    /// The quantity and its derivative in the logarithm of the pressure, where it is known.
    fn value(&self, quantity: Quantity, pressure: f64) -> (f64, f64) {
        match self {
            Point::Inside(state) => {
                let slope = match quantity {
                    Quantity::SpecificInternalEnergy => yielding(state).unwrap_or(f64::NAN),
                    _ => pressure / state.density,
                };
                (caloric(state, quantity), slope)
            }
            Point::Beyond { end, excess } => {
                at_end(end, end.temperature * excess, quantity, pressure)
            }
            Point::Gap(mean) => at_end(mean, 0.0, quantity, pressure),
        }
    }
}

/// A quantity at an end of an isobar to which heat in J/kg has been added, and its derivative in the logarithm of the pressure.
fn at_end(end: &End, heat: f64, quantity: Quantity, pressure: f64) -> (f64, f64) {
    let work = pressure / end.density;
    let enthalpy = end.specific_enthalpy + heat;
    match quantity {
        Quantity::SpecificInternalEnergy => (enthalpy - work, f64::NAN),
        _ => (enthalpy, work),
    }
}

/// `p (du/dp)_s` in J/kg: `p^2 / (rho c)^2` of one phase, `p^2 c_v / (T (dp_s/dT)^2)` of two.
fn yielding(state: &State) -> Option<f64> {
    let pressure = state.pressure;
    if let Ok(speed) = state.speed_of_sound() {
        let impedance = state.density * speed;
        return Some(pressure * pressure / (impedance * impedance));
    }
    let (capacity, slope) = state.isochoric_response()?;
    Some(pressure * pressure * capacity / (state.temperature * slope * slope))
}

fn from_caloric(fluid: &Fluid, entropy: f64, quantity: Quantity, target: f64) -> Result<State> {
    if let Some((of_model, shift)) = fluid.unshifted() {
        let at = |tried| from_caloric(&of_model, entropy, quantity, tried);
        return shift::at_caloric(quantity, target, shift, at);
    }
    finite(Quantity::SpecificEntropy, entropy)?;
    finite(quantity, target)?;
    let need = "the state of a mixture from its entropy and an energy: give a temperature, a pressure or a density";
    let fluid = fluid.pure_for(quantity, need)?;
    if quantity == Quantity::SpecificInternalEnergy
        && let Some(state) =
            fluid.triple_state([(Quantity::SpecificEntropy, entropy), (quantity, target)])?
    {
        return Ok(state);
    }
    let pair = [(Quantity::SpecificEntropy, entropy), (quantity, target)];
    if let Some(state) = close::state(fluid, pair) {
        return state.admit();
    }
    let (min, max) = pressures(fluid);
    let residual = |logarithm: f64| {
        let pressure = logarithm.exp();
        let (value, slope) = Point::new(fluid, pressure, entropy)?.value(quantity, pressure);
        Ok((value - target, slope))
    };
    let (mut low, mut high) = (min.ln(), max.ln());
    let outside = |quantity, min, max, reason| Error::Unreachable {
        quantity,
        min,
        max,
        reason,
    };
    // The way beyond the temperatures of the range jumps where the equation of the solid ends.
    if let Some(end) = fluid.melting_end() {
        let border = (end.solid.pressure * (1.0 - 1e-12)).ln();
        let side = if residual(border)?.0 < 0.0 {
            &mut low
        } else {
            &mut high
        };
        *side = border;
    }
    if residual(low)?.0 > 0.0 || residual(high)?.0 < 0.0 {
        let reason = "the entropy and the energy meet at no pressure of the range";
        return Err(outside(Quantity::Pressure, min, max, reason));
    }
    let logarithm = newton_bisect(
        "pressure at given entropy",
        low,
        high,
        0.5 * (low + high),
        Tolerance {
            relative: f64::EPSILON,
            iterations: 200,
        },
        residual,
    )?;
    match Point::new(fluid, logarithm.exp(), entropy)? {
        Point::Inside(state) => state.admit(),
        Point::Gap(_) => Err(fluid.no_phases()),
        Point::Beyond { .. } => {
            let range = fluid.range();
            let reason = "the entropy and the energy meet outside the temperatures of the range";
            let (min, max) = (range.temperature_min, range.temperature_max);
            Err(outside(Quantity::Temperature, min, max, reason))
        }
    }
}
