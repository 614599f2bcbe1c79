//! Liquid and vapour of one and the same composition: a state inside the region of two phases, and the boiling of a substance.

use crate::eos::mixture::{Densities, MixtureIsotherm, MixtureModel, rising_root};
use crate::error::Result;
use crate::num::root::{Tolerance, bracketed};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// The pressure in Pa at which both densities of one composition have one Gibbs energy, with the densities; nothing above the
/// temperature at which the isotherm rises throughout.
pub(super) fn own_saturation(isotherm: &dyn MixtureIsotherm) -> Result<Option<(f64, Densities)>> {
    let highest = isotherm.molar_density_max();
    let slope = |rho: f64| isotherm.dp_drho(rho);
    let samples = 200;
    let density = |step: u32| highest * f64::from(step) / f64::from(samples);
    let falling: Vec<u32> = (1..samples)
        .filter(|&step| slope(density(step)) < 0.0)
        .collect();
    let (Some(&first), Some(&last)) = (falling.first(), falling.last()) else {
        return Ok(None);
    };
    let rough = Tolerance {
        relative: 1e-10,
        iterations: 100,
    };
    // A vapour thinner than the first sample may rise before it falls.
    let thin = 1e-9 * highest;
    let vapour = bracketed(
        "limit of stability of a vapour",
        if first == 1 { thin } else { density(first - 1) },
        density(first),
        rough,
        |rho| Ok(slope(rho)),
    )?;
    let liquid = bracketed(
        "limit of stability of a liquid",
        density(last),
        density(last + 1).min(highest),
        rough,
        |rho| Ok(slope(rho)),
    )?;
    let top = isotherm.pressure(vapour) * (1.0 - 1e-9);
    let bottom = (isotherm.pressure(liquid)).max(1e-12 * top) * (1.0 + 1e-9);
    // On both sides of the limits of stability the pressure rises throughout: no root can be missed beside them.
    let densities = |pressure: f64| -> Result<Densities> {
        Ok(Densities {
            vapour: rising_root(isotherm, pressure, (0.0, vapour))?,
            liquid: rising_root(isotherm, pressure, (liquid, highest))?,
        })
    };
    let difference = |ln_pressure: f64| {
        let pressure = ln_pressure.exp();
        let found = densities(pressure)?;
        let energy = |rho: f64| isotherm.residual_gibbs_energy(rho, pressure);
        Ok(energy(found.vapour) - energy(found.liquid))
    };
    let sides = (difference(bottom.ln())?, difference(top.ln())?);
    if bottom >= top || sides.0 >= 0.0 || sides.1 <= 0.0 {
        return Ok(None);
    }
    let found = bracketed(
        "boiling of one composition",
        bottom.ln(),
        top.ln(),
        rough,
        difference,
    )?;
    let pressure = found.exp();
    Ok(Some((pressure, densities(pressure)?)))
}

/// Where the search for a boiling temperature starts, over the mean of the critical temperatures, and its first step in ln T.
const START: f64 = 0.8;
const FIRST_STEP: f64 = 0.05;
/// Steps until it is bracketed.
const STEPS: u32 = 60;
/// Width of a bracket in ln T, and its distance in ln p from the last coexistence, at which nothing is left between them.
const CLOSED: f64 = 1e-7;
const ABOVE_LAST: f64 = 0.2;

/// A temperature at which both densities of one composition coexist.
#[derive(Debug, Clone, Copy)]
struct Boiling {
    ln_temperature: f64,
    ln_pressure: f64,
}

impl Boiling {
    /// ln p at another temperature on the line through two of them, straight in 1/T.
    fn extended(self, other: Self, ln_temperature: f64) -> f64 {
        let inverse = |s: f64| (-s).exp();
        let share = (inverse(ln_temperature) - inverse(self.ln_temperature))
            / (inverse(other.ln_temperature) - inverse(self.ln_temperature));
        self.ln_pressure + share * (other.ln_pressure - self.ln_pressure)
    }
}

