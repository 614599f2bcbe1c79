//! The last stretch of a line of two phases at one temperature towards its critical point, in the densities of both phases.
//!
//! Where both compositions are nearly one while the densities still differ, as beside a critical point of a substance alone or
//! of an azeotrope, a phase has no density at a pressure that lies a little beyond its limit of stability, and steps in the
//! pressure lead nowhere. With the logarithms of the ratios and of the densities as unknowns the equality of the pressures is an
//! equation like those of the fugacities, and every step has a state.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

use super::continuation::{Ahead, Curve, Pace, Place};
use super::isothermal::{apart, entry, fractions_of};
use crate::eos::mixture::MixtureModel;

/// The equations of a pair by the logarithms of both ratios and both densities.
#[derive(Debug, Clone, Copy)]
pub(super) struct ByDensities<'a> {
    pub(super) model: &'a dyn MixtureModel,
    pub(super) temperature: f64,
}

/// A phase: ln of the pressure and of the fugacities over RT, with their derivatives in the logarithms of ratio and density.
struct PhaseAt {
    values: [f64; 3],
    d_ratio: [f64; 3],
    d_density: [f64; 3],
}

impl ByDensities<'_> {
    /// Logarithm of the pressure in Pa of a place.
    pub(super) fn ln_pressure(&self, place: &Place) -> f64 {
        let isotherm = self
            .model
            .at(self.temperature, &fractions_of(place.unknowns[0]));
        isotherm.pressure(place.densities.0).ln()
    }

    fn phase(&self, ratio: f64, density: f64) -> Option<PhaseAt> {
        let x = fractions_of(ratio);
        let isotherm = self.model.at(self.temperature, &x);
        if density.is_nan() || density >= isotherm.molar_density_max() {
            return None;
        }
        let found = isotherm.potential_derivatives(density);
        let pressure = density * (1.0 + found.density.a_d);
        if pressure.is_nan() || pressure <= 0.0 {
            return None;
        }
        let product = x[0] * x[1];
        let row = |i: usize| [0, 1].map(|j| density * entry(&found.curvatures, 2 * i + j));
        let potentials = [0, 1].map(|i| x[i].ln() + density.ln() + entry(&found.potentials, i));
        let [a, b] = [0, 1].map(|i| {
            let [first, second] = row(i);
            let own = if i == 0 { -x[1] } else { x[0] };
            (
                own + product * (second - first),
                1.0 + first * x[0] + second * x[1],
            )
        });
        // The equation of Gibbs and Duhem: d(p/RT) = sum rho_i dmu_i/RT.
        let share = density / pressure;
        Some(PhaseAt {
            values: [pressure.ln(), potentials[0], potentials[1]],
            d_ratio: [share * (x[0] * a.0 + x[1] * b.0), a.0, b.0],
            d_density: [share * (x[0] * a.1 + x[1] * b.1), a.1, b.1],
        })
    }
}

impl Curve for ByDensities<'_> {
    fn at(&self, unknowns: DVector<f64>, _: (f64, f64)) -> Option<Place> {
        let densities = (unknowns[2].exp(), unknowns[3].exp());
        let one = self.phase(unknowns[0], densities.0)?;
        let other = self.phase(unknowns[1], densities.1)?;
        let mut residuals = DVector::zeros(3);
        let mut jacobian = DMatrix::zeros(3, 4);
        for row in 0..3 {
            residuals[row] = one.values[row] - other.values[row];
            jacobian[(row, 0)] = one.d_ratio[row];
            jacobian[(row, 1)] = -other.d_ratio[row];
            jacobian[(row, 2)] = one.d_density[row];
            jacobian[(row, 3)] = -other.d_density[row];
        }
        Some(Place {
            unknowns,
            residuals,
            jacobian,
            densities,
        })
    }
}

/// Longest step, as a share of the distance of both phases.
const APPROACH: f64 = 0.25;
/// Points at most.
const POINTS: u32 = 100;

/// Places ever nearer to the critical point ahead of a pair of given ratios and densities, until both phases are as near as
/// `reach`; nothing where they do not come together.
pub(super) fn approach(
    curve: &ByDensities,
    ratios: [f64; 2],
    densities: [f64; 2],
    reach: f64,
) -> Option<Vec<Place>> {
    let [one, other] = ratios;
    let unknowns = DVector::from_vec(vec![one, other, densities[0].ln(), densities[1].ln()]);
    let together = DVector::from_vec(vec![
        unknowns[1] - unknowns[0],
        unknowns[0] - unknowns[1],
        unknowns[3] - unknowns[2],
        unknowns[2] - unknowns[3],
    ]);
    let start = curve.at(unknowns, (densities[0], densities[1]))?;
    let mut here = Ahead::near(curve, start, &together)?;
    let mut pace = Pace {
        length: APPROACH * apart(&here.place),
        longest: f64::INFINITY,
    };
    let mut places = Vec::new();
    for _ in 0..POINTS {
        let distance = apart(&here.place);
        let next = pace.next(curve, &here, |length| length.min(APPROACH * distance))?;
        if apart(&next.place) > distance {
            return None;
        }
        places.push(next.place.clone());
        if apart(&next.place) < reach {
            return Some(places);
        }
        here = next;
    }
    None
}
