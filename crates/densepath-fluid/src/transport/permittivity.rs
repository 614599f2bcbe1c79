//! Relative permittivity and refractive index on plain numbers.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::PI;

use crate::error::{Result, within};
use crate::fluids::transport::{
    DipolesRecord, FormulaRefractionRecord, GasRefractionRecord, PermittivityEquation,
    PermittivityRecord, PolarizationRecord, RefractionRecord, RefractivityRecord,
};
use crate::quantity::Quantity;

/// Speed of light in vacuum c_0 in m/s, exact.
const SPEED_OF_LIGHT: f64 = 299_792_458.0;

/// Electric constant `epsilon_0 = 1/(mu_0 c_0^2)` in F/m with `mu_0 = 4 pi 1e-7 N/A2`, by the definitions in force until 2019.
const ELECTRIC_CONSTANT: f64 = 1e7 / (4.0 * PI * SPEED_OF_LIGHT * SPEED_OF_LIGHT);

/// Temperature in K, density in kg/m3 and molar density in mol/m3 of a fluid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filling {
    /// Temperature in K.
    pub temperature: f64,
    /// Density in kg/m3.
    pub density: f64,
    /// Molar density in mol/m3.
    pub molar_density: f64,
}

impl PermittivityRecord {
    /// Relative permittivity epsilon_r.
    ///
    /// *Valid* and *Uncertainty*: of the record; error 102 below its lowest density.
    /// *Source*: of the record.
    pub fn relative_permittivity(&self, filling: Filling) -> Result<f64> {
        within(
            Quantity::Density,
            filling.density,
            self.density_min,
            f64::MAX,
            &self.name,
        )?;
        Ok(self.of_equation(filling))
    }

    /// As [`PermittivityRecord::relative_permittivity`], at any density.
    pub fn of_equation(&self, filling: Filling) -> f64 {
        match &self.equation {
            PermittivityEquation::Polarization(equation) => equation.at(filling),
            PermittivityEquation::Liquid(equation) => {
                let molar_volume = 1e-6 * equation.a.at(filling.temperature);
                permittivity_of_kirkwood(molar_volume * filling.molar_density)
            }
            PermittivityEquation::Dipoles(equation) => equation.at(filling),
        }
    }
}

impl PolarizationRecord {
    /// *Source*: Harvey, Lemmon, Int. J. Thermophys. 26, 31 (2005), doi 10.1007/s10765-005-2351-5, with the relation of
    /// Clausius and Mossotti for a fluid without strong dipole.
    fn at(&self, filling: Filling) -> f64 {
        let rho = filling.molar_density * 1e-6;
        let reduced = filling.temperature / self.temperature_reference;
        let inverse = 1.0 / reduced - 1.0;
        let a = self.a[0] + self.a[1] * (reduced - 1.0) + self.a_mu / reduced;
        let b = self.b[0] + self.b[1] * inverse;
        let c = self.c[0] + self.c[1] * inverse;
        ratio_from_polarization(rho * (a + b * rho + c * rho.powf(self.d)))
    }
}

impl DipolesRecord {
    /// *Source*: Fernández, Goodwin, Lemmon, Levelt Sengers, Williams, J. Phys. Chem. Ref. Data 26, 1125 (1997), doi
    /// 10.1063/1.555997, eqs. 21 to 24.
    fn at(&self, filling: Filling) -> f64 {
        let number_density = self.avogadro_constant * filling.density / self.molar_mass;
        let reduced = filling.temperature / self.reducing.temperature;
        let density = self
            .reducing
            .of_density(filling.density, filling.density / self.molar_mass);
        let singular = (filling.temperature / self.singular_temperature - 1.0).powf(-self.q);
        let g = 1.0 + self.g.at(reduced, density) + self.n * density * singular;
        let moment = self.dipole_moment * self.dipole_moment;
        let thermal = ELECTRIC_CONSTANT * self.boltzmann_constant * filling.temperature;
        let a = number_density * moment * g / thermal;
        let b = number_density * self.polarizability / (3.0 * ELECTRIC_CONSTANT);
        let root = 9.0 + 2.0 * a + 18.0 * b + a * a + 10.0 * a * b + 9.0 * b * b;
        (1.0 + a + 5.0 * b + root.sqrt()) / (4.0 - 4.0 * b)
    }
}

