//! Whether a phase is stable: the distance of its tangent plane from the Gibbs energy of every other composition.
//!
//! Michelsen, Fluid Phase Equilib. 9, 1 (1982), doi 10.1016/0378-3812(82)85001-2: a phase of composition z is stable if
//! `tm(W) = 1 + sum W_i (ln W_i + ln phi_i(W) - ln z_i - ln phi_i(z) - 1)` is nowhere negative. Its minima are sought from
//! several starts by successive substitution and then by Newton's method in `2 W_i^(1/2)`.

use nalgebra::{DMatrix, DVector};

use super::{ln_ratios, normalized, phase_point};
use crate::eos::mixture::{Branch, MixtureIsotherm, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;

/// Distance below zero, over RT, that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// Steps of substitution before Newton's method takes over.
const SUBSTITUTIONS: u32 = 6;
/// Steps in all. Minima that are not reached in these count as not negative only if they were not negative so far.
const STEPS: u32 = 120;
/// Gradient at which a minimum is reached.
const FLAT: f64 = 1e-11;
/// Largest change of the logarithm of an amount at which a trial phase counts as the phase tested itself.
const SAME: f64 = 1e-5;

/// The phase of which a trial found the tangent plane to lie above the Gibbs energy, or nearest to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Amount fractions of the trial phase.
    pub fractions: Amounts,
    /// Its molar density in mol/m3.
    pub molar_density: f64,
    /// `tm` at the minimum, dimensionless; negative if the phase tested is not stable.
    pub distance: f64,
}

/// What the test of a phase found.
#[derive(Debug, Clone, PartialEq)]
pub struct Stability {
    /// Molar density of the phase tested in mol/m3, that of the smaller Gibbs energy.
    pub molar_density: f64,
    /// Logarithms of its fugacity coefficients.
    pub ln_coefficients: Amounts,
    /// The lowest minimum other than the phase itself, where there is one.
    pub trial: Option<Trial>,
}

impl Stability {
    /// Whether no trial phase lowers the Gibbs energy.
    pub fn is_stable(&self) -> bool {
        self.trial
            .as_ref()
            .is_none_or(|trial| trial.distance > -ROUNDING)
    }
}

/// Tests a phase of given composition at a temperature in K and a pressure in Pa.
///
/// Starts: an ideal gas, the ratios of Wilson's equation, their cube roots, each substance nearly pure, every two substances in
/// equal amounts, and where the phase is beyond
/// its own limit of stability both directions in which it falls apart.
pub fn stability(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &[f64],
) -> Result<Stability> {
    let isotherm = model.at(temperature, fractions);
    let molar_density = isotherm.molar_density(pressure, Branch::Stable)?;
    let ln_coefficients = isotherm.ln_fugacity_coefficients(molar_density, pressure);
    let potentials: Amounts = fractions
        .iter()
        .zip(&ln_coefficients)
        .map(|(z, phi)| z.ln() + phi)
        .collect();
    let search = Search {
        model,
        temperature,
        pressure,
        fractions,
        potentials,
    };
    let mut lowest: Option<Trial> = None;
    for (start, branch) in search.starts(isotherm.as_ref(), molar_density)? {
        if let Some(trial) = search.minimum(normalized(&start), branch)? {
            if lowest
                .as_ref()
                .is_none_or(|best| trial.distance < best.distance)
            {
                lowest = Some(trial);
            }
        }
    }
    Ok(Stability {
        molar_density,
        ln_coefficients,
        trial: lowest,
    })
}

/// The phase tested.
struct Search<'a> {
    model: &'a dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fractions: &'a [f64],
    /// `ln z_i + ln phi_i(z)`.
    potentials: Amounts,
}

/// A trial phase with what the next step needs.
struct Point {
    molar_density: f64,
    /// `ln W_i + ln phi_i(W) - ln z_i - ln phi_i(z)`, zero for an absent substance.
    excess: Amounts,
    ln_coefficients: Amounts,
    distance: f64,
}

