//! Residual part of the reduced Helmholtz energy, prepared once from its record.
//!
//! Terms with the same density factor collapse to one coefficient each at a temperature, so that following an isotherm costs a
//! few multiplications a group. Terms whose density factors share an exponential form a family, which evaluates it once;
//! powers and the exponentials of bells with one centre follow from each other by multiplication.

use super::exponentials::Exponentials;
use super::helmholtz::PointDerivatives;
use super::kernel::{All, Decay, Density, Scaled, Sums, TemperatureSums};
use super::mixture::DensityDerivatives;
use super::non_analytic::Bends;
use super::powers::{Powers, PowersAt};
use super::temperature_factor::{TauExponent, TauFactor, TauFactors};
use crate::fluids::record::{
    ExponentialRecord, GaussianRecord, InverseBellRecord, PowerRecord, ResidualRecord,
};
use crate::num::lanes::{Kind, Task, run};
use crate::num::number::Number;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// The residual part of an equation.
#[derive(Debug, Clone)]
pub(crate) struct Residual {
    powers: Powers,
    exponentials: Exponentials,
    families: Vec<Family>,
    bends: Bends,
    factors: TauFactors,
}

impl Residual {
    pub(crate) fn new(record: &ResidualRecord) -> Self {
        let mut exponentials = Exponentials::new(record);
        let mut residual = Self {
            powers: Powers::new(),
            bends: Bends::new(&record.non_analytic, &mut exponentials),
            exponentials,
            families: Vec::new(),
            factors: TauFactors::new(),
        };
        let terms = (record.power.iter().map(PowerRecord::factors))
            .chain(record.exponential.iter().map(ExponentialRecord::factors))
            .chain(record.gaussian.iter().map(GaussianRecord::factors))
            .chain(record.inverse_bell.iter().map(InverseBellRecord::factors));
        let mut families: Vec<(Shape, Groups)> = Vec::new();
        for (d, shape, factor) in terms {
            let groups = slot(&mut families, shape);
            slot(groups, d).push(factor);
        }
        for (shape, groups) in families {
            residual.push(shape, groups);
        }
        residual
    }

    /// Takes in the terms that share an exponential.
    fn push(&mut self, shape: Shape, groups: Groups) {
        let term = |(d, factors): (i32, Vec<TauFactor>)| {
            self.factors.push_group(&factors);
            let d = f64::from(d);
            Term {
                d,
                d_d1: d * (d - 1.0),
                place: self.powers.place(d),
            }
        };
        let terms = groups.into_iter().map(term).collect();
        let (power, exponential) = match shape {
            Shape::Power => (0, 0),
            Shape::Exponential { g, l } => {
                let power = self.powers.place(f64::from(l));
                (power, self.exponentials.power(g, power))
            }
            Shape::Bell { eta, epsilon } => (0, self.exponentials.bell(eta, epsilon)),
        };
        self.families.push(Family {
            shape,
            power,
            exponential,
            terms,
        });
    }

