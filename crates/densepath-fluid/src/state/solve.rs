//! The state at a temperature and a pressure or density, from which all other pairs of variables are solved.

use super::pure::Pure;
use super::{Content, Fluid, Part, Phase, State};
use crate::eos::solid::{SolidEquilibrium, SolidPoint};
use crate::eos::{Coexistence, Isotherm, TauDerivatives, density_between, guess};
use crate::error::{Error, Result, positive, within};
use crate::quantity::Quantity;

/// Distance of a pressure from the approximate vapour pressure, relative, within which the exact one is solved for.
/// The approximate equation is within 0.1 % everywhere.
const NEAR_SATURATION: f64 = 0.01;
/// Lowest pressure of a state in Pa. The equations reach lower, but no station of an instrument does: a value below is bar
/// given for pascal sooner than a vacuum.
pub(super) const PRESSURE_MIN: f64 = 1e3;

impl State {
    /// The state at a temperature T in K and a pressure p in Pa.
    ///
    /// Exactly at saturation the liquid is returned.
    ///
    /// *Valid* in the range of the equation of state of the fluid, from 1 kPa on, and as vapour down to the lowest temperature of
    /// the solid where that is known; error 102 outside, error 303 where the solid is stable.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&co2, 313.15, 150e5)?;
    /// assert!((state.density() - 780.233).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_tp(fluid: &Fluid, temperature: f64, pressure: f64) -> Result<Self> {
        if let Some(mixed) = fluid.mixed() {
            return mixed.state(temperature, pressure);
        }
        let fluid = fluid.reference()?;
        positive(Quantity::Temperature, temperature)?;
        positive(Quantity::Pressure, pressure)?;
        fluid.check_temperature(temperature)?;
        usual_pressure(fluid, pressure)?;
        fluid.refuse_solid(temperature, pressure)?;
        fluid.refuse_between_bubble_and_dew(temperature, pressure)?;
        Self::fluid_from_tp(fluid, temperature, pressure)
    }

    /// As [`State::from_tp`], without the check of the range, of the solid and of the phases of a mixture.
    pub(crate) fn fluid_from_tp(fluid: Pure<'_>, temperature: f64, pressure: f64) -> Result<Self> {
        let isotherm = fluid.helmholtz().isotherm(temperature);
        let (density, phase) = if temperature >= fluid.helmholtz().dome_top.temperature {
            (
                above_dome(fluid, &isotherm, pressure)?,
                phase_above_dome(fluid, temperature, pressure),
            )
        } else {
            below_dome_top(fluid, &isotherm, pressure)?
        };
        Ok(Self::single(fluid, &isotherm, density, pressure, phase))
    }

    /// The state at a temperature T in K and a density rho in kg/m3; two phases inside the dome.
    ///
    /// *Valid* in the range of the equation of state of the fluid; error 102 outside.
    pub fn from_t_rho(fluid: &Fluid, temperature: f64, density: f64) -> Result<Self> {
        if let Some(mixed) = fluid.mixed() {
            return mixed.state_at_density(temperature, density);
        }
        let fluid = fluid.reference()?;
        positive(Quantity::Temperature, temperature)?;
        positive(Quantity::Density, density)?;
        fluid.check_temperature(temperature)?;
        let limit = fluid.helmholtz().density_max;
        within(Quantity::Density, density, 0.0, limit, fluid.model())?;
        Self::fluid_from_t_rho(fluid, temperature, density)?.admit()
    }

    /// As [`State::from_t_rho`], of a mixture without the search for other phases: one phase that may be metastable.
    ///
    /// Several times as fast, for marches that check what they accept with [`State::from_t_rho`]. Error 502 for a mixture that
    /// cannot be one phase at all: without pressure, or less compressed at more pressure.
    pub fn one_phase_from_t_rho(fluid: &Fluid, temperature: f64, density: f64) -> Result<Self> {
        match fluid.mixed() {
            Some(mixed) => mixed.one_phase_at_density(temperature, density),
            None => Self::from_t_rho(fluid, temperature, density),
        }
    }

    /// As [`State::from_t_rho`], without the check of the range, of the solid and of the phases of a mixture.
    pub(super) fn fluid_from_t_rho(
        fluid: Pure<'_>,
        temperature: f64,
        density: f64,
    ) -> Result<Self> {
        let helmholtz = fluid.helmholtz();
        let isotherm = helmholtz.isotherm(temperature);
        let mut pressure = isotherm.pressure(density).pressure;
        if temperature >= helmholtz.dome_top.temperature {
            let phase = phase_above_dome(fluid, temperature, pressure);
            return Ok(Self::single(fluid, &isotherm, density, pressure, phase));
        }
        if let Some(found) = fluid.sublimation(temperature)? {
            return Self::over_solid(fluid, &isotherm, &found, density);
        }
        let found = helmholtz.coexistence_at_temperature(temperature)?;
        let phase = if density >= found.liquid_density {
            // Of a cold liquid the last digit of the density is worth more than its vapour pressure.
            pressure = pressure.max(found.pressure);
            Phase::Liquid
        } else if density <= found.vapour_density {
            pressure = pressure.min(found.pressure);
            Phase::Vapour
        } else {
            return Ok(Self::liquid_vapour_by_density(fluid, &found, density));
        };
        Ok(Self::single(fluid, &isotherm, density, pressure, phase))
    }

    /// Vapour below the triple point, alone or with the solid.
    fn over_solid(
        fluid: Pure<'_>,
        isotherm: &Isotherm<'_>,
        found: &SolidEquilibrium,
        density: f64,
    ) -> Result<Self> {
        let vapour_at =
            |density, pressure| Self::single(fluid, isotherm, density, pressure, Phase::Vapour);
        let SolidEquilibrium {
            solid,
            fluid_density,
        } = *found;
        if density <= fluid_density {
            let pressure = isotherm.pressure(density).pressure;
            return Ok(vapour_at(density, pressure.min(solid.pressure)));
        }
        let fraction =
            (1.0 / density - 1.0 / solid.density) / (1.0 / fluid_density - 1.0 / solid.density);
        Self::solid_vapour(solid, vapour_at(fluid_density, solid.pressure), fraction)
    }

    /// The state itself if it lies in the range of the equation of state; error 102 above the highest pressure, 303 where the
    /// solid is the stable phase, 202 between the bubble and the dew line of a mixture.
    pub(super) fn admit(self) -> Result<Self> {
        let fluid = self.fluid.reference()?;
        let (temperature, pressure) = (self.temperature, self.pressure);
        let limit = fluid.admitted_range().pressure_max;
        within(Quantity::Pressure, pressure, 0.0, limit, fluid.model())?;
        if self.is_one_phase() {
            fluid.refuse_solid(temperature, pressure)?;
        }
        match self.phase() {
            Phase::LiquidVapour if fluid.is_pseudo_pure() => Err(fluid.no_phases()),
            _ => {
                fluid.refuse_between_bubble_and_dew(temperature, pressure)?;
                Ok(self)
            }
        }
    }

    /// One phase of known density on an isotherm.
    pub(super) fn single(
        fluid: Pure<'_>,
        isotherm: &Isotherm<'_>,
        density: f64,
        pressure: f64,
        phase: Phase,
    ) -> Self {
        let ideal = isotherm.ideal();
        let content = Content::One {
            ideal: TauDerivatives {
                value: isotherm.delta(density).ln() + ideal.value,
                ..ideal
            },
            residual: isotherm.residual(density),
        };
        Self {
            fluid: fluid.handle.clone(),
            temperature: isotherm.temperature(),
            pressure,
            density,
            phase: Some(phase),
            content,
        }
    }

    /// The boiling liquid and the dry vapour.
    pub(crate) fn coexisting(fluid: Pure<'_>, found: &Coexistence) -> (Self, Self) {
        let isotherm = fluid.helmholtz().isotherm(found.temperature);
        let one = |density, phase| Self::single(fluid, &isotherm, density, found.pressure, phase);
        (
            one(found.liquid_density, Phase::Liquid),
            one(found.vapour_density, Phase::Vapour),
        )
    }

    fn liquid_vapour_by_density(fluid: Pure<'_>, found: &Coexistence, density: f64) -> Self {
        let (liquid, vapour) = Self::coexisting(fluid, found);
        let fraction =
            (1.0 / density - 1.0 / liquid.density) / (1.0 / vapour.density - 1.0 / liquid.density);
        let mut state = Self::liquid_vapour(liquid, vapour, fraction);
        state.density = density;
        state
    }

    pub(super) fn liquid_vapour(liquid: Self, vapour: Self, vapour_fraction: f64) -> Self {
        let (fluid, temperature, pressure) =
            (liquid.fluid.clone(), liquid.temperature, liquid.pressure);
        let parts = vec![
            Part::of_fluid(liquid, 1.0 - vapour_fraction),
            Part::of_fluid(vapour, vapour_fraction),
        ];
        Self::of_parts(fluid, temperature, pressure, parts)
    }

    /// Solid and vapour in equilibrium. Error 303 if all would be solid.
    pub(super) fn solid_vapour(
        solid: SolidPoint,
        vapour: Self,
        vapour_fraction: f64,
    ) -> Result<Self> {
        if vapour_fraction < 0.0 {
            let (temperature, pressure) = (solid.temperature, solid.pressure);
            return Err(Error::Solid {
                temperature,
                pressure,
                limit: pressure,
            });
        }
        let (fluid, temperature, pressure) =
            (vapour.fluid.clone(), vapour.temperature, vapour.pressure);
        let parts = vec![
            Part::of_solid(solid, 1.0 - vapour_fraction),
            Part::of_fluid(vapour, vapour_fraction),
        ];
        Ok(Self::of_parts(fluid, temperature, pressure, parts))
    }
}

