//! One phase at given temperature and pressure, as the iterations ask for it over and over with slowly changing composition.

use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::{Branch, CriticalConstants, MixtureIsotherm, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Steps of Newton's method from a density nearby.
const STEPS: u32 = 12;
/// Bounds of the relative change of the density below which what is left is corrected to first order.
const NEAR: (f64, f64) = (1e-6, 3e-3);
/// Difference of the logarithms of fugacity coefficients beyond which two phases have little in common.
const FAR: f64 = 2.0;
/// Largest relative change of the density in one step.
const LONGEST: f64 = 0.3;

/// Logarithms of the fugacity coefficients of a phase of given composition at a temperature in K and a pressure in Pa.
pub(crate) fn ln_coefficients(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
    branch: Branch,
) -> Result<Amounts> {
    let isotherm = model.at(temperature, fractions);
    let molar_density = isotherm.molar_density(pressure, branch)?;
    Ok(isotherm.ln_fugacity_coefficients(molar_density, pressure))
}

/// A phase with the changes of its fugacities.
#[derive(Debug, Clone)]
pub(super) struct Phase {
    /// Molar density in mol/m3.
    pub(super) molar_density: f64,
    pub(super) ln_coefficients: Amounts,
    /// `n (d ln phi_i/dn_j)_T,p`, row after row.
    pub(super) d_amounts: Amounts,
    /// Partial molar volumes over the molar volume.
    pub(super) volumes: Amounts,
}

impl Phase {
    /// Molar density in mol/m3 to be expected at other amounts, by the partial molar volumes.
    pub(super) fn density_at(&self, amounts: &[f64]) -> f64 {
        let total: f64 = amounts.iter().sum();
        let pairs = amounts.iter().zip(&self.volumes);
        let ratio = pairs.map(|(n, v)| n * v).sum::<f64>() / total;
        self.molar_density / ratio.clamp(0.5, 2.0)
    }

    /// Whether a fugacity coefficient is another one by more than a step of an iteration is likely to bring.
    pub(super) fn is_far_from(&self, other: &Self) -> bool {
        let pairs = self.ln_coefficients.iter().zip(&other.ln_coefficients);
        pairs
            .into_iter()
            .any(|(own, theirs)| (own - theirs).abs() > FAR)
    }
}

/// The phase at the density with a pressure in Pa next to a density in mol/m3, and how often the equation was asked; nothing
/// where the pressure does not rise on the way.
///
/// `ln phi_i` changes with the pressure by `V_i/(RT) - 1/p`, which takes the last digits of the density; `size` is the
/// imbalance in ln phi that the iteration still has, to which the density need not be known better than to a small part.
pub(super) fn near(
    isotherm: &dyn MixtureIsotherm,
    pressure: f64,
    guess: f64,
    size: f64,
) -> (u32, Option<Phase>) {
    let rt = MOLAR_GAS_CONSTANT * isotherm.temperature();
    let fractions = isotherm.amount_fractions();
    let count = fractions.len();
    let highest = isotherm.molar_density_max();
    let enough = (0.01 * size).clamp(NEAR.0, NEAR.1);
    let mut rho = guess.min(highest);
    for step in 1..=STEPS {
        let found = isotherm.potential_derivatives(rho);
        let slope = 1.0 + 2.0 * found.density.a_d + found.density.a_dd;
        let change = (pressure / rt - rho * (1.0 + found.density.a_d)) / slope;
        if slope <= 0.0 || !change.is_finite() {
            return (step, None);
        }
        if change.abs() > enough * rho {
            rho = (rho + change.clamp(-LONGEST * rho, LONGEST * rho)).min(highest);
            continue;
        }
        let rows = found.curvatures.chunks(count);
        let stiffness: Amounts = rows
            .clone()
            .map(|row| {
                let sum: f64 = row.iter().zip(fractions).map(|(c, x)| c * x).sum();
                1.0 + rho * sum
            })
            .collect();
        let ln_z = (pressure / (rho * rt)).ln();
        let pairs = found.potentials.iter().zip(&stiffness);
        let d_amounts = rows.zip(&stiffness).flat_map(|(row, s)| {
            let columns = row.iter().zip(&stiffness);
            columns.map(move |(c, other)| 1.0 + rho * c - s * other / slope)
        });
        let phase = Phase {
            molar_density: rho + change,
            ln_coefficients: pairs
                .map(|(psi, s)| psi - ln_z + s * change / rho)
                .collect(),
            d_amounts: d_amounts.collect(),
            volumes: stiffness.iter().map(|s| s / slope).collect(),
        };
        return (step, Some(phase));
    }
    (STEPS, None)
}

/// Start value of the molar volume of a liquid substance in m3/mol, by the equation of Rackett with the critical compression
/// factor by the acentric factor (Yamada and Gunn 1973; constants as other libraries print them), above the critical
/// temperature held at 0.9 of it.
pub(super) fn liquid_volume(critical: &CriticalConstants, temperature: f64) -> f64 {
    let factor = 0.29056 - 0.08775 * critical.acentric_factor;
    let reduced = (temperature / critical.temperature).min(0.9);
    let scale = MOLAR_GAS_CONSTANT * critical.temperature / critical.pressure;
    scale * factor.powf(1.0 + (1.0 - reduced).powf(2.0 / 7.0))
}
