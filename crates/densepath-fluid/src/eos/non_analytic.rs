//! The terms that bend the critical region: Span and Wagner 1996, eq. 5.9 to 5.11 and table 32.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use smallvec::SmallVec;

use super::exponentials::Exponentials;
use super::kernel::{All, Density, Scaled};
use super::powers::{Powers, PowersAt};
use crate::fluids::record::NonAnalyticRecord;
use crate::num::number::Number;

/// Distance from the critical density below which the terms are evaluated at this distance: nearer, their powers of
/// zero lose meaning while the terms themselves no longer change.
const NEAREST: f64 = 1e-12;
/// Centre of the bells in density of these terms.
const CRITICAL: f64 = 1.0;

/// All of these terms of an equation.
#[derive(Debug, Clone)]
pub(super) struct Bends {
    /// The powers of `|delta - 1|` that they share.
    distance: Powers,
    bends: Vec<Bend>,
}

/// Terms `n Delta^b delta psi` that share Delta and psi.
#[derive(Debug, Clone)]
struct Bend {
    record: NonAnalyticRecord,
    /// Pairs (n, b).
    terms: SmallVec<[(f64, f64); 2]>,
    /// Place of the exponential `exp(-C (delta-1)^2)` among those of density.
    exponential: usize,
    /// Places of `|delta - 1|^(1/beta - 2)` and `|delta - 1|^(2a - 2)` among the powers of the distance.
    places: [usize; 2],
}

/// theta and Delta with their derivatives in delta, and `sum n Delta^b` with its derivatives in Delta.
struct Shared<N> {
    theta: N,
    theta_d: N,
    big_d: N,
    big_dd: N,
    p: N,
    p1: N,
    p2: N,
}

impl Bends {
    pub(super) fn new(records: &[NonAnalyticRecord], exponentials: &mut Exponentials) -> Self {
        let mut distance = Powers::new();
        let mut bends: Vec<Bend> = Vec::new();
        for term in records {
            if bends.iter_mut().any(|bend| bend.admits(term)) {
                continue;
            }
            bends.push(Bend {
                record: *term,
                terms: SmallVec::from_slice(&[(term.n, term.b)]),
                exponential: exponentials.bell(term.big_c, CRITICAL),
                places: [1.0 / term.beta - 2.0, 2.0 * term.a - 2.0].map(|e| distance.place(e)),
            });
        }
        Self { distance, bends }
    }

    /// The factor of temperature of each, `exp(-D (tau-1)^2)`.
    #[inline(always)]
    pub(super) fn fill<N: Number>(&self, tau: N, factors: &mut Vec<Scaled<N>>) {
        factors.clear();
        for bend in &self.bends {
            factors.push(bend.temperature(tau));
        }
    }

    /// Adds the terms and their scaled derivatives in density.
    #[inline(always)]
    pub(super) fn add_density<N: Number>(
        &self,
        sum: &mut Density<N>,
        (delta, tau): (N, N),
        factors: &[Scaled<N>],
        exponentials: &[N],
    ) {
        if self.bends.is_empty() {
            return;
        }
        let mut powers = PowersAt::new();
        self.fill_powers(delta, &mut powers);
        for (bend, factor) in self.bends.iter().zip(factors) {
            bend.add_density(sum, (delta, tau), *factor, exponentials, &powers);
        }
    }

    /// Adds the terms and all their scaled derivatives.
    #[inline(always)]
    pub(super) fn add_all<N: Number>(
        &self,
        sum: &mut All<N>,
        (delta, tau): (N, N),
        factors: &[Scaled<N>],
        exponentials: &[N],
    ) {
        if self.bends.is_empty() {
            return;
        }
        let mut powers = PowersAt::new();
        self.fill_powers(delta, &mut powers);
        for (bend, factor) in self.bends.iter().zip(factors) {
            bend.add_all(sum, (delta, tau), *factor, exponentials, &powers);
        }
    }

    #[inline(always)]
    fn fill_powers<N: Number>(&self, delta: N, powers: &mut PowersAt<N>) {
        let distance = delta.plus(-1.0).abs_at_least(NEAREST);
        self.distance.fill(distance, powers);
    }
}

impl Bend {
    /// Takes in a term with the same Delta and psi; says whether it is one.
    fn admits(&mut self, term: &NonAnalyticRecord) -> bool {
        let NonAnalyticRecord { n, b, .. } = self.record;
        let same = NonAnalyticRecord { n, b, ..*term } == self.record;
        if same {
            self.terms.push((term.n, term.b));
        }
        same
    }

    /// `exp(-D (tau-1)^2)` with its scaled derivatives.
    #[inline(always)]
    fn temperature<N: Number>(&self, tau: N) -> Scaled<N> {
        let y = tau.plus(-1.0);
        let slope = (y * tau).times(-2.0 * self.record.big_d);
        let value = (y * y).times(-self.record.big_d).exp();
        Scaled {
            value,
            first: value * slope,
            second: value * (slope * slope - (tau * tau).times(2.0 * self.record.big_d)),
        }
    }

