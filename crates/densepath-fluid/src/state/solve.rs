//! The state that two variables determine.

use super::{Content, Dense, Fluid, Phase, State, TwoPhases};
use crate::eos::solid::SolidPoint;
use crate::eos::{Coexistence, Isotherm, density_between, guess};
use crate::error::{Error, Result, finite, positive, within};
use crate::num::root::{Tolerance, newton_bisect};
use crate::quantity::Quantity;

/// Distance of a pressure from the approximate vapour pressure, relative, within which the exact one is solved for.
/// The approximate equation is within 0.1 % everywhere.
const NEAR_SATURATION: f64 = 0.01;
/// Vapour fraction outside 0 and 1 within which a state counts as saturated liquid or vapour.
const SATURATED: f64 = 1e-10;

/// Lowest pressure of a state in Pa. The equations reach lower, but no station of an instrument does: a value below is bar
/// given for pascal sooner than a vacuum.
const PRESSURE_MIN: f64 = 1e3;

impl State {
    /// The state at a temperature T in K and a pressure p in Pa.
    ///
    /// Exactly at saturation the liquid is returned.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&co2, 313.15, 150e5)?;
    /// assert!((state.density() - 780.233).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_tp(fluid: &Fluid, temperature: f64, pressure: f64) -> Result<Self> {
        let range = fluid.range();
        positive(Quantity::Temperature, temperature)?;
        positive(Quantity::Pressure, pressure)?;
        within(
            Quantity::Temperature,
            temperature,
            range.temperature_min,
            range.temperature_max,
            fluid.model(),
        )?;
        usual_pressure(fluid, pressure)?;
        Self::fluid_from_tp(fluid, temperature, pressure)?.refuse_solid()
    }

    /// As [`State::from_tp`], without the check of the range and of the solid.
    pub(crate) fn fluid_from_tp(fluid: &Fluid, temperature: f64, pressure: f64) -> Result<Self> {
        let isotherm = fluid.helmholtz().isotherm(temperature);
        let (density, phase) = if temperature >= fluid.helmholtz().dome_top.temperature {
            let phase = if pressure >= fluid.critical_point().pressure {
                Phase::Supercritical
            } else {
                Phase::Vapour
            };
            (above_dome(fluid, &isotherm, pressure)?, phase)
        } else {
            below_dome_top(fluid, &isotherm, pressure)?
        };
        Ok(Self::single(fluid, &isotherm, density, pressure, phase))
    }

    /// The state at a temperature T in K and a density rho in kg/m3; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    pub fn from_t_rho(fluid: &Fluid, temperature: f64, density: f64) -> Result<Self> {
        let range = fluid.range();
        positive(Quantity::Temperature, temperature)?;
        positive(Quantity::Density, density)?;
        within(
            Quantity::Temperature,
            temperature,
            range.temperature_min,
            range.temperature_max,
            fluid.model(),
        )?;
        let limit = fluid.helmholtz().density_max;
        within(Quantity::Density, density, 0.0, limit, fluid.model())?;
        let top = fluid.helmholtz().dome_top;
        if temperature < top.temperature {
            let found = fluid.coexistence_at_temperature(temperature)?;
            if density < found.liquid_density && density > found.vapour_density {
                return Ok(Self::liquid_vapour_by_density(fluid, &found, density));
            }
        }
        let isotherm = fluid.helmholtz().isotherm(temperature);
        let pressure = isotherm.pressure(density).pressure;
        within(
            Quantity::Pressure,
            pressure,
            0.0,
            range.pressure_max,
            fluid.model(),
        )?;
        let phase = match (
            temperature >= top.temperature,
            pressure >= fluid.critical_point().pressure,
        ) {
            (true, true) => Phase::Supercritical,
            (false, _) if density > top.density => Phase::Liquid,
            _ => Phase::Vapour,
        };
        Self::single(fluid, &isotherm, density, pressure, phase).refuse_solid()
    }

    /// The state at a pressure p in Pa and a specific enthalpy h in J/kg; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on; error 102 outside.
    pub fn from_ph(fluid: &Fluid, pressure: f64, specific_enthalpy: f64) -> Result<Self> {
        finite(Quantity::SpecificEnthalpy, specific_enthalpy)?;
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
        finite(Quantity::SpecificEntropy, specific_entropy)?;
        Self::from_caloric(fluid, pressure, Quantity::SpecificEntropy, specific_entropy)
    }

    /// The state at a pressure and a caloric quantity that rises with temperature: enthalpy or entropy.
    fn from_caloric(fluid: &Fluid, pressure: f64, quantity: Quantity, target: f64) -> Result<Self> {
        let range = fluid.range();
        positive(Quantity::Pressure, pressure)?;
        usual_pressure(fluid, pressure)?;
        let (mut low, mut high) = (range.temperature_min, range.temperature_max);
        if let Some(found) = Self::sublimation(fluid, pressure)? {
            let at_vapour = caloric(&found.vapour, quantity);
            if target <= at_vapour {
                return found.at(quantity, target);
            }
            low = found.vapour.temperature;
        } else if let Ok(found) = fluid.coexistence_at_pressure(pressure) {
            let (liquid, vapour) = Self::coexisting(fluid, &found);
            let (at_liquid, at_vapour) = (caloric(&liquid, quantity), caloric(&vapour, quantity));
            let fraction = (target - at_liquid) / (at_vapour - at_liquid);
            if (0.0..=1.0).contains(&fraction) {
                return Ok(Self::liquid_vapour(liquid, vapour, fraction));
            }
            // A hair outside the dome the temperature no longer tells the two sides apart.
            if (-SATURATED..0.0).contains(&fraction) {
                return Ok(liquid);
            }
            if (1.0..1.0 + SATURATED).contains(&fraction) {
                return Ok(vapour);
            }
            if target < at_liquid {
                high = found.temperature;
            } else {
                low = found.temperature;
            }
        }
        let state = Self::from_caloric_between(fluid, pressure, quantity, target, low, high)?;
        state.refuse_solid()
    }

    /// The state itself, error 303 if the solid is the stable phase there.
    fn refuse_solid(self) -> Result<Self> {
        let limit = self.fluid.melting_pressure(self.temperature);
        if self.pressure <= limit {
            return Ok(self);
        }
        Err(Error::Solid {
            temperature: self.temperature,
            pressure: self.pressure,
            limit,
        })
    }

    /// Solid and vapour at a pressure below the triple point, where the solid is known.
    fn sublimation(fluid: &Fluid, pressure: f64) -> Result<Option<Sublimation>> {
        let Some(solid) = fluid
            .solid()
            .filter(|solid| pressure < solid.triple_point().pressure)
        else {
            return Ok(None);
        };
        let found = solid.sublimation_at_pressure(fluid.helmholtz(), pressure)?;
        let isotherm = fluid.helmholtz().isotherm(found.solid.temperature);
        let vapour = Self::single(
            fluid,
            &isotherm,
            found.fluid_density,
            pressure,
            Phase::Vapour,
        );
        Ok(Some(Sublimation {
            solid: found.solid,
            vapour,
        }))
    }

    /// One phase at a pressure and a caloric quantity, between two temperatures on one side of the dome.
    fn from_caloric_between(
        fluid: &Fluid,
        pressure: f64,
        quantity: Quantity,
        target: f64,
        low: f64,
        high: f64,
    ) -> Result<Self> {
        let ends = [
            Self::fluid_from_tp(fluid, low, pressure)?,
            Self::fluid_from_tp(fluid, high, pressure)?,
        ];
        let [min, max] = [caloric(&ends[0], quantity), caloric(&ends[1], quantity)];
        within(quantity, target, min, max, fluid.model())?;
        let start = low + (high - low) * (target - min) / (max - min);
        let tolerance = Tolerance {
            relative: 2.0 * f64::EPSILON,
            iterations: 200,
        };
        let temperature = newton_bisect(
            "temperature at given pressure",
            low,
            high,
            start,
            tolerance,
            |temperature| {
                let state = Self::fluid_from_tp(fluid, temperature, pressure)?;
                let heat_capacity = state.specific_isobaric_heat_capacity()?;
                let slope = if quantity == Quantity::SpecificEntropy {
                    heat_capacity / temperature
                } else {
                    heat_capacity
                };
                Ok((caloric(&state, quantity) - target, slope))
            },
        )?;
        Self::fluid_from_tp(fluid, temperature, pressure)
    }

    /// One phase of known density on an isotherm.
    pub(super) fn single(
        fluid: &Fluid,
        isotherm: &Isotherm<'_>,
        density: f64,
        pressure: f64,
        phase: Phase,
    ) -> Self {
        let content = Content::One {
            ideal: isotherm.ideal(),
            residual: isotherm.residual(density),
        };
        Self {
            fluid: fluid.clone(),
            temperature: isotherm.temperature(),
            pressure,
            density,
            phase,
            content,
        }
    }

    /// The boiling liquid and the dry vapour.
    pub(crate) fn coexisting(fluid: &Fluid, found: &Coexistence) -> (Self, Self) {
        let isotherm = fluid.helmholtz().isotherm(found.temperature);
        let one = |density, phase| Self::single(fluid, &isotherm, density, found.pressure, phase);
        (
            one(found.liquid_density, Phase::Liquid),
            one(found.vapour_density, Phase::Vapour),
        )
    }

    fn liquid_vapour_by_density(fluid: &Fluid, found: &Coexistence, density: f64) -> Self {
        let (liquid, vapour) = Self::coexisting(fluid, found);
        let fraction =
            (1.0 / density - 1.0 / liquid.density) / (1.0 / vapour.density - 1.0 / liquid.density);
        let mut state = Self::liquid_vapour(liquid, vapour, fraction);
        state.density = density;
        state
    }

    fn liquid_vapour(liquid: Self, vapour: Self, vapour_fraction: f64) -> Self {
        let volume =
            1.0 / liquid.density + vapour_fraction * (1.0 / vapour.density - 1.0 / liquid.density);
        Self {
            fluid: liquid.fluid.clone(),
            temperature: liquid.temperature,
            pressure: liquid.pressure,
            density: 1.0 / volume,
            phase: Phase::LiquidVapour,
            content: Content::Two(Box::new(TwoPhases {
                dense: Dense::Liquid(liquid),
                vapour,
                vapour_fraction,
            })),
        }
    }
}

