//! Two numbers of a kind as one, so that what a kernel looks up and decides for each step is paid once for both.

use core::ops::{Add, Mul, Neg, Sub};

use super::lanes::{Coefficients, Kind};
use super::number::Number;

/// Numbers of twice as many lanes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Twofold<K>(pub(crate) K);

/// Two numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Both<N>(N, N);

impl<K: Kind> Kind for Twofold<K> {
    type Number = Both<K::Number>;
    const LANES: usize = 2 * K::LANES;

    #[inline(always)]
    fn splat(self, value: f64) -> Self::Number {
        Both(self.0.splat(value), self.0.splat(value))
    }

    #[inline(always)]
    fn load(self, values: &[f64]) -> Self::Number {
        let (first, rest) = values.split_at(values.len().min(K::LANES));
        let second = if rest.is_empty() {
            &first[first.len().saturating_sub(1)..]
        } else {
            rest
        };
        Both(self.0.load(first), self.0.load(second))
    }

    #[inline(always)]
    fn store(self, Both(first, second): Self::Number, values: &mut [f64]) {
        self.0.store(first, values);
        if let Some(rest) = values.get_mut(K::LANES..) {
            self.0.store(second, rest);
        }
    }

    #[inline(always)]
    fn positive(self, Both(first, second): Self::Number) -> u32 {
        self.0.positive(first) | self.0.positive(second) << K::LANES
    }

    #[inline(always)]
    fn polynomial(self, coefficients: &Coefficients, u: f64, v: f64) -> f64 {
        self.0.polynomial(coefficients, u, v)
    }
}

impl<N: Number> Add for Both<N> {
    type Output = Self;

    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0, self.1 + other.1)
    }
}

impl<N: Number> Sub for Both<N> {
    type Output = Self;

    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0, self.1 - other.1)
    }
}

impl<N: Number> Mul for Both<N> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self(self.0 * other.0, self.1 * other.1)
    }
}

impl<N: Number> Neg for Both<N> {
    type Output = Self;

    #[inline(always)]
    fn neg(self) -> Self {
        Self(-self.0, -self.1)
    }
}

impl<N: Number> Number for Both<N> {
    #[inline(always)]
    fn like(self, constant: f64) -> Self {
        Self(self.0.like(constant), self.1.like(constant))
    }

    #[inline(always)]
    fn mul_add(self, factor: Self, summand: Self) -> Self {
        Self(
            self.0.mul_add(factor.0, summand.0),
            self.1.mul_add(factor.1, summand.1),
        )
    }

    #[inline(always)]
    fn exp(self) -> Self {
        Self(self.0.exp(), self.1.exp())
    }

    #[inline(always)]
    fn ln(self) -> Self {
        Self(self.0.ln(), self.1.ln())
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        Self(self.0.sqrt(), self.1.sqrt())
    }

    #[inline(always)]
    fn recip(self) -> Self {
        Self(self.0.recip(), self.1.recip())
    }

    #[inline(always)]
    fn abs_at_least(self, smallest: f64) -> Self {
        Self(self.0.abs_at_least(smallest), self.1.abs_at_least(smallest))
    }

    #[inline(always)]
    fn choose(self, one: Self, other: Self) -> Self {
        Self(self.0.choose(one.0, other.0), self.1.choose(one.1, other.1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num::lanes::Plain;

    #[test]
    fn lists_of_any_length_fill_both_numbers_and_come_back() {
        let kind = Twofold(Twofold(Plain));
        for (values, lanes) in [
            (&[1.0, -2.0, 3.0, -4.0, 5.0][..], [1.0, -2.0, 3.0, -4.0]),
            (&[1.0, -2.0, 3.0][..], [1.0, -2.0, 3.0, 3.0]),
            (&[1.0, -2.0][..], [1.0, -2.0, -2.0, -2.0]),
            (&[-2.0][..], [-2.0; 4]),
        ] {
            let number = kind.load(values);
            let mut found = [0.0; 4];
            kind.store(number, &mut found);
            assert_eq!(found, lanes);
            let signs = lanes.map(|lane| u32::from(lane > 0.0));
            let bits = signs.iter().rev().fold(0, |bits, sign| 2 * bits + sign);
            assert_eq!(kind.positive(number), bits);
            let mut few = [0.0; 3];
            kind.store(number, &mut few);
            assert_eq!(few[..], lanes[..3]);
        }
        assert!(kind.all_positive(kind.splat(1.0)) && !kind.all_positive(kind.load(&[1.0, -1.0])));
    }
}
