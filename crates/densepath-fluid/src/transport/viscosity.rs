//! Viscosity of carbon dioxide (Laesecke and Muzny 2017) on plain numbers.

use crate::fluids::transport::ViscosityRecord;

impl ViscosityRecord {
    /// Dynamic viscosity eta in Pa s at temperature T (K) and density rho (kg/m3): the sum of the limit of zero density, a
    /// term linear in density and a residual part.
    ///
    /// *Valid*: gas from 100 to 2000 K; dense fluid from 220 to 700 K and up to the melting line.
    /// *Uncertainty*: of the record.
    /// *Source*: Laesecke, Muzny, J. Phys. Chem. Ref. Data 46, 013107 (2017), doi 10.1063/1.4977429, eqs. 4 to 9.
    /// The critical enhancement, confined to the neighbourhood of the critical point, is left out, as is common practice.
    pub fn dynamic_viscosity(&self, temperature: f64, density: f64) -> f64 {
        let molar_density = density / self.molar_mass;
        self.zero_density(temperature) * (1.0 + self.virial(temperature) * molar_density)
            + self.residual(temperature, density)
    }

    /// Limit of zero density in Pa s at a temperature in K (eq. 4, which is in mPa s).
    pub fn zero_density(&self, temperature: f64) -> f64 {
        let [a0, a1, a2, a3, a4, a5, a6] = self.dilute;
        let (cube, square) = (temperature.cbrt(), temperature.sqrt());
        let denominator = a0
            + a1 * cube.sqrt()
            + a2 * (a3 * cube).exp()
            + (a4 + a5 * cube) * (-cube).exp()
            + a6 * square;
        1e-3 * self.dilute_factor * square / denominator
    }

    /// Second viscosity virial coefficient in m3/mol at a temperature in K (Rainwater-Friend theory, eqs. 5 to 7).
    fn virial(&self, temperature: f64) -> f64 {
        let reduced = self.virial.at(temperature / self.epsilon_over_k);
        self.avogadro_constant * self.sigma.powi(3) * reduced
    }

    /// Residual part in Pa s (eqs. 8 and 9).
    fn residual(&self, temperature: f64, density: f64) -> f64 {
        let t = temperature / self.temperature_triple;
        let rho = density / self.density_triple_liquid;
        let reducing = self.density_triple_liquid.powf(2.0 / 3.0)
            * (self.gas_constant * self.temperature_triple).sqrt()
            / (self.molar_mass.powf(1.0 / 6.0) * self.avogadro_constant.cbrt());
        reducing
            * (self.c_1 * t * rho.powi(3) + (rho * rho + rho.powf(self.gamma)) / (t - self.c_2))
    }
}

#[cfg(test)]
mod tests {
    use crate::fluids::transport::ViscosityRecord;
    use crate::transport::tests::{co2, with_constants_of_the_equation_of_state};

    fn record() -> &'static ViscosityRecord {
        co2().viscosity.as_ref().unwrap()
    }

    /// Laesecke, Muzny 2017, doi 10.1063/1.4977429, table 6: T in K, rho in kg/m3, eta in mPa s and half its last digit.
    #[test]
    fn agrees_with_the_published_table_to_the_printed_digit() {
        for (temperature, density, expected, half_digit) in [
            (100.0, 0.0, 0.0053757, 5e-8),
            (2000.0, 0.0, 0.066079, 5e-7),
            (10000.0, 0.0, 0.17620, 5e-6),
            (220.0, 3.0, 0.011104, 5e-7),
            (225.0, 1150.0, 0.22218, 5e-6),
            (300.0, 65.0, 0.015563, 5e-7),
            (300.0, 1400.0, 0.50594, 5e-6),
            (700.0, 100.0, 0.033112, 5e-7),
            (700.0, 1200.0, 0.22980, 5e-6),
        ] {
            let eta = 1e3 * record().dynamic_viscosity(temperature, density);
            assert!(
                (eta - expected).abs() <= half_digit,
                "{temperature} {density} {eta}"
            );
        }
    }

    /// CoolProp 8.0.0 at the same T and rho. It reduces the residual part with the gas constant and molar mass of the equation
    /// of state; with its constants the agreement is to 1e-9, with those of the record to 2e-6.
    #[test]
    fn agrees_with_an_independent_implementation() {
        let with_its_constants = with_constants_of_the_equation_of_state();
        for &(temperature, density, expected) in GRID {
            let eta = with_its_constants.dynamic_viscosity(temperature, density);
            assert!(
                (eta / expected - 1.0).abs() < 1e-9,
                "{temperature} {density} {eta}"
            );
            let eta = record().dynamic_viscosity(temperature, density);
            assert!(
                (eta / expected - 1.0).abs() < 2e-6,
                "{temperature} {density} {eta}"
            );
        }
    }

    /// CoolProp 8.0.0: T in K, rho in kg/m3, eta in Pa s.
    const GRID: &[(f64, f64, f64)] = &[
        (220.0, 5.0, 1.1095901054132213e-05),
        (220.0, 1170.0, 0.00024291171943252156),
        (220.0, 1300.0, 0.00041247388760956154),
        (250.0, 30.0, 1.2640674862135165e-05),
        (250.0, 1058.0, 0.00015292116059313965),
        (280.0, 90.0, 1.4829038600350592e-05),
        (280.0, 900.0, 9.282578533217645e-05),
        (280.0, 1100.0, 0.00016992742737397698),
        (300.0, 1.0, 1.499898073760628e-05),
        (300.0, 150.0, 1.707181083672038e-05),
        (300.0, 800.0, 7.154483272013135e-05),
        (300.0, 1200.0, 0.00023472217197347835),
        (304.2, 200.0, 1.8639147062346996e-05),
        (304.2, 467.6, 3.235626909094009e-05),
        (304.2, 700.0, 5.608504894345526e-05),
        (305.0, 467.0, 3.235231484046958e-05),
        (310.0, 400.0, 2.8043547530297525e-05),
        (313.15, 100.0, 1.677434459442198e-05),
        (313.15, 300.0, 2.288476979835844e-05),
        (313.15, 628.6, 4.7650677688060447e-05),
        (313.15, 780.2, 6.84562115970717e-05),
        (313.15, 950.0, 0.00010603172245070041),
        (333.15, 604.1, 4.588245350351479e-05),
        (373.15, 480.5, 3.6707053051079046e-05),
        (373.15, 1000.0, 0.00012165751923149842),
        (450.0, 50.0, 2.2480155672561232e-05),
        (450.0, 700.0, 6.246339324815393e-05),
        (500.0, 400.0, 3.6902387604825874e-05),
        (700.0, 20.0, 3.1792869648713776e-05),
        (700.0, 100.0, 3.311217216387943e-05),
        (700.0, 500.0, 5.1930006156130726e-05),
        (1000.0, 30.0, 4.1535424550581615e-05),
    ];
}
