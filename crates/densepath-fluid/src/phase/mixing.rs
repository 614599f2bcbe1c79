//! What mixing changes: enthalpy of mixing and fugacity coefficients.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::consts::MOLAR_GAS_CONSTANT;
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
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// // One substance has nothing to mix with.
    /// assert_eq!(blend.with_amount_fractions(&[1.0, 0.0])?.specific_enthalpy_of_mixing(313.15, 150e5)?, 0.0);
    /// assert!(blend.specific_enthalpy_of_mixing(313.15, 150e5)?.abs() > 100.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
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
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::State;
    /// // A thin gas is ideal.
    /// let thin = State::from_tp(&fluid, 313.15, 1e3)?.fugacity_coefficients()?;
    /// assert!((thin[0] - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn fugacity_coefficients(&self) -> Result<Vec<f64>> {
        let mut coefficients = self.of_model().fugacity_coefficients_of_model()?;
        let energy = MOLAR_GAS_CONSTANT * self.temperature();
        let work = self.fluid().volume_shift() * self.pressure() / energy;
        if work != 0.0 {
            // A shift of the specific volume adds its work to the potential of each substance.
            let molar_masses = self.fluid().composition().molar_masses();
            for (phi, molar_mass) in coefficients.iter_mut().zip(molar_masses) {
                *phi *= (molar_mass * work).exp();
            }
        }
        Ok(coefficients)
    }

    fn fugacity_coefficients_of_model(&self) -> Result<Vec<f64>> {
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
