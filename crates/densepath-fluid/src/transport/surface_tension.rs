//! Surface tension on plain numbers.

use crate::error::{Error, Result, finite};
use crate::fluids::transport::SurfaceTensionRecord;
use crate::quantity::Quantity;

impl SurfaceTensionRecord {
    /// Surface tension gamma in N/m between liquid and vapour in equilibrium at temperature T (K).
    ///
    /// *Valid*: from the triple point to the critical point; error 302 outside.
    /// *Uncertainty*: of the record.
    /// *Source*: Mulero, Cachadiña, Parra, J. Phys. Chem. Ref. Data 41, 043105 (2012), doi 10.1063/1.4768782, eq. 1.
    pub fn surface_tension(&self, temperature: f64) -> Result<f64> {
        finite(Quantity::Temperature, temperature)?;
        if !(self.valid.temperature_min..=self.critical_temperature).contains(&temperature) {
            return Err(Error::NoCoexistence {
                quantity: Quantity::Temperature,
                value: temperature,
                min: self.valid.temperature_min,
                max: self.critical_temperature,
            });
        }
        Ok(self.terms.at(1.0 - temperature / self.critical_temperature))
    }
}

#[cfg(test)]
mod tests {
    use crate::transport::tests::co2;

    /// Independent evaluation of the same coefficients: T in K, gamma in N/m.
    #[test]
    fn agrees_with_an_independent_evaluation() {
        let record = co2().surface_tension.as_ref().unwrap();
        for (temperature, expected, half_digit) in [
            (220.0, 0.01569322, 5e-9),
            (230.0, 0.01339043, 5e-9),
            (260.0, 0.006987299, 5e-10),
            (290.0, 0.001675113, 5e-10),
            (300.0, 0.0003580957, 5e-11),
            (304.1282, 0.0, 0.0),
        ] {
            let gamma = record.surface_tension(temperature).unwrap();
            assert!(
                (gamma - expected).abs() <= half_digit,
                "{temperature} {gamma}"
            );
        }
        assert_eq!(record.surface_tension(310.0).unwrap_err().code(), 302);
        assert_eq!(record.surface_tension(f64::NAN).unwrap_err().code(), 101);
    }
}