/// Error 102 for a pressure in Pa above the range of the equation of state, or too low for any instrument.
pub(super) fn usual_pressure(fluid: Pure<'_>, pressure: f64) -> Result<()> {
    let (max, model) = (fluid.admitted_range().pressure_max, fluid.model());
    within(Quantity::Pressure, pressure, 0.0, max, model)?;
    let library = "this library";
    within(Quantity::Pressure, pressure, PRESSURE_MIN, max, library)?;
    Ok(())
}

/// Phase above the dome of the equation; the phases of a mixture end above it.
pub(super) fn phase_above_dome(fluid: Pure<'_>, temperature: f64, pressure: f64) -> Phase {
    match fluid.bubble_and_dew_pressure(temperature) {
        Some((bubble, _)) if pressure >= bubble => Phase::Liquid,
        None if pressure >= fluid.critical_pressure() => Phase::Supercritical,
        _ => Phase::Vapour,
    }
}

/// Above the dome the pressure rises with density everywhere.
fn above_dome(fluid: Pure<'_>, isotherm: &Isotherm<'_>, pressure: f64) -> Result<f64> {
    let reducing = fluid.helmholtz().density_reducing;
    let ideal = pressure / isotherm.thermal_energy();
    // A gas starts ideal, a dense fluid from a density between those of the critical point and of the liquid.
    let start = if ideal < 0.3 * reducing {
        ideal
    } else {
        (0.5 * reducing + ideal).min(1.8 * reducing)
    };
    let high = fluid.helmholtz().density_max;
    let density = density_between(isotherm, pressure, 0.0, high, start)?;
    refuse_density_max(fluid, density)
}

