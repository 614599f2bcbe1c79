//! Ideal-gas part of the reduced Helmholtz energy.

use super::helmholtz::TauDerivatives;
use crate::fluids::record::IdealRecord;

impl IdealRecord {
    /// The temperature-dependent part of alpha0 with its scaled derivatives `tau d/dtau` and `tau^2 d2/dtau2`.
    ///
    /// Planck-Einstein terms n ln(1 - e^(-theta tau)): Span and Wagner 1996, eq. 2.3 and table 28.
    pub(crate) fn at(&self, tau: f64) -> TauDerivatives {
        let [constant, slope] = self.lead;
        let mut sum = TauDerivatives {
            value: constant + slope * tau + self.log_tau * tau.ln(),
            first: slope * tau + self.log_tau,
            second: -self.log_tau,
        };
        for &[n, theta] in &self.planck_einstein {
            let x = theta * tau;
            let occupied = 1.0 / x.exp_m1();
            sum.value += n * (-(-x).exp()).ln_1p();
            sum.first += n * x * occupied;
            sum.second -= n * x * x * occupied * (1.0 + occupied);
        }
        sum
    }
}