    /// The part at one reduced inverse temperature.
    pub(crate) fn at(&self, tau: f64) -> ResidualAt<'_> {
        ResidualAt {
            residual: self,
            coefficients: self.coefficients(tau),
        }
    }

    /// All that depends on temperature alone.
    #[inline(always)]
    pub(crate) fn coefficients<N: Number>(&self, tau: N) -> Coefficients<N> {
        let mut coefficients = Coefficients::new(tau);
        self.fill_coefficients(&mut coefficients);
        coefficients
    }

    /// As [`Residual::coefficients`], in place, so that a sweep asks for memory once.
    #[inline(always)]
    pub(crate) fn fill_coefficients<N: Number>(&self, coefficients: &mut Coefficients<N>) {
        let Coefficients { tau, groups, bends } = coefficients;
        self.factors.fill(*tau, groups);
        self.bends.fill(*tau, bends);
    }

    /// The part and its derivatives in density.
    #[inline(always)]
    pub(crate) fn density<N: Number>(&self, at: &Coefficients<N>, delta: N) -> Density<N> {
        let (mut powers, mut exponentials) = (PowersAt::new(), PowersAt::new());
        self.powers.fill(delta, &mut powers);
        self.exponentials.fill(delta, &powers, &mut exponentials);
        let (powers, exponentials) = (powers.as_slice(), exponentials.as_slice());
        let mut sum = Density::zero(delta);
        let mut groups = at.groups.iter();
        for family in &self.families {
            let mut sums = Sums::zero(delta);
            for (term, factor) in family.terms.iter().zip(&mut groups) {
                sums.add(factor.value * powers[term.place], term.d, term.d_d1);
            }
            sums.close(&mut sum, family.decay(delta, powers, exponentials));
        }
        self.bends
            .add_density(&mut sum, (delta, at.tau), &at.bends, exponentials);
        sum
    }

    /// The part and all its derivatives.
    #[inline(always)]
    pub(crate) fn all<N: Number>(&self, at: &Coefficients<N>, delta: N) -> All<N> {
        let (mut powers, mut exponentials) = (PowersAt::new(), PowersAt::new());
        self.powers.fill(delta, &mut powers);
        self.exponentials.fill(delta, &powers, &mut exponentials);
        let (powers, exponentials) = (powers.as_slice(), exponentials.as_slice());
        let mut sum = All::zero(delta);
        let mut groups = at.groups.iter();
        for family in &self.families {
            let (mut sums, mut warm) = (Sums::zero(delta), TemperatureSums::zero(delta));
            for (term, factor) in family.terms.iter().zip(&mut groups) {
                let power = powers[term.place];
                sums.add(factor.value * power, term.d, term.d_d1);
                warm.add(power, *factor, term.d);
            }
            let decay = family.decay(delta, powers, exponentials);
            sums.close(&mut sum.density, decay);
            warm.close(&mut sum, decay);
        }
        self.bends
            .add_all(&mut sum, (delta, at.tau), &at.bends, exponentials);
        sum
    }

    /// The part with whatever derivatives the numbers carry, for derivatives that [`ResidualAt`] does not offer.
    pub(crate) fn value<N: Number>(&self, delta: N, tau: N) -> N {
        let coefficients = self.coefficients(tau);
        self.density(&coefficients, delta).a
    }
}

/// The factors of temperature of the terms with each exponent of delta.
type Groups = Vec<(i32, Vec<TauFactor>)>;

/// The list at a key, which is added if it is new.
fn slot<K: PartialEq, V>(list: &mut Vec<(K, Vec<V>)>, key: K) -> &mut Vec<V> {
    let place = list.iter().position(|(known, _)| *known == key);
    let place = place.unwrap_or_else(|| {
        list.push((key, Vec::new()));
        list.len() - 1
    });
    &mut list[place].1
}

/// What depends on temperature alone, at one inverse temperature.
#[derive(Debug, Clone)]
pub(crate) struct Coefficients<N> {
    pub(crate) tau: N,
    /// The sum of the factors of temperature of each group, in the order of the families and their terms.
    groups: Vec<Scaled<N>>,
    /// The exponential in temperature of each bend.
    bends: Vec<Scaled<N>>,
}

impl<N> Coefficients<N> {
    /// Room for them.
    #[inline(always)]
    pub(crate) fn new(tau: N) -> Self {
        Self {
            tau,
            groups: Vec::new(),
            bends: Vec::new(),
        }
    }
}

/// The residual part at fixed tau.
#[derive(Debug, Clone)]
pub(crate) struct ResidualAt<'a> {
    residual: &'a Residual,
    coefficients: Coefficients<f64>,
}