impl Search<'_> {
    /// Compositions from which minima are sought, each with the branch on which the trial phase stays: a vapour may be the
    /// answer where on the way to it the liquid of the same composition has less energy.
    fn starts(
        &self,
        isotherm: &dyn MixtureIsotherm,
        molar_density: f64,
    ) -> Result<Vec<(Amounts, Branch)>> {
        let ratios = ln_ratios(self.model, self.temperature, self.pressure);
        let scaled = |power: f64| -> Amounts {
            let pairs = self.fractions.iter().zip(&ratios);
            pairs.map(|(z, ratio)| z * (power * ratio).exp()).collect()
        };
        let ideal_gas = self.potentials.iter().map(|d| d.exp()).collect();
        let mut starts = vec![
            (ideal_gas, Branch::Vapour),
            (scaled(1.0), Branch::Vapour),
            (scaled(-1.0), Branch::Liquid),
            (scaled(1.0 / 3.0), Branch::Stable),
            (scaled(-1.0 / 3.0), Branch::Stable),
        ];
        for pure in 0..self.fractions.len() {
            starts.extend(self.nearly_pure(pure)?);
        }
        starts.extend(self.halves().map(|start| (start, Branch::Liquid)));
        let apart = self.apart(isotherm, molar_density).into_iter();
        starts.extend(apart.map(|start| (start, Branch::Stable)));
        starts.retain(|(start, _)| {
            let sum: f64 = start.iter().sum();
            sum.is_finite() && sum > 0.0
        });
        Ok(starts)
    }

    /// Every two substances in equal amounts, with a trace of the others.
    fn halves(&self) -> impl Iterator<Item = Amounts> {
        let count = self.fractions.len();
        let pairs = (0..count).flat_map(move |i| (i + 1..count).map(move |j| (i, j)));
        pairs.map(move |(i, j)| {
            let of = |(k, z): (usize, &f64)| match (*z == 0.0, k == i || k == j) {
                (true, _) => 0.0,
                (_, true) => 0.5,
                (_, false) => 0.001,
            };
            self.fractions.iter().enumerate().map(of).collect()
        })
    }

    /// One substance with a trace of the others, as vapour and as liquid where both exist.
    fn nearly_pure(&self, index: usize) -> Result<Vec<(Amounts, Branch)>> {
        let others = (self.fractions.len().max(2) - 1) as f64;
        let of = |(i, z): (usize, &f64)| match (*z == 0.0, i == index) {
            (true, _) => 0.0,
            (_, true) => 0.999,
            (_, false) => 0.001 / others,
        };
        let start: Amounts = self.fractions.iter().enumerate().map(of).collect();
        let isotherm = self.model.at(self.temperature, &normalized(&start));
        let found = isotherm.densities(self.pressure)?;
        let mut starts = vec![(start.clone(), Branch::Liquid)];
        if found.vapour < found.liquid {
            starts.push((start, Branch::Vapour));
        }
        Ok(starts)
    }

    /// Where the phase is not even stable against small changes, the two directions in which it falls apart.
    fn apart(&self, isotherm: &dyn MixtureIsotherm, molar_density: f64) -> Vec<Amounts> {
        let (eigenvalue, direction) = isotherm.softest(molar_density);
        if eigenvalue >= 0.0 {
            return Vec::new();
        }
        let moved = |side: f64| -> Amounts {
            let pairs = self.fractions.iter().zip(&direction);
            pairs
                .map(|(z, u)| (z + side * z.sqrt() * u).max(0.1 * z))
                .collect()
        };
        vec![moved(0.1), moved(-0.1)]
    }

    fn point(&self, amounts: &[f64], branch: Branch) -> Result<Point> {
        let phase = phase_point(
            self.model,
            self.temperature,
            self.pressure,
            &normalized(amounts),
            branch,
        )?;
        let excess: Amounts = amounts
            .iter()
            .zip(&phase.ln_coefficients)
            .zip(&self.potentials)
            .map(|((w, phi), potential)| {
                if *w > 0.0 {
                    w.ln() + phi - potential
                } else {
                    0.0
                }
            })
            .collect();
        let sum: f64 = amounts
            .iter()
            .zip(&excess)
            .map(|(w, e)| w * (e - 1.0))
            .sum();
        Ok(Point {
            molar_density: phase.molar_density,
            excess,
            ln_coefficients: phase.ln_coefficients,
            distance: 1.0 + sum,
        })
    }

    /// The minimum that a start leads to; nothing if it is the phase tested itself.
    fn minimum(&self, start: Amounts, branch: Branch) -> Result<Option<Trial>> {
        let mut amounts = start;
        let mut point = self.point(&amounts, branch)?;
        for step in 0..STEPS {
            let gradient = amounts.iter().zip(&point.excess);
            let flat = gradient.fold(0.0, |size: f64, (w, e)| size.max((w.sqrt() * e).abs()));
            if self.is_tested_phase(&amounts) {
                return Ok(None);
            }
            if flat < FLAT {
                break;
            }
            (amounts, point) = self.next(step, &amounts, &point, branch)?;
        }
        Ok(Some(Trial {
            fractions: normalized(&amounts),
            molar_density: point.molar_density,
            distance: point.distance,
        }))
    }

    /// Substitution at first and as long as it lowers the distance, which it fails to do where unlike substances attract each
    /// other much; then Newton's method.
    fn next(
        &self,
        step: u32,
        amounts: &[f64],
        point: &Point,
        branch: Branch,
    ) -> Result<(Amounts, Point)> {
        let substituted = self.substituted(point, branch)?;
        if step < SUBSTITUTIONS && substituted.1.distance < point.distance {
            return Ok(substituted);
        }
        Ok(self.newton(amounts, point, branch)?.unwrap_or(substituted))
    }

    fn is_tested_phase(&self, amounts: &[f64]) -> bool {
        let mut pairs = amounts.iter().zip(self.fractions);
        pairs.all(|(w, z)| *z == 0.0 || (w / z).ln().abs() < SAME)
    }

    fn substituted(&self, point: &Point, branch: Branch) -> Result<(Amounts, Point)> {
        let pairs = self.potentials.iter().zip(&point.ln_coefficients);
        let amounts: Amounts = pairs.map(|(d, phi)| (d - phi).exp()).collect();
        let point = self.point(&amounts, branch)?;
        Ok((amounts, point))
    }

    /// A step of Newton's method that lowers the distance; nothing if none does.
    fn newton(
        &self,
        amounts: &[f64],
        point: &Point,
        branch: Branch,
    ) -> Result<Option<(Amounts, Point)>> {
        let total: f64 = amounts.iter().sum();
        let isotherm = self.model.at(self.temperature, &normalized(amounts));
        let change = isotherm.fugacity(point.molar_density).d_amounts;
        let count = amounts.len();
        let roots: Amounts = amounts.iter().map(|w| w.sqrt()).collect();
        let gradient = DVector::from_iterator(
            count,
            roots.iter().zip(&point.excess).map(|(root, e)| root * e),
        );
        let entry = |i: usize, j: usize| {
            let (r, s) = (roots.get(i), roots.get(j));
            let product = r.copied().unwrap_or(0.0) * s.copied().unwrap_or(0.0);
            let cross = product * change.get(i * count + j).copied().unwrap_or(0.0) / total;
            let own = 1.0 + 0.5 * point.excess.get(i).copied().unwrap_or(0.0);
            if i == j { cross + own } else { cross }
        };
        let hessian = DMatrix::from_fn(count, count, entry);
        let Some(step) = descent(hessian, &gradient) else {
            return Ok(None);
        };
        let mut share = 1.0;
        for _ in 0..6 {
            // The step is in 2 W^(1/2); an amount shrinks to a hundredth at most.
            let next: Amounts = roots
                .iter()
                .zip(step.iter())
                .map(|(root, s)| {
                    let root = (root + 0.5 * share * s).max(0.1 * root);
                    root * root
                })
                .collect();
            let found = self.point(&next, branch)?;
            if found.distance <= point.distance + f64::EPSILON {
                return Ok(Some((next, found)));
            }
            share *= 0.5;
        }
        Ok(None)
    }
}

/// The step `-H^-1 g`, with the absolute values of the eigenvalues of H where it is not positive definite, so that the step
/// always leads downhill.
pub(super) fn descent(hessian: DMatrix<f64>, gradient: &DVector<f64>) -> Option<DVector<f64>> {
    if let Some(factors) = hessian.clone().cholesky() {
        return Some(-factors.solve(gradient));
    }
    let eigen = hessian.try_symmetric_eigen(f64::EPSILON, 1000)?;
    let floor = 1e-10 * eigen.eigenvalues.amax();
    let scaled = eigen.eigenvectors.tr_mul(gradient);
    let scaled = scaled.zip_map(&eigen.eigenvalues, |g, value| -g / value.abs().max(floor));
    let step = eigen.eigenvectors * scaled;
    step.iter().all(|s| s.is_finite()).then_some(step)
}
