//! Coexisting liquid and vapour of a pure fluid: equal pressure and equal chemical potential on one isotherm.

use super::helmholtz::{Helmholtz, Isotherm};
use crate::error::Result;
use crate::num::root::{Tolerance, bracketed, newton_bisect};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Liquid and vapour in equilibrium.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let both = fluid.helmholtz()?.coexistence_at_temperature(293.15)?;
/// // 57.29 bar, 773.4 and 194.2 kg/m3 (Span and Wagner 1996).
/// assert!((both.pressure / 1e5 - 57.29).abs() < 0.01 && (both.liquid_density - 773.4).abs() < 0.1 && (both.vapour_density - 194.2).abs() < 0.1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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

/// Temperature to which a vapour pressure determines it: its last digits, eight times as sensitive, are rounding.
const VAPOUR_PRESSURE: Tolerance = Tolerance {
    relative: 1e-13,
    iterations: 100,
};

/// Newton steps allowed from the start values of the data record.
const NEWTON_STEPS: u32 = 30;

/// Relative height of the wave of an isotherm between the ends of stability below which the middle of it stands for the pressure
/// of equal areas. Both differ by a share of the height as small as the distance of the ends is relative to the density, 1e-4 at
/// this height: together less than the last digit.
const FLAT: f64 = 1e-11;

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
    /// point, from the two ends of stability; and where rounding defeats that too, the equal-area pressure is bracketed
    /// between them.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let equation = fluid.helmholtz()?;
    /// let both = equation.coexistence_at_temperature(250.0)?;
    /// // Both phases have the one pressure.
    /// let isotherm = equation.isotherm(250.0);
    /// assert!((isotherm.pressure(both.vapour_density).pressure / both.pressure - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn coexistence_at_temperature(&self, temperature: f64) -> Result<Coexistence> {
        let isotherm = self.isotherm(temperature);
        let start = guess(self, temperature);
        let top = self.dome_top;
        if 1.0 - temperature / top.temperature > CLOSE
            && let Some(found) = newton(&isotherm, start, LAST_DIGITS)
        {
            return Ok(found);
        }
        let ends = Ends::new(&isotherm, start, top.density)?;
        let nearer = Coexistence {
            liquid_density: ends.centre + BEYOND_STABILITY * ends.width,
            vapour_density: ends.centre - BEYOND_STABILITY * ends.width,
            ..start
        };
        match newton(&isotherm, nearer, noise(ends.width / ends.centre)) {
            Some(found) => Ok(found),
            None => equal_area(&isotherm, nearer, &ends),
        }
    }

    /// As [`Helmholtz::coexistence_at_temperature`], from the densities at a temperature nearby, whose difference closes as the
    /// square root of the distance from the critical temperature.
    pub(crate) fn coexistence_near(
        &self,
        temperature: f64,
        known: Option<Coexistence>,
    ) -> Result<Coexistence> {
        let top = self.dome_top.temperature;
        let found = known.and_then(|known| {
            let closes = ((top - temperature) / (top - known.temperature)).sqrt();
            let centre = 0.5 * (known.liquid_density + known.vapour_density);
            let width = 0.5 * closes * (known.liquid_density - known.vapour_density);
            let start = Coexistence {
                temperature,
                liquid_density: centre + width,
                vapour_density: centre - width,
                ..known
            };
            newton(&self.isotherm(temperature), start, noise(width / centre))
        });
        found.map_or_else(|| self.coexistence_at_temperature(temperature), Ok)
    }

    /// Liquid and vapour in equilibrium at a pressure, sought between two temperatures in K.
    ///
    /// The slope of the vapour pressure is that of Clapeyron: `dp/dT = (s'' - s') / (v'' - v')`.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let equation = fluid.helmholtz()?;
    /// let both = equation.coexistence_at_pressure(5e6, 216.592, 304.0)?;
    /// assert!((equation.coexistence_at_temperature(both.temperature)?.pressure / 5e6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn coexistence_at_pressure(
        &self,
        pressure: f64,
        temperature_min: f64,
        temperature_max: f64,
    ) -> Result<Coexistence> {
        let start = self.guess_temperature(pressure, temperature_min, temperature_max)?;
        let mut known = None;
        let temperature = newton_bisect(
            "coexistence at given pressure",
            temperature_min,
            temperature_max,
            start,
            VAPOUR_PRESSURE,
            |temperature| {
                let found = self.coexistence_near(temperature, known)?;
                known = Some(found);
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

    /// Slope of the vapour pressure in Pa/K: `(s'' - s') / (v'' - v')`.
    pub(crate) fn clapeyron_slope(&self, point: &Coexistence) -> f64 {
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

/// How far beyond the ends of stability the phases are sought, in the distance of the ends from the middle.
const FARTHEST: f64 = 4.0;
/// Share of the distance of the ends of stability to which densities are solved while the pressure is sought.
const ROUGHLY: f64 = 1e-4;
/// The nearest place to the middle, relative, at which the ends of stability are sought.
const NEAREST: f64 = 1e-12;
/// Step of a density, relative, that rounding may leave far from the critical point.
const LAST_DIGITS: f64 = 1e-9;
/// Distance from one end of stability to the other in the density of the coexisting phases: the square root of three for every
/// equation that is analytic at its critical point (van der Waals).
const BEYOND_STABILITY: f64 = 1.732;

/// Distance from the critical temperature, relative, within which the start values of a record lead nowhere.
const CLOSE: f64 = 1e-5;
/// Half the difference of the densities, relative, below which rounding tells them to a share of it only.
const NEARLY_ONE: f64 = 0.01;

/// Step of a density, relative, that rounding may leave where half the difference of both is `width`, relative too.
fn noise(width: f64) -> f64 {
    if width < NEARLY_ONE {
        0.01 * width
    } else {
        LAST_DIGITS
    }
}

/// The densities at which liquid and vapour cease to be stable, roughly.
struct Ends {
    /// Their mean in kg/m3.
    centre: f64,
    /// Half their difference in kg/m3.
    width: f64,
}

impl Ends {
    /// The distances of both ends from the middle, in their logarithms, to a few per cent.
    fn new(isotherm: &Isotherm<'_>, start: Coexistence, middle: f64) -> Result<Self> {
        let rough = Tolerance {
            relative: 2e-3,
            iterations: 60,
        };
        let end = |outside: f64| {
            let away = outside / middle - 1.0;
            let place = |logarithm: f64| middle * (1.0 + logarithm.exp().copysign(away));
            let slope = |logarithm: f64| Ok(isotherm.pressure(place(logarithm)).dp_drho);
            let (near, far) = (NEAREST.ln(), away.abs().ln());
            bracketed("limit of stability", near, far, rough, slope).map(place)
        };
        let liquid = end(1.5 * start.liquid_density)?;
        let vapour = end(0.2 * start.vapour_density)?;
        Ok(Self {
            centre: 0.5 * (liquid + vapour),
            width: 0.5 * (liquid - vapour),
        })
    }
}

/// Newton's method in both densities, until the steps die out or, once smaller than `noise` relative to the density, no longer
/// shrink. Nothing if a step leaves the stable branches or the steps do neither.
fn newton(isotherm: &Isotherm<'_>, start: Coexistence, noise: f64) -> Option<Coexistence> {
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
        if step < 1e-15 || (step < noise && step >= 0.5 * before) {
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
fn equal_area(isotherm: &Isotherm<'_>, start: Coexistence, ends: &Ends) -> Result<Coexistence> {
    let Ends { centre, width } = *ends;
    let (liquid_end, vapour_end) = (centre + width, centre - width);
    let liquid_max = centre + FARTHEST * width;
    let vapour_min = (centre - FARTHEST * width).max(0.2 * vapour_end);
    let low = isotherm
        .pressure(liquid_end)
        .pressure
        .max(isotherm.pressure(vapour_min).pressure);
    let high = isotherm
        .pressure(vapour_end)
        .pressure
        .min(isotherm.pressure(liquid_max).pressure);
    let branches = |pressure: f64, share: f64| -> Result<(f64, f64)> {
        let (liquid, vapour) = (start.liquid_density, start.vapour_density);
        let tolerance = Tolerance {
            relative: (share * width / centre).max(Tolerance::default().relative),
            ..Tolerance::default()
        };
        let between =
            |low, high, start| density_within(isotherm, pressure, [low, high], start, tolerance);
        Ok((
            between(liquid_end, liquid_max, liquid)?,
            between(vapour_min, vapour_end, vapour)?,
        ))
    };
    let imbalance = |pressure: f64| -> Result<f64> {
        let (liquid, vapour) = branches(pressure, ROUGHLY)?;
        Ok(isotherm.pressure(liquid).potential - isotherm.pressure(vapour).potential)
    };
    let pressure = if high - low < FLAT * high {
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
    let (liquid_density, vapour_density) = branches(pressure, 0.0)?;
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
    density_within(isotherm, pressure, [low, high], start, Tolerance::default())
}

/// As [`density_between`], to a tolerance.
fn density_within(
    isotherm: &Isotherm<'_>,
    pressure: f64,
    [low, high]: [f64; 2],
    start: f64,
    tolerance: Tolerance,
) -> Result<f64> {
    newton_bisect(
        "density at given temperature and pressure",
        low,
        high,
        start,
        tolerance,
        |density| {
            if density <= 0.0 {
                return Ok((-pressure, isotherm.thermal_energy()));
            }
            let point = isotherm.pressure(density);
            Ok((point.pressure - pressure, point.dp_drho))
        },
    )
}
