//! Residual part of the reduced Helmholtz energy: all terms that are a product of a density and a temperature factor.
//!
//! Everything that depends on temperature alone is done once per isotherm: terms with the same density factor collapse
//! to one coefficient each, so that following an isotherm costs a few multiplications a group.

use std::ops::Add;

use num_dual::DualNum;

use super::helmholtz::{PointDerivatives, TauDerivatives};
use super::mixture::DensityDerivatives;
use crate::fluids::record::{
    ExponentialRecord, GaussianRecord, InverseBellRecord, NonAnalyticRecord, PowerRecord,
    ResidualRecord,
};

/// The residual part of an equation.
#[derive(Debug, Clone)]
pub(crate) struct Residual {
    groups: Vec<Group>,
    non_analytic: Vec<NonAnalyticRecord>,
}

impl Residual {
    pub(crate) fn new(record: &ResidualRecord) -> Self {
        Self {
            groups: groups(record),
            non_analytic: record.non_analytic.clone(),
        }
    }

    /// The part at one reduced inverse temperature.
    pub(crate) fn at(&self, tau: f64) -> ResidualAt<'_> {
        let ln_tau = tau.ln();
        let groups = self.groups.iter();
        ResidualAt {
            tau,
            coefficients: groups
                .map(|group| (group.shape, group.at(tau, ln_tau)))
                .collect(),
            non_analytic: &self.non_analytic,
        }
    }

    /// The part with whatever derivatives the numbers carry, for derivatives that [`ResidualAt`] does not offer.
    pub(crate) fn value<D: DualNum<f64> + Copy>(&self, delta: D, tau: D) -> D {
        let smooth = self.groups.iter().map(|group| group.value(delta, tau));
        let bent = self.non_analytic.iter().map(|term| term.value(delta, tau));
        smooth
            .chain(bent)
            .fold(D::from(0.0), |sum, part| sum + part)
    }
}

/// The residual part at fixed tau.
#[derive(Debug, Clone)]
pub(crate) struct ResidualAt<'a> {
    tau: f64,
    coefficients: Vec<(Shape, TauDerivatives)>,
    non_analytic: &'a [NonAnalyticRecord],
}

impl ResidualAt<'_> {
    /// The derivatives in density alone.
    pub(crate) fn density_derivatives(&self, delta: f64) -> DensityDerivatives {
        let mut sum = DensityDerivatives::default();
        for (shape, factor) in &self.coefficients {
            let shape = shape.at(delta);
            sum.a += factor.value * shape.value;
            sum.a_d += factor.value * shape.first;
            sum.a_dd += factor.value * shape.second;
        }
        for term in self.non_analytic {
            let term = term.at(delta, self.tau);
            sum.a += term.a;
            sum.a_d += term.a_d;
            sum.a_dd += term.a_dd;
        }
        sum
    }

    /// All derivatives.
    pub(crate) fn derivatives(&self, delta: f64) -> PointDerivatives {
        let smooth = self.coefficients.iter().map(|(shape, factor)| {
            let shape = shape.at(delta);
            PointDerivatives {
                a: factor.value * shape.value,
                a_d: factor.value * shape.first,
                a_dd: factor.value * shape.second,
                a_t: factor.first * shape.value,
                a_tt: factor.second * shape.value,
                a_dt: factor.first * shape.first,
            }
        });
        let bent = self.non_analytic.iter();
        smooth
            .chain(bent.map(|term| term.at(delta, self.tau)))
            .fold(PointDerivatives::default(), Add::add)
    }
}

/// The density factor of a term.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    /// `delta^d exp(-delta^l)`, without the exponential where l = 0: Span and Wagner 1996, eq. 5.1 and 5.3.
    Power {
        /// Exponent of delta.
        d: i32,
        /// Exponent of delta in the exponential.
        l: i32,
    },
    /// `delta^d exp(-g delta^l)`: de Reuck and Craven 1993, whose exponents carry a factor.
    Exponential {
        /// Exponent of delta.
        d: i32,
        /// Factor in the exponential.
        g: f64,
        /// Exponent of delta in the exponential.
        l: i32,
    },
    /// `delta^d exp(-eta (delta - epsilon)^2)`: Span and Wagner 1996, eq. 5.8.
    Bell {
        /// Exponent of delta.
        d: i32,
        /// Width.
        eta: f64,
        /// Centre.
        epsilon: f64,
    },
}

/// The density factor of a group with its scaled derivatives `delta d/ddelta`, `delta^2 d2/ddelta2`.
#[derive(Debug, Clone, Copy)]
struct DeltaDerivatives {
    value: f64,
    first: f64,
    second: f64,
}

