//! The state at a temperature and a pressure or density, from which all other pairs of variables are solved.

use super::pure::Pure;
use super::transition::Transition;
use super::{Content, Energy, Fluid, Phase, State, shift};
use crate::eos::{
    Coexistence, EnergyPoint, Isotherm, PointDerivatives, TauDerivatives, density_between, guess,
};
use crate::error::{Error, Result, positive, within};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// Distance of a pressure from the approximate vapour pressure, relative, within which the exact one is solved for.
/// The approximate equation is within 0.1 % everywhere.
const NEAR_SATURATION: f64 = 0.01;
/// Lowest pressure of a state in Pa. The equations reach lower, but no station of an instrument does: a value below is bar
/// given for pascal sooner than a vacuum.
pub(super) const PRESSURE_MIN: f64 = 1e3;
/// Lowest density in kg/m3 that a state is made of: carbon dioxide of 300 K under 6e-12 Pa, thinner than any vacuum of an instrument.
pub(super) const DENSITY_MIN: f64 = 1e-16;

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
        if let Some((of_model, shift)) = fluid.unshifted() {
            return Self::from_tp(&of_model, temperature, pressure)?.shifted(shift);
        }
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
        let (density, phase) = density_and_phase(fluid, &isotherm, pressure)?;
        Ok(Self::single(fluid, &isotherm, density, pressure, phase))
    }

    /// One fluid phase at a temperature in K and a pressure in Pa whose density lies between two values in kg/m3, on one side of
    /// the dome or the other.
    ///
    /// Nothing has to be known of the coexistence at the temperature, which near the critical point costs more than all else. A
    /// density nearby, if one is known, starts the search.
    pub(super) fn fluid_between(
        fluid: Pure<'_>,
        temperature: f64,
        pressure: f64,
        (mut low, mut high): (f64, f64),
        near: Option<f64>,
    ) -> Result<Self> {
        let helmholtz = fluid.helmholtz();
        let isotherm = helmholtz.isotherm(temperature);
        let is_thin = low == 0.0;
        let mut start = if is_thin {
            pressure / isotherm.thermal_energy()
        } else {
            low
        };
        if temperature < helmholtz.dome_top.temperature {
            // Far from the dome the isotherm has waves inside it, which the approximate densities exclude.
            let (border, allowance) = (
                guess(helmholtz, temperature),
                helmholtz.guess.density_tolerance,
            );
            if is_thin {
                high = high.min(border.vapour_density * (1.0 + allowance));
            } else {
                low = low.max(border.liquid_density * (1.0 - allowance));
                start = 1.01 * border.liquid_density;
            }
        }
        let density = refuse_density_max(
            fluid,
            density_between(&isotherm, pressure, low, high, near.unwrap_or(start))?,
        )?;
        let phase = if temperature >= helmholtz.dome_top.temperature {
            phase_above_dome(fluid, temperature, pressure)
        } else if is_thin {
            Phase::Vapour
        } else {
            Phase::Liquid
        };
        Ok(Self::single(fluid, &isotherm, density, pressure, phase))
    }

    /// The state at a temperature T in K and a density rho in kg/m3; two phases inside the dome, and solid with vapour, with
    /// liquid or alone where the solid is known.
    ///
    /// At the temperature of the triple point itself, where the shares of three phases are not determined, the state of two
    /// without solid, or without vapour.
    ///
    /// *Valid* in the range of the equation of state of the fluid and of its solid; error 102 outside.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, Phase, State};
    /// // A cylinder of 40 L with 28 kg: its liquid boils, so the pressure tells nothing of how full it is.
    /// let co2 = Fluid::new("CO2")?;
    /// let cylinder = State::from_t_rho(&co2, 293.15, 28.0 / 0.04)?;
    /// assert_eq!(cylinder.phase(), Phase::LiquidVapour);
    /// assert!((cylinder.pressure() / co2.saturation_at_temperature(293.15)?.pressure - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_t_rho(fluid: &Fluid, temperature: f64, density: f64) -> Result<Self> {
        if let Some((of_model, shift)) = fluid.unshifted() {
            let before = shift::before(density, shift)?;
            return Self::from_t_rho(&of_model, temperature, before)?.shifted(shift);
        }
        if let Some(mixed) = fluid.mixed() {
            return mixed.state_at_density(temperature, density);
        }
        let fluid = fluid.reference()?;
        positive(Quantity::Temperature, temperature)?;
        fluid.check_temperature(temperature)?;
        usual_density(density, fluid.helmholtz().density_max, fluid.model())?;
        Self::fluid_from_t_rho(fluid, temperature, density)?.admit()
    }

    /// As [`State::from_t_rho`], of a mixture without the search for other phases: one phase that may be metastable.
    ///
    /// Several times as fast, for marches that check what they accept with [`State::from_t_rho`]. Error 502 for a mixture that
    /// cannot be one phase at all: without pressure, or less compressed at more pressure.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let state = State::from_tp(&blend, 313.15, 15e6)?;
    /// let same = State::one_phase_from_t_rho(&blend, 313.15, state.density())?;
    /// assert!((same.pressure() / 15e6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn one_phase_from_t_rho(fluid: &Fluid, temperature: f64, density: f64) -> Result<Self> {
        if let Some((of_model, shift)) = fluid.unshifted() {
            let before = shift::before(density, shift)?;
            return Self::one_phase_from_t_rho(&of_model, temperature, before)?.shifted(shift);
        }
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
        let residual = isotherm.residual(density);
        let mut pressure = density * isotherm.thermal_energy() * (1.0 + residual.a_d);
        let single = |pressure, phase| {
            Self::single_with(fluid, &isotherm, density, pressure, phase, residual)
        };
        if temperature >= helmholtz.dome_top.temperature {
            let phase = phase_above_dome(fluid, temperature, pressure);
            return Ok(single(pressure, phase));
        }
        if temperature < fluid.triple_temperature()
            && let Some(border) = fluid.freezing(temperature)?
        {
            return Self::beside_solid(fluid, &isotherm, &border, density);
        }
        let rough = guess(helmholtz, temperature);
        let allowance = helmholtz.guess.density_tolerance;
        let phase = if density > rough.liquid_density * (1.0 + allowance) {
            Phase::Liquid
        } else if density < rough.vapour_density * (1.0 - allowance) {
            Phase::Vapour
        } else {
            // Only beside the dome and inside it do the exact borders cost more than all else.
            let found = helmholtz.coexistence_at_temperature(temperature)?;
            if density >= found.liquid_density {
                // Of a cold liquid the last digit of the density is worth more than its vapour pressure.
                pressure = pressure.max(found.pressure);
                Phase::Liquid
            } else if density <= found.vapour_density {
                pressure = pressure.min(found.pressure);
                Phase::Vapour
            } else {
                return Ok(Transition::of_liquid(fluid, &found).at_density(fluid, density));
            }
        };
        if phase == Phase::Liquid
            && !fluid.is_far_from_melting(temperature, pressure)
            && let Some(border) = fluid.freezing(temperature)?
        {
            return Self::beside_solid(fluid, &isotherm, &border, density);
        }
        Ok(single(pressure, phase))
    }

    /// A fluid that freezes on compression, alone, with its solid, or the solid alone.
    fn beside_solid(
        fluid: Pure<'_>,
        isotherm: &Isotherm<'_>,
        border: &Transition,
        density: f64,
    ) -> Result<Self> {
        let beside = &border.thin;
        if density <= beside.density {
            let pressure = isotherm.pressure(density).pressure.min(beside.pressure);
            let phase = beside.phase();
            return Ok(Self::single(fluid, isotherm, density, pressure, phase));
        }
        if density <= border.dense.density() {
            return Ok(border.at_density(fluid, density));
        }
        let solid = fluid.solid().ok_or(Error::Internal {
            place: "the solid beside a fluid",
        })?;
        let compressed = solid.at_density(isotherm.temperature(), density)?;
        Ok(Self::of_solid(fluid, compressed))
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
        let residual = isotherm.residual(density);
        Self::single_with(fluid, isotherm, density, pressure, phase, residual)
    }

    /// As [`State::single`], with the residual part at hand.
    fn single_with(
        fluid: Pure<'_>,
        isotherm: &Isotherm<'_>,
        density: f64,
        pressure: f64,
        phase: Phase,
        residual: PointDerivatives,
    ) -> Self {
        let ideal = isotherm.ideal();
        let energy = EnergyPoint {
            ideal: TauDerivatives {
                value: isotherm.delta(density).ln() + ideal.value,
                ..ideal
            },
            residual,
        };
        Self {
            fluid: fluid.handle.clone(),
            temperature: isotherm.temperature(),
            pressure,
            density,
            phase: Some(phase),
            is_beside: false,
            content: Content::One(Energy::Known(energy)),
            of_model: None,
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
}

/// Error 101 for a density in kg/m3 that is none; error 102 above the highest of a model, and for a gas so thin that its entropy is lost
/// in the smallest numbers.
pub(super) fn usual_density(density: f64, max: f64, model: &str) -> Result<()> {
    positive(Quantity::Density, density)?;
    within(Quantity::Density, density, 0.0, max, model)?;
    within(Quantity::Density, density, DENSITY_MIN, max, "this library")?;
    Ok(())
}

/// Error 102 for a pressure in Pa above the range of the equation of state, or too low for any instrument.
pub(super) fn usual_pressure(fluid: Pure<'_>, pressure: f64) -> Result<()> {
    let (max, model) = (fluid.admitted_range().pressure_max, fluid.model());
    within(Quantity::Pressure, pressure, 0.0, max, model)?;
    let library = "this library";
    within(Quantity::Pressure, pressure, PRESSURE_MIN, max, library)?;
    Ok(())
}

/// The density in kg/m3 of the stable phase of the fluid on an isotherm at a pressure in Pa, and which phase it is.
pub(super) fn density_and_phase(
    fluid: Pure<'_>,
    isotherm: &Isotherm<'_>,
    pressure: f64,
) -> Result<(f64, Phase)> {
    let temperature = isotherm.temperature();
    if temperature >= fluid.helmholtz().dome_top.temperature {
        let density = above_dome(fluid, isotherm, pressure)?;
        return Ok((density, phase_above_dome(fluid, temperature, pressure)));
    }
    below_dome_top(fluid, isotherm, pressure)
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
