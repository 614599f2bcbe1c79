//! Liquid and vapour of one and the same composition: a state inside the region of two phases, and the boiling of a substance.

use crate::eos::mixture::{Densities, MixtureIsotherm, rising_root};
use crate::error::Result;
use crate::num::root::{Tolerance, bracketed};

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
