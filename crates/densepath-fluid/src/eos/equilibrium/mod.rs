//! Equilibrium between phases of a mixture, on plain numbers and for every equation that implements [`MixtureModel`].

#[cfg(not(feature = "std"))]
use crate::prelude::*;

mod approach;
mod boundary;
mod continuation;
mod critical;
mod envelope;
mod flash;
mod isothermal;
mod line_conditions;
mod locus;
mod miscible;
mod own_phases;
mod pair;
mod pair_points;
mod pair_stability;
mod part;
mod phase;
mod scan;
mod shares;
mod stability;

pub(crate) use boundary::estimated_boundary;
pub use boundary::{Boundary, BoundaryKind, Given};
pub use critical::{MixtureCriticalPoint, critical_points};
pub use envelope::{EnvelopeBounds, EnvelopeBranch, EnvelopeEnd, EnvelopePoint, envelope};
pub use flash::{Equilibrium, PhaseShare, flash};
pub use isothermal::TieLineEnd;
pub(crate) use isothermal::{ThreeNear, TieLine, TwoPhaseLine, isothermal_phases};
pub use locus::{
    CriticalLocus, LocusBounds, LocusBranch, LocusEnd, LocusKind, LocusPoint, critical_locus,
};
pub(crate) use miscible::Remembering;
pub(crate) use phase::ln_coefficients;
pub use scan::{BoundaryScan, boundaries};
pub use stability::{Stability, Trial, stability};

use super::mixture::MixtureModel;
use crate::num::Amounts;

/// Whether a mixture of given amount fractions is known to be one phase at a temperature in K and a pressure in Pa, and far from
/// parting; of two substances of a cubic equation.
pub(crate) fn is_far_from_parting(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> bool {
    let pair = model.cubic_pair(temperature);
    pair.is_some_and(|pair| pair::is_far_from_parting(&pair, pressure, fractions))
}

/// Amounts divided by their sum.
pub(crate) fn normalized(amounts: &[f64]) -> Amounts {
    let sum: f64 = amounts.iter().sum();
    amounts.iter().map(|amount| amount / sum).collect()
}

/// Ratios of fugacity coefficients of liquid and vapour, as far as critical constants tell them:
/// `ln K_i = ln(p_c/p) + 5.373 (1 + omega) (1 - T_c/T)` (Wilson, paper 15c, 65th national meeting of the AIChE,
/// Cleveland 1969; as other libraries cite it). Start values only.
pub(crate) fn ln_ratios(model: &dyn MixtureModel, temperature: f64, pressure: f64) -> Amounts {
    let of = |i| {
        let critical = model.critical_constants(i);
        (critical.pressure / pressure).ln()
            + 5.373 * (1.0 + critical.acentric_factor) * (1.0 - critical.temperature / temperature)
    };
    (0..model.len()).map(of).collect()
}

#[cfg(test)]
mod campaign;
#[cfg(test)]
mod once_failed;
#[cfg(test)]
mod peers;
#[cfg(test)]
pub(crate) mod samples;
