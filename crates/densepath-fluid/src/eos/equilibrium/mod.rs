//! Equilibrium between phases of a mixture, on plain numbers and for every equation that implements [`MixtureModel`].

mod boundary;
mod critical;
mod flash;
mod locus;
mod stability;

pub use boundary::{Boundary, BoundaryKind, Given, boundaries, estimated_boundary};
pub use critical::{MixtureCriticalPoint, critical_points};
pub use flash::{Equilibrium, PhaseShare, flash};
pub use locus::{
    CriticalLocus, LocusBounds, LocusBranch, LocusEnd, LocusKind, LocusPoint, critical_locus,
};
pub use stability::{Stability, Trial, stability};

use super::mixture::{Branch, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;

/// One phase at given temperature and pressure: its density and the logarithms of its fugacity coefficients.
#[derive(Debug, Clone)]
pub(crate) struct PhasePoint {
    pub(crate) molar_density: f64,
    pub(crate) ln_coefficients: Amounts,
}

/// A phase of given composition at a temperature in K and a pressure in Pa.
pub(crate) fn phase_point(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
    branch: Branch,
) -> Result<PhasePoint> {
    let isotherm = model.at(temperature, fractions);
    let molar_density = isotherm.molar_density(pressure, branch)?;
    Ok(PhasePoint {
        molar_density,
        ln_coefficients: isotherm.ln_fugacity_coefficients(molar_density, pressure),
    })
}

/// Amounts divided by their sum.
pub(crate) fn normalized(amounts: &[f64]) -> Amounts {
    let sum: f64 = amounts.iter().sum();
    amounts.iter().map(|amount| amount / sum).collect()
}

/// Ratios of fugacity coefficients of liquid and vapour, as far as critical constants tell them:
/// `ln K_i = ln(p_c/p) + 5.373 (1 + omega) (1 - T_c/T)` (Wilson, 65th national meeting of the AIChE, Cleveland 1969;
/// from memory). Start values only.
pub(crate) fn ln_ratios(model: &dyn MixtureModel, temperature: f64, pressure: f64) -> Amounts {
    let of = |i| {
        let critical = model.critical_constants(i);
        (critical.pressure / pressure).ln()
            + 5.373 * (1.0 + critical.acentric_factor) * (1.0 - critical.temperature / temperature)
    };
    (0..model.len()).map(of).collect()
}

/// Invented mixtures for tests, from alike to very unlike.
#[cfg(test)]
pub(crate) mod samples {
    use crate::eos::cubic::{Attraction, Cubic, CubicSubstance, Interaction};
    use crate::eos::mixture::CriticalConstants;
    use proptest::prelude::*;

    fn substance() -> impl Strategy<Value = CubicSubstance> {
        (120.0..700.0f64, 2e6..2e7f64, -0.05..0.7f64).prop_map(|(temperature, pressure, omega)| {
            CubicSubstance {
                name: "invented".to_owned(),
                critical: CriticalConstants {
                    temperature,
                    pressure,
                    acentric_factor: omega,
                },
                attraction: Attraction::by_acentric_factor(omega),
                translation: 0.0,
            }
        })
    }

    fn interaction() -> impl Strategy<Value = Interaction> {
        (-0.15..0.3f64, -0.03..0.03f64).prop_map(|(k_0, l)| Interaction { k_0, k_1: 0.0, l })
    }

    pub(crate) fn binary() -> impl Strategy<Value = Cubic> {
        (substance(), substance(), interaction())
            .prop_map(|(a, b, pair)| Cubic::new("invented", vec![a, b], |_, _| pair))
    }

    pub(crate) fn ternary() -> impl Strategy<Value = Cubic> {
        let substances = (substance(), substance(), substance());
        let pairs = (interaction(), interaction(), interaction());
        (substances, pairs).prop_map(|((a, b, c), (ab, ac, bc))| {
            Cubic::new("invented", vec![a, b, c], |i, j| match (i, j) {
                (0, 1) => ab,
                (0, _) => ac,
                _ => bc,
            })
        })
    }
}
