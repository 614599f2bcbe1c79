//! Whose densities the polynomials stand for: those of a substance, or of a mixture in one composition.

use super::{Area, Cells};
use crate::eos::equilibrium::is_far_from_parting;
use crate::eos::guess;
use crate::eos::helmholtz::Isotherm;
use crate::eos::mixture::{Branch, MixtureIsotherm};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::state::mixture::Mixed;
use crate::state::pure::{LINES_APART, Pure};
use crate::state::solve::density_and_phase;

/// Relative distance from the approximate vapour pressure beyond which it needs not be known exactly, and from the pressure of
/// the critical point.
const CLEAR: f64 = 0.01;
/// Relative distance from the melting pressure, for what it may bend between the temperatures at which it is asked for.
const CLEAR_OF_SOLID: f64 = 1e-3;

/// A density over temperature and pressure.
pub(in crate::state) trait Surface: Copy {
    /// The density over pressure at one temperature.
    type Line<'l>: Line
    where
        Self: 'l;

    /// The rectangles; nothing where there are none.
    fn cells(&self) -> Option<&Cells>;

    /// The densities at a temperature in K.
    fn line(&self, temperature: f64) -> Self::Line<'_>;

    /// Whether a rectangle is known to lie in one phase, clear of the borders of the phases and of the solid.
    fn is_one_phase(&self, area: &Area) -> bool;
}

/// A density over pressure.
pub(in crate::state) trait Line {
    /// The density in kg/m3 of the stable phase at a pressure in Pa, by the safe solver.
    fn exact(&self, pressure: f64) -> Option<f64>;

    /// Newton's method for the densities in kg/m3 at several pressures in Pa from near starts; the greatest first step, relative.
    /// Nothing where a density does not settle on a branch on which the pressure rises.
    fn sweep(&self, pressures: &[f64], densities: &mut [f64]) -> Option<f64>;
}

/// One substance at one temperature.
pub(in crate::state) struct PureLine<'a> {
    fluid: Pure<'a>,
    isotherm: Isotherm<'a>,
}

impl Line for PureLine<'_> {
    fn exact(&self, pressure: f64) -> Option<f64> {
        let found = density_and_phase(self.fluid, &self.isotherm, pressure);
        Some(found.ok()?.0)
    }

    fn sweep(&self, pressures: &[f64], densities: &mut [f64]) -> Option<f64> {
        let swept = self.isotherm.sweep(pressures, densities)?;
        Some(swept.first_step)
    }
}

impl<'a> Surface for Pure<'a> {
    type Line<'l>
        = PureLine<'l>
    where
        'a: 'l;

    fn cells(&self) -> Option<&Cells> {
        self.substance.cells()
    }

    fn line(&self, temperature: f64) -> PureLine<'_> {
        PureLine {
            fluid: *self,
            isotherm: self.helmholtz().isotherm(temperature),
        }
    }

    fn is_one_phase(&self, area: &Area) -> bool {
        let fluid = *self;
        let ([cold, hot], [low, high]) = (area.temperature, area.pressure);
        if fluid.freezes(area.temperature, high) {
            return false;
        }
        let top = fluid.helmholtz().dome_top.temperature;
        if cold >= top {
            return true;
        }
        is_vapour(fluid, cold, high)
            || if hot < top {
                is_liquid(fluid, hot, low)
            } else {
                low > fluid.critical_pressure() * (1.0 + CLEAR)
            }
    }
}

impl Pure<'_> {
    /// Whether a pressure in Pa may meet the melting line between two temperatures in K. That line jumps where the equation of the solid
    /// ends and another goes on.
    fn freezes(self, [cold, hot]: [f64; 2], pressure: f64) -> bool {
        let end = self.melting_end().map(|end| end.solid.temperature);
        let clear = match end {
            Some(end) if (cold..=hot).contains(&end) => LINES_APART,
            _ => CLEAR_OF_SOLID,
        };
        (0..=4).any(|step| {
            let temperature = cold + 0.25 * f64::from(step) * (hot - cold);
            pressure * (1.0 + clear) > self.melting_pressure(temperature)
        })
    }
}