/// Solid and vapour in equilibrium.
struct Sublimation {
    solid: SolidPoint,
    vapour: State,
}

impl Sublimation {
    /// The state of both at a caloric quantity not above that of the vapour. Error 303 if all would be solid.
    fn at(self, quantity: Quantity, target: f64) -> Result<State> {
        let Self { solid, vapour } = self;
        let at_solid = match quantity {
            Quantity::SpecificEntropy => solid.specific_entropy,
            _ => solid.specific_enthalpy(),
        };
        let vapour_fraction = (target - at_solid) / (caloric(&vapour, quantity) - at_solid);
        if vapour_fraction < 0.0 {
            let (temperature, pressure) = (solid.temperature, solid.pressure);
            return Err(Error::Solid {
                temperature,
                pressure,
                limit: pressure,
            });
        }
        let volume =
            1.0 / solid.density + vapour_fraction * (1.0 / vapour.density - 1.0 / solid.density);
        Ok(State {
            fluid: vapour.fluid.clone(),
            temperature: vapour.temperature,
            pressure: vapour.pressure,
            density: 1.0 / volume,
            phase: Phase::SolidVapour,
            content: Content::Two(Box::new(TwoPhases {
                dense: Dense::Solid(solid),
                vapour,
                vapour_fraction,
            })),
        })
    }
}

