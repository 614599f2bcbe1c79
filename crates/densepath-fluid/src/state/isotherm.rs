//! The state at a temperature and a caloric quantity.
//!
//! Along an isotherm the entropy falls with density but where the fluid shrinks when it is warmed. The enthalpy first falls
//! and then rises (the Joule-Thomson coefficient is zero where it turns), and so does the internal energy of a fluid that is
//! compressed hard, so that both are often met twice: in a mixture of liquid and vapour, and in a liquid under high pressure.

use super::close;
use super::isobar::caloric;
use super::pure::Pure;
use super::solve::phase_above_dome;
use super::transition::{Transition, caloric_of_solid};
use super::{Body, Fluid, Phase, State, shift};
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result, finite, positive};
use crate::num::root::{Tolerance, roots_of_two_branches};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// Density to which an iteration is driven, relative.
const LOGARITHM: Tolerance = Tolerance {
    relative: 2.0 * f64::EPSILON,
    iterations: 200,
};

impl State {
    /// The state at a temperature T in K and a specific entropy s in J/(kg K); two phases inside the dome and where it freezes.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside. Not unique where the fluid
    /// shrinks when it is warmed, as water below 4 degC does: error 403 if there are two states.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_ts(&co2, 313.15, state.specific_entropy())?;
    /// assert!((same.pressure() / 15e6 - 1.0).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_ts(fluid: &Fluid, temperature: f64, specific_entropy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            temperature,
            Quantity::SpecificEntropy,
            specific_entropy,
        )
    }

    /// The state at a temperature T in K and a specific enthalpy h in J/kg; two phases inside the dome and where it freezes.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside. Error 403 if two states
    /// share both, as a dense gas and a gas under very high pressure do, or a wet vapour and a compressed liquid.
    /// *Uncertainty*: of a dilute gas the enthalpy hardly depends on the pressure, which is then poorly determined.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let vapour = State::from_tp(&co2, 280.0, 2e6)?;
    /// let back = State::from_th(&co2, 280.0, vapour.specific_enthalpy())?;
    /// assert!((back.pressure() / 2e6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_th(fluid: &Fluid, temperature: f64, specific_enthalpy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            temperature,
            Quantity::SpecificEnthalpy,
            specific_enthalpy,
        )
    }

    /// The state at a temperature T in K and a specific internal energy u in J/kg; two phases inside the dome and where it freezes.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside. Error 403 if two states
    /// share both, which takes very high pressures.
    /// *Uncertainty*: of a dilute gas the internal energy hardly depends on the pressure, which is then poorly determined.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_tu(&co2, 313.15, state.specific_internal_energy())?;
    /// assert!((same.pressure() / 15e6 - 1.0).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_tu(fluid: &Fluid, temperature: f64, specific_internal_energy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            temperature,
            Quantity::SpecificInternalEnergy,
            specific_internal_energy,
        )
    }
}

fn from_caloric(fluid: &Fluid, temperature: f64, quantity: Quantity, target: f64) -> Result<State> {
    if let Some((of_model, shift)) = fluid.unshifted() {
        let at = |tried| from_caloric(&of_model, temperature, quantity, tried);
        return shift::at_caloric(quantity, target, shift, at);
    }
    finite(quantity, target)?;
    positive(Quantity::Temperature, temperature)?;
    if let Some(mixed) = fluid.mixed() {
        return mixed.state_on_isotherm(temperature, quantity, target);
    }
    let fluid = fluid.reference()?;
    fluid.check_temperature(temperature)?;
    // Of the entropy alone no other state on the isotherm is far away.
    if quantity == Quantity::SpecificEntropy
        && let Some(state) = close::state(
            fluid,
            [(Quantity::Temperature, temperature), (quantity, target)],
        )
    {
        return state.admit();
    }
    let isotherm = States::new(fluid, temperature)?;
    let mut found = isotherm.one_phase(quantity, target)?;
    found.extend(isotherm.two_phases(quantity, target));
    found.extend(isotherm.solid(quantity, target)?);
    let solutions = found.len();
    match (found.pop(), solutions) {
        (Some(state), 1) => state.admit(),
        (None, _) => Err(isotherm.refusal(quantity, target)),
        _ => Err(Error::NotUnique {
            quantity,
            value: target,
            solutions,
        }),
    }
}

