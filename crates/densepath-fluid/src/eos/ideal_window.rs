//! The ideal part of an equation between two temperatures as polynomials, for lists of properties, of which its oscillators took an eighth
//! of the time.

use super::kernel::Scaled;
use crate::fluids::record::IdealRecord;
use crate::num::chebyshev::Basis;
use crate::num::number::Number;

/// Coefficients of each polynomial.
const COUNT: usize = 22;
/// Reduced inverse temperatures between which they hold: of carbon dioxide from 214 to 435 K.
const RANGE: [f64; 2] = [0.7, 1.42];
const CENTRE: f64 = 0.5 * (RANGE[0] + RANGE[1]);
const HALF: f64 = 0.5 * (RANGE[1] - RANGE[0]);
/// Greatest deviation, in parts of the greatest value between the two temperatures.
const TOLERANCE: f64 = 2e-15;

/// Polynomials of the ideal part and its scaled derivatives in the distance from the middle of the range.
#[derive(Debug, Clone)]
pub(super) struct IdealWindow([[f64; 3]; COUNT]);

impl IdealWindow {
    /// Polynomials through the values of a record; none where they do not follow it to the last digits.
    pub(super) fn new(record: &IdealRecord) -> Option<Self> {
        let basis = Basis::<COUNT>::new();
        let at = |u: f64| parts(record.of(u * HALF + CENTRE));
        let values = basis.nodes.map(at);
        let lines: [[f64; COUNT]; 3] =
            core::array::from_fn(|part| basis.line(&values.map(|of| of[part])));
        let window = Self(core::array::from_fn(|power| lines.map(|of| of[power])));
        let greatest = |part: usize| values.iter().map(|of| of[part].abs()).fold(0.0, f64::max);
        let follows = |u: f64| {
            let found = parts(window.at_distance(u)).into_iter().zip(at(u));
            (found.enumerate()).all(|(part, (a, b))| (a - b).abs() <= TOLERANCE * greatest(part))
        };
        let mut between = basis.nodes.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
        (between.all(follows) && follows(1.0) && follows(-1.0)).then_some(window)
    }

    /// The distance of an inverse temperature from the middle; beyond 1 the polynomials do not hold.
    #[inline(always)]
    pub(super) fn distance<N: Number>(tau: N) -> N {
        tau.plus(-CENTRE).times(1.0 / HALF)
    }

    /// The ideal part at a distance, by the even and the odd powers, which do not wait for each other.
    #[inline(always)]
    pub(super) fn at_distance<N: Number>(&self, u: N) -> Scaled<N> {
        let square = u * u;
        let (mut even, mut odd) = (Scaled::zero(u), Scaled::zero(u));
        for pair in self.0.rchunks_exact(2) {
            even = even.raised(square, &pair[0]);
            odd = odd.raised(square, &pair[1]);
        }
        Scaled {
            value: odd.value.mul_add(u, even.value),
            first: odd.first.mul_add(u, even.first),
            second: odd.second.mul_add(u, even.second),
        }
    }
}

impl<N: Number> Scaled<N> {
    /// A step of Horner's rule.
    #[inline(always)]
    fn raised(self, factor: N, [value, first, second]: &[f64; 3]) -> Self {
        Self {
            value: self.value.mul_add(factor, factor.like(*value)),
            first: self.first.mul_add(factor, factor.like(*first)),
            second: self.second.mul_add(factor, factor.like(*second)),
        }
    }
}

fn parts(of: Scaled<f64>) -> [f64; 3] {
    [of.value, of.first, of.second]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::eos::Helmholtz;
    use crate::fluids;

    /// Against the oscillators themselves, which the tests of the ideal part hold to the heat capacity.
    #[test]
    fn polynomials_follow_the_ideal_part_of_every_substance() {
        let mut count = 0;
        for index in 0..fluids::count() {
            let record = fluids::record(index).unwrap();
            let Ok(equation) = record.reference_equation() else {
                continue;
            };
            let helmholtz = Helmholtz::new(equation);
            let Some(window) = &helmholtz.ideal_window else {
                continue;
            };
            count += 1;
            let places = (-50..=50).map(|step| f64::from(step) / 50.0);
            let pairs: Vec<_> = places
                .map(|u| {
                    let tau = HALF * u + CENTRE;
                    let distance = IdealWindow::distance(tau);
                    [window.at_distance(distance), helmholtz.ideal.of(tau)].map(parts)
                })
                .collect();
            for part in 0..3 {
                let greatest = pairs
                    .iter()
                    .map(|[_, of]| of[part].abs())
                    .fold(0.0, f64::max);
                for [found, of] in &pairs {
                    let deviation = (found[part] - of[part]).abs() / greatest;
                    assert!(deviation < 2.0 * TOLERANCE, "{} {deviation}", record.name);
                }
            }
        }
        assert!(count > 25, "{count}");
    }
}
