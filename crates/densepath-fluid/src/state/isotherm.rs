//! The state at a temperature and a caloric quantity.
//!
//! Along an isotherm the entropy falls with density but where the fluid shrinks when it is warmed. The enthalpy first falls
//! and then rises (the Joule-Thomson coefficient is zero where it turns), and so does the internal energy of a fluid that is
//! compressed hard, so that both are often met twice: in a mixture of liquid and vapour, and in a liquid under high pressure.

use super::isobar::{caloric, caloric_of_solid};
use super::pure::Pure;
use super::solve::phase_above_dome;
use super::{Fluid, Phase, State};
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result, finite, positive};
use crate::num::root::{Tolerance, roots_of_two_branches};
use crate::quantity::Quantity;

/// Density to which an iteration is driven, relative.
const LOGARITHM: Tolerance = Tolerance {
    relative: 2.0 * f64::EPSILON,
    iterations: 200,
};

impl State {
    /// The state at a temperature T in K and a specific entropy s in J/(kg K); two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside. Not unique where the fluid
    /// shrinks when it is warmed, as water below 4 degC does: error 403 if there are two states.
    pub fn from_ts(fluid: &Fluid, temperature: f64, specific_entropy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            temperature,
            Quantity::SpecificEntropy,
            specific_entropy,
        )
    }

    /// The state at a temperature T in K and a specific enthalpy h in J/kg; two phases inside the dome.
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

    /// The state at a temperature T in K and a specific internal energy u in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside. Error 403 if two states
    /// share both, which takes very high pressures.
    /// *Uncertainty*: of a dilute gas the internal energy hardly depends on the pressure, which is then poorly determined.
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
    finite(quantity, target)?;
    positive(Quantity::Temperature, temperature)?;
    if let Some(mixed) = fluid.mixed() {
        return mixed.state_on_isotherm(temperature, quantity, target);
    }
    let fluid = fluid.reference()?;
    fluid.check_temperature(temperature)?;
    let isotherm = States::new(fluid, temperature)?;
    let mut found = isotherm.one_phase(quantity, target)?;
    found.extend(isotherm.two_phases(quantity, target)?);
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

/// The states on one isotherm, from the thinnest gas to the densest liquid.
struct States<'a> {
    fluid: Pure<'a>,
    thin: State,
    dense: State,
    /// The dry vapour and the boiling liquid, or the dew and the bubble point of a mixture.
    border: Option<(State, State)>,
    /// The solid below the triple point, with which the densest vapour coexists.
    solid: Option<SolidPoint>,
}

impl<'a> States<'a> {
    fn new(fluid: Pure<'a>, temperature: f64) -> Result<Self> {
        let at = |pressure| State::fluid_from_tp(fluid, temperature, pressure);
        let (lowest, highest) = super::isobar::pressures(fluid);
        let highest = highest.min(fluid.melting_pressure(temperature));
        let solid = fluid.sublimation(temperature)?;
        let border = if solid.is_some() {
            None
        } else if let Some((bubble, dew)) = fluid.bubble_and_dew_pressure(temperature) {
            Some((at(dew)?, at(bubble)?))
        } else if temperature < fluid.helmholtz().dome_top.temperature {
            let found = fluid.coexistence_at_temperature(temperature)?;
            let (liquid, vapour) = State::coexisting(fluid, &found);
            Some((vapour, liquid))
        } else {
            None
        };
        // A vapour pressure below the lowest pressure leaves no vapour.
        let lowest = border.as_ref().map_or(lowest.min(highest), |(vapour, _)| {
            lowest.min(vapour.pressure)
        });
        Ok(Self {
            fluid,
            thin: at(lowest)?,
            dense: at(highest)?,
            border,
            solid: solid.map(|found| found.solid),
        })
    }

    /// The states of one phase at a caloric quantity.
    fn one_phase(&self, quantity: Quantity, target: f64) -> Result<Vec<State>> {
        let parts = match &self.border {
            Some((vapour, liquid)) => vec![(&self.thin, vapour), (liquid, &self.dense)],
            None => vec![(&self.thin, &self.dense)],
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
            for root in roots_of_two_branches(
                "density at given temperature",
                low,
                high,
                LOGARITHM,
                residual,
            )? {
                // The ends at the border belong to the states of two phases.
                let on_border = (self.border.is_some() || self.solid.is_some())
                    && !self.fluid.is_pseudo_pure()
                    && ((root == low && thin.phase == Some(Phase::Liquid))
                        || (root == high && dense.phase == Some(Phase::Vapour)));
                if !on_border {
                    found.push(at(root));
                }
            }
        }
        Ok(found)
    }

    /// The state of two phases at a caloric quantity.
    fn two_phases(&self, quantity: Quantity, target: f64) -> Result<Option<State>> {
        if let Some(solid) = self.solid {
            let at_solid = caloric_of_solid(&solid, quantity);
            let fraction = (target - at_solid) / (caloric(&self.dense, quantity) - at_solid);
            let between = (0.0..=1.0).contains(&fraction);
            let state = || State::solid_vapour(solid, self.dense.clone(), fraction);
            return between.then(state).transpose();
        }
        Ok(self.liquid_and_vapour(quantity, target))
    }

    fn liquid_and_vapour(&self, quantity: Quantity, target: f64) -> Option<State> {
        let (vapour, liquid) = self
            .border
            .as_ref()
            .filter(|_| !self.fluid.is_pseudo_pure())?;
        let at_liquid = caloric(liquid, quantity);
        let fraction = (target - at_liquid) / (caloric(vapour, quantity) - at_liquid);
        (0.0..=1.0)
            .contains(&fraction)
            .then(|| State::liquid_vapour(liquid.clone(), vapour.clone(), fraction))
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