/// The states on one isotherm, from the thinnest gas to the densest liquid, and on to its solid where that is known.
struct States<'a> {
    fluid: Pure<'a>,
    thin: State,
    dense: State,
    border: Border,
    /// Where the densest fluid freezes.
    freezing: Option<Transition>,
}

/// What lies between gas and liquid.
enum Border {
    /// Nothing, or no liquid.
    None,
    /// Both side by side.
    Boiling(Transition),
    /// The dew and the bubble point of a mixture.
    Mixture { dew: State, bubble: State },
}

impl<'a> States<'a> {
    fn new(fluid: Pure<'a>, temperature: f64) -> Result<Self> {
        let at = |pressure| State::fluid_from_tp(fluid, temperature, pressure);
        let (lowest, highest) = super::isobar::pressures(fluid);
        let freezing = fluid.freezing(temperature)?;
        let dense = match &freezing {
            Some(found) => found.thin.clone(),
            None => at(highest.min(fluid.melting_pressure(temperature)))?,
        };
        let border = if temperature < fluid.triple_temperature() && freezing.is_some() {
            Border::None
        } else if let Some((bubble, dew)) = fluid.bubble_and_dew_pressure(temperature) {
            let (dew, bubble) = (at(dew)?, at(bubble)?);
            Border::Mixture { dew, bubble }
        } else if temperature < fluid.helmholtz().dome_top.temperature {
            let found = fluid.coexistence_at_temperature(temperature)?;
            Border::Boiling(Transition::of_liquid(fluid, &found))
        } else {
            Border::None
        };
        // A vapour pressure below the lowest pressure leaves no vapour.
        let densest_gas = match &border {
            Border::None => &dense,
            Border::Boiling(found) => &found.thin,
            Border::Mixture { dew, .. } => dew,
        };
        let thin = at(lowest.min(densest_gas.pressure))?;
        Ok(Self {
            fluid,
            thin,
            dense,
            border,
            freezing,
        })
    }

    /// The states of one fluid phase at a caloric quantity.
    fn one_phase(&self, quantity: Quantity, target: f64) -> Result<Vec<State>> {
        let parts = match &self.border {
            Border::Boiling(Transition {
                dense: Body::Fluid(liquid),
                thin: vapour,
            }) => vec![(&self.thin, vapour), (liquid, &self.dense)],
            Border::Mixture { dew, bubble } => vec![(&self.thin, dew), (bubble, &self.dense)],
            _ => vec![(&self.thin, &self.dense)],
        };
        let mut found = Vec::new();
        for (thin, dense) in parts {
            let at = |logarithm: f64| State::on_isotherm(self.fluid, thin, logarithm.exp());
            let residual = |logarithm: f64| {
                let state = at(logarithm);
                Ok((caloric(&state, quantity) - target, slope(&state, quantity)?))
            };
            let (low, high) = (thin.density.ln(), dense.density.ln());
            if low >= high {
                continue;
            }
            let solver = "density at given temperature";
            for root in roots_of_two_branches(solver, low, high, LOGARITHM, residual)? {
                if !self.is_on_border(root, low, high, thin) {
                    found.push(at(root));
                }
            }
        }
        Ok(found)
    }

    /// Whether a state of one phase is the end of it at a border, which belongs to the states of two phases.
    fn is_on_border(&self, root: f64, low: f64, high: f64, thin: &State) -> bool {
        let boils = matches!(self.border, Border::Boiling(_));
        let is_liquid = thin.phase == Some(Phase::Liquid);
        let freezes = self.freezing.is_some() && (is_liquid || !boils);
        let (at_low, at_high) = (boils && is_liquid, freezes || (boils && !is_liquid));
        (root == low && at_low) || (root == high && at_high)
    }

