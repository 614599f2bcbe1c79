//! What a kernel computes with: one plain number, several side by side, or a number that carries derivatives.

use core::ops::{Add, Mul, Neg, Sub};

use super::elementary;

/// A number of a kernel, which is written once for all of them.
pub(crate) trait Number:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Neg<Output = Self>
{
    /// A constant of the same kind as this number.
    fn like(self, constant: f64) -> Self;
    /// `self * factor + summand`, rounded once where the processor can.
    fn mul_add(self, factor: Self, summand: Self) -> Self;
    /// The exponential.
    fn exp(self) -> Self;
    /// The natural logarithm of a positive number.
    fn ln(self) -> Self;
    /// The square root.
    fn sqrt(self) -> Self;
    /// The reciprocal.
    fn recip(self) -> Self;
    /// The absolute value, or a small positive number where it is smaller.
    fn abs_at_least(self, smallest: f64) -> Self;
    /// One number where this one is positive, else another.
    fn choose(self, one: Self, other: Self) -> Self;

    /// The number times a constant.
    #[inline(always)]
    fn times(self, constant: f64) -> Self {
        self * self.like(constant)
    }

    /// The number plus a constant.
    #[inline(always)]
    fn plus(self, constant: f64) -> Self {
        self + self.like(constant)
    }
}

impl Number for f64 {
    #[inline(always)]
    fn like(self, constant: f64) -> Self {
        constant
    }

    /// Rounded twice: not every processor has the other, and its replacement is slow.
    #[inline(always)]
    fn mul_add(self, factor: Self, summand: Self) -> Self {
        self * factor + summand
    }

    #[inline(always)]
    fn exp(self) -> Self {
        elementary::exp(self)
    }

    #[inline(always)]
    fn ln(self) -> Self {
        elementary::ln(self)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        elementary::sqrt(self)
    }

    #[inline(always)]
    fn recip(self) -> Self {
        f64::recip(self)
    }

    #[inline(always)]
    fn abs_at_least(self, smallest: f64) -> Self {
        self.abs().max(smallest)
    }

    #[inline(always)]
    fn choose(self, one: Self, other: Self) -> Self {
        if self > 0.0 { one } else { other }
    }
}
