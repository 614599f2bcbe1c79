//! What a kernel computes with: one plain number, several side by side, or a number that carries derivatives.

use std::ops::{Add, Mul, Neg, Sub};

use num_dual::DualNum;

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
        f64::exp(self)
    }

    #[inline(always)]
    fn ln(self) -> Self {
        f64::ln(self)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }

    #[inline(always)]
    fn recip(self) -> Self {
        f64::recip(self)
    }

    #[inline(always)]
    fn abs_at_least(self, smallest: f64) -> Self {
        self.abs().max(smallest)
    }
}

/// A number that carries derivatives.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Carried<D>(pub(crate) D);

impl<D: Add<Output = D>> Add for Carried<D> {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl<D: Sub<Output = D>> Sub for Carried<D> {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl<D: Mul<Output = D>> Mul for Carried<D> {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        Self(self.0 * other.0)
    }
}

impl<D: Neg<Output = D>> Neg for Carried<D> {
    type Output = Self;

    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl<D: DualNum<f64> + Copy> Number for Carried<D> {
    fn like(self, constant: f64) -> Self {
        Self(D::from(constant))
    }

    fn mul_add(self, factor: Self, summand: Self) -> Self {
        Self(self.0 * factor.0 + summand.0)
    }

    fn exp(self) -> Self {
        Self(self.0.exp())
    }

    fn ln(self) -> Self {
        Self(self.0.ln())
    }

    fn sqrt(self) -> Self {
        Self(self.0.sqrt())
    }

    fn recip(self) -> Self {
        Self(self.0.recip())
    }

    fn abs_at_least(self, smallest: f64) -> Self {
        let x = self.0.re();
        let sign = if x < 0.0 { -1.0 } else { 1.0 };
        let size = self.0 * sign;
        Self(size - size.re() + size.re().max(smallest))
    }
}
