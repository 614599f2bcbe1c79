//! Factors of temperature of the terms of a residual part.

use super::kernel::Scaled;
use super::powers::{Powers, PowersAt};
use crate::num::number::Number;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Temperature factor `n tau^t e^E` of one term.
#[derive(Debug, Clone, Copy)]
pub(super) struct TauFactor {
    pub(super) n: f64,
    pub(super) t: f64,
    pub(super) exponent: TauExponent,
}

/// The exponent E of a temperature factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum TauExponent {
    /// Zero.
    None,
    /// `-h tau^m`: de Reuck and Craven 1993.
    Power { h: f64, m: i32 },
    /// `-beta (tau - gamma)^2`: Span and Wagner 1996, eq. 5.8.
    Bell { beta: f64, gamma: f64 },
    /// `1 / (beta (tau - gamma)^2 + b)`: Gao et al. 2023, the two terms that shape the critical region of ammonia.
    InverseBell { beta: f64, gamma: f64, b: f64 },
}

impl TauExponent {
    /// `e^E`, `tau E'` and `tau^2 E''`.
    #[inline(always)]
    fn at<N: Number>(self, tau: N, power: N) -> Scaled<N> {
        match self {
            TauExponent::None => Scaled {
                value: tau.like(1.0),
                ..Scaled::zero(tau)
            },
            TauExponent::Power { h, m } => {
                let (value, order) = (power.times(-h), f64::from(m));
                Scaled {
                    value: value.exp(),
                    first: value.times(order),
                    second: value.times(order * (order - 1.0)),
                }
            }
            TauExponent::Bell { beta, gamma } => {
                let x = tau.plus(-gamma);
                Scaled {
                    value: (x * x).times(-beta).exp(),
                    first: (x * tau).times(-2.0 * beta),
                    second: (tau * tau).times(-2.0 * beta),
                }
            }
            TauExponent::InverseBell { beta, gamma, b } => {
                let x = tau.plus(-gamma);
                let value = (x * x).times(beta).plus(b).recip();
                let slope = (x * value).times(-2.0 * beta);
                let bent = slope * slope - value.times(beta);
                Scaled {
                    value: value.exp(),
                    first: slope * value * tau,
                    second: (bent * value * tau * tau).times(2.0),
                }
            }
        }
    }
}

/// The factors of temperature of every group of terms.
#[derive(Debug, Clone)]
pub(super) struct TauFactors {
    powers: Powers,
    /// The exponents that occur, with the place of `tau^m`.
    exponents: Vec<(TauExponent, usize)>,
    groups: Vec<Vec<Term>>,
}

/// One term.
#[derive(Debug, Clone, Copy)]
struct Term {
    n: f64,
    t: f64,
    /// `t (t - 1)`.
    t_t1: f64,
    /// Place of `tau^t`.
    power: usize,
    /// Place of the exponent; nothing where it is zero.
    exponent: Option<usize>,
}

impl TauFactors {
    pub(super) fn new() -> Self {
        Self {
            powers: Powers::new(),
            exponents: Vec::new(),
            groups: Vec::new(),
        }
    }

    /// Takes in the factors of the terms with one density factor.
    pub(super) fn push_group(&mut self, factors: &[TauFactor]) {
        let term = |factor: &TauFactor| Term {
            n: factor.n,
            t: factor.t,
            t_t1: factor.t * (factor.t - 1.0),
            power: self.powers.place(factor.t),
            exponent: self.place(factor.exponent),
        };
        let terms = factors.iter().map(term).collect();
        self.groups.push(terms);
    }

    fn place(&mut self, exponent: TauExponent) -> Option<usize> {
        let power = match exponent {
            TauExponent::None => return None,
            TauExponent::Power { m, .. } => self.powers.place(f64::from(m)),
            TauExponent::Bell { .. } | TauExponent::InverseBell { .. } => 0,
        };
        let known = self
            .exponents
            .iter()
            .position(|(known, _)| *known == exponent);
        Some(known.unwrap_or_else(|| {
            self.exponents.push((exponent, power));
            self.exponents.len() - 1
        }))
    }

    /// The sums of the factors of each group with their scaled derivatives.
    #[inline(always)]
    pub(super) fn fill<N: Number>(&self, tau: N, groups: &mut Vec<Scaled<N>>) {
        let mut powers = PowersAt::new();
        self.powers.fill(tau, &mut powers);
        let mut exponents = smallvec::SmallVec::<[Scaled<N>; 8]>::new();
        for (exponent, place) in &self.exponents {
            exponents.push(exponent.at(tau, powers[*place]));
        }
        let (powers, exponents) = (powers.as_slice(), exponents.as_slice());
        groups.resize(self.groups.len(), Scaled::zero(tau));
        for (group, terms) in groups.iter_mut().zip(&self.groups) {
            let mut sum = Scaled::zero(tau);
            for term in terms {
                let power = powers[term.power].times(term.n);
                match term.exponent {
                    Some(place) => term.add_decaying(&mut sum, power, exponents[place]),
                    None => term.add(&mut sum, power),
                }
            }
            *group = sum;
        }
    }
}

impl Term {
    /// Adds `f = n tau^t`, whose derivatives are `f t` and `f t (t - 1)`.
    #[inline(always)]
    fn add<N: Number>(&self, sum: &mut Scaled<N>, power: N) {
        sum.value = sum.value + power;
        sum.first = power.mul_add(power.like(self.t), sum.first);
        sum.second = power.mul_add(power.like(self.t_t1), sum.second);
    }

    /// Adds `f = n tau^t e^E`, whose derivatives are `f e` and `f (e^2 - t + tau^2 E'')`, `e = t + tau E'`.
    #[inline(always)]
    fn add_decaying<N: Number>(&self, sum: &mut Scaled<N>, power: N, exponent: Scaled<N>) {
        let value = power * exponent.value;
        let (e, bent) = (exponent.first.plus(self.t), exponent.second.plus(-self.t));
        sum.value = sum.value + value;
        sum.first = value.mul_add(e, sum.first);
        sum.second = value.mul_add(e.mul_add(e, bent), sum.second);
    }
}