impl<'a> ResidualAt<'a> {
    /// The part, and what depends on temperature alone in every lane.
    #[inline(always)]
    pub(crate) fn in_lanes<K: Kind>(&self, kind: K) -> (&'a Residual, Coefficients<K::Number>) {
        let splat = |factor: &Scaled<f64>| Scaled {
            value: kind.splat(factor.value),
            first: kind.splat(factor.first),
            second: kind.splat(factor.second),
        };
        let Coefficients { tau, groups, bends } = &self.coefficients;
        let coefficients = Coefficients {
            tau: kind.splat(*tau),
            groups: groups.iter().map(splat).collect(),
            bends: bends.iter().map(splat).collect(),
        };
        (self.residual, coefficients)
    }

    /// The derivatives in density alone.
    pub(crate) fn density_derivatives(&self, delta: f64) -> DensityDerivatives {
        self.residual.density(&self.coefficients, delta).into()
    }

    /// Adds the derivatives in density at several reduced densities, side by side, times a weight.
    pub(crate) fn add_density_derivatives(
        &self,
        weight: f64,
        deltas: &[f64],
        sums: &mut [DensityDerivatives],
    ) {
        run(SideBySide {
            part: self,
            weight,
            deltas,
            sums,
        });
    }

    /// All derivatives.
    pub(crate) fn derivatives(&self, delta: f64) -> PointDerivatives {
        self.residual.all(&self.coefficients, delta).into()
    }
}

/// What [`ResidualAt::add_density_derivatives`] does.
struct SideBySide<'a> {
    part: &'a ResidualAt<'a>,
    weight: f64,
    deltas: &'a [f64],
    sums: &'a mut [DensityDerivatives],
}

impl Task for SideBySide<'_> {
    type Output = ();

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) {
        let (residual, coefficients) = self.part.in_lanes(kind);
        let deltas = self.deltas.chunks(K::LANES);
        for (deltas, sums) in deltas.zip(self.sums.chunks_mut(K::LANES)) {
            let found = residual.density(&coefficients, kind.load(deltas));
            let mut lanes = [[0.0; 8]; 3];
            for (row, lanes) in [found.a, found.a_d, found.a_dd].into_iter().zip(&mut lanes) {
                kind.store(row, lanes);
            }
            let [a, a_d, a_dd] = lanes;
            for (lane, sum) in sums.iter_mut().enumerate().take(8) {
                sum.a += self.weight * a[lane];
                sum.a_d += self.weight * a_d[lane];
                sum.a_dd += self.weight * a_dd[lane];
            }
        }
    }
}

/// The exponential in the density factor of a term.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    /// None: Span and Wagner 1996, eq. 5.1.
    Power,
    /// `exp(-g delta^l)`: Span and Wagner 1996, eq. 5.3, with g = 1; de Reuck and Craven 1993, whose exponents carry a factor.
    Exponential { g: f64, l: i32 },
    /// `exp(-eta (delta - epsilon)^2)`: Span and Wagner 1996, eq. 5.8.
    Bell { eta: f64, epsilon: f64 },
}

/// Terms that share an exponential in density.
#[derive(Debug, Clone)]
struct Family {
    shape: Shape,
    /// Place of `delta^l`.
    power: usize,
    /// Place of the exponential.
    exponential: usize,
    terms: Vec<Term>,
}

/// `delta^d` of a group.
#[derive(Debug, Clone, Copy)]
struct Term {
    d: f64,
    /// `d (d - 1)`.
    d_d1: f64,
    /// Place of the power.
    place: usize,
}

impl Family {
    #[inline(always)]
    fn decay<N: Number>(&self, delta: N, powers: &[N], exponentials: &[N]) -> Option<Decay<N>> {
        match self.shape {
            Shape::Power => None,
            // z = g delta^l: u = l z, v = -l (l - 1) z.
            Shape::Exponential { g, l } => {
                let order = f64::from(l);
                let u = powers[self.power].times(g * order);
                Some(Decay {
                    value: exponentials[self.exponential],
                    u,
                    v: u.times(1.0 - order),
                })
            }
            // u = 2 eta (delta - epsilon) delta, v = -2 eta delta^2.
            Shape::Bell { eta, epsilon } => Some(Decay {
                value: exponentials[self.exponential],
                u: (delta.plus(-epsilon) * delta).times(2.0 * eta),
                v: (delta * delta).times(-2.0 * eta),
            }),
        }
    }
}

