//! Residual part of the reduced Helmholtz energy: power, exponential and Gaussian terms.
//!
//! Everything that depends on temperature alone is done once per isotherm: terms with the same density factor collapse
//! to one coefficient each, so that following an isotherm costs a few multiplications a group.

use super::helmholtz::TauDerivatives;
use crate::fluids::record::{GaussianRecord, PowerRecord, ResidualRecord};

/// `delta^d exp(-delta^l)` or `delta^d exp(-eta (delta - epsilon)^2)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shape {
    /// Power with an exponential of order l, none where l = 0.
    Power {
        /// Exponent of delta.
        d: i32,
        /// Exponent of delta in the exponential.
        l: i32,
    },
    /// Gaussian bell.
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
pub(crate) struct DeltaDerivatives {
    pub value: f64,
    pub first: f64,
    pub second: f64,
}

impl Shape {
    /// With `f = delta^d e^g` the scaled derivatives are `f e` and `f (e (e - 1) + delta^2 g'' )`, `e = d + delta g'`.
    #[inline]
    pub(crate) fn at(self, delta: f64) -> DeltaDerivatives {
        let (d, exponent, slope, curvature) = match self {
            Shape::Power { d, l: 0 } => (d, 0.0, 0.0, 0.0),
            Shape::Power { d, l } => {
                let z = delta.powi(l);
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
}

/// Temperature factor `n tau^t exp(-beta (tau - gamma)^2)` of one term.
#[derive(Debug, Clone, Copy)]
struct TauFactor {
    n: f64,
    t: f64,
    beta: f64,
    gamma: f64,
}

impl TauFactor {
    /// The scaled derivatives follow as those of the density factor.
    fn at(self, tau: f64, ln_tau: f64) -> TauDerivatives {
        let x = tau - self.gamma;
        let value = self.n * (self.t * ln_tau - self.beta * x * x).exp();
        let e = self.t - 2.0 * self.beta * x * tau;
        TauDerivatives {
            value,
            first: value * e,
            second: value * (e * e - self.t - 2.0 * self.beta * tau * tau),
        }
    }
}

/// Terms that share a density factor.
#[derive(Debug, Clone)]
pub(crate) struct Group {
    pub shape: Shape,
    factors: Vec<TauFactor>,
}

impl Group {
    /// Sum of the temperature factors of the group.
    pub(crate) fn at(&self, tau: f64, ln_tau: f64) -> TauDerivatives {
        self.factors
            .iter()
            .fold(TauDerivatives::default(), |sum, factor| {
                sum + factor.at(tau, ln_tau)
            })
    }
}

/// The groups of an equation, in the order in which their density factors first occur.
pub(crate) fn groups(record: &ResidualRecord) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let powers = record.power.iter().map(|&PowerRecord { n, t, d, l }| {
        (
            Shape::Power { d, l },
            TauFactor {
                n,
                t,
                beta: 0.0,
                gamma: 0.0,
            },
        )
    });
    let bells = record.gaussian.iter().map(
        |&GaussianRecord {
             n,
             t,
             d,
             eta,
             epsilon,
             beta,
             gamma,
         }| {
            (
                Shape::Bell { d, eta, epsilon },
                TauFactor { n, t, beta, gamma },
            )
        },
    );
    for (shape, factor) in powers.chain(bells) {
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
