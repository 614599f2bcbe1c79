//! A number with its first derivatives in several variables.

use core::ops::{Add, Div, Mul, Neg, Sub};

use super::lanes::Kind;
use super::number::Number;

/// A value and its first derivatives in `N` variables (forward mode: Griewank and Walther, Evaluating Derivatives, 2nd ed. 2008,
/// chapter 3); with none of them a plain number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Slopes<const N: usize, T = f64> {
    pub(crate) value: T,
    pub(crate) slopes: [T; N],
}

impl<const N: usize, T: Number> Slopes<N, T> {
    #[inline(always)]
    pub(crate) fn constant(value: T) -> Self {
        Self {
            value,
            slopes: [value.like(0.0); N],
        }
    }

    /// The value without the derivatives.
    #[inline(always)]
    pub(crate) fn plain(self) -> Slopes<0, T> {
        Slopes::constant(self.value)
    }

    /// Variable number `k` of all.
    #[inline(always)]
    pub(crate) fn variable(value: T, k: usize) -> Self {
        let mut number = Self::constant(value);
        if let Some(slope) = number.slopes.get_mut(k) {
            *slope = value.like(1.0);
        }
        number
    }

    /// A function of this number, from its value and its derivative there.
    #[inline(always)]
    fn chain(self, value: T, slope: T) -> Self {
        let mut slopes = self.slopes;
        for s in &mut slopes {
            *s = *s * slope;
        }
        Self { value, slopes }
    }

    /// A function of two numbers, from its value and its derivative in each.
    #[inline(always)]
    fn joined(value: T, (one, by_one): (Self, T), (two, by_two): (Self, T)) -> Self {
        let mut slopes = one.slopes;
        for (s, other) in slopes.iter_mut().zip(two.slopes) {
            *s = s.mul_add(by_one, other * by_two);
        }
        Self { value, slopes }
    }

    /// The number times one that does not depend on the variables.
    #[inline(always)]
    pub(crate) fn scaled(self, factor: T) -> Self {
        self.chain(self.value * factor, factor)
    }

    /// The number less another times a factor that does not depend on the variables.
    #[inline(always)]
    pub(crate) fn less(self, other: Self, factor: T) -> Self {
        let mut slopes = self.slopes;
        for (s, other) in slopes.iter_mut().zip(other.slopes) {
            *s = (-other).mul_add(factor, *s);
        }
        Self {
            value: (-other.value).mul_add(factor, self.value),
            slopes,
        }
    }

    #[inline(always)]
    pub(crate) fn recip(self) -> Self {
        let r = self.value.recip();
        self.chain(r, -(r * r))
    }

    #[inline(always)]
    pub(crate) fn exp(self) -> Self {
        let value = self.value.exp();
        self.chain(value, value)
    }

    #[inline(always)]
    pub(crate) fn ln(self) -> Self {
        self.chain(self.value.ln(), self.value.recip())
    }

    #[inline(always)]
    pub(crate) fn sqrt(self) -> Self {
        let value = self.value.sqrt();
        self.chain(value, value.times(2.0).recip())
    }

    /// One number where a plain one is positive, else another.
    #[inline(always)]
    pub(crate) fn choose(by: T, one: Self, other: Self) -> Self {
        let mut slopes = one.slopes;
        for (s, other) in slopes.iter_mut().zip(other.slopes) {
            *s = by.choose(*s, other);
        }
        Self {
            value: by.choose(one.value, other.value),
            slopes,
        }
    }
}

/// Variable number `k` of three, with the slope in another variable in each lane, from number `from` on.
#[inline(always)]
pub(crate) fn side_by_side<K: Kind>(
    kind: K,
    value: f64,
    k: usize,
    from: usize,
) -> Slopes<1, K::Number> {
    const ONES: [[f64; 4]; 3] = [
        [1.0, 0.0, 0.0, 0.0],
        [0.0, 1.0, 0.0, 0.0],
        [0.0, 0.0, 1.0, 0.0],
    ];
    Slopes {
        value: kind.splat(value),
        slopes: [kind.load(&ONES[k][from..])],
    }
}

impl<const N: usize, T: Number> Add for Slopes<N, T> {
    type Output = Self;

    #[inline(always)]
    fn add(mut self, other: Self) -> Self {
        self.value = self.value + other.value;
        for (s, other) in self.slopes.iter_mut().zip(other.slopes) {
            *s = *s + other;
        }
        self
    }
}

impl<const N: usize, T: Number> Sub for Slopes<N, T> {
    type Output = Self;

    #[inline(always)]
    fn sub(mut self, other: Self) -> Self {
        self.value = self.value - other.value;
        for (s, other) in self.slopes.iter_mut().zip(other.slopes) {
            *s = *s - other;
        }
        self
    }
}

impl<const N: usize, T: Number> Mul for Slopes<N, T> {
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

impl<const N: usize, T: Number> Div for Slopes<N, T> {
    type Output = Self;

    #[inline(always)]
    fn div(self, other: Self) -> Self {
        let r = other.value.recip();
        let q = self.value * r;
        Self::joined(q, (self, r), (other, -(q * r)))
    }
}

impl<const N: usize, T: Number> Neg for Slopes<N, T> {
    type Output = Self;

    #[inline(always)]
    fn neg(mut self) -> Self {
        self.value = -self.value;
        for s in &mut self.slopes {
            *s = -*s;
        }
        self
    }
}

impl<const N: usize, T: Number> Add<f64> for Slopes<N, T> {
    type Output = Self;

    #[inline(always)]
    fn add(self, constant: f64) -> Self {
        Self {
            value: self.value.plus(constant),
            ..self
        }
    }
}

impl<const N: usize, T: Number> Mul<f64> for Slopes<N, T> {
    type Output = Self;

    #[inline(always)]
    fn mul(self, constant: f64) -> Self {
        self.scaled(self.value.like(constant))
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
