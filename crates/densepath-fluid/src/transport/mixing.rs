//! Transport, electrical and optical properties of mixtures, on plain numbers.
//!
//! # Viscosity and thermal conductivity
//!
//! The gas mixes by the rules of kinetic theory. The dense fluid follows the residual entropy of the mixture: each substance
//! brings its own curve, the logarithms of the curves are averaged by amount, and so are the masses of the molecules (Yang,
//! Xiao, May, Bell, J. Chem. Eng. Data 66, 1385 (2021), doi 10.1021/acs.jced.0c01009; rule from memory). What the curve of a
//! substance misses of its own correlation at the same temperature and the corresponding density is added in proportion to
//! its amount, so that a vanishing admixture leaves the pure fluid as it is. The critical enhancement is left out.
//!
//! # Permittivity and refractive index
//!
//! Kirkwood's function over density, and the molar refraction, are averaged by amount, each taken of the substance alone at the
//! corresponding density (Oster, J. Am. Chem. Soc. 68, 2036 (1946), doi 10.1021/ja01214a050; Lorentz, Lorenz). Molecules that
//! lose their hydrogen bonds on dilution have a smaller function than the average says.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::diffusion::Solvent;
use super::permittivity::{
    Filling, kirkwood, permittivity_of_kirkwood, polarization_from_ratio, ratio_from_polarization,
};
use super::{Dense, Point};
use crate::error::Result;
use crate::fluids::transport::{EntropyScalingRecord, ThermalConductivityRecord, ViscosityRecord};
use crate::state::Constituent;

/// How far a curve may be corrected towards its correlation: beyond, the correlation is used where it has no meaning.
const CORRECTION_MAX: f64 = 0.2;

impl Constituent<'_> {
    fn viscosity(&self) -> Option<(&ViscosityRecord, &EntropyScalingRecord)> {
        let record = self.record.viscosity.as_ref()?;
        Some((record, record.entropy_scaling.as_ref()?))
    }

    fn conductivity(&self) -> Option<(&ThermalConductivityRecord, &EntropyScalingRecord)> {
        let record = self.record.thermal_conductivity.as_ref()?;
        Some((record, record.entropy_scaling.as_ref()?))
    }

    /// Density in kg/m3 of the substance alone that corresponds to a mixture of a molar density and a critical volume.
    fn corresponding_density(&self, molar_density: f64, critical_volume: f64) -> f64 {
        let density = molar_density * critical_volume / self.critical_volume * self.molar_mass;
        let highest = self.equation.map(|equation| equation.density_max);
        density.min(highest.unwrap_or(f64::INFINITY))
    }

    /// The substance alone at the temperature of a mixture and the density that corresponds to the mixture's.
    fn alone(&self, mixture: &Dense, critical_volume: f64) -> Option<Point> {
        let equation = self.equation?;
        let density = self.corresponding_density(mixture.molar_density, critical_volume);
        let reference = 1.5 * equation.temperature_reducing;
        let temperature = mixture.temperature;
        Some(Point::on(
            equation,
            self.molar_mass,
            temperature,
            density,
            reference,
        ))
    }

    /// Temperature and densities of the substance alone that correspond to those of a mixture.
    fn filling(&self, mixture: Filling, critical_volume: f64) -> Filling {
        let density = self.corresponding_density(mixture.molar_density, critical_volume);
        Filling {
            temperature: mixture.temperature,
            density,
            molar_density: density / self.molar_mass,
        }
    }

    /// Isochoric heat capacity of its ideal gas over the gas constant; that of a rigid molecule without a reference equation.
    fn ideal_heat_capacity(&self, temperature: f64) -> f64 {
        self.equation.map_or(3.0, |equation| {
            -equation.isotherm(temperature).ideal().second
        })
    }
}

