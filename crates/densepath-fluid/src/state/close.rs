//! States close to the critical point, from both variables at once.
//!
//! A search along one variable after the other meets isotherms there that are flat, and phases that hardly differ. Temperature
//! and density themselves stay well determined: for every pair but temperature with pressure, the determinant of the derivatives
//! of the pair does not vanish where `(dp/drho)_T` does. So Newton's method in both arrives in few steps, in one phase; in two,
//! the temperature alone is sought, from which all else follows.

use super::isobar::caloric;
use super::pure::Pure;
use super::solve::phase_above_dome;
use super::transition::Transition;
use super::{Phase, State};
use crate::eos::Coexistence;
use crate::quantity::Quantity;

/// Distance from the top of the dome in pressure, relative, within which this way is tried.
const CLOSE_IN_PRESSURE: f64 = 1e-3;
/// In density.
const CLOSE_IN_DENSITY: f64 = 0.3;
/// In temperature.
const CLOSE_IN_TEMPERATURE: f64 = 1e-4;
/// In energies over `R T`, and in the entropy over R.
const CLOSE_IN_HEAT: f64 = 0.5;
/// Distance below the top of the dome, relative in temperature, from which two phases are sought where nothing nearer is known.
const BELOW: f64 = 3e-7;
/// Steps allowed; fewer than ten are the rule.
const STEPS: u32 = 40;
/// Relative steps below this are rounding once they no longer shrink.
const LAST_DIGITS: f64 = 1e-9;

/// A quantity and its value.
type Given = (Quantity, f64);

/// The state of a pair of variables, both close to their values at the top of the dome; nothing where it is not found there, so
/// that the way through all phases is left to tell.
pub(super) fn state(fluid: Pure<'_>, pair: [Given; 2]) -> Option<State> {
    if !pair.iter().all(|given| is_cheaply_close(fluid, *given)) {
        return None;
    }
    let top = fluid.helmholtz().dome_top;
    // A hair beside the top, where all derivatives exist.
    let start = Trial::new(fluid, top.temperature * (1.0 + 1e-7), top.density);
    if !pair.iter().all(|given| start.is_close(*given)) {
        return None;
    }
    let found = match start.newton(pair).and_then(|trial| trial.settled(fluid)) {
        Some(Settled::One(state)) => return Some(state),
        Some(Settled::Inside(found)) => found,
        // One phase alone may have no such state, not even an unstable one.
        None => {
            let below = top.temperature * (1.0 - BELOW);
            fluid.helmholtz().coexistence_at_temperature(below).ok()?
        }
    };
    two_phases(fluid, pair, found)
}

/// Whether a variable that costs nothing to judge is close.
fn is_cheaply_close(fluid: Pure<'_>, (quantity, value): Given) -> bool {
    let top = fluid.helmholtz().dome_top;
    match quantity {
        Quantity::Pressure => {
            (value / fluid.critical_pressure() - 1.0).abs() < 40.0 * CLOSE_IN_PRESSURE
        }
        Quantity::Density => (value / top.density - 1.0).abs() < CLOSE_IN_DENSITY,
        Quantity::Temperature => (value / top.temperature - 1.0).abs() < CLOSE_IN_TEMPERATURE,
        _ => true,
    }
}

/// A trial of one phase.
struct Trial<'a> {
    fluid: Pure<'a>,
    state: State,
}

/// What a trial that meets both variables turns out to be.
enum Settled {
    One(State),
    /// Between the two phases at its temperature.
    Inside(Coexistence),
}

impl<'a> Trial<'a> {
    fn new(fluid: Pure<'a>, temperature: f64, density: f64) -> Self {
        let isotherm = fluid.helmholtz().isotherm(temperature);
        let pressure = isotherm.pressure(density).pressure;
        let state = State::single(fluid, &isotherm, density, pressure, Phase::Supercritical);
        Self { fluid, state }
    }

    fn is_close(&self, (quantity, value): Given) -> bool {
        let (state, gas) = (&self.state, self.fluid.helmholtz().specific_gas_constant);
        match quantity {
            Quantity::Pressure => (value / state.pressure - 1.0).abs() < CLOSE_IN_PRESSURE,
            Quantity::Density | Quantity::Temperature => true,
            Quantity::SpecificEntropy => {
                (value - state.specific_entropy()).abs() < CLOSE_IN_HEAT * gas
            }
            other => {
                (value - caloric(state, other)).abs() < CLOSE_IN_HEAT * gas * state.temperature
            }
        }
    }

    /// Value of a quantity with its derivatives in temperature and density.
    fn linear(&self, quantity: Quantity) -> Option<[f64; 3]> {
        let state = &self.state;
        let (t, p, rho) = (state.temperature, state.pressure, state.density);
        let cv = state.specific_isochoric_heat_capacity().ok()?;
        let (push, stiffness) = (state.dp_dt_rho().ok()?, state.dp_drho_t().ok()?);
        Some(match quantity {
            Quantity::Temperature => [t, 1.0, 0.0],
            Quantity::Density => [rho, 0.0, 1.0],
            Quantity::Pressure => [p, push, stiffness],
            Quantity::SpecificEntropy => [state.specific_entropy(), cv / t, -push / (rho * rho)],
            Quantity::SpecificInternalEnergy => [
                state.specific_internal_energy(),
                cv,
                (p - t * push) / (rho * rho),
            ],
            Quantity::SpecificEnthalpy => [
                state.specific_enthalpy(),
                cv + push / rho,
                (stiffness - t * push / rho) / rho,
            ],
            _ => return None,
        })
    }

