//! A number with its first three derivatives along a line.

use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

use super::elementary::{exp, ln, ln_1p, powi, sqrt};
use super::number::Number;

/// A value and its first three derivatives in one variable (Taylor arithmetic: Griewank and Walther, Evaluating Derivatives,
/// 2nd ed. 2008, chapter 13).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Third([f64; 4]);

impl Third {
    pub(crate) const fn new(value: f64, first: f64, second: f64) -> Self {
        Self([value, first, second, 0.0])
    }

    pub(crate) const fn value(self) -> f64 {
        self.0[0]
    }

    pub(crate) const fn third(self) -> f64 {
        self.0[3]
    }

    /// `f` of this number, from the values of `f`, f', f'' and f''' at it (Faa di Bruno's formula).
    fn chain(self, [f, f1, f2, f3]: [f64; 4]) -> Self {
        let [_, a, b, c] = self.0;
        Self([
            f,
            f1 * a,
            f2 * a * a + f1 * b,
            f3 * a * a * a + 3.0 * f2 * a * b + f1 * c,
        ])
    }

    /// A whole power.
    pub(crate) fn powi(self, power: i32) -> Self {
        let (x, n) = (self.value(), f64::from(power));
        let lower = |factor: f64, less: i32| {
            if factor == 0.0 {
                0.0
            } else {
                factor * powi(x, power - less)
            }
        };
        self.chain([
            powi(x, power),
            lower(n, 1),
            lower(n * (n - 1.0), 2),
            lower(n * (n - 1.0) * (n - 2.0), 3),
        ])
    }

    /// `ln(1 + x)`.
    pub(crate) fn ln_1p(self) -> Self {
        let r = 1.0 / (1.0 + self.value());
        self.chain([ln_1p(self.value()), r, -r * r, 2.0 * r * r * r])
    }
}

impl From<f64> for Third {
    fn from(value: f64) -> Self {
        Self::new(value, 0.0, 0.0)
    }
}

impl Add for Third {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        Self([a + e, b + f, c + g, d + h])
    }
}

impl AddAssign for Third {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Neg for Third {
    type Output = Self;

    fn neg(self) -> Self {
        Self(self.0.map(f64::neg))
    }
}

impl Sub for Third {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Third {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        let ([a, a1, a2, a3], [b, b1, b2, b3]) = (self.0, other.0);
        Self([
            a * b,
            a1 * b + a * b1,
            a2 * b + 2.0 * a1 * b1 + a * b2,
            a3 * b + 3.0 * (a2 * b1 + a1 * b2) + a * b3,
        ])
    }
}

impl Div for Third {
    type Output = Self;

    fn div(self, other: Self) -> Self {
        let ([a, a1, a2, a3], [b, b1, b2, b3]) = (self.0, other.0);
        let q = a / b;
        let q1 = (a1 - q * b1) / b;
        let q2 = (a2 - 2.0 * q1 * b1 - q * b2) / b;
        let q3 = (a3 - 3.0 * (q2 * b1 + q1 * b2) - q * b3) / b;
        Self([q, q1, q2, q3])
    }
}

impl Add<f64> for Third {
    type Output = Self;

    fn add(self, constant: f64) -> Self {
        self.plus(constant)
    }
}

impl Mul<f64> for Third {
    type Output = Self;

    fn mul(self, constant: f64) -> Self {
        Self(self.0.map(|part| part * constant))
    }
}

impl Div<f64> for Third {
    type Output = Self;

    fn div(self, constant: f64) -> Self {
        Self(self.0.map(|part| part / constant))
    }
}

impl Number for Third {
    fn like(self, constant: f64) -> Self {
        Self::from(constant)
    }

    fn mul_add(self, factor: Self, summand: Self) -> Self {
        self * factor + summand
    }

    fn exp(self) -> Self {
        self.chain([exp(self.value()); 4])
    }

    fn ln(self) -> Self {
        let r = 1.0 / self.value();
        self.chain([ln(self.value()), r, -r * r, 2.0 * r * r * r])
    }

    fn sqrt(self) -> Self {
        let (root, r) = (sqrt(self.value()), 1.0 / self.value());
        self.chain([
            root,
            0.5 * root * r,
            -0.25 * root * r * r,
            0.375 * root * r * r * r,
        ])
    }

    fn recip(self) -> Self {
        let r = 1.0 / self.value();
        self.chain([r, -r * r, 2.0 * r * r * r, -6.0 * r * r * r * r])
    }

    fn abs_at_least(self, smallest: f64) -> Self {
        let size = if self.value() < 0.0 { -self } else { self };
        let [value, first, second, third] = size.0;
        Self([value.max(smallest), first, second, third])
    }

    fn choose(self, one: Self, other: Self) -> Self {
        if self.value() > 0.0 { one } else { other }
    }
}

#[cfg(test)]
mod tests {
    use num_dual::{Dual3_64, DualNum};
    use proptest::prelude::*;

    use super::*;

    fn theirs(x: Third) -> Dual3_64 {
        let [value, first, second, third] = x.0;
        Dual3_64::new(value, first, second, third)
    }

    fn same(ours: Third, theirs: Dual3_64) {
        let expected = [theirs.re, theirs.v1, theirs.v2, theirs.v3];
        for (one, other) in ours.0.iter().zip(expected) {
            let scale = expected.iter().fold(1.0_f64, |s, e| s.max(e.abs()));
            assert!((one - other).abs() <= 1e-13 * scale, "{ours:?} {theirs:?}");
        }
    }

    proptest! {
        /// The reference is the library num-dual, whose numbers carry the same derivatives.
        #[test]
        fn derivatives_are_those_of_another_library(
            a in [0.2..3.0_f64, -2.0..2.0_f64, -2.0..2.0_f64, -2.0..2.0_f64],
            b in [0.2..3.0_f64, -2.0..2.0_f64, -2.0..2.0_f64, -2.0..2.0_f64],
            power in -4..7_i32,
        ) {
            let (x, y) = (Third(a), Third(b));
            let (v, w) = (theirs(x), theirs(y));
            same(x + y, v + w);
            same(x - y, v - w);
            same(x * y, v * w);
            same(x / y, v / w);
            same(x * 1.7, v * 1.7);
            same(x / 1.7, v / 1.7);
            same(x + 1.7, v + 1.7);
            same(-x, -v);
            same(x.mul_add(y, x), v * w + v);
            same(x.exp(), v.exp());
            same(x.ln(), v.ln());
            same(x.ln_1p(), v.ln_1p());
            same(x.sqrt(), v.sqrt());
            same(x.recip(), v.recip());
            same(x.powi(power), v.powi(power));
            same((-x).abs_at_least(0.1), v);
        }
    }

    #[test]
    fn a_power_of_zero_has_the_derivatives_of_a_polynomial() {
        let zero = Third::new(0.0, 1.0, 0.0);
        assert_eq!(zero.powi(0), Third::from(1.0));
        assert_eq!(zero.powi(1), zero);
        assert_eq!(zero.powi(2), Third([0.0, 0.0, 2.0, 0.0]));
        assert_eq!(zero.powi(3), Third([0.0, 0.0, 0.0, 6.0]));
    }
}