    #[inline(always)]
    fn shared<N: Number>(&self, (delta, tau): (N, N), powers: &[N]) -> Shared<N> {
        let NonAnalyticRecord {
            a,
            beta,
            big_a,
            big_b,
            ..
        } = self.record;
        let x = delta.plus(-1.0);
        let [at_theta, at_q] = self.places;
        let (power, q) = (powers[at_theta], powers[1] * powers[1]);

        // theta and its derivatives in delta with (x^2)^(m - 1), m = 1/(2 beta).
        let m = 0.5 / beta;
        let theta = (power * q).times(big_a).plus(1.0) - tau;
        let theta_d = (x * power).times(2.0 * big_a * m);
        let theta_dd = power.times(2.0 * big_a * m * (2.0 * m - 1.0));

        // Delta = theta^2 + B q^a.
        let q_a1 = powers[at_q].times(big_b);
        let big = theta * theta + q_a1 * q;
        let big_d = (theta * theta_d).times(2.0) + (x * q_a1).times(2.0 * a);
        let big_dd = (theta_d * theta_d + theta * theta_dd).times(2.0)
            + q_a1.times(2.0 * a * (2.0 * a - 1.0));

        let (ln, inverse) = (big.ln(), big.recip());
        let zero = delta.like(0.0);
        let (mut p, mut p1, mut p2) = (zero, zero, zero);
        for (n, b) in &self.terms {
            let power = ln.times(*b).exp().times(*n);
            p = p + power;
            p1 = p1 + power.times(*b);
            p2 = p2 + power.times(b * (b - 1.0));
        }
        Shared {
            theta,
            theta_d,
            big_d,
            big_dd,
            p,
            p1: p1 * inverse,
            p2: p2 * inverse * inverse,
        }
    }

    /// Adds the terms and their scaled derivatives in density.
    #[inline(always)]
    fn add_density<N: Number>(
        &self,
        sum: &mut Density<N>,
        (delta, tau): (N, N),
        temperature: Scaled<N>,
        exponentials: &[N],
        powers: &[N],
    ) {
        let Shared {
            big_d,
            big_dd,
            p,
            p1,
            p2,
            ..
        } = self.shared((delta, tau), powers);
        let (p_d, p_dd) = (p1 * big_d, p1 * big_dd + p2 * big_d * big_d);
        let (e, e_d, e_dd) = self.envelope(delta, exponentials);
        let psi = temperature.value;
        sum.a = sum.a + psi * p * e;
        sum.a_d = sum.a_d + psi * delta * (p_d * e + p * e_d);
        sum.a_dd = sum.a_dd + psi * delta * delta * (p_dd * e + (p_d * e_d).times(2.0) + p * e_dd);
    }

    /// `E = delta exp(-C (delta-1)^2)` with its derivatives in delta.
    #[inline(always)]
    fn envelope<N: Number>(&self, delta: N, exponentials: &[N]) -> (N, N, N) {
        let big_c = self.record.big_c;
        let psi = exponentials[self.exponential];
        let c = delta.plus(-1.0).times(-2.0 * big_c);
        (
            delta * psi,
            psi * (delta * c).plus(1.0),
            psi * (c.times(2.0) + delta * (c * c).plus(-2.0 * big_c)),
        )
    }

    /// Adds the terms and all their scaled derivatives.
    #[inline(always)]
    fn add_all<N: Number>(
        &self,
        sum: &mut All<N>,
        (delta, tau): (N, N),
        temperature: Scaled<N>,
        exponentials: &[N],
        powers: &[N],
    ) {
        let shared = self.shared((delta, tau), powers);
        let Shared { p, p1, p2, .. } = shared;
        let (big_d, big_dd) = (shared.big_d, shared.big_dd);
        // Derivatives of Delta in tau: -2 theta, 2 and -2 dtheta/ddelta.
        let (big_t, big_dt) = (shared.theta.times(-2.0), shared.theta_d.times(-2.0));
        let (p_d, p_t) = (p1 * big_d, p1 * big_t);
        let p_dd = p1 * big_dd + p2 * big_d * big_d;
        let p_tt = p1.times(2.0) + p2 * big_t * big_t;
        let p_dt = p1 * big_dt + p2 * big_d * big_t;

        let (e, e_d, e_dd) = self.envelope(delta, exponentials);
        let Scaled {
            value,
            first,
            second,
        } = temperature;
        let density = &mut sum.density;
        density.a = density.a + value * p * e;
        density.a_d = density.a_d + value * delta * (p_d * e + p * e_d);
        density.a_dd =
            density.a_dd + value * delta * delta * (p_dd * e + (p_d * e_d).times(2.0) + p * e_dd);
        // tau d/dtau of P times the exponential of tau, whose derivatives are scaled already.
        let turned = tau * p_t * value + p * first;
        let turned_d = tau * p_dt * value + p_d * first;
        sum.a_t = sum.a_t + e * turned;
        sum.a_tt =
            sum.a_tt + e * (tau * tau * p_tt * value + (tau * p_t * first).times(2.0) + p * second);
        sum.a_dt = sum.a_dt + delta * (turned_d * e + turned * e_d);
    }
}
