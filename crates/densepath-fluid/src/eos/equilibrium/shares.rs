//! How a mixture spreads over phases of given fugacity coefficients: the phase fractions as the minimum of a convex function.
//!
//! `Q = sum beta_k - sum z_i ln E_i` with `E_i = sum_k beta_k / phi_ik` and `beta_k >= 0` (from memory: Michelsen, Comput. Chem. Eng. 18,
//! 545 (1994), doi 10.1016/0098-1354(93)E0017-4). Its minimum solves the equations of Rachford and Rice for any number of
//! phases and says which of them vanish.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

use super::stability::descent;
use crate::num::Amounts;

/// Steps at most.
const STEPS: u32 = 100;
/// Cuts of a step at most.
const CUTS: u32 = 30;
/// Gradient at which the minimum is reached.
const FLAT: f64 = 1e-13;
/// Phase fraction that rounding leaves of an empty phase.
const EMPTY: f64 = 1e-15;

/// `E_i = sum_k beta_k / phi_ik`.
pub(super) fn weighed_sums(shares: &[f64], inverse: &[Amounts]) -> Amounts {
    let count = inverse.first().map_or(0, Amounts::len);
    let mut sums = Amounts::from_elem(0.0, count);
    for (share, row) in shares.iter().zip(inverse) {
        for (sum, e) in sums.iter_mut().zip(row) {
            *sum += share * e;
        }
    }
    sums
}

/// The function that the phase fractions make least.
struct Convex<'a> {
    fractions: &'a [f64],
    inverse: &'a [Amounts],
}

impl Convex<'_> {
    fn value(&self, shares: &[f64]) -> f64 {
        let sums = weighed_sums(shares, self.inverse);
        let pairs = self.fractions.iter().zip(&sums).filter(|(z, _)| **z > 0.0);
        shares.iter().sum::<f64>() - pairs.map(|(z, e)| z * e.ln()).sum::<f64>()
    }

    fn gradient(&self, sums: &[f64]) -> DVector<f64> {
        let rows = self.inverse.iter().map(|row| {
            let of = self.fractions.iter().zip(row).zip(sums);
            1.0 - of.map(|((z, e), sum)| z * e / sum).sum::<f64>()
        });
        DVector::from_iterator(self.inverse.len(), rows)
    }

    /// Second derivatives among the phases in play; the others stay where they are.
    fn hessian(&self, sums: &[f64], in_play: &[bool]) -> DMatrix<f64> {
        let count = self.inverse.len();
        let mut hessian = DMatrix::identity(count, count);
        let rows = || self.inverse.iter().zip(in_play).enumerate();
        for (k, (row, _)) in rows().filter(|(_, (_, free))| **free) {
            for (l, (other, _)) in rows().filter(|(_, (_, free))| **free) {
                let of = self.fractions.iter().zip(sums).zip(row.iter().zip(other));
                hessian[(k, l)] = of.map(|((z, sum), (a, b))| z * a * b / (sum * sum)).sum();
            }
        }
        hessian
    }
}

impl Convex<'_> {
    /// Newton's step of the phases in play; an empty phase that would turn negative drops out. Nothing at the minimum.
    fn step(
        &self,
        sums: &[f64],
        gradient: &DVector<f64>,
        shares: &[f64],
        in_play: &mut [bool],
    ) -> Option<DVector<f64>> {
        loop {
            let held = gradient.iter().zip(in_play.iter());
            let held = held.map(|(g, free)| if *free { *g } else { 0.0 });
            let held = DVector::from_iterator(gradient.len(), held);
            if held.amax() < FLAT {
                return None;
            }
            let step = descent(self.hessian(sums, in_play), &held)?;
            let mut dropped = false;
            for ((free, share), s) in in_play.iter_mut().zip(shares).zip(step.iter()) {
                if *free && *share == 0.0 && *s < 0.0 {
                    *free = false;
                    dropped = true;
                }
            }
            if !dropped {
                return Some(step);
            }
        }
    }
}

/// The phase fractions for `1 / phi_ik` of each phase, from a start; a phase that leaves the set has a fraction of zero.
pub(super) fn phase_fractions(fractions: &[f64], inverse: &[Amounts], start: &[f64]) -> Amounts {
    let convex = Convex { fractions, inverse };
    let mut shares = Amounts::from_slice(start);
    for _ in 0..STEPS {
        let sums = weighed_sums(&shares, inverse);
        let gradient = convex.gradient(&sums);
        let mut in_play: Vec<bool> = shares
            .iter()
            .zip(gradient.iter())
            .map(|(share, g)| *share > 0.0 || *g < 0.0)
            .collect();
        let Some(step) = convex.step(&sums, &gradient, &shares, &mut in_play) else {
            break;
        };
        let next = lowered(&convex, &shares, &step);
        if next == shares {
            break;
        }
        shares = next;
    }
    shares
}

/// The phase fractions moved along a step as far as the function falls, and no further than to the first fraction that would
/// turn negative, which then is exactly zero.
fn lowered(convex: &Convex<'_>, shares: &[f64], step: &DVector<f64>) -> Amounts {
    let mut share = 1.0;
    for (value, s) in shares.iter().zip(step.iter()) {
        if value + share * s < 0.0 {
            share = -value / s;
        }
    }
    let before = convex.value(shares);
    let mut next = Amounts::from_slice(shares);
    for _ in 0..CUTS {
        for ((to, from), s) in next.iter_mut().zip(shares).zip(step.iter()) {
            let moved = from + share * s;
            *to = if moved < EMPTY { 0.0 } else { moved };
        }
        if convex.value(&next) <= before + EMPTY {
            break;
        }
        share *= 0.5;
    }
    next
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Where all phases stay, the amount fractions of each sum to one; a phase that left would have a sum below one.
        #[test]
        fn fractions_sum_to_one_or_less(
            rows in prop::collection::vec(prop::collection::vec(-4.0..4.0f64, 3), 3), a in 0.01..0.99f64, b in 0.01..0.99f64
        ) {
            let z = [a * b, a * (1.0 - b), 1.0 - a];
            let inverse: Vec<Amounts> = rows
                .iter()
                .map(|row| row.iter().map(|e| e.exp()).collect())
                .collect();
            let shares = phase_fractions(&z, &inverse, &[0.3, 0.3, 0.4]);
            let sums = weighed_sums(&shares, &inverse);
            prop_assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{shares:?}");
            for (share, row) in shares.iter().zip(&inverse) {
                let sum: f64 = (0..3).map(|i| z[i] * row[i] / sums[i]).sum();
                let wanted = if *share > 0.0 { (sum - 1.0).abs() } else { sum - 1.0 };
                prop_assert!(wanted < 1e-9, "{shares:?} {sum}");
            }
        }
    }
}