impl Shape {
    /// With `f = delta^d e^g` the scaled derivatives are `f e` and `f (e (e - 1) + delta^2 g'' )`, `e = d + delta g'`.
    #[inline]
    fn at(self, delta: f64) -> DeltaDerivatives {
        let (d, exponent, slope, curvature) = match self {
            Shape::Power { d, l: 0 } => (d, 0.0, 0.0, 0.0),
            Shape::Power { d, l } => {
                let z = delta.powi(l);
                let order = f64::from(l);
                (d, -z, -order * z, -order * (order - 1.0) * z)
            }
            Shape::Exponential { d, g, l } => {
                let z = g * delta.powi(l);
                let order = f64::from(l);
                (d, -z, -order * z, -order * (order - 1.0) * z)
            }
            Shape::Bell { d, eta, epsilon } => {
                let x = delta - epsilon;
                (
                    d,
                    -eta * x * x,
                    -2.0 * eta * x * delta,
                    -2.0 * eta * delta * delta,
                )
            }
        };
        let value = delta.powi(d) * if exponent == 0.0 { 1.0 } else { exponent.exp() };
        let power = f64::from(d);
        let e = power + slope;
        DeltaDerivatives {
            value,
            first: value * e,
            second: value * (e * e - power + curvature),
        }
    }

    /// The density factor with whatever derivatives the number carries.
    fn value<D: DualNum<f64> + Copy>(self, delta: D) -> D {
        match self {
            Shape::Power { d, l: 0 } => delta.powi(d),
            Shape::Power { d, l } => delta.powi(d) * (-delta.powi(l)).exp(),
            Shape::Exponential { d, g, l } => delta.powi(d) * (-delta.powi(l) * g).exp(),
            Shape::Bell { d, eta, epsilon } => {
                let x = delta - epsilon;
                delta.powi(d) * (-(x * x) * eta).exp()
            }
        }
    }
}

/// Temperature factor `n tau^t e^E` of one term.
#[derive(Debug, Clone, Copy)]
struct TauFactor {
    n: f64,
    t: f64,
    exponent: TauExponent,
}

/// The exponent E of a temperature factor.
#[derive(Debug, Clone, Copy)]
enum TauExponent {
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
    /// E with its scaled derivatives.
    fn at(self, tau: f64) -> TauDerivatives {
        match self {
            TauExponent::None => TauDerivatives::default(),
            TauExponent::Power { h, m } => {
                let value = -h * tau.powi(m);
                let order = f64::from(m);
                TauDerivatives {
                    value,
                    first: order * value,
                    second: order * (order - 1.0) * value,
                }
            }
            TauExponent::Bell { beta, gamma } => {
                let x = tau - gamma;
                TauDerivatives {
                    value: -(beta * x * x),
                    first: -2.0 * beta * x * tau,
                    second: -2.0 * beta * tau * tau,
                }
            }
            TauExponent::InverseBell { beta, gamma, b } => {
                let x = tau - gamma;
                let value = 1.0 / (beta * x * x + b);
                let slope = -2.0 * beta * x * value;
                TauDerivatives {
                    value,
                    first: slope * value * tau,
                    second: 2.0 * (slope * slope - beta * value) * value * tau * tau,
                }
            }
        }
    }
}

impl TauFactor {
    /// The scaled derivatives follow as those of the density factor.
    fn at(self, tau: f64, ln_tau: f64) -> TauDerivatives {
        let exponent = self.exponent.at(tau);
        let value = self.n * (self.t * ln_tau + exponent.value).exp();
        let e = self.t + exponent.first;
        TauDerivatives {
            value,
            first: value * e,
            second: value * (e * e - self.t + exponent.second),
        }
    }

    /// The temperature factor with whatever derivatives the number carries.
    fn value<D: DualNum<f64> + Copy>(&self, tau: D) -> D {
        let power = tau.ln() * self.t;
        let exponent = match self.exponent {
            TauExponent::None => power,
            TauExponent::Power { h, m } => power - tau.powi(m) * h,
            TauExponent::Bell { beta, gamma } => {
                let x = tau - gamma;
                power - x * x * beta
            }
            TauExponent::InverseBell { beta, gamma, b } => {
                let x = tau - gamma;
                power + (x * x * beta + b).recip()
            }
        };
        exponent.exp() * self.n
    }
}

/// Terms that share a density factor.
#[derive(Debug, Clone)]
struct Group {
    shape: Shape,
    factors: Vec<TauFactor>,
}