/// Dynamic viscosity in Pa s of a mixture of given residual entropy; nothing if a substance lacks its curve.
pub fn viscosity(constituents: &[Constituent<'_>], mixture: &Dense) -> Option<f64> {
    let temperature = mixture.temperature;
    let s = mixture.residual_entropy;
    let critical_volume = critical_volume(constituents);
    let (mut logarithm, mut correction) = (0.0, 0.0);
    let mut gases = Vec::with_capacity(constituents.len());
    for constituent in constituents {
        let (record, curve) = constituent.viscosity()?;
        let dilute = record.zero_density(temperature);
        gases.push(Gas::new(constituent, dilute, dilute));
        logarithm += constituent.amount_fraction * curve.at(s);
        if let Some(alone) = constituent.alone(mixture, critical_volume) {
            let of_curve = dilute
                + alone
                    .dense
                    .residual_viscosity(curve.at(alone.dense.residual_entropy));
            let missed = (record.dynamic_viscosity(&alone) / of_curve).ln();
            correction += constituent.amount_fraction * limited(missed);
        }
    }
    let value = gas_mean(&gases) + mixture.residual_viscosity(logarithm);
    Some(value * correction.exp())
}

/// Thermal conductivity in W/(m K) of a mixture of given residual entropy; nothing if a substance lacks its curve.
pub fn conductivity(constituents: &[Constituent<'_>], mixture: &Dense) -> Option<f64> {
    let temperature = mixture.temperature;
    let s = mixture.residual_entropy;
    let critical_volume = critical_volume(constituents);
    let (mut logarithm, mut correction) = (0.0, 0.0);
    let mut gases = Vec::with_capacity(constituents.len());
    for constituent in constituents {
        let (record, curve) = constituent.conductivity()?;
        let (viscosity, _) = constituent.viscosity()?;
        let viscosity = viscosity.zero_density(temperature);
        let heat_capacity = constituent.ideal_heat_capacity(temperature);
        let dilute = record.zero_density(temperature, heat_capacity, viscosity);
        gases.push(Gas::new(constituent, viscosity, dilute));
        logarithm += constituent.amount_fraction * curve.at(s);
        if let Some(alone) = constituent.alone(mixture, critical_volume) {
            let of_curve = dilute
                + alone
                    .dense
                    .residual_conductivity(curve.at(alone.dense.residual_entropy));
            let missed = (record.background(&alone, viscosity) / of_curve).ln();
            correction += constituent.amount_fraction * limited(missed);
        }
    }
    let value = gas_mean(&gases) + mixture.residual_conductivity(logarithm);
    Some(value * correction.exp())
}

/// Relative permittivity of a mixture; nothing if a substance lacks its equation.
pub fn relative_permittivity(constituents: &[Constituent<'_>], mixture: Filling) -> Option<f64> {
    let critical_volume = critical_volume(constituents);
    let mut sum = 0.0;
    for constituent in constituents {
        let record = constituent.record.relative_permittivity.as_ref()?;
        let alone = constituent.filling(mixture, critical_volume);
        let share = kirkwood(record.of_equation(alone)) / alone.molar_density;
        sum += constituent.amount_fraction * share;
    }
    Some(permittivity_of_kirkwood(mixture.molar_density * sum))
}

/// Refractive index of a mixture for light of a vacuum wavelength in m; nothing if a substance lacks its molar refraction. Error
/// 102 for a wavelength that a substance is not known at.
pub fn refractive_index(
    constituents: &[Constituent<'_>],
    mixture: Filling,
    wavelength: f64,
) -> Result<Option<f64>> {
    let critical_volume = critical_volume(constituents);
    let mut sum = 0.0;
    for constituent in constituents {
        let Some(record) = constituent.record.refractivity.as_ref() else {
            return Ok(None);
        };
        let alone = constituent.filling(mixture, critical_volume);
        let n = record.refractive_index(alone, wavelength)?;
        sum += constituent.amount_fraction * polarization_from_ratio(n * n) / alone.molar_density;
    }
    Ok(Some(
        ratio_from_polarization(mixture.molar_density * sum).sqrt(),
    ))
}

/// A mixture as the solvent of a diffusing substance; nothing if a substance is not known as one.
pub fn solvent(constituents: &[Constituent<'_>]) -> Option<Solvent> {
    let parts: Option<Vec<_>> = constituents
        .iter()
        .map(|constituent| {
            let record = constituent.record;
            let known = record.diffusion_solvent.as_ref()?;
            let reference = record.equation_of_state.as_ref();
            let critical_temperature = reference
                .map(|equation| equation.critical_point.temperature)
                .or(record
                    .cubic
                    .as_ref()
                    .map(|cubic| cubic.critical_temperature))?;
            let solvent = Solvent {
                associated_molar_mass: known.association_factor * constituent.molar_mass,
                molar_mass: constituent.molar_mass,
                molar_volume: known.molar_volume,
                critical_temperature,
                critical_volume: known.critical_volume.unwrap_or(constituent.critical_volume),
            };
            Some((constituent.amount_fraction, solvent))
        })
        .collect();
    parts.map(|parts| Solvent::mixed(&parts))
}

/// A logarithm kept within what a correction may be; zero for what is not a number.
fn limited(logarithm: f64) -> f64 {
    if logarithm.is_nan() {
        return 0.0;
    }
    logarithm.clamp(-CORRECTION_MAX, CORRECTION_MAX)
}

fn critical_volume(constituents: &[Constituent<'_>]) -> f64 {
    let shares = constituents.iter();
    shares
        .map(|constituent| constituent.amount_fraction * constituent.critical_volume)
        .sum()
}

/// One gas of a thin mixture.
struct Gas {
    amount_fraction: f64,
    molar_mass: f64,
    viscosity: f64,
    value: f64,
}

impl Gas {
    fn new(constituent: &Constituent<'_>, viscosity: f64, value: f64) -> Self {
        Self {
            amount_fraction: constituent.amount_fraction,
            molar_mass: constituent.molar_mass,
            viscosity,
            value,
        }
    }

    /// How much another gas hinders this one, compared with this one itself.
    fn hindrance(&self, other: &Self) -> f64 {
        let mass = self.molar_mass / other.molar_mass;
        let root = 1.0 + (self.viscosity / other.viscosity).sqrt() / mass.sqrt().sqrt();
        root * root / (8.0 * (1.0 + mass)).sqrt()
    }
}

/// Viscosity of a thin mixture of gases by the rule of Wilke, or its thermal conductivity by that of Mason and Saxena with the
/// same factors.
///
/// *Source*: Wilke, J. Chem. Phys. 18, 517 (1950), doi 10.1063/1.1747673; Mason, Saxena, Phys. Fluids 1, 361 (1958), doi
/// 10.1063/1.1724352.
fn gas_mean(gases: &[Gas]) -> f64 {
    let one = |gas: &Gas| {
        let hindered = gases
            .iter()
            .map(|other| other.amount_fraction * gas.hindrance(other));
        gas.amount_fraction * gas.value / hindered.sum::<f64>()
    };
    gases
        .iter()
        .filter(|gas| gas.amount_fraction > 0.0)
        .map(one)
        .sum()
}
