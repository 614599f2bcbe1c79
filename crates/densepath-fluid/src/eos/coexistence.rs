//! Coexisting liquid and vapour of a pure fluid: equal pressure and equal chemical potential on one isotherm.

use super::helmholtz::{Helmholtz, Isotherm};
use crate::error::Result;
use crate::num::root::{Tolerance, bracketed, newton_bisect};

/// Liquid and vapour in equilibrium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coexistence {
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Density of the liquid in kg/m3.
    pub liquid_density: f64,
    /// Density of the vapour in kg/m3.
    pub vapour_density: f64,
}

/// Newton steps allowed from the start values of the data record.
const NEWTON_STEPS: u32 = 30;

/// Difference of reduced chemical potentials below which rounding hides it: a nanokelvin below the critical temperature
/// the two limits of stability differ by less.
const ROUNDING: f64 = 1e-14;

/// Start values of the data record at a temperature below the critical one.
pub(crate) fn guess(helmholtz: &Helmholtz, temperature: f64) -> Coexistence {
    let top = helmholtz.dome_top;
    let theta = 1.0 - temperature / top.temperature;
    let guess = &helmholtz.guess;
    Coexistence {
        temperature,
        pressure: helmholtz.critical_pressure
            * (guess.pressure.at(theta) * top.temperature / temperature).exp(),
        liquid_density: top.density * guess.liquid_density.at(theta).exp(),
        vapour_density: top.density * guess.vapour_density.at(theta).exp(),
    }
}

impl Helmholtz {
    /// Liquid and vapour in equilibrium at a temperature below the critical one.
    ///
    /// Newton's method in both densities from the start values of the record; where that fails, near the critical
    /// point, the equal-area pressure is bracketed between the two ends of stability.
    pub fn coexistence_at_temperature(&self, temperature: f64) -> Result<Coexistence> {
        let isotherm = self.isotherm(temperature);
        let start = guess(self, temperature);
        match newton(&isotherm, start) {
            Some(found) => Ok(found),
            None => equal_area(&isotherm, start, self.dome_top.density),
        }
    }

    /// Liquid and vapour in equilibrium at a pressure, sought between two temperatures in K.
    ///
    /// The slope of the vapour pressure is that of Clapeyron: `dp/dT = (s'' - s') / (v'' - v')`.
    pub fn coexistence_at_pressure(
        &self,
        pressure: f64,
        temperature_min: f64,
        temperature_max: f64,
    ) -> Result<Coexistence> {
        let start = self.guess_temperature(pressure, temperature_min, temperature_max)?;
        let temperature = newton_bisect(
            "coexistence at given pressure",
            temperature_min,
            temperature_max,
            start,
            Tolerance {
                relative: 2.0 * f64::EPSILON,
                iterations: 100,
            },
            |temperature| {
                let found = self.coexistence_at_temperature(temperature)?;
                let residual = (found.pressure / pressure).ln();
                Ok((residual, self.clapeyron_slope(&found) / found.pressure))
            },
        )?;
        self.coexistence_at_temperature(temperature)
    }

    fn guess_temperature(&self, pressure: f64, min: f64, max: f64) -> Result<f64> {
        let residual = |temperature| Ok((guess(self, temperature).pressure / pressure).ln());
        if residual(min)? >= 0.0 {
            return Ok(min);
        }
        if residual(max)? <= 0.0 {
            return Ok(max);
        }
        let rough = Tolerance {
            relative: 1e-6,
            iterations: 100,
        };
        bracketed(
            "start of the coexistence at given pressure",
            min,
            max,
            rough,
            residual,
        )
    }

    fn clapeyron_slope(&self, point: &Coexistence) -> f64 {
        let isotherm = self.isotherm(point.temperature);
        let entropy = |density: f64| {
            let residual = isotherm.residual(density);
            residual.a_t - residual.a - isotherm.delta(density).ln()
        };
        let jump = entropy(point.vapour_density) - entropy(point.liquid_density);
        self.specific_gas_constant * jump
            / (1.0 / point.vapour_density - 1.0 / point.liquid_density)
    }
}

