//! The shape of the data file of a pair of substances: how their reference equations combine.

use serde::Deserialize;

use super::record::{ExponentialRecord, GaussianRecord, PowerRecord, ResidualRecord};

/// Parameters of the reducing functions (Kunz and Wagner, J. Chem. Eng. Data 57, 3032 (2012), doi 10.1021/je300655b,
/// eqs. 16 and 17), of the first substance of the file against the second.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReducingRecord {
    /// `beta_T`.
    #[serde(rename = "beta_T")]
    pub beta_temperature: f64,
    /// `gamma_T`.
    #[serde(rename = "gamma_T")]
    pub gamma_temperature: f64,
    /// `beta_v`.
    #[serde(rename = "beta_v")]
    pub beta_volume: f64,
    /// `gamma_v`.
    #[serde(rename = "gamma_v")]
    pub gamma_volume: f64,
}

impl ReducingRecord {
    /// The same for the substances in the other order.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self {
            beta_temperature: 1.0 / self.beta_temperature,
            beta_volume: 1.0 / self.beta_volume,
            ..self
        }
    }
}

/// `n delta^d tau^t exp(-eta (delta - epsilon)^2 - beta (delta - gamma))`: the special form of Kunz and Wagner 2012, eq. 18.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub struct SpecialRecord {
    pub n: f64,
    pub t: f64,
    pub d: i32,
    pub eta: f64,
    pub epsilon: f64,
    pub beta: f64,
    pub gamma: f64,
}

impl SpecialRecord {
    /// The term as a bell or, without its width, as an exponential: the exponent is completed to a square.
    fn add_to(self, residual: &mut ResidualRecord) {
        let Self {
            n,
            t,
            d,
            eta,
            epsilon,
            beta,
            gamma,
        } = self;
        if eta == 0.0 {
            residual.exponential.push(ExponentialRecord {
                n: n * (beta * gamma).exp(),
                t,
                d,
                g: beta,
                l: 1,
                h: 0.0,
                m: 0,
            });
        } else {
            let shift = 0.5 * beta / eta;
            residual.gaussian.push(GaussianRecord {
                n: n * (beta * (gamma - epsilon + 0.5 * shift)).exp(),
                t,
                d,
                eta,
                epsilon: epsilon - shift,
                beta: 0.0,
                gamma: 0.0,
            });
        }
    }
}

/// Terms of a departure that share one factor of composition, `x_1 x_2 (x_1 - x_2)^order`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DepartureRecord {
    /// The order of the factor of composition; 0 gives the factor of Kunz and Wagner 2012, eq. 11.
    pub order: u8,
    /// Polynomial and exponential terms.
    #[serde(default)]
    pub power: Vec<PowerRecord>,
    /// Terms of the special form.
    #[serde(default)]
    pub special: Vec<SpecialRecord>,
}

impl DepartureRecord {
    /// All terms in the forms of a pure equation.
    pub fn residual(&self) -> ResidualRecord {
        let mut residual = ResidualRecord {
            power: self.power.clone(),
            ..ResidualRecord::default()
        };
        for term in &self.special {
            term.add_to(&mut residual);
        }
        residual
    }
}
