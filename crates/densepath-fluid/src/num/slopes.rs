//! A number with its first derivatives in several variables.

use core::ops::{Add, Div, Mul, Neg, Sub};

use super::elementary;

/// A value and its first derivatives in `N` variables (forward mode: Griewank and Walther, Evaluating Derivatives, 2nd ed. 2008,
/// chapter 3); with none of them a plain number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Slopes<const N: usize> {
    pub(crate) value: f64,
    pub(crate) slopes: [f64; N],
}

impl<const N: usize> Slopes<N> {
    pub(crate) const fn constant(value: f64) -> Self {
        Self {
            value,
            slopes: [0.0; N],
        }
    }

    /// Variable number `k` of all.
    pub(crate) fn variable(value: f64, k: usize) -> Self {
        let mut slopes = [0.0; N];
        if let Some(slope) = slopes.get_mut(k) {
            *slope = 1.0;
        }
        Self { value, slopes }
    }

    /// A function of this number, from its value and its derivative there.
    #[inline(always)]
    fn chain(self, value: f64, slope: f64) -> Self {
        let mut slopes = self.slopes;
        for s in &mut slopes {
            *s *= slope;
        }
        Self { value, slopes }
    }

    /// A function of two numbers, from its value and its derivative in each.
    #[inline(always)]
    fn joined(value: f64, (one, by_one): (Self, f64), (two, by_two): (Self, f64)) -> Self {
        let mut slopes = one.slopes;
        for (s, other) in slopes.iter_mut().zip(two.slopes) {
            *s = *s * by_one + other * by_two;
        }
        Self { value, slopes }
    }

    #[inline(always)]
    pub(crate) fn recip(self) -> Self {
        let r = 1.0 / self.value;
        self.chain(r, -r * r)
    }

    #[inline(always)]
    pub(crate) fn exp(self) -> Self {
        let value = elementary::exp(self.value);
        self.chain(value, value)
    }

    #[inline(always)]
    pub(crate) fn ln(self) -> Self {
        self.chain(elementary::ln(self.value), 1.0 / self.value)
    }

    #[inline(always)]
    pub(crate) fn sqrt(self) -> Self {
        let value = elementary::sqrt(self.value);
        self.chain(value, 0.5 / value)
    }
}

impl<const N: usize> Add for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self::joined(self.value + other.value, (self, 1.0), (other, 1.0))
    }
}

impl<const N: usize> Sub for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self::joined(self.value - other.value, (self, 1.0), (other, -1.0))
    }
}

impl<const N: usize> Mul for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self::joined(
            self.value * other.value,
            (self, other.value),
            (other, self.value),
        )
    }
}

impl<const N: usize> Div for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn div(self, other: Self) -> Self {
        let r = 1.0 / other.value;
        let q = self.value * r;
        Self::joined(q, (self, r), (other, -q * r))
    }
}

impl<const N: usize> Neg for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn neg(self) -> Self {
        self.chain(-self.value, -1.0)
    }
}

impl<const N: usize> Add<f64> for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn add(self, constant: f64) -> Self {
        Self {
            value: self.value + constant,
            ..self
        }
    }
}

impl<const N: usize> Mul<f64> for Slopes<N> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, constant: f64) -> Self {
        self.chain(self.value * constant, constant)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    type Two = Slopes<2>;

    /// Central differences with a step of 1e-6.
    fn differences(of: impl Fn(Two, Two) -> Two, x: f64, y: f64) {
        let found = of(Two::variable(x, 0), Two::variable(y, 1));
        let at = |x, y| of(Two::constant(x), Two::constant(y)).value;
        let step = 1e-6;
        let expected = [
            (at(x + step, y) - at(x - step, y)) / (2.0 * step),
            (at(x, y + step) - at(x, y - step)) / (2.0 * step),
        ];
        for (one, other) in found.slopes.iter().zip(expected) {
            assert!(
                (one - other).abs() < 1e-7 * (1.0 + other.abs()),
                "{found:?} {expected:?}"
            );
        }
    }

    proptest! {
        #[test]
        fn slopes_are_those_of_differences(x in 0.3..2.0f64, y in 0.3..2.0f64) {
            differences(|x, y| x + y * x - -y, x, y);
            differences(|x, y| x / y * 1.7 + 0.3, x, y);
            differences(|x, y| x.exp() * y.ln() + y.sqrt() * x.recip(), x, y);
        }
    }
}
