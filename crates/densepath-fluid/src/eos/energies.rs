//! Energies of the fluid along an isotherm (Span and Wagner 1996, table 3).

use super::helmholtz::Isotherm;

impl Isotherm<'_> {
    /// Specific Gibbs energy g in J/kg at a density in kg/m3.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let equation = fluid.helmholtz()?;
    /// let both = equation.coexistence_at_temperature(293.15)?;
    /// let isotherm = equation.isotherm(293.15);
    /// // Liquid and vapour in equilibrium have one Gibbs energy.
    /// let difference = isotherm.specific_gibbs_energy(both.liquid_density) - isotherm.specific_gibbs_energy(both.vapour_density);
    /// assert!(difference.abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_gibbs_energy(&self, density: f64) -> f64 {
        self.thermal_energy() * (self.ideal().value + 1.0 + self.pressure(density).potential)
    }

    /// Specific enthalpy h in J/kg at a density in kg/m3.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let equation = fluid.helmholtz()?;
    /// let both = equation.coexistence_at_temperature(293.15)?;
    /// let isotherm = equation.isotherm(293.15);
    /// // The enthalpy of evaporation at 20 degC is T times the entropy of it.
    /// let heat = isotherm.specific_enthalpy(both.vapour_density) - isotherm.specific_enthalpy(both.liquid_density);
    /// let entropy = isotherm.specific_entropy(both.vapour_density) - isotherm.specific_entropy(both.liquid_density);
    /// assert!((heat / (293.15 * entropy) - 1.0).abs() < 1e-6 && heat > 140e3 && heat < 160e3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_enthalpy(&self, density: f64) -> f64 {
        let residual = self.residual(density);
        self.thermal_energy() * (1.0 + self.ideal().first + residual.a_t + residual.a_d)
    }

    /// Specific entropy s in J/(kg K) at a density in kg/m3.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let isotherm = fluid.helmholtz()?.isotherm(313.15);
    /// // A denser fluid has less entropy.
    /// assert!(isotherm.specific_entropy(800.0) < isotherm.specific_entropy(400.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_entropy(&self, density: f64) -> f64 {
        (self.specific_enthalpy(density) - self.specific_gibbs_energy(density)) / self.temperature()
    }
}
