//! The phases among which a mixture is spread while the least Gibbs energy is sought, and the derivatives of that energy.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::DMatrix;

use super::normalized;
use super::phase::Phase;
use crate::num::Amounts;

/// Largest difference of the logarithms of amount fractions and densities at which two phases are one.
const SAME: f64 = 1e-6;

/// Amounts of each substance in one phase, of one mole in all.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) amounts: Amounts,
    pub(super) phase: Phase,
    /// `ln x_i + ln phi_i`; zero for an absent substance.
    pub(super) potentials: Amounts,
}

impl Part {
    pub(super) fn total(&self) -> f64 {
        self.amounts.iter().sum()
    }

    pub(super) fn gibbs_energy(&self) -> f64 {
        let pairs = self.amounts.iter().zip(&self.potentials);
        pairs.map(|(n, potential)| n * potential).sum()
    }

    /// Second derivatives of the Gibbs energy of the phase in its amounts, over RT.
    fn curvature(&self) -> DMatrix<f64> {
        let (total, count) = (self.total(), self.amounts.len());
        let changes = self
            .phase
            .d_amounts
            .iter()
            .map(|change| (change - 1.0) / total);
        let mut curvature = DMatrix::from_iterator(count, count, changes);
        for (i, n) in self.amounts.iter().enumerate() {
            curvature[(i, i)] += if *n > 0.0 { 1.0 / n } else { 0.0 };
        }
        curvature
    }

    /// Whether another part is the same phase.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        let close = |a: f64, b: f64| a == b || (a / b).ln().abs() < SAME;
        let (own, theirs) = (normalized(&self.amounts), normalized(&other.amounts));
        close(self.phase.molar_density, other.phase.molar_density)
            && own.iter().zip(&theirs).all(|(a, b)| close(*a, *b))
    }
}

pub(super) fn gibbs_energy(parts: &[Part]) -> f64 {
    parts.iter().map(Part::gibbs_energy).sum()
}

/// Second derivatives of the Gibbs energy in the scaled amounts of all phases but the first.
pub(super) fn hessian(first: &Part, others: &[Part], scales: &[f64]) -> DMatrix<f64> {
    let count = first.amounts.len();
    let base = first.curvature();
    let blocks: Vec<DMatrix<f64>> = others.iter().map(Part::curvature).collect();
    let mut hessian = DMatrix::zeros(scales.len(), scales.len());
    for (row, scale) in scales.iter().enumerate() {
        for (column, other) in scales.iter().enumerate() {
            let place = (row % count, column % count);
            let is_own = row / count == column / count;
            let own = blocks.get(row / count).filter(|_| is_own);
            let product = scale * other;
            hessian[(row, column)] = if product == 0.0 && row == column {
                1.0
            } else {
                product * (own.map_or(0.0, |block| block[place]) + base[place])
            };
        }
    }
    hessian
}

/// The largest part of a step that leaves a hundredth of every amount.
pub(super) fn longest(parts: &[Part], steps: &[&[f64]]) -> f64 {
    let mut share: f64 = 1.0;
    for (part, change) in parts.iter().zip(steps) {
        for (n, s) in part.amounts.iter().zip(*change) {
            if n + share * s < 0.01 * n {
                share = 0.99 * n / -s;
            }
        }
    }
    share
}

/// Largest difference of the logarithms of the fugacities between the phases.
pub(super) fn imbalance(parts: &[Part]) -> f64 {
    let Some((first, others)) = parts.split_first() else {
        return 0.0;
    };
    let mut largest: f64 = 0.0;
    for part in others {
        let pairs = part.potentials.iter().zip(&first.potentials);
        let amounts = part.amounts.iter().zip(&first.amounts);
        for ((other, own), (n, m)) in pairs.zip(amounts) {
            if *n > 0.0 && *m > 0.0 {
                largest = largest.max((other - own).abs());
            }
        }
    }
    largest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A phase without one of the substances shares no fugacity of it.
    #[test]
    fn only_what_both_phases_hold_is_compared() {
        let part = |amounts: [f64; 2], potentials: [f64; 2]| Part {
            amounts: Amounts::from_slice(&amounts),
            phase: Phase {
                molar_density: 1.0,
                ln_coefficients: Amounts::new(),
                d_amounts: Amounts::new(),
                volumes: Amounts::new(),
            },
            potentials: Amounts::from_slice(&potentials),
        };
        let whole = part([0.4, 0.1], [-1.0, -3.0]);
        assert_eq!(
            imbalance(&[whole.clone(), part([0.5, 0.0], [-1.25, 0.0])]),
            0.25
        );
        assert_eq!(
            imbalance(&[part([0.5, 0.0], [-1.25, 0.0]), whole.clone()]),
            0.25
        );
        assert_eq!(
            imbalance(&[whole.clone(), part([0.3, 0.2], [-1.25, -2.0])]),
            1.0
        );
        assert_eq!(imbalance(&[whole]), 0.0);
    }
}
