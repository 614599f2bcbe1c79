//! The state at a density and a caloric quantity.
//!
//! Along an isochore the internal energy, the entropy and the enthalpy rise with temperature, in one phase and in two, so that
//! each of them fixes the state.

use super::close;
use super::isobar::caloric;
use super::pure::Pure;
use super::solve::usual_density;
use super::{Body, Fluid, Part, State, shift};
use crate::error::{Result, finite, within};
use crate::num::root::{Tolerance, bracketed, newton_bisect};
use crate::quantity::Quantity;

impl State {
    /// The state at a density rho in kg/m3 and a specific enthalpy h in J/kg; two phases inside the dome, and solid
    /// with the fluid or alone where it is known, three phases at the triple point.
    ///
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_rho_h(&co2, state.density(), state.specific_enthalpy())?;
    /// assert!((same.temperature() - 313.15).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_rho_h(fluid: &Fluid, density: f64, specific_enthalpy: f64) -> Result<Self> {
        from_caloric(
            fluid,
            density,
            Quantity::SpecificEnthalpy,
            specific_enthalpy,
        )
    }

    /// The state at a density rho in kg/m3 and a specific entropy s in J/(kg K); two phases inside the dome, and solid
    /// with the fluid or alone where it is known, three phases at the triple point.
    ///
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_rho_s(&co2, state.density(), state.specific_entropy())?;
    /// assert!((same.temperature() - 313.15).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
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

    /// Specific isochoric heat capacity in J/(kg K) of one phase, or of two that stay in equilibrium, with the slope of the
    /// pressure in Pa/K along the isochore.
    ///
    /// Of two phases each contributes `c_v + T (dp_s/dT - (dp/dT)_rho)^2 / (rho^2 (dp/drho)_T)`, and the slope is that of
    /// Clapeyron. Nothing for three.
    pub(super) fn isochoric_response(&self) -> Option<(f64, f64)> {
        let parts = self.whole_or_parts();
        let [dense, thin] = parts.as_slice() else {
            let capacity = self.specific_isochoric_heat_capacity().ok()?;
            return Some((capacity, self.dp_dt_rho().ok()?));
        };
        let entropy = |part: &Part| part.body.caloric(Quantity::SpecificEntropy);
        let clapeyron =
            (entropy(thin) - entropy(dense)) / (1.0 / thin.density() - 1.0 / dense.density());
        let share = |part: &Part| -> Option<f64> {
            let response = Response::of(&part.body)?;
            let push = (clapeyron - response.push) / part.density();
            let own = response.capacity + self.temperature * push * push / response.stiffness;
            Some(part.mass_fraction * own)
        };
        Some((share(dense)? + share(thin)?, clapeyron))
    }
}

/// How one phase answers to heat and compression.
struct Response {
    /// Specific isochoric heat capacity in J/(kg K).
    capacity: f64,
    /// `(dp/dT)_rho` in Pa/K.
    push: f64,
    /// `(dp/drho)_T` in m2/s2.
    stiffness: f64,
}

impl Response {
    fn of(body: &Body) -> Option<Self> {
        Some(match body {
            Body::Fluid(state) => Self {
                capacity: state.specific_isochoric_heat_capacity().ok()?,
                push: state.dp_dt_rho().ok()?,
                stiffness: state.dp_drho_t().ok()?,
            },
            Body::Solid(solid) => Self {
                capacity: solid.specific_isochoric_heat_capacity(),
                push: solid.dp_dt_rho(),
                stiffness: solid.dp_drho_t(),
            },
        })
    }
}

fn from_caloric(fluid: &Fluid, density: f64, quantity: Quantity, target: f64) -> Result<State> {
    if let Some((of_model, shift)) = fluid.unshifted() {
        let before = shift::before(density, shift)?;
        let at = |tried| from_caloric(&of_model, before, quantity, tried);
        return shift::at_caloric(quantity, target, shift, at);
    }
    finite(quantity, target)?;
    if let Some(mixed) = fluid.mixed() {
        return mixed.state_on_isochore(density, quantity, target);
    }
    let fluid = fluid.reference()?;
    usual_density(density, fluid.helmholtz().density_max, fluid.model())?;
    if let Some(state) = fluid.triple_state([(Quantity::Density, density), (quantity, target)])? {
        return state.admit();
    }
    if let Some(state) = close::state(fluid, [(Quantity::Density, density), (quantity, target)]) {
        return state.admit();
    }
    let hottest = fluid.admitted_range().temperature_max;
    let stretch = |low, high| Stretch::new(fluid, density, low, high, quantity);
    let Some(frozen) = frozen(fluid, density)? else {
        let hot = stretch(fluid.coldest_at_density(density)?, hottest)?;
        within(quantity, target, hot.min, hot.max, fluid.model())?;
        return hot.at(quantity, target);
    };
    let (coldest, end) = frozen;
    if end == hottest {
        let whole = stretch(coldest, hottest)?;
        within(quantity, target, whole.min, whole.max, fluid.model())?;
        return whole.at(quantity, target);
    }
    let cold = stretch(coldest, end)?;
    if target <= cold.max {
        within(quantity, target, cold.min, cold.max, fluid.solid_model())?;
        return cold.at(quantity, target);
    }
    let hot = stretch(fluid.coldest_at_density(density)?, hottest)?;
    within(quantity, target, hot.min, hot.max, fluid.model())?;
    hot.at(quantity, target)
}

/// Temperatures in K between which a density in kg/m3 is that of solid and vapour, of solid, of solid and liquid, and on to the
/// fluid where that follows within the equation of the solid; nothing where the solid is not known.
fn frozen(fluid: Pure<'_>, density: f64) -> Result<Option<(f64, f64)>> {
    let (Some(solid), Some(end)) = (fluid.solid(), fluid.melting_end()) else {
        return Ok(None);
    };
    let coldest = solid.temperature_min();
    if density <= end.fluid_density {
        return Ok(Some((coldest, fluid.admitted_range().temperature_max)));
    }
    if density <= end.solid.density {
        return Ok(Some((coldest, end.solid.temperature)));
    }
    let most = |temperature| Ok(solid.at(temperature, solid.pressure_max())?.density);
    if density > most(coldest)? {
        return Ok(None);
    }
    let solver = "temperature of the most compressed solid at given density";
    let excess = |temperature| Ok(most(temperature)? - density);
    let end = end.solid.temperature;
    let end = bracketed(solver, coldest, end, Tolerance::default(), excess)?;
    // A hair colder the density is within the equation for certain.
    Ok(Some((coldest, end * (1.0 - 1e-12))))
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
