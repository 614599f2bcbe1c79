//! The terms that bend the critical region: Span and Wagner 1996, eq. 5.9 to 5.11 and table 32.

use num_dual::DualNum;

use super::helmholtz::PointDerivatives;
use crate::fluids::record::NonAnalyticRecord;

/// Distance from the critical density below which the terms are evaluated at this distance: nearer, their powers of
/// zero lose meaning while the terms themselves no longer change.
const NEAREST: f64 = 1e-12;

impl NonAnalyticRecord {
    /// The term `n Delta^b delta psi` with its scaled derivatives.
    pub(crate) fn at(&self, delta: f64, tau: f64) -> PointDerivatives {
        let x = nudge(delta - 1.0);
        let y = tau - 1.0;
        let q = x * x;

        // theta and its derivatives in delta; m = 1/(2 beta).
        let m = 0.5 / self.beta;
        let q_m1 = q.powf(m - 1.0);
        let theta = -y + self.big_a * q_m1 * q;
        let theta_d = self.big_a * 2.0 * m * x * q_m1;
        let theta_dd = self.big_a * 2.0 * m * (2.0 * m - 1.0) * q_m1;

        // Delta = theta^2 + B q^a.
        let q_a1 = self.big_b * q.powf(self.a - 1.0);
        let big = theta * theta + q_a1 * q;
        let big_d = 2.0 * theta * theta_d + 2.0 * self.a * x * q_a1;
        let big_dd = 2.0 * (theta_d * theta_d + theta * theta_dd)
            + 2.0 * self.a * (2.0 * self.a - 1.0) * q_a1;
        let (big_t, big_tt, big_dt) = (-2.0 * theta, 2.0, -2.0 * theta_d);

        // P = Delta^b.
        let p = big.powf(self.b);
        let p1 = self.b * p / big;
        let p2 = (self.b - 1.0) * p1 / big;
        let (p_d, p_t) = (p1 * big_d, p1 * big_t);
        let p_dd = p1 * big_dd + p2 * big_d * big_d;
        let p_tt = p1 * big_tt + p2 * big_t * big_t;
        let p_dt = p1 * big_dt + p2 * big_d * big_t;

        // E = delta psi.
        let psi = (-self.big_c * q - self.big_d * y * y).exp();
        let (c, d) = (-2.0 * self.big_c * x, -2.0 * self.big_d * y);
        let e = delta * psi;
        let e_d = psi * (1.0 + delta * c);
        let e_dd = psi * (2.0 * c + delta * (c * c - 2.0 * self.big_c));
        let e_t = e * d;
        let e_tt = e * (d * d - 2.0 * self.big_d);
        let e_dt = e_d * d;

        let n = self.n;
        PointDerivatives {
            a: n * p * e,
            a_d: n * delta * (p_d * e + p * e_d),
            a_dd: n * delta * delta * (p_dd * e + 2.0 * p_d * e_d + p * e_dd),
            a_t: n * tau * (p_t * e + p * e_t),
            a_tt: n * tau * tau * (p_tt * e + 2.0 * p_t * e_t + p * e_tt),
            a_dt: n * delta * tau * (p_dt * e + p_d * e_t + p_t * e_d + p * e_dt),
        }
    }

    /// The term with whatever derivatives the numbers carry.
    pub(crate) fn value<D: DualNum<f64> + Copy>(&self, delta: D, tau: D) -> D {
        let x = delta - 1.0;
        let x = x - x.re() + nudge(x.re());
        let y = tau - 1.0;
        let q = x * x;
        let theta = q.powf(0.5 / self.beta) * self.big_a - y;
        let big = theta * theta + q.powf(self.a) * self.big_b;
        let psi = (-(q * self.big_c) - y * y * self.big_d).exp();
        big.powf(self.b) * delta * psi * self.n
    }
}

fn nudge(x: f64) -> f64 {
    if x.abs() < NEAREST {
        NEAREST.copysign(x)
    } else {
        x
    }
}
