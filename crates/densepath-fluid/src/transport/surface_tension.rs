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
    use crate::transport::tests::{co2, record};

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

    /// CoolProp 8.0.0 evaluates the same correlations: T in K, gamma in N/m.
    #[test]
    fn agrees_with_an_independent_implementation() {
        for (name, temperature, expected) in [
            ("1,1,1,2-tetrafluoroethane", 251.6, 0.014525373225446933),
            ("acetone", 310.3, 0.02118971605490813),
            ("ammonia", 279.5, 0.024806850713112834),
            ("argon", 110.6, 0.007069056223331779),
            ("cyclohexane", 389.1, 0.01400762781957767),
            ("dimethyl ether", 239.1, 0.020093294216917634),
            ("ethane", 176.3, 0.017511037192423026),
            ("ethanol", 301.3, 0.021580116455838096),
            ("helium", 3.4, 0.0001727138921034874),
            ("methanol", 310.7, 0.021098577979454643),
            ("n-butane", 251.0, 0.017462989049831294),
            ("n-heptane", 326.0, 0.017001895147768883),
            ("n-hexane", 309.8, 0.01667056387394291),
            ("n-pentane", 274.0, 0.018144135338205532),
            ("nitrogen", 88.4, 0.006451385213665338),
            ("nitrous oxide", 233.2, 0.013133177238693563),
            ("oxygen", 94.5, 0.012075556619041267),
            ("propane", 199.3, 0.01993061259709923),
            ("sulfur hexafluoride", 261.6, 0.006023080083942971),
            ("toluene", 343.5, 0.022471484049724964),
            ("trifluoromethane", 190.5, 0.016973491081950898),
            ("water", 422.7, 0.04874304804198947),
            ("xenon", 212.7, 0.010092200584175048),
        ] {
            let record = record(name).surface_tension.as_ref().unwrap();
            let gamma = record.surface_tension(temperature).unwrap();
            assert!((gamma / expected - 1.0).abs() < 1e-12, "{name} {gamma}");
        }
    }
}
