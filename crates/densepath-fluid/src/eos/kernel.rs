//! The sums of a residual part, written once for every kind of number.

use super::helmholtz::{PointDerivatives, TauDerivatives};
use super::mixture::DensityDerivatives;
use crate::num::number::Number;
/// A function of tau with its scaled derivatives: `f`, `tau df/dtau`, `tau^2 d2f/dtau2`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scaled<N> {
    pub(super) value: N,
    pub(super) first: N,
    pub(super) second: N,
}

impl<N: Number> Scaled<N> {
    /// Zero with two derivatives.
    #[inline(always)]
    pub(super) fn zero(like: N) -> Self {
        let zero = like.like(0.0);
        Self {
            value: zero,
            first: zero,
            second: zero,
        }
    }

    /// This function where a number is positive, another elsewhere.
    #[inline(always)]
    pub(super) fn where_positive(self, number: N, other: Self) -> Self {
        Self {
            value: number.choose(self.value, other.value),
            first: number.choose(self.first, other.first),
            second: number.choose(self.second, other.second),
        }
    }

    /// Adds another function.
    #[inline(always)]
    pub(super) fn add(&mut self, other: Self) {
        self.value = self.value + other.value;
        self.first = self.first + other.first;
        self.second = self.second + other.second;
    }
}

impl From<Scaled<f64>> for TauDerivatives {
    fn from(of: Scaled<f64>) -> Self {
        Self {
            value: of.value,
            first: of.first,
            second: of.second,
        }
    }
}

/// `alpha^r` with its scaled derivatives in density.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Density<N> {
    pub(crate) a: N,
    pub(crate) a_d: N,
    pub(crate) a_dd: N,
}

/// `alpha^r` with all its scaled derivatives.
#[derive(Debug, Clone, Copy)]
pub(crate) struct All<N> {
    pub(crate) density: Density<N>,
    pub(crate) a_t: N,
    pub(crate) a_tt: N,
    pub(crate) a_dt: N,
}

impl<N: Number> Density<N> {
    #[inline(always)]
    pub(super) fn zero(like: N) -> Self {
        let zero = like.like(0.0);
        Self {
            a: zero,
            a_d: zero,
            a_dd: zero,
        }
    }
}

impl<N: Number> All<N> {
    #[inline(always)]
    pub(super) fn zero(like: N) -> Self {
        let zero = like.like(0.0);
        Self {
            density: Density::zero(like),
            a_t: zero,
            a_tt: zero,
            a_dt: zero,
        }
    }
}

impl<N: Number> All<N> {
    /// `(dp/drho)_T / (R T)`, zero where the equation has no stable phase.
    #[inline(always)]
    pub(super) fn stiffness(&self) -> N {
        let Density { a_d, a_dd, .. } = self.density;
        let stiffness = a_d.times(2.0).plus(1.0) + a_dd;
        stiffness.choose(stiffness, stiffness.like(0.0))
    }

    /// `(dp/dT)_rho / (rho R)`.
    #[inline(always)]
    pub(super) fn spring(&self) -> N {
        self.density.a_d.plus(1.0) - self.a_dt
    }
}

impl From<Density<f64>> for DensityDerivatives {
    fn from(Density { a, a_d, a_dd }: Density<f64>) -> Self {
        Self { a, a_d, a_dd }
    }
}

impl From<TauDerivatives> for Scaled<f64> {
    fn from(of: TauDerivatives) -> Self {
        Self {
            value: of.value,
            first: of.first,
            second: of.second,
        }
    }
}

impl From<PointDerivatives> for All<f64> {
    fn from(of: PointDerivatives) -> Self {
        let PointDerivatives { a, a_d, a_dd, .. } = of;
        Self {
            density: Density { a, a_d, a_dd },
            a_t: of.a_t,
            a_tt: of.a_tt,
            a_dt: of.a_dt,
        }
    }
}

impl From<All<f64>> for PointDerivatives {
    fn from(all: All<f64>) -> Self {
        let Density { a, a_d, a_dd } = all.density;
        Self {
            a,
            a_d,
            a_dd,
            a_t: all.a_t,
            a_tt: all.a_tt,
            a_dt: all.a_dt,
        }
    }
}

/// The density factor that the terms of a family share, `E = e^G`: its value, `u = -delta G'` and `v = delta^2 G''`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Decay<N> {
    pub(super) value: N,
    pub(super) u: N,
    pub(super) v: N,
}

/// Sums over a family of terms `c delta^d`, each weighed by 1, d and d (d - 1).
///
/// With `f = delta^d E` the scaled derivatives are `E (d - u) delta^d` and `E (d (d - 1) - 2 d u + u^2 + v) delta^d`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums<N> {
    s0: N,
    s1: N,
    s2: N,
}

impl<N: Number> Sums<N> {
    #[inline(always)]
    pub(super) fn zero(like: N) -> Self {
        let zero = like.like(0.0);
        Self {
            s0: zero,
            s1: zero,
            s2: zero,
        }
    }

    /// Adds a term with its exponent d and d (d - 1).
    #[inline(always)]
    pub(super) fn add(&mut self, term: N, d: f64, d_d1: f64) {
        self.s0 = self.s0 + term;
        self.s1 = term.mul_add(term.like(d), self.s1);
        self.s2 = term.mul_add(term.like(d_d1), self.s2);
    }

    /// Adds the family to the sum of all.
    #[inline(always)]
    pub(super) fn close(self, sum: &mut Density<N>, decay: Option<Decay<N>>) {
        let Self { s0, s1, s2 } = self;
        match decay {
            None => {
                sum.a = sum.a + s0;
                sum.a_d = sum.a_d + s1;
                sum.a_dd = sum.a_dd + s2;
            }
            Some(Decay { value, u, v }) => {
                let bent = u.mul_add(u, v);
                let second = bent.mul_add(s0, s2) - (u * s1).times(2.0);
                sum.a = value.mul_add(s0, sum.a);
                sum.a_d = value.mul_add(s1 - u * s0, sum.a_d);
                sum.a_dd = value.mul_add(second, sum.a_dd);
            }
        }
    }
}

/// Sums over the derivatives in temperature of a family of terms.
#[derive(Debug, Clone, Copy)]
pub(super) struct TemperatureSums<N> {
    first: N,
    second: N,
    mixed: N,
}

impl<N: Number> TemperatureSums<N> {
    #[inline(always)]
    pub(super) fn zero(like: N) -> Self {
        let zero = like.like(0.0);
        Self {
            first: zero,
            second: zero,
            mixed: zero,
        }
    }

    /// Adds a term by its power of density, its factor of temperature and its exponent d.
    #[inline(always)]
    pub(super) fn add(&mut self, power: N, factor: Scaled<N>, d: f64) {
        let first = power * factor.first;
        self.first = self.first + first;
        self.second = power.mul_add(factor.second, self.second);
        self.mixed = first.mul_add(first.like(d), self.mixed);
    }

    /// Adds the family to the sum of all.
    #[inline(always)]
    pub(super) fn close(self, sum: &mut All<N>, decay: Option<Decay<N>>) {
        let Self {
            first,
            second,
            mixed,
        } = self;
        match decay {
            None => {
                sum.a_t = sum.a_t + first;
                sum.a_tt = sum.a_tt + second;
                sum.a_dt = sum.a_dt + mixed;
            }
            Some(Decay { value, u, .. }) => {
                sum.a_t = value.mul_add(first, sum.a_t);
                sum.a_tt = value.mul_add(second, sum.a_tt);
                sum.a_dt = value.mul_add(mixed - u * first, sum.a_dt);
            }
        }
    }
}