/// Exponent of delta, exponential in delta and factor of temperature of a term.
type Factors = (i32, Shape, TauFactor);

impl PowerRecord {
    fn factors(&self) -> Factors {
        let Self { n, t, d, l } = *self;
        let shape = match l {
            0 => Shape::Power,
            l => Shape::Exponential { g: 1.0, l },
        };
        let exponent = TauExponent::None;
        (d, shape, TauFactor { n, t, exponent })
    }
}

impl ExponentialRecord {
    fn factors(&self) -> Factors {
        let Self {
            n,
            t,
            d,
            g,
            l,
            h,
            m,
        } = *self;
        let exponent = TauExponent::Power { h, m };
        (d, Shape::Exponential { g, l }, TauFactor { n, t, exponent })
    }
}

impl GaussianRecord {
    fn factors(&self) -> Factors {
        let Self {
            n,
            t,
            d,
            eta,
            epsilon,
            beta,
            gamma,
        } = *self;
        let exponent = TauExponent::Bell { beta, gamma };
        let shape = Shape::Bell { eta, epsilon };
        (d, shape, TauFactor { n, t, exponent })
    }
}

impl InverseBellRecord {
    fn factors(&self) -> Factors {
        let Self {
            n,
            t,
            d,
            eta,
            epsilon,
            beta,
            gamma,
            b,
        } = *self;
        let exponent = TauExponent::InverseBell { beta, gamma, b };
        let shape = Shape::Bell { eta, epsilon };
        (d, shape, TauFactor { n, t, exponent })
    }
}

#[cfg(test)]
mod tests {
    use num_dual::DualNum;
    use proptest::prelude::*;

    use super::*;
    use crate::fluids::record::NonAnalyticRecord;
    use crate::fluids::{count, record};

    /// Term by term as printed in the papers, with whatever derivatives the numbers carry.
    fn printed<D: DualNum<f64> + Copy>(record: &ResidualRecord, delta: D, tau: D) -> D {
        let mut sum = D::from(0.0);
        for &PowerRecord { n, t, d, l } in &record.power {
            let decay = if l == 0 {
                D::from(1.0)
            } else {
                (-delta.powi(l)).exp()
            };
            sum += delta.powi(d) * (tau.ln() * t).exp() * decay * n;
        }
        for term in &record.exponential {
            let decay = (-delta.powi(term.l) * term.g - tau.powi(term.m) * term.h).exp();
            sum += delta.powi(term.d) * (tau.ln() * term.t).exp() * decay * term.n;
        }
        for term in &record.gaussian {
            let (x, y) = (delta - term.epsilon, tau - term.gamma);
            let bell = (-(x * x) * term.eta - y * y * term.beta).exp();
            sum += delta.powi(term.d) * (tau.ln() * term.t).exp() * bell * term.n;
        }
        for term in &record.inverse_bell {
            let (x, y) = (delta - term.epsilon, tau - term.gamma);
            let bell = (-(x * x) * term.eta + (y * y * term.beta + term.b).recip()).exp();
            sum += delta.powi(term.d) * (tau.ln() * term.t).exp() * bell * term.n;
        }
        for term in &record.non_analytic {
            sum += bent(term, delta, tau);
        }
        sum
    }

    fn bent<D: DualNum<f64> + Copy>(term: &NonAnalyticRecord, delta: D, tau: D) -> D {
        let (x, y) = (delta - 1.0, tau - 1.0);
        let q = x * x;
        let theta = q.powf(0.5 / term.beta) * term.big_a - y;
        let big = theta * theta + q.powf(term.a) * term.big_b;
        let psi = (-(q * term.big_c) - y * y * term.big_d).exp();
        big.powf(term.b) * delta * psi * term.n
    }