/// The logarithm of the temperature in K at which both densities of one composition have one Gibbs energy at a pressure in Pa,
/// between two such logarithms; nothing at pressures above the last coexistence.
///
/// ln p is nearly straight in 1/T, which leads to a bracket in a few steps and tells where the pressure lies above all others.
pub(super) fn own_boiling(
    model: &dyn MixtureModel,
    fractions: &[f64],
    pressure: f64,
    (low, high): (f64, f64),
) -> Result<Option<f64>> {
    let wanted = pressure.ln();
    let boiling = |ln_temperature: f64| -> Result<Option<Boiling>> {
        let isotherm = model.at(ln_temperature.exp(), fractions);
        let found = own_saturation(isotherm.as_ref())?;
        Ok(found.map(|(pressure, _)| Boiling {
            ln_temperature,
            ln_pressure: pressure.ln(),
        }))
    };
    let critical = fractions.iter().enumerate();
    let mean: f64 = critical
        .map(|(i, x)| x * model.critical_constants(i).temperature)
        .sum();
    let mut place = (START * mean).ln().clamp(low, high);
    let mut step = FIRST_STEP;
    // The two nearest coexistences below the pressure, and the nearest place above it, where there may be no coexistence.
    let (mut below, mut before): (Option<Boiling>, Option<Boiling>) = (None, None);
    let mut above: Option<(f64, Option<Boiling>)> = None;
    for _ in 0..STEPS {
        match boiling(place)? {
            Some(found) if found.ln_pressure < wanted => {
                before = below.replace(found);
            }
            other => above = Some((place, other)),
        }
        place = match (below, above) {
            (Some(below), Some((above, Some(_)))) => {
                let excess = |s: f64| Ok(boiling(s)?.map_or(f64::NAN, |b| b.ln_pressure - wanted));
                let exact = Tolerance {
                    relative: 1e-12,
                    iterations: 100,
                };
                let solver = "boiling at given pressure";
                return bracketed(solver, below.ln_temperature, above, exact, excess).map(Some);
            }
            (Some(below), Some((above, None))) => {
                let at_end = before.map(|before| before.extended(below, above) + ABOVE_LAST);
                if at_end.is_some_and(|most| most < wanted) || above - below.ln_temperature < CLOSED
                {
                    return Ok(None);
                }
                0.5 * (below.ln_temperature + above)
            }
            (Some(_), None) if place >= high => return Ok(None),
            (None, Some(_)) if place <= low => return Ok(None),
            (Some(_), None) => (place + step).min(high),
            (None, _) => (place - step).max(low),
        };
        step *= 1.5;
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::equilibrium::samples::{CARBON_DIOXIDE, METHANOL, peng_robinson};

    /// At the pressure of a coexistence its temperature is found again, and above the last one there is none.
    #[test]
    fn boiling_at_a_pressure_is_that_at_its_temperature() {
        let model = peng_robinson(&[CARBON_DIOXIDE, METHANOL], &[0.0583]);
        let range = (180f64.ln(), 700f64.ln());
        for fractions in [[1.0, 0.0], [0.9, 0.1], [0.4, 0.6]] {
            let mut highest = 0.0_f64;
            for temperature in [200.0, 250.0, 280.0, 300.0, 400.0] {
                let isotherm = model.at(temperature, &fractions);
                let Some((pressure, _)) = own_saturation(isotherm.as_ref()).unwrap() else {
                    continue;
                };
                highest = highest.max(pressure);
                let found = own_boiling(&model, &fractions, pressure, range).unwrap();
                let found = found.unwrap().exp();
                assert!(
                    (found / temperature - 1.0).abs() < 1e-8,
                    "{found} {temperature}"
                );
            }
            // A boiling outside of the temperatures given is none, though the search might well begin there.
            let isotherm = model.at(250.0, &fractions);
            let (pressure, _) = own_saturation(isotherm.as_ref()).unwrap().unwrap();
            for range in [(280f64.ln(), range.1), (range.0, 240f64.ln())] {
                assert_eq!(
                    own_boiling(&model, &fractions, pressure, range).unwrap(),
                    None
                );
            }
            assert!(highest > 0.0);
            assert_eq!(own_boiling(&model, &fractions, 3e7, range).unwrap(), None);
        }
    }
}