    /// Newton's method in temperature and density.
    fn newton(self, [one, other]: [Given; 2]) -> Option<Self> {
        let mut at = self;
        let mut before = f64::INFINITY;
        for _ in 0..STEPS {
            let [a, a_t, a_rho] = at.linear(one.0)?;
            let [b, b_t, b_rho] = at.linear(other.0)?;
            let (miss_a, miss_b) = (one.1 - a, other.1 - b);
            let determinant = a_t * b_rho - a_rho * b_t;
            let step_t = (miss_a * b_rho - a_rho * miss_b) / determinant;
            let step_rho = (a_t * miss_b - miss_a * b_t) / determinant;
            let (t, rho) = (at.state.temperature, at.state.density);
            let step = (step_t / t).abs().max((step_rho / rho).abs());
            if step.is_nan() || step > CLOSE_IN_DENSITY {
                return None;
            }
            if step < LAST_DIGITS && step >= 0.5 * before {
                return Some(at);
            }
            before = step;
            at = Self::new(at.fluid, t + step_t, rho + step_rho);
            if step == 0.0 {
                return Some(at);
            }
        }
        None
    }

    /// The trial as a state; nothing where it has left the neighbourhood.
    fn settled(self, fluid: Pure<'_>) -> Option<Settled> {
        let top = fluid.helmholtz().dome_top;
        let Self { mut state, .. } = self;
        let (temperature, density) = (state.temperature, state.density);
        let is_close = (temperature / top.temperature - 1.0).abs() < CLOSE_IN_TEMPERATURE
            && (density / top.density - 1.0).abs() < CLOSE_IN_DENSITY;
        if !is_close {
            return None;
        }
        let phase = if temperature >= top.temperature {
            phase_above_dome(fluid, temperature, state.pressure)
        } else {
            let found = fluid
                .helmholtz()
                .coexistence_at_temperature(temperature)
                .ok()?;
            if density >= found.liquid_density {
                Phase::Liquid
            } else if density <= found.vapour_density {
                Phase::Vapour
            } else {
                return Some(Settled::Inside(found));
            }
        };
        state.phase = Some(phase);
        Some(Settled::One(state))
    }
}

/// Liquid and vapour, by Newton's method in the temperature, from phases at a temperature nearby.
fn two_phases(fluid: Pure<'_>, pair: [Given; 2], near: Coexistence) -> Option<State> {
    let held = pair
        .iter()
        .find(|given| matches!(given.0, Quantity::Density | Quantity::SpecificEntropy))
        .or(pair.iter().find(|given| given.0 != Quantity::Pressure))?;
    let (quantity, target) = *pair.iter().find(|given| given.0 != held.0)?;
    if quantity == Quantity::Temperature || held.0 == Quantity::Temperature {
        return None;
    }
    let helmholtz = fluid.helmholtz();
    let top = helmholtz.dome_top.temperature;
    let mut found = near;
    let mut before = f64::INFINITY;
    for _ in 0..STEPS {
        let (miss, slope) = if quantity == Quantity::Pressure {
            (target - found.pressure, helmholtz.clapeyron_slope(&found))
        } else {
            let state = mixed(fluid, &found, *held)?;
            (
                target - caloric(&state, quantity),
                slope(&state, held.0, quantity)?,
            )
        };
        let step = miss / slope;
        let relative = (step / top).abs();
        if step.is_nan() || relative > CLOSE_IN_TEMPERATURE {
            return None;
        }
        if step == 0.0 || (relative < LAST_DIGITS && relative >= 0.5 * before) {
            return mixed(fluid, &found, *held);
        }
        before = relative;
        // The phases end at the top, which a step may overshoot.
        let away = (top - found.temperature - step).max(0.1 * (top - found.temperature));
        found = helmholtz.coexistence_near(top - away, Some(found)).ok()?;
    }
    None
}

/// How a caloric quantity of two phases rises with temperature while another is held.
fn slope(state: &State, held: Quantity, quantity: Quantity) -> Option<f64> {
    let (capacity, push) = state.isochoric_response()?;
    Some(match (held, quantity) {
        (Quantity::Density, Quantity::SpecificEntropy) => capacity / state.temperature,
        (Quantity::Density, Quantity::SpecificInternalEnergy) => capacity,
        (Quantity::Density, _) => capacity + push / state.density,
        (_, Quantity::SpecificEnthalpy) => push / state.density,
        _ => state.pressure * capacity / (state.temperature * push),
    })
}

/// The two phases together with a density or a caloric quantity; nothing outside of both.
fn mixed(fluid: Pure<'_>, found: &Coexistence, (held, value): Given) -> Option<State> {
    let density = if held == Quantity::Density {
        value
    } else {
        let (liquid, vapour) = State::coexisting(fluid, found);
        let (first, last) = (caloric(&liquid, held), caloric(&vapour, held));
        let share = (value - first) / (last - first);
        1.0 / ((1.0 - share) / found.liquid_density + share / found.vapour_density)
    };
    let inside = (found.vapour_density..=found.liquid_density).contains(&density);
    inside.then(|| Transition::of_liquid(fluid, found).at_density(fluid, density))
}
