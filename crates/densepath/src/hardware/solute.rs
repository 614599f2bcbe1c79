//! The solute whose band is followed: how it is retained and how it diffuses.

use fluid::error::{positive, within};
use fluid::transport::diffusion::{Diffusing, DiffusionModel};
use fluid::{Quantity, Result, State};

use crate::fluid;

/// A solute at infinite dilution.
#[derive(Debug, Clone, PartialEq)]
pub struct Solute {
    /// Name for the report.
    pub name: String,
    /// Retention on the column of the method.
    pub retention: Retention,
    /// Diffusion in the mobile phase.
    pub diffusion: Diffusion,
    /// Melting point in K, if it is known: what a restrictor's tip has to stay above.
    pub melting_temperature: Option<f64>,
}

/// Law of the retention factor k.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Retention {
    /// The same k everywhere.
    Constant {
        /// Retention factor k.
        retention_factor: f64,
    },
    /// `ln k = intercept - slope rho` at the temperature of the fit, with rho in kg/m3.
    ///
    /// The linear form holds over a limited span of density (Martire and Boehm, J. Phys. Chem. 91, 2433 (1987),
    /// doi 10.1021/j100293a048, from memory).
    LogLinearInDensity {
        /// Intercept, dimensionless.
        intercept: f64,
        /// Slope in m3/kg.
        slope: f64,
        /// Lowest density of the fit in kg/m3.
        density_min: f64,
        /// Highest density of the fit in kg/m3.
        density_max: f64,
    },
}

impl Retention {
    /// Retention factor k at a density in kg/m3. Error 102 outside the span of the fit.
    pub fn retention_factor(&self, density: f64) -> Result<f64> {
        match *self {
            Retention::Constant { retention_factor } => Ok(retention_factor),
            Retention::LogLinearInDensity {
                intercept,
                slope,
                density_min,
                density_max,
            } => {
                within(
                    Quantity::Density,
                    density,
                    density_min,
                    density_max,
                    "the retention law of the solute",
                )?;
                Ok((intercept - slope * density).exp())
            }
        }
    }
}

/// Law of the diffusion coefficient D at infinite dilution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Diffusion {
    /// The same D everywhere.
    Constant {
        /// Diffusion coefficient D in m2/s.
        diffusion_coefficient: f64,
    },
    /// An estimate from the size of the solute.
    Estimated {
        /// The law.
        model: DiffusionModel,
        /// What it needs to know of the solute.
        solute: Diffusing,
    },
}

impl Diffusion {
    /// Diffusion coefficient D in m2/s in a state of the mobile phase.
    ///
    /// Error 102 at densities below the range of the estimates.
    pub fn diffusion_coefficient(&self, state: &State) -> Result<f64> {
        match *self {
            Diffusion::Constant {
                diffusion_coefficient,
            } => positive(Quantity::DiffusionCoefficient, diffusion_coefficient),
            Diffusion::Estimated { model, solute } => state.diffusion_coefficient(model, solute),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn retention_is_refused_outside_its_fit() {
        let law = Retention::LogLinearInDensity {
            intercept: 6.0,
            slope: 7e-3,
            density_min: 500.0,
            density_max: 1000.0,
        };
        assert!((law.retention_factor(800.0).unwrap() - 0.4f64.exp()).abs() < 1e-12);
        assert_eq!(law.retention_factor(400.0).unwrap_err().code(), 102);
    }
}