    /// The states of two phases at a caloric quantity.
    fn two_phases(&self, quantity: Quantity, target: f64) -> Vec<State> {
        let boiling = match &self.border {
            Border::Boiling(found) => Some(found),
            _ => None,
        };
        let borders = boiling.into_iter().chain(&self.freezing);
        borders
            .filter_map(|border| border.between(self.fluid, quantity, target))
            .collect()
    }

    /// The states of the compressed solid at a caloric quantity.
    fn solid(&self, quantity: Quantity, target: f64) -> Result<Vec<State>> {
        let (Some(border), Some(solid)) = (&self.freezing, self.fluid.solid()) else {
            return Ok(Vec::new());
        };
        let (low, high) = (border.thin.pressure, solid.pressure_max());
        let at = |pressure| solid.at(border.temperature(), pressure);
        let residual = |pressure| {
            let point = at(pressure)?;
            let value = caloric_of_solid(&point, quantity) - target;
            Ok((value, slope_of_solid(&point, quantity)))
        };
        let solver = "pressure of the solid at given temperature";
        roots_of_two_branches(solver, low, high, LOGARITHM, residual)?
            .into_iter()
            .filter(|pressure| *pressure > low)
            .map(|pressure| Ok(State::of_solid(self.fluid, at(pressure)?)))
            .collect()
    }

    /// Why no state has a caloric quantity.
    fn refusal(&self, quantity: Quantity, target: f64) -> Error {
        let ends = [&self.thin, &self.dense].map(|state| caloric(state, quantity));
        let (min, max) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        if self.fluid.is_pseudo_pure() && (min..=max).contains(&target) {
            return self.fluid.no_phases();
        }
        Error::OutOfRange {
            quantity,
            value: target,
            min,
            max,
            model: self.fluid.model().to_owned(),
        }
    }
}

impl State {
    /// A state of the same phase and temperature with another density in kg/m3.
    fn on_isotherm(fluid: Pure<'_>, like: &Self, density: f64) -> Self {
        let isotherm = fluid.helmholtz().isotherm(like.temperature);
        let pressure = isotherm.pressure(density).pressure;
        let phase = match like.phase() {
            Phase::Vapour | Phase::Supercritical
                if like.temperature >= fluid.helmholtz().dome_top.temperature =>
            {
                phase_above_dome(fluid, like.temperature, pressure)
            }
            same => same,
        };
        Self::single(fluid, &isotherm, density, pressure, phase)
    }
}

/// Derivative of a caloric quantity in the logarithm of the density at constant temperature:
/// `rho (ds/drho)_T = -(dp/dT)_rho / rho`, `dh = T ds + dp/rho`, `du = T ds + p/rho^2 drho`.
fn slope(state: &State, quantity: Quantity) -> Result<f64> {
    let entropy = -state.dp_dt_rho()? / state.density;
    Ok(match quantity {
        Quantity::SpecificEntropy => entropy,
        Quantity::SpecificInternalEnergy => {
            state.temperature * entropy + state.pressure / state.density
        }
        _ => state.temperature * entropy + state.dp_drho_t()?,
    })
}

/// Derivative of a caloric quantity of the solid in pressure at constant temperature: `ds = -alpha_V v dp`,
/// `dh = (1 - T alpha_V) v dp`, `du = dh - v dp + p v kappa_T dp`.
fn slope_of_solid(solid: &SolidPoint, quantity: Quantity) -> f64 {
    let entropy = -solid.isobaric_expansivity / solid.density;
    match quantity {
        Quantity::SpecificEntropy => entropy,
        Quantity::SpecificInternalEnergy => {
            let compression = solid.pressure * solid.isothermal_compressibility / solid.density;
            solid.temperature * entropy + compression
        }
        _ => solid.temperature * entropy + 1.0 / solid.density,
    }
}