/// Relative permittivity whose function of Kirkwood `(epsilon_r - 1)(2 epsilon_r + 1)/(9 epsilon_r)` has a value.
///
/// *Source*: Kirkwood, J. Chem. Phys. 7, 911 (1939), doi 10.1063/1.1750343.
pub fn permittivity_of_kirkwood(value: f64) -> f64 {
    let half = (1.0 + 9.0 * value) / 4.0;
    half + (half * half + 0.5).sqrt()
}

/// Kirkwood's function of a relative permittivity.
pub fn kirkwood(permittivity: f64) -> f64 {
    (permittivity - 1.0) * (2.0 * permittivity + 1.0) / (9.0 * permittivity)
}

impl RefractivityRecord {
    /// Refractive index n for light of a vacuum wavelength in m.
    ///
    /// *Valid*: wavelengths of the record; error 102 outside.
    /// *Uncertainty* and *Source*: of the record, with the relation of Lorentz and Lorenz.
    pub fn refractive_index(&self, filling: Filling, wavelength: f64) -> Result<f64> {
        within(
            Quantity::Length,
            wavelength,
            self.wavelength_min,
            self.wavelength_max,
            &self.name,
        )?;
        let polarization = match &self.refraction {
            RefractionRecord::Constant(constant) => {
                1e-6 * constant.refraction * filling.molar_density
            }
            RefractionRecord::Gas(gas) => gas.at(wavelength) * filling.molar_density,
            RefractionRecord::Formula(formula) => formula.at(filling, wavelength),
        };
        Ok(ratio_from_polarization(polarization).sqrt())
    }
}

impl GasRefractionRecord {
    /// Molar refraction in m3/mol.
    fn at(&self, wavelength: f64) -> f64 {
        let wavenumber = 1e-6 / wavelength;
        let square = wavenumber * wavenumber;
        let excess: f64 = self.terms.iter().map(|[b, c]| b / (c - square)).sum();
        let n = 1.0 + excess;
        polarization_from_ratio(n * n) / self.molar_density
    }
}

impl FormulaRefractionRecord {
    /// *Source*: Harvey, Gallagher, Levelt Sengers, J. Phys. Chem. Ref. Data 27, 761 (1998), doi 10.1063/1.556029.
    fn at(&self, filling: Filling, wavelength: f64) -> f64 {
        let x = filling.temperature / self.reducing.temperature;
        let y = self
            .reducing
            .of_density(filling.density, filling.molar_density);
        let w = (wavelength / self.wavelength_reducing).powi(2);
        let [a0, a1, a2, a3, a4, a5, a6, a7] = self.a;
        let [ultraviolet, infrared] = self.resonances.map(|resonance| w - resonance * resonance);
        y * (a0
            + a1 * y
            + a2 * x
            + a3 * w * x
            + a4 / w
            + a5 / ultraviolet
            + a6 / infrared
            + a7 * y * y)
    }
}

/// `(1 + 2 P) / (1 - P)`: the permittivity or squared index whose Clausius-Mossotti ratio is P.
pub fn ratio_from_polarization(polarization: f64) -> f64 {
    (1.0 + 2.0 * polarization) / (1.0 - polarization)
}

