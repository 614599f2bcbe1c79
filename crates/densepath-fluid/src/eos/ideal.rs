//! Ideal-gas part of the reduced Helmholtz energy.

use super::helmholtz::TauDerivatives;
use super::kernel::Scaled;
use crate::fluids::record::IdealRecord;
use crate::num::number::Number;
impl IdealRecord {
    /// The temperature-dependent part of alpha0 with its scaled derivatives `tau d/dtau` and `tau^2 d2/dtau2`.
    pub(crate) fn at(&self, tau: f64) -> TauDerivatives {
        self.of(tau).into()
    }

    /// As [`IdealRecord::at`], of any kind of number.
    ///
    /// Each kind of term stands for one of the heat capacity of the ideal gas, `c_p0/R - 1 = -tau^2 d2(alpha0)/dtau2`.
    #[inline(always)]
    pub(super) fn of<N: Number>(&self, tau: N) -> Scaled<N> {
        let [constant, slope] = self.lead;
        let (line, ln_tau) = (tau.times(slope), tau.ln());
        let mut sum = Scaled {
            value: line.plus(constant) + ln_tau.times(self.log_tau),
            first: line.plus(self.log_tau),
            second: tau.like(-self.log_tau),
        };
        for &[n, theta] in &self.planck_einstein {
            sum.add(planck_einstein(n, tau.times(theta)));
        }
        for &[n, t] in &self.power {
            sum.add(power(n, t, ln_tau));
        }
        for &[n, theta] in &self.sinh {
            sum.add(sinh(n, tau.times(theta)));
        }
        for &[n, theta] in &self.cosh {
            sum.add(cosh(n, tau.times(theta)));
        }
        for &[n, theta, c] in &self.logistic {
            sum.add(logistic(n, c, tau.times(theta)));
        }
        sum
    }
}

/// `n ln(1 - e^(-x))`, `x = theta tau`: a harmonic oscillator. Span and Wagner 1996, eq. 2.3 and table 28.
#[inline(always)]
fn planck_einstein<N: Number>(n: f64, x: N) -> Scaled<N> {
    let decay = (-x).exp();
    let rest = (-decay).plus(1.0);
    let occupied = decay * rest.recip();
    let first = (x * occupied).times(n);
    Scaled {
        value: rest.ln().times(n),
        first,
        second: -(first * x * occupied.plus(1.0)),
    }
}

/// `n tau^t`: a power of temperature. Tillner-Roth and Baehr, J. Phys. Chem. Ref. Data 23, 657 (1994).
#[inline(always)]
fn power<N: Number>(n: f64, t: f64, ln_tau: N) -> Scaled<N> {
    let value = ln_tau.times(t).exp().times(n);
    Scaled {
        value,
        first: value.times(t),
        second: value.times(t * (t - 1.0)),
    }
}

/// `n ln sinh x`, `x = theta tau`: the term `n (x / sinh x)^2` of Aly and Lee, Fluid Phase Equilib. 6, 169 (1981), as integrated by
/// Jaeschke and Schley, Int. J. Thermophys. 16, 1381 (1995).
#[inline(always)]
fn sinh<N: Number>(n: f64, x: N) -> Scaled<N> {
    let decay = (-x).exp();
    let square = decay * decay;
    let rest = (-square).plus(1.0);
    let inverse = rest.recip();
    let ratio = (x * decay * inverse).times(2.0);
    Scaled {
        value: (x.plus(-core::f64::consts::LN_2) + rest.ln()).times(n),
        first: (x * square.plus(1.0) * inverse).times(n),
        second: (ratio * ratio).times(-n),
    }
}

/// `-n ln cosh x`, `x = theta tau`: the term `n (x / cosh x)^2` of the same authors.
#[inline(always)]
fn cosh<N: Number>(n: f64, x: N) -> Scaled<N> {
    let decay = (-x).exp();
    let square = decay * decay;
    let sum = square.plus(1.0);
    let inverse = sum.recip();
    let ratio = (x * decay * inverse).times(2.0);
    Scaled {
        value: (x.plus(-core::f64::consts::LN_2) + sum.ln()).times(-n),
        first: (x * (-square).plus(1.0) * inverse).times(-n),
        second: (ratio * ratio).times(-n),
    }
}

/// `n ln(c + e^x)`, `x = theta tau`: Lemmon et al., J. Phys. Chem. Ref. Data 29, 331 (2000), eq. 22 and 24.
#[inline(always)]
fn logistic<N: Number>(n: f64, c: f64, x: N) -> Scaled<N> {
    let sum = (-x).exp().times(c).plus(1.0);
    let weight = sum.recip();
    let first = (x * weight).times(n);
    Scaled {
        value: (x + sum.ln()).times(n),
        first,
        second: first * x * (-weight).plus(1.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_term_has_the_derivatives_of_its_value() {
        let terms: [&dyn Fn(f64) -> Scaled<f64>; 5] = [
            &|tau| planck_einstein(1.9, 3.1 * tau),
            &|tau| power(-9.7, -0.75, tau.ln()),
            &|tau| sinh(13.7, 0.31 * tau),
            &|tau| cosh(30.5, 1.5 * tau),
            &|tau| logistic(-0.2, 2.0 / 3.0, 8.7 * tau),
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
            let (ours, oscillator) = (sinh(1.0, 0.8 * tau), planck_einstein(1.0, 1.6 * tau));
            assert!((ours.second - oscillator.second).abs() <= 1e-13 * oscillator.second.abs());
            let line = 0.8 * tau - std::f64::consts::LN_2;
            assert!((ours.value - oscillator.value - line).abs() < 1e-12 * line.abs().max(1.0));
        }
    }
}