/// Error 102 for a pressure in Pa above the range of the equation of state, or too low for any instrument.
fn usual_pressure(fluid: &Fluid, pressure: f64) -> Result<()> {
    let (max, model) = (fluid.range().pressure_max, fluid.model());
    within(Quantity::Pressure, pressure, 0.0, max, model)?;
    let library = "this library";
    within(Quantity::Pressure, pressure, PRESSURE_MIN, max, library)?;
    Ok(())
}

fn caloric(state: &State, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::SpecificEntropy => state.specific_entropy(),
        _ => state.specific_enthalpy(),
    }
}

/// Above the dome the pressure rises with density everywhere.
fn above_dome(fluid: &Fluid, isotherm: &Isotherm<'_>, pressure: f64) -> Result<f64> {
    let reducing = fluid.helmholtz().density_reducing;
    let ideal = pressure / isotherm.thermal_energy();
    // A gas starts ideal, a dense fluid from a density between those of the critical point and of the liquid.
    let start = if ideal < 0.3 * reducing {
        ideal
    } else {
        (0.5 * reducing + ideal).min(1.8 * reducing)
    };
    density_between(
        isotherm,
        pressure,
        0.0,
        fluid.helmholtz().density_max,
        start,
    )
}

/// Below the top of the dome the vapour pressure tells liquid from vapour.
fn below_dome_top(fluid: &Fluid, isotherm: &Isotherm<'_>, pressure: f64) -> Result<(f64, Phase)> {
    let temperature = isotherm.temperature();
    let mut border = guess(fluid.helmholtz(), temperature);
    // The approximate densities bound the branches with this allowance; the exact ones need none.
    let mut allowance = NEAR_SATURATION;
    if (pressure / border.pressure - 1.0).abs() < NEAR_SATURATION {
        border = fluid.helmholtz().coexistence_at_temperature(temperature)?;
        allowance = 0.0;
    }
    if pressure >= border.pressure {
        let low = border.liquid_density * (1.0 - allowance);
        let high = fluid.helmholtz().density_max;
        let density = density_between(isotherm, pressure, low, high, border.liquid_density * 1.01)?;
        return Ok((density, Phase::Liquid));
    }
    let high = border.vapour_density * (1.0 + allowance);
    let start = (pressure / isotherm.thermal_energy())
        .min(border.vapour_density * pressure / border.pressure);
    Ok((
        density_between(isotherm, pressure, 0.0, high, start)?,
        Phase::Vapour,
    ))
}