    /// The terms of an equation, each as an equation of its own.
    fn terms(record: &ResidualRecord) -> Vec<ResidualRecord> {
        let none = ResidualRecord::default;
        let power = record.power.iter().map(|term| ResidualRecord {
            power: vec![*term],
            ..none()
        });
        let exponential = record.exponential.iter().map(|term| ResidualRecord {
            exponential: vec![*term],
            ..none()
        });
        let gaussian = record.gaussian.iter().map(|term| ResidualRecord {
            gaussian: vec![*term],
            ..none()
        });
        let inverse_bell = record.inverse_bell.iter().map(|term| ResidualRecord {
            inverse_bell: vec![*term],
            ..none()
        });
        let non_analytic = record.non_analytic.iter().map(|term| ResidualRecord {
            non_analytic: vec![*term],
            ..none()
        });
        let all = power.chain(exponential).chain(gaussian);
        all.chain(inverse_bell).chain(non_analytic).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn every_equation_has_the_derivatives_of_its_terms_as_printed(delta in 0.01..3.0_f64, tau in 0.4..1.6_f64) {
            let equations = (0..count()).filter_map(|index| record(index).ok()?.equation_of_state.as_ref());
            for equation in equations {
                let record = &equation.residual;
                let residual = Residual::new(record);
                let at = residual.at(tau);
                let all = at.derivatives(delta);
                let second = |f: &dyn Fn(num_dual::HyperDual64, num_dual::HyperDual64) -> num_dual::HyperDual64, d: [f64; 2], t: [f64; 2]| {
                    let dual = |x: f64, e: [f64; 2]| num_dual::HyperDual64::new(x, e[0] * x, e[1] * x, 0.0);
                    f(dual(delta, d), dual(tau, t))
                };
                let exact = |x, y| printed(record, x, y);
                let parts = terms(record);
                // How large the terms are that cancel in a sum, by part of the number.
                let sizes = |part: &dyn Fn(&num_dual::HyperDual64) -> f64, d, t| -> f64 {
                    parts.iter().map(|term| part(&second(&|x, y| printed(term, x, y), d, t)).abs()).sum()
                };
                for (ours, d, t) in [
                    (all.a_dd, [1.0, 1.0], [0.0, 0.0]),
                    (all.a_tt, [0.0, 0.0], [1.0, 1.0]),
                    (all.a_dt, [1.0, 0.0], [0.0, 1.0]),
                ] {
                    let point = second(&exact, d, t);
                    let value = sizes(&|number| number.re, d, t);
                    let curvature = sizes(&|number| number.eps1eps2, d, t);
                    let close = |ours: f64, printed: f64, scale: f64| (ours - printed).abs() <= 2e-13 * scale;
                    prop_assert!(close(ours, point.eps1eps2, 10.0 * curvature + value), "{} {ours} {}", equation.name, point.eps1eps2);
                    prop_assert!(close(all.a, point.re, value), "{} {} {}", equation.name, all.a, point.re);
                }
                let first = second(&exact, [1.0, 0.0], [0.0, 1.0]);
                let (d, t) = ([1.0, 0.0], [0.0, 1.0]);
                let value = sizes(&|number| number.re, d, t);
                prop_assert!((all.a_d - first.eps1).abs() <= 1e-12 * (sizes(&|number| number.eps1, d, t) + value));
                prop_assert!((all.a_t - first.eps2).abs() <= 1e-12 * (sizes(&|number| number.eps2, d, t) + value));
                let density = at.density_derivatives(delta);
                prop_assert_eq!((density.a, density.a_d, density.a_dd), (all.a, all.a_d, all.a_dd));
                let value: f64 = residual.value(delta, tau);
                prop_assert_eq!(value, all.a);
            }
        }
    }
}
