//! The state at a density and a caloric quantity.
//!
//! Along an isochore the internal energy, the entropy and the enthalpy rise with temperature, in one phase and in two, so that
//! each of them fixes the state.

use super::isobar::caloric;
use super::pure::Pure;
use super::{Fluid, State};
use crate::error::{Error, Result, finite, positive, within};
use crate::num::root::{Tolerance, newton_bisect};
use crate::quantity::Quantity;

impl State {
    /// The state at a density rho in kg/m3 and a specific enthalpy h in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    pub fn from_rho_h(fluid: &Fluid, density: f64, specific_enthalpy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            density,
            Quantity::SpecificEnthalpy,
            specific_enthalpy,
        )
    }

    /// The state at a density rho in kg/m3 and a specific entropy s in J/(kg K); two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    pub fn from_rho_s(fluid: &Fluid, density: f64, specific_entropy: f64) -> Result<Self> {
        from_caloric(fluid, density, Quantity::SpecificEntropy, specific_entropy)
    }

    /// The state at a density rho in kg/m3 and a specific internal energy u in J/kg; two phases inside the dome.
    ///
    /// A closed vessel that is warmed or cooled keeps its density and gains the heat as internal energy.
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let vessel = State::from_t_rho(&co2, 293.15, 600.0)?;
    /// let warmer = State::from_rho_u(&co2, 600.0, vessel.specific_internal_energy() + 5e3)?;
    /// assert!(warmer.temperature() > 293.15 && warmer.pressure() > vessel.pressure());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_rho_u(fluid: &Fluid, density: f64, specific_internal_energy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            density,
            Quantity::SpecificInternalEnergy,
            specific_internal_energy,
        )
    }

    /// Specific isochoric heat capacity in J/(kg K) of one phase, or of liquid and vapour that stay in equilibrium, with the
    /// slope of the pressure in Pa/K along the isochore.
    ///
    /// Of two phases each contributes `c_v + T (dp_s/dT - (dp/dT)_rho)^2 / (rho^2 (dp/drho)_T)`, and the slope is that of
    /// Clapeyron. Nothing for solid and vapour.
    pub(super) fn isochoric_response(&self) -> Option<(f64, f64)> {
        let (Some(liquid), Some(vapour)) = (self.liquid(), self.vapour()) else {
            let capacity = self.specific_isochoric_heat_capacity().ok()?;
            return Some((capacity, self.dp_dt_rho().ok()?));
        };
        let clapeyron = (vapour.specific_entropy() - liquid.specific_entropy())
            / (1.0 / vapour.density - 1.0 / liquid.density);
        let share = |phase: &State| -> Option<f64> {
            let push = (clapeyron - phase.dp_dt_rho().ok()?) / phase.density;
            let stiffness = phase.dp_drho_t().ok()?;
            let capacity = phase.specific_isochoric_heat_capacity().ok()?;
            Some(capacity + phase.temperature * push * push / stiffness)
        };
        let (of_liquid, of_vapour) = (share(liquid)?, share(vapour)?);
        let fraction = self.vapour_fraction()?;
        Some((of_liquid + fraction * (of_vapour - of_liquid), clapeyron))
    }
}

fn from_caloric(fluid: &Fluid, density: f64, quantity: Quantity, target: f64) -> Result<State> {
    finite(quantity, target)?;
    positive(Quantity::Density, density)?;
    if let Some(mixed) = fluid.mixed() {
        return mixed.state_on_isochore(density, quantity, target);
    }
    let fluid = fluid.reference()?;
    let limit = fluid.helmholtz().density_max;
    within(Quantity::Density, density, 0.0, limit, fluid.model())?;
    let hot = Stretch::new(
        fluid,
        density,
        fluid.coldest_at_density(density)?,
        fluid.admitted_range().temperature_max,
        quantity,
    )?;
    let Some(cold) = over_solid(fluid, density, quantity)? else {
        within(quantity, target, hot.min, hot.max, fluid.model())?;
        return hot.at(quantity, target);
    };
    within(quantity, target, cold.min, hot.max, fluid.model())?;
    if target <= cold.max {
        cold.at(quantity, target)
    } else if target >= hot.min {
        hot.at(quantity, target)
    } else {
        Err(Error::MissingModel {
            property: quantity,
            fluid: fluid.handle.name().to_owned(),
            need: "solid, liquid and vapour lie side by side here, at the triple point, and their shares are not computed",
        })
    }
}

/// Vapour over the solid, and solid with vapour, at a density in kg/m3 below that of the solid; nothing where the solid is not
/// known.
fn over_solid(fluid: Pure<'_>, density: f64, quantity: Quantity) -> Result<Option<Stretch<'_>>> {
    let Some(solid) = fluid.solid() else {
        return Ok(None);
    };
    let triple = solid.triple_point();
    let highest = triple.temperature * (1.0 - f64::EPSILON);
    if density >= solid.at(highest, triple.pressure)?.density {
        return Ok(None);
    }
    Stretch::new(fluid, density, solid.temperature_min(), highest, quantity).map(Some)
}

/// A stretch of an isochore along which the caloric quantities rise steadily with temperature.
struct Stretch<'a> {
    fluid: Pure<'a>,
    density: f64,
    low: f64,
    high: f64,
    /// The caloric quantity at both ends.
    min: f64,
    max: f64,
}

impl<'a> Stretch<'a> {
    fn new(fluid: Pure<'a>, density: f64, low: f64, high: f64, quantity: Quantity) -> Result<Self> {
        let value = |temperature| {
            let state = State::fluid_from_t_rho(fluid, temperature, density)?;
            Ok(caloric(&state, quantity))
        };
        Ok(Self {
            fluid,
            density,
            low,
            high,
            min: value(low)?,
            max: value(high)?,
        })
    }

    /// The state at a caloric quantity between those of the ends.
    fn at(&self, quantity: Quantity, target: f64) -> Result<State> {
        let (low, high) = (self.low, self.high);
        let at = |temperature| State::fluid_from_t_rho(self.fluid, temperature, self.density);
        let temperature = newton_bisect(
            "temperature at given density",
            low,
            high,
            low + (high - low) * (target - self.min) / (self.max - self.min),
            Tolerance {
                relative: 2.0 * f64::EPSILON,
                iterations: 200,
            },
            |temperature| {
                let state = at(temperature)?;
                let slope = state
                    .isochoric_response()
                    .map_or(f64::NAN, |(capacity, push)| match quantity {
                        Quantity::SpecificEntropy => capacity / temperature,
                        Quantity::SpecificInternalEnergy => capacity,
                        _ => capacity + push / self.density,
                    });
                Ok((caloric(&state, quantity) - target, slope))
            },
        )?;
        at(temperature)?.admit()
    }
}
