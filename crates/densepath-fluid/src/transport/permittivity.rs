//! Relative permittivity and refractive index on plain numbers.

use crate::error::{Result, within};
use crate::fluids::transport::{PermittivityRecord, RefractivityRecord};
use crate::quantity::Quantity;

impl PermittivityRecord {
    /// Relative permittivity epsilon_r at temperature T (K) and molar density (mol/m3).
    ///
    /// *Valid* and *Uncertainty*: of the record.
    /// *Source*: Harvey, Lemmon, Int. J. Thermophys. 26, 31 (2005), doi 10.1007/s10765-005-2351-5, with the relation of
    /// Clausius and Mossotti for a fluid without dipole; form and coefficients read in a public implementation.
    pub fn relative_permittivity(&self, temperature: f64, molar_density: f64) -> f64 {
        let rho = molar_density * 1e-6;
        let inverse = self.temperature_reference / temperature - 1.0;
        let a = self.a[0] + self.a[1] * (temperature / self.temperature_reference - 1.0);
        let b = self.b[0] + self.b[1] * inverse;
        let c = self.c[0] + self.c[1] * inverse;
        ratio_from_polarization(rho * (a + b * rho + c * rho.powf(self.d)))
    }
}

impl RefractivityRecord {
    /// `n - 1` of the gas of the measurements at a vacuum wavelength in m. Error 102 outside the measured wavelengths.
    fn refractivity(&self, wavelength: f64) -> Result<f64> {
        within(
            Quantity::Length,
            wavelength,
            self.wavelength_min,
            self.wavelength_max,
            &self.name,
        )?;
        let wavenumber = 1e-6 / wavelength;
        let square = wavenumber * wavenumber;
        Ok(self.terms.iter().map(|[b, c]| b / (c - square)).sum())
    }

    /// Refractive index n at a density, for light of a vacuum wavelength in m, from the density of the gas at the conditions
    /// of the measurements (same unit).
    ///
    /// *Valid*: wavelengths of the record; error 102 outside.
    /// *Uncertainty*: of the record.
    /// *Source*: Bideau-Mehu et al., Opt. Commun. 9, 432 (1973), doi 10.1016/0030-4018(73)90289-7; relation of Lorentz and
    /// Lorenz.
    pub fn refractive_index(
        &self,
        wavelength: f64,
        density: f64,
        density_of_gas: f64,
    ) -> Result<f64> {
        let gas = 1.0 + self.refractivity(wavelength)?;
        let polarization = (gas * gas - 1.0) / (gas * gas + 2.0);
        Ok(ratio_from_polarization(polarization * density / density_of_gas).sqrt())
    }
}

/// `(1 + 2 P) / (1 - P)`: the permittivity or squared index whose Clausius-Mossotti ratio is P.
fn ratio_from_polarization(polarization: f64) -> f64 {
    (1.0 + 2.0 * polarization) / (1.0 - polarization)
}

#[cfg(test)]
mod tests {
    use crate::transport::tests::co2;

    /// Independent evaluation of the same coefficients: T in K, molar density in mol/m3 (CoolProp 8.0.0), epsilon_r.
    #[test]
    fn permittivity_agrees_with_an_independent_evaluation() {
        let record = co2().relative_permittivity.as_ref().unwrap();
        for (temperature, density, expected, half_digit) in [
            (298.15, 41.081084, 1.0009059, 5e-8),
            (313.15, 6314.4403, 1.150889, 5e-7),
            (313.15, 14283.449, 1.368535, 5e-7),
            (313.15, 20674.665, 1.5590201, 5e-8),
            (263.15, 22769.199, 1.6304344, 5e-8),
            (278.15, 21546.36, 1.5906251, 5e-8),
        ] {
            let epsilon = record.relative_permittivity(temperature, density);
            assert!(
                (epsilon - expected).abs() <= half_digit,
                "{temperature} {density} {epsilon}"
            );
        }
    }

    /// The gas of the measurements gives back its own refractivity: 449e-6 at the sodium line.
    #[test]
    fn refractive_index_returns_the_measured_gas() {
        let record = co2().refractivity.as_ref().unwrap();
        let n = record
            .refractive_index(589.3e-9, 44.917558, 44.917558)
            .unwrap();
        assert!((n - 1.000448872).abs() < 1e-9, "{n}");
        assert_eq!(
            record.refractive_index(5e-6, 1.0, 1.0).unwrap_err().code(),
            102
        );
    }
}