/// The inverse of [`ratio_from_polarization`].
pub fn polarization_from_ratio(ratio: f64) -> f64 {
    (ratio - 1.0) / (ratio + 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transport::tests::{co2, record};

    fn filling(temperature: f64, molar_density: f64, molar_mass: f64) -> Filling {
        Filling {
            temperature,
            density: molar_density * molar_mass,
            molar_density,
        }
    }

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
            let epsilon = record.relative_permittivity(filling(temperature, density, 0.044));
            assert!(
                (epsilon.unwrap() - expected).abs() <= half_digit,
                "{temperature} {density}"
            );
        }
    }

    /// Harvey, Mountain 2017, doi 10.1007/s10765-017-2279-6: 1.59326 at 300 K and 10 mol/L.
    #[test]
    fn permittivity_of_sulfur_hexafluoride_is_that_of_its_paper() {
        let record = record("sulfur hexafluoride")
            .relative_permittivity
            .as_ref()
            .unwrap();
        let epsilon = record
            .relative_permittivity(filling(300.0, 1e4, 0.146))
            .unwrap();
        assert!((epsilon - 1.59326).abs() <= 5e-6, "{epsilon}");
    }

    /// The functions for water of the library chemicals 1.5.2: T in K, rho in kg/m3, epsilon_r, n at 589.3 nm. It takes newer
    /// values of the constants of nature, by which permittivities differ by 8e-6.
    #[test]
    fn water_agrees_with_an_independent_implementation() {
        let record = record("water");
        let permittivity = record.relative_permittivity.as_ref().unwrap();
        let refractivity = record.refractivity.as_ref().unwrap();
        for (temperature, density, epsilon, n) in [
            (298.15, 997.047, 78.40902511287995, 1.332858050824939),
            (373.15, 958.6, 55.545847026233304, 1.3186600973770042),
            (273.16, 999.8, 87.896499855781, 1.3343207432227524),
            (500.0, 831.3, 30.432434384411515, 1.274322142784265),
            (650.0, 400.0, 7.211161994453872, 1.1291078432490258),
        ] {
            let filling = filling(temperature, density / 0.018015268, 0.018015268);
            let got = permittivity.relative_permittivity(filling).unwrap();
            assert!((got / epsilon - 1.0).abs() < 1e-5, "{temperature} {got}");
            let got = refractivity.refractive_index(filling, 589.3e-9).unwrap();
            assert!((got - n).abs() < 1e-9, "{temperature} {got}");
        }
    }

    /// Liquids at 101325 Pa: measured permittivities of the NIST ThermoML archive (methanol doi 10.1016/j.tca.2016.03.024,
    /// ethanol doi 10.1016/j.tca.2010.04.013), within the stated uncertainty with k = 2.
    #[test]
    fn permittivity_of_alcohols_is_near_measured_values() {
        use crate::{Fluid, Quantity, State};
        for (name, temperature, expected) in
            [("methanol", 298.15, 32.62), ("ethanol", 303.15, 23.87)]
        {
            let fluid = Fluid::new(name).unwrap();
            let state = State::from_tp(&fluid, temperature, 101_325.0).unwrap();
            let epsilon = state.relative_permittivity().unwrap();
            let u = state.uncertainty(Quantity::RelativePermittivity).unwrap();
            assert!(
                (epsilon / expected - 1.0).abs() < 2.0 * u,
                "{name} {epsilon}"
            );
            let vapour = fluid.saturation_at_temperature(temperature).unwrap().vapour;
            assert_eq!(vapour.relative_permittivity().unwrap_err().code(), 102);
        }
    }

    /// Liquids at 101325 Pa: measured n_D of the NIST ThermoML archive, within the stated uncertainty of n - 1 with k = 2.
    #[test]
    fn refractive_index_of_alcohols_is_near_measured_values() {
        use crate::{Fluid, Quantity, State};
        for (name, temperature, expected) in MEASURED_INDICES {
            let fluid = Fluid::new(name).unwrap();
            let state = State::from_tp(&fluid, temperature, 101_325.0).unwrap();
            let n = state.refractive_index().unwrap();
            let u = state.uncertainty(Quantity::RefractiveIndex).unwrap();
            assert!(
                ((n - expected) / (expected - 1.0)).abs() < 2.0 * u,
                "{name} {n}"
            );
        }
    }

    /// With their sources: ethanol doi 10.1016/j.tca.2012.06.014; ethanol doi 10.1016/j.tca.2013.08.016; ethanol doi
    /// 10.1016/j.tca.2014.06.031; ethanol doi 10.1016/j.tca.2016.09.005; methanol doi 10.1016/j.tca.2013.08.016;
    /// methanol doi 10.1016/j.tca.2016.03.002; methanol doi 10.1016/j.tca.2016.09.005
    const MEASURED_INDICES: [(&str, f64, f64); 11] = [
        ("ethanol", 298.15, 1.3591),
        ("methanol", 293.15, 1.328426),
        ("methanol", 303.15, 1.324333),
        ("methanol", 313.15, 1.320152),
        ("ethanol", 313.15, 1.352696),
        ("ethanol", 323.15, 1.348372),
        ("ethanol", 293.15, 1.361442),
        ("ethanol", 298.15, 1.35945),
        ("methanol", 298.15, 1.32682),
        ("methanol", 293.15, 1.3285),
        ("ethanol", 293.15, 1.362),
    ];

    /// Refractive indices at 25 degC from memory of Riddick, Bunger, Sakano, Organic Solvents (1986): not what the molar refractions,
    /// of 20 degC, came from. Dimethyl ether at 25 degC by the refractions of its atoms (Eisenlohr 1910, from memory), 13.1 cm3/mol.
    const INDICES: [(&str, f64); 8] = [
        ("1,4-dioxane", 1.4203),
        ("N,N-dimethylformamide", 1.4282),
        ("butan-1-ol", 1.3973),
        ("chloroform", 1.4429),
        ("dichloromethane", 1.4212),
        ("dimethyl sulfoxide", 1.4773),
        ("ethyl acetate", 1.3698),
        ("propan-1-ol", 1.3837),
    ];

    #[test]
    fn refractive_index_of_solvents_is_near_another_handbook() {
        use crate::{Fluid, Quantity, State};
        for (name, expected) in INDICES {
            let state = State::from_tp(&Fluid::new(name).unwrap(), 298.15, 1e5).unwrap();
            let n = state.refractive_index().unwrap();
            let u = state.uncertainty(Quantity::RefractiveIndex).unwrap();
            let missed = (n - expected) / (expected - 1.0);
            assert!(missed.abs() < 2.0 * u, "{name} {n}");
        }
        let ether = Fluid::new("dimethyl ether").unwrap();
        let liquid = ether.saturation_at_temperature(298.15).unwrap().liquid;
        let by_atoms = 13.1e-6 * liquid.density() / ether.molar_mass();
        let expected = ratio_from_polarization(by_atoms).sqrt();
        assert!((liquid.refractive_index().unwrap() / expected - 1.0).abs() < 0.01);
    }

    /// What was remembered comes back: methyl tert-butyl ether at 20 degC, and 1,1,1,2-tetrafluoroethane boiling at 25 degC, whose
    /// dipoles of 2.06 D (gas, from memory) in the equation of Onsager give 7.0.
    #[test]
    fn permittivities_of_one_value_return_it() {
        use crate::{Fluid, State};
        let ether = Fluid::new("methyl tert-butyl ether").unwrap();
        let ether = State::from_tp(&ether, 293.15, 1e5).unwrap();
        assert!((ether.relative_permittivity().unwrap() - 4.5).abs() < 0.01);
        let fluid = Fluid::new("1,1,1,2-tetrafluoroethane").unwrap();
        let liquid = fluid.saturation_at_temperature(298.15).unwrap().liquid;
        assert!((liquid.relative_permittivity().unwrap() - 9.5).abs() < 0.01);
    }

    /// The gas of the measurements gives back its own refractivity: 449e-6 at the sodium line.
    #[test]
    fn refractive_index_returns_the_measured_gas() {
        let record = co2().refractivity.as_ref().unwrap();
        let gas = filling(273.15, 44.9178, 0.044);
        let n = record.refractive_index(gas, 589.3e-9).unwrap();
        assert!((n - 1.000448872).abs() < 5e-9, "{n}");
        assert_eq!(record.refractive_index(gas, 5e-6).unwrap_err().code(), 102);
    }
}
