//! What mixing changes: enthalpy of mixing and fugacity coefficients.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::error::{Error, Result};
use crate::quantity::Quantity;
use crate::state::{Fluid, State};

impl Fluid {
    /// Specific enthalpy of mixing in J/kg at a temperature T in K and a pressure p in Pa: that of the mixture less those of
    /// its substances, each alone at the same temperature and pressure.
    ///
    /// Zero for one substance. Errors as [`State::from_tp`], of the mixture and of every substance.
    ///
    /// *Uncertainty*: of the model; the parameters of pairs are seldom fitted to heats of mixing.
    pub fn specific_enthalpy_of_mixing(&self, temperature: f64, pressure: f64) -> Result<f64> {
        let whole = State::from_tp(self, temperature, pressure)?.specific_enthalpy();
        let count = self.amount_fractions().len();
        let mut apart = 0.0;
        for (index, x) in self.amount_fractions().iter().enumerate() {
            if *x == 0.0 {
                continue;
            }
            let mut alone = vec![0.0; count];
            if let Some(fraction) = alone.get_mut(index) {
                *fraction = 1.0;
            }
            let substance = self.with_amount_fractions(&alone)?;
            let enthalpy = State::from_tp(&substance, temperature, pressure)?.specific_enthalpy();
            // Mass fractions at the one gas constant of mixtures, as the mixture itself is weighed.
            let share = x * self.specific_gas_constant() / substance.specific_gas_constant();
            apart += share * enthalpy;
        }
        Ok(whole - apart)
    }
}

impl State {
    /// Fugacity coefficients `phi_i = f_i / (x_i p)` of the substances, dimensionless. Error 301 for several phases: ask each.
    pub fn fugacity_coefficients(&self) -> Result<Vec<f64>> {
        let (temperature, pressure) = (self.temperature(), self.pressure());
        if !self.is_one_phase() {
            return Err(Error::TwoPhase {
                property: Quantity::Ratio,
                temperature,
                pressure,
                vapour_fraction: self.vapour_fraction().unwrap_or_default(),
            });
        }
        if let Some(mixed) = self.fluid().mixed() {
            let found = mixed.ln_fugacity_coefficients(temperature, pressure, self.density());
            return Ok(found.iter().map(|phi| phi.exp()).collect());
        }
        let residual = self
            .fluid()
            .helmholtz()?
            .isotherm(temperature)
            .residual(self.density());
        let z = self.compression_factor();
        let alone = (residual.a + residual.a_d).exp() / z;
        let fractions = self.fluid().amount_fractions();
        // An absent substance has a coefficient too, which the equation of the other alone does not tell.
        let of = |x: &f64| if *x > 0.0 { alone } else { f64::NAN };
        Ok(fractions.iter().map(of).collect())
    }
}