/// The density itself; error 102 at the end of the search, which lies beyond all pressures of the range.
fn refuse_density_max(fluid: Pure<'_>, density: f64) -> Result<f64> {
    let limit = fluid.helmholtz().density_max * (1.0 - 1e-12);
    within(Quantity::Density, density, 0.0, limit, fluid.model())
}

/// Below the top of the dome the vapour pressure tells liquid from vapour.
fn below_dome_top(fluid: Pure<'_>, isotherm: &Isotherm<'_>, pressure: f64) -> Result<(f64, Phase)> {
    let temperature = isotherm.temperature();
    let mut border = guess(fluid.helmholtz(), temperature);
    // The approximate densities bound the branches with this allowance; the exact ones need none.
    let mut allowance = fluid.helmholtz().guess.density_tolerance;
    if (pressure / border.pressure - 1.0).abs() < NEAR_SATURATION {
        border = fluid.helmholtz().coexistence_at_temperature(temperature)?;
        allowance = 0.0;
    }
    if pressure >= border.pressure {
        let low = border.liquid_density * (1.0 - allowance);
        let high = fluid.helmholtz().density_max;
        let density = density_between(isotherm, pressure, low, high, border.liquid_density * 1.01)?;
        return Ok((refuse_density_max(fluid, density)?, Phase::Liquid));
    }
    let high = border.vapour_density * (1.0 + allowance);
    let start = (pressure / isotherm.thermal_energy())
        .min(border.vapour_density * pressure / border.pressure);
    Ok((
        density_between(isotherm, pressure, 0.0, high, start)?,
        Phase::Vapour,
    ))
}