/// Whether a pressure in Pa is below the vapour pressure at a temperature in K.
fn is_vapour(fluid: Pure<'_>, temperature: f64, pressure: f64) -> bool {
    let near = pressure / guess(fluid.helmholtz(), temperature).pressure;
    near < 1.0 - CLEAR
        || near < 1.0 + CLEAR
            && fluid
                .coexistence_at_temperature(temperature)
                .is_ok_and(|found| pressure < found.pressure)
}

/// Whether a pressure in Pa is above the vapour pressure at a temperature in K.
fn is_liquid(fluid: Pure<'_>, temperature: f64, pressure: f64) -> bool {
    let near = pressure / guess(fluid.helmholtz(), temperature).pressure;
    near > 1.0 + CLEAR
        || near > 1.0 - CLEAR
            && fluid
                .coexistence_at_temperature(temperature)
                .is_ok_and(|found| pressure > found.pressure)
}

/// Newton steps within which the densities must settle from a near start, and the relative step after which the next one would be
/// below the last digit.
const STEPS: u32 = 8;
const SETTLED: f64 = 1e-10;

/// A mixture at one temperature, where its substances mix in all proportions.
pub(in crate::state) struct MixedLine<'a> {
    mixed: Mixed<'a>,
    isotherm: Box<dyn MixtureIsotherm + 'a>,
}

impl MixedLine<'_> {
    /// Newton's method for a molar density in mol/m3; with the first step, relative.
    fn newton(&self, pressure: f64, start: f64) -> Option<(f64, f64)> {
        let scaled = pressure / self.isotherm.thermal_energy();
        let mut rho = start;
        let mut first = None;
        for _ in 0..STEPS {
            let at = self.isotherm.density_derivatives(rho);
            let slope = 1.0 + 2.0 * at.a_d + at.a_dd;
            let change = (scaled - rho * (1.0 + at.a_d)) / slope;
            if change.is_nan() || slope <= 0.0 {
                return None;
            }
            rho += change;
            let step = (change / rho).abs();
            let first = *first.get_or_insert(step);
            if step < SETTLED {
                return Some((rho, first));
            }
        }
        None
    }
}

impl Line for MixedLine<'_> {
    fn exact(&self, pressure: f64) -> Option<f64> {
        let found = self.isotherm.molar_density(pressure, Branch::Stable).ok()?;
        Some(self.mixed.density(found))
    }

    fn sweep(&self, pressures: &[f64], densities: &mut [f64]) -> Option<f64> {
        let mut greatest = 0.0_f64;
        for (pressure, density) in pressures.iter().zip(densities) {
            let (rho, first) = self.newton(*pressure, self.mixed.molar_density(*density))?;
            *density = self.mixed.density(rho);
            greatest = greatest.max(first);
        }
        Some(greatest)
    }
}

impl<'a> Surface for Mixed<'a> {
    type Line<'l>
        = MixedLine<'l>
    where
        'a: 'l;

    fn cells(&self) -> Option<&Cells> {
        self.mixture.cells()
    }

    fn line(&self, temperature: f64) -> MixedLine<'_> {
        MixedLine {
            mixed: *self,
            isotherm: self.isotherm(temperature),
        }
    }

    /// Where the substances mix in all proportions, a rectangle is no larger than those of which that is known, so that each of these
    /// that it touches holds one of its corners. Elsewhere the mixture must be far from parting at corners, edges and in the middle.
    fn is_one_phase(&self, area: &Area) -> bool {
        let ([cold, hot], [low, high]) = (area.temperature, area.pressure);
        if self.may_freeze(area.temperature, high * (1.0 + CLEAR_OF_SOLID)) {
            return false;
        }
        let all = |temperatures: &[f64], pressures: &[f64], of: &dyn Fn(f64, f64) -> bool| {
            let at = |t: &f64| pressures.iter().all(|p| of(*t, *p));
            temperatures.iter().all(at)
        };
        let model = self.model();
        let mixes = |temperature, pressure| model.mixes(temperature, pressure);
        let is_far = |temperature, pressure| {
            is_far_from_parting(model, temperature, pressure, self.fractions())
        };
        let middle = |low: f64, high: f64| [low, 0.5 * (low + high), high];
        all(&[cold, hot], &[low, high], &mixes)
            || all(&middle(cold, hot), &middle(low, high), &is_far)
    }
}
