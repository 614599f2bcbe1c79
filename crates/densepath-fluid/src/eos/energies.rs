//! Energies of the fluid along an isotherm (Span and Wagner 1996, table 3).

use super::helmholtz::Isotherm;

impl Isotherm<'_> {
    /// Specific Gibbs energy g in J/kg at a density in kg/m3.
    pub fn specific_gibbs_energy(&self, density: f64) -> f64 {
        self.thermal_energy() * (self.ideal().value + 1.0 + self.pressure(density).potential)
    }

    /// Specific enthalpy h in J/kg at a density in kg/m3.
    pub fn specific_enthalpy(&self, density: f64) -> f64 {
        let residual = self.residual(density);
        self.thermal_energy() * (1.0 + self.ideal().first + residual.a_t + residual.a_d)
    }

    /// Specific entropy s in J/(kg K) at a density in kg/m3.
    pub fn specific_entropy(&self, density: f64) -> f64 {
        (self.specific_enthalpy(density) - self.specific_gibbs_energy(density)) / self.temperature()
    }
}