/// Newton's method in both densities. Nothing if a step leaves the stable branches or the steps do not die out.
fn newton(isotherm: &Isotherm<'_>, start: Coexistence) -> Option<Coexistence> {
    let (mut liquid, mut vapour) = (start.liquid_density, start.vapour_density);
    let rt = isotherm.thermal_energy();
    let mut before = f64::INFINITY;
    for _ in 0..NEWTON_STEPS {
        let (at_liquid, at_vapour) = (isotherm.pressure(liquid), isotherm.pressure(vapour));
        if !(at_liquid.dp_drho > 0.0 && at_vapour.dp_drho > 0.0) {
            return None;
        }
        let pressures = at_liquid.pressure - at_vapour.pressure;
        let potentials = rt * (at_liquid.potential - at_vapour.potential);
        // With dg = dp / rho on an isotherm both equations are linear in the changes of pressure on the two branches.
        let rise = (pressures / vapour - potentials) / (1.0 / liquid - 1.0 / vapour);
        let (liquid_step, vapour_step) = (
            rise / at_liquid.dp_drho,
            (rise + pressures) / at_vapour.dp_drho,
        );
        let step = (liquid_step / liquid)
            .abs()
            .max((vapour_step / vapour).abs());
        if step.is_nan() || step >= 0.2 {
            return None;
        }
        liquid += liquid_step;
        vapour += vapour_step;
        // At the last digits the steps no longer shrink: rounding rules.
        if step < 1e-15 || (step < 1e-9 && step >= 0.5 * before) {
            let pressure = isotherm.pressure(vapour).pressure;
            let apart = liquid > vapour * (1.0 + 1e-9);
            return apart.then_some(Coexistence {
                pressure,
                liquid_density: liquid,
                vapour_density: vapour,
                ..start
            });
        }
        before = step;
    }
    None
}

/// The pressure at which both branches have one chemical potential, bracketed between the ends of their stability.
fn equal_area(isotherm: &Isotherm<'_>, start: Coexistence, middle: f64) -> Result<Coexistence> {
    let slope = |density: f64| Ok(isotherm.pressure(density).dp_drho);
    let spinodal = |outside: f64| {
        bracketed(
            "limit of stability",
            middle,
            outside,
            Tolerance::default(),
            slope,
        )
    };
    let (liquid_max, vapour_min) = (1.5 * start.liquid_density, 0.2 * start.vapour_density);
    let (liquid_end, vapour_end) = (spinodal(liquid_max)?, spinodal(vapour_min)?);
    let low = isotherm
        .pressure(liquid_end)
        .pressure
        .max(isotherm.pressure(vapour_min).pressure);
    let high = isotherm
        .pressure(vapour_end)
        .pressure
        .min(isotherm.pressure(liquid_max).pressure);
    let branches = |pressure: f64| -> Result<(f64, f64)> {
        Ok((
            density_between(
                isotherm,
                pressure,
                liquid_end,
                liquid_max,
                start.liquid_density,
            )?,
            density_between(
                isotherm,
                pressure,
                vapour_min,
                vapour_end,
                start.vapour_density,
            )?,
        ))
    };
    let imbalance = |pressure: f64| -> Result<f64> {
        let (liquid, vapour) = branches(pressure)?;
        Ok(isotherm.pressure(liquid).potential - isotherm.pressure(vapour).potential)
    };
    let unresolved = imbalance(low)?.abs() < ROUNDING && imbalance(high)?.abs() < ROUNDING;
    let pressure = if unresolved {
        0.5 * (low + high)
    } else {
        bracketed(
            "equal-area pressure",
            low,
            high,
            Tolerance::default(),
            imbalance,
        )?
    };
    let (liquid_density, vapour_density) = branches(pressure)?;
    Ok(Coexistence {
        temperature: start.temperature,
        pressure,
        liquid_density,
        vapour_density,
    })
}

/// The density at which the isotherm has a pressure, within a bracket on which the pressure rises.
pub(crate) fn density_between(
    isotherm: &Isotherm<'_>,
    pressure: f64,
    low: f64,
    high: f64,
    start: f64,
) -> Result<f64> {
    newton_bisect(
        "density at given temperature and pressure",
        low,
        high,
        start,
        Tolerance::default(),
        |density| {
            if density <= 0.0 {
                return Ok((-pressure, isotherm.thermal_energy()));
            }
            let point = isotherm.pressure(density);
            Ok((point.pressure - pressure, point.dp_drho))
        },
    )
}