impl Group {
    /// Sum of the temperature factors of the group.
    fn at(&self, tau: f64, ln_tau: f64) -> TauDerivatives {
        self.factors
            .iter()
            .fold(TauDerivatives::default(), |sum, factor| {
                sum + factor.at(tau, ln_tau)
            })
    }

    /// The terms of the group with whatever derivatives the numbers carry.
    fn value<D: DualNum<f64> + Copy>(&self, delta: D, tau: D) -> D {
        let factors = self.factors.iter().map(|factor| factor.value(tau));
        self.shape.value(delta) * factors.fold(D::from(0.0), |sum, factor| sum + factor)
    }
}

/// The groups of an equation, in the order in which their density factors first occur.
fn groups(record: &ResidualRecord) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let terms = (record.power.iter().map(PowerRecord::factors))
        .chain(record.exponential.iter().map(ExponentialRecord::factors))
        .chain(record.gaussian.iter().map(GaussianRecord::factors))
        .chain(record.inverse_bell.iter().map(InverseBellRecord::factors));
    for (shape, factor) in terms {
        match groups.iter_mut().find(|group| group.shape == shape) {
            Some(group) => group.factors.push(factor),
            None => groups.push(Group {
                shape,
                factors: vec![factor],
            }),
        }
    }
    groups
}

impl PowerRecord {
    fn factors(&self) -> (Shape, TauFactor) {
        let Self { n, t, d, l } = *self;
        let exponent = TauExponent::None;
        (Shape::Power { d, l }, TauFactor { n, t, exponent })
    }
}

impl ExponentialRecord {
    fn factors(&self) -> (Shape, TauFactor) {
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
        (Shape::Exponential { d, g, l }, TauFactor { n, t, exponent })
    }
}

impl GaussianRecord {
    fn factors(&self) -> (Shape, TauFactor) {
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
        (
            Shape::Bell { d, eta, epsilon },
            TauFactor { n, t, exponent },
        )
    }
}

impl InverseBellRecord {
    fn factors(&self) -> (Shape, TauFactor) {
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
        (
            Shape::Bell { d, eta, epsilon },
            TauFactor { n, t, exponent },
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Central differences of a function and of its first scaled derivative.
    fn differences(at: impl Fn(f64) -> (f64, f64), x: f64) -> (f64, f64) {
        let step = 1e-6 * x;
        let ((low, low_first), (high, high_first)) = (at(x - step), at(x + step));
        let scaled = |low: f64, high: f64| x * (high - low) / (2.0 * step);
        // x d/dx (x f') = x f' + x^2 f''.
        let first = scaled(low, high);
        (first, scaled(low_first, high_first) - first)
    }

    fn assert_close(ours: f64, difference: f64, scale: f64) {
        assert!(
            (ours - difference).abs() < 1e-6 * scale.abs().max(ours.abs()),
            "{ours} {difference}"
        );
    }

    #[test]
    fn density_factors_have_the_derivatives_of_their_values() {
        let shapes = [
            Shape::Power { d: 3, l: 0 },
            Shape::Power { d: 4, l: 6 },
            Shape::Exponential {
                d: 5,
                g: 1.017,
                l: 4,
            },
            Shape::Bell {
                d: 2,
                eta: 25.0,
                epsilon: 1.1,
            },
        ];
        for shape in shapes {
            for delta in [0.1, 0.9, 1.3, 1.9] {
                let point = shape.at(delta);
                let value = |delta| (shape.at(delta).value, shape.at(delta).first);
                let (first, second) = differences(value, delta);
                let scale = point.value + point.first.abs() + point.second.abs();
                assert_close(point.first, first, scale);
                assert_close(point.second, second, scale);
            }
        }
    }

    #[test]
    fn temperature_factors_have_the_derivatives_of_their_values() {
        let exponents = [
            TauExponent::None,
            TauExponent::Power { h: -3.9, m: 1 },
            TauExponent::Power { h: 0.7, m: 3 },
            TauExponent::Bell {
                beta: 300.0,
                gamma: 1.19,
            },
            TauExponent::InverseBell {
                beta: 0.37,
                gamma: 1.108,
                b: 1.244,
            },
        ];
        for exponent in exponents {
            let factor = TauFactor {
                n: -1.7,
                t: 1.25,
                exponent,
            };
            let at = |tau: f64| factor.at(tau, tau.ln());
            for tau in [0.7, 1.0, 1.2, 1.6] {
                let point = at(tau);
                let (first, second) = differences(|tau| (at(tau).value, at(tau).first), tau);
                let scale = point.value.abs() + point.first.abs() + point.second.abs();
                assert_close(point.first, first, scale);
                assert_close(point.second, second, scale);
            }
        }
    }
}
