//! Ideal-gas part of the reduced Helmholtz energy.

use super::helmholtz::TauDerivatives;
use crate::fluids::record::IdealRecord;

impl IdealRecord {
    /// The temperature-dependent part of alpha0 with its scaled derivatives `tau d/dtau` and `tau^2 d2/dtau2`.
    ///
    /// Each kind of term stands for one of the heat capacity of the ideal gas, `c_p0/R - 1 = -tau^2 d2(alpha0)/dtau2`.
    pub(crate) fn at(&self, tau: f64) -> TauDerivatives {
        let [constant, slope] = self.lead;
        let start = TauDerivatives {
            value: constant + slope * tau + self.log_tau * tau.ln(),
            first: slope * tau + self.log_tau,
            second: -self.log_tau,
        };
        let pairs = |terms: &[[f64; 2]], term: fn(f64, f64, f64) -> TauDerivatives, sum| {
            terms
                .iter()
                .fold(sum, |sum, &[n, constant]| sum + term(n, constant, tau))
        };
        let sum = pairs(&self.planck_einstein, planck_einstein, start);
        let sum = pairs(&self.power, power, sum);
        let sum = pairs(&self.sinh, sinh, sum);
        let sum = pairs(&self.cosh, cosh, sum);
        self.logistic
            .iter()
            .fold(sum, |sum, &[n, theta, c]| sum + logistic(n, theta, c, tau))
    }
}

/// `n ln(1 - e^(-theta tau))`: a harmonic oscillator. Span and Wagner 1996, eq. 2.3 and table 28.
fn planck_einstein(n: f64, theta: f64, tau: f64) -> TauDerivatives {
    let x = theta * tau;
    let occupied = 1.0 / x.exp_m1();
    TauDerivatives {
        value: n * (-(-x).exp()).ln_1p(),
        first: n * x * occupied,
        second: -(n * x * x * occupied * (1.0 + occupied)),
    }
}

/// `n tau^t`: a power of temperature. Tillner-Roth and Baehr, J. Phys. Chem. Ref. Data 23, 657 (1994).
fn power(n: f64, t: f64, tau: f64) -> TauDerivatives {
    let value = n * tau.powf(t);
    TauDerivatives {
        value,
        first: value * t,
        second: value * t * (t - 1.0),
    }
}

/// `n ln sinh(theta tau)`: the term `n (x / sinh x)^2` of Aly and Lee, Fluid Phase Equilib. 6, 169 (1981), as integrated by
/// Jaeschke and Schley, Int. J. Thermophys. 16, 1381 (1995).
fn sinh(n: f64, theta: f64, tau: f64) -> TauDerivatives {
    let x = theta * tau;
    let ratio = x / x.sinh();
    TauDerivatives {
        value: n * (x - std::f64::consts::LN_2 + (-(-2.0 * x).exp()).ln_1p()),
        first: n * x / x.tanh(),
        second: -n * ratio * ratio,
    }
}

/// `-n ln cosh(theta tau)`: the term `n (x / cosh x)^2` of the same authors.
fn cosh(n: f64, theta: f64, tau: f64) -> TauDerivatives {
    let x = theta * tau;
    let ratio = x / x.cosh();
    TauDerivatives {
        value: -n * (x - std::f64::consts::LN_2 + (-2.0 * x).exp().ln_1p()),
        first: -n * x * x.tanh(),
        second: -n * ratio * ratio,
    }
}

/// `n ln(c + e^(theta tau))`: Lemmon et al., J. Phys. Chem. Ref. Data 29, 331 (2000), eq. 22 and 24.
fn logistic(n: f64, theta: f64, c: f64, tau: f64) -> TauDerivatives {
    let x = theta * tau;
    let rest = c * (-x).exp();
    let weight = 1.0 / (1.0 + rest);
    TauDerivatives {
        value: n * (x + rest.ln_1p()),
        first: n * x * weight,
        second: n * x * x * weight * (1.0 - weight),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_term_has_the_derivatives_of_its_value() {
        let terms: [&dyn Fn(f64) -> TauDerivatives; 5] = [
            &|tau| planck_einstein(1.9, 3.1, tau),
            &|tau| power(-9.7, -0.75, tau),
            &|tau| sinh(13.7, 0.31, tau),
            &|tau| cosh(30.5, 1.5, tau),
            &|tau| logistic(-0.2, 8.7, 2.0 / 3.0, tau),
        ];
        for term in terms {
            for tau in [0.2, 1.0, 2.6] {
                let step = 1e-5 * tau;
                let (low, point, high) = (term(tau - step), term(tau), term(tau + step));
                let first = tau * (high.value - low.value) / (2.0 * step);
                let second = tau * (high.first - low.first) / (2.0 * step) - first;
                let scale = point.value.abs() + point.first.abs() + point.second.abs();
                assert!((point.first - first).abs() < 1e-8 * scale);
                assert!((point.second - second).abs() < 1e-8 * scale);
            }
        }
    }

    /// `(theta/T / sinh(theta/T))^2 = x^2 e^(-2x) 4 / (1 - e^(-2x))^2`: a hyperbolic sine is an oscillator of twice the
    /// temperature, but for a straight line in tau.
    #[test]
    fn a_hyperbolic_sine_is_an_oscillator_of_twice_its_temperature() {
        for tau in [0.1, 1.0, 7.0, 300.0] {
            let (ours, oscillator) = (sinh(1.0, 0.8, tau), planck_einstein(1.0, 1.6, tau));
            assert!((ours.second - oscillator.second).abs() <= 1e-13 * oscillator.second.abs());
            let line = 0.8 * tau - std::f64::consts::LN_2;
            assert!((ours.value - oscillator.value - line).abs() < 1e-12 * line.abs().max(1.0));
        }
    }
}
