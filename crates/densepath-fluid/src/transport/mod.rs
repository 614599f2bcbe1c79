//! Transport properties: laws on plain numbers, and the same as properties of a state.

mod conductivity;
pub mod diffusion;
mod enhancement;
mod forms;
mod permittivity;
mod properties;
mod surface_tension;
mod viscosity;

pub use properties::{SODIUM_D_LINE, relative_uncertainty};

/// A state of one phase as the laws of viscosity and thermal conductivity see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Temperature T in K.
    pub temperature: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Molar density in mol/m3.
    pub molar_density: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Pressure of the ideal gas at the density, rho R T in Pa.
    pub ideal_pressure: f64,
    /// `T (dp/dT)_rho` in Pa.
    pub thermal_pressure: f64,
    /// `(drho/dp)_T` in kg/(m3 Pa).
    pub drho_dp_t: f64,
    /// `(drho/dp)_T` in kg/(m3 Pa) at the reference temperature of a critical enhancement and the same density.
    pub drho_dp_t_reference: f64,
    /// Specific isobaric heat capacity c_p in J/(kg K).
    pub isobaric_heat_capacity: f64,
    /// Specific isochoric heat capacity c_v in J/(kg K).
    pub isochoric_heat_capacity: f64,
    /// Isochoric heat capacity of the ideal gas over the gas constant.
    pub ideal_isochoric_heat_capacity: f64,
}

#[cfg(test)]
mod tests {
    use super::Point;
    use crate::eos::Helmholtz;
    use crate::fluids::{self, FluidRecord};

    /// The record of a substance.
    pub fn record(name: &str) -> &'static FluidRecord {
        fluids::record(fluids::find(name).unwrap()).unwrap()
    }

    /// The record of carbon dioxide.
    pub fn co2() -> &'static FluidRecord {
        record("carbon dioxide")
    }

    /// Carbon dioxide at a temperature in K and a density in kg/m3.
    pub fn at(temperature: f64, density: f64) -> Point {
        point(co2(), temperature, density)
    }

    /// A substance at a temperature in K and a density in kg/m3, which may lie inside its dome or be zero.
    pub fn point(record: &FluidRecord, temperature: f64, density: f64) -> Point {
        let fluid = Helmholtz::new(record.reference_equation().unwrap());
        let isotherm = fluid.isotherm(temperature);
        let residual = isotherm.residual(density);
        let stiffness = 1.0 + 2.0 * residual.a_d + residual.a_dd;
        let spring = 1.0 + residual.a_d - residual.a_dt;
        let c_v0 = -isotherm.ideal().second;
        let c_v = c_v0 - residual.a_tt;
        let critical = record
            .thermal_conductivity
            .as_ref()
            .and_then(|record| record.critical.as_ref());
        let reference = critical.map_or(
            1.5 * record
                .reference_equation()
                .unwrap()
                .critical_point
                .temperature,
            |critical| critical.correlation_length.temperature_reference,
        );
        let reference = fluid.isotherm(reference);
        let ideal_pressure = density * fluid.specific_gas_constant * temperature;
        Point {
            temperature,
            density,
            molar_density: density / record.reference_equation().unwrap().molar_mass,
            pressure: isotherm.pressure(density).pressure,
            ideal_pressure,
            thermal_pressure: ideal_pressure * spring,
            drho_dp_t: 1.0 / isotherm.pressure(density).dp_drho,
            drho_dp_t_reference: 1.0 / reference.pressure(density).dp_drho,
            isobaric_heat_capacity: fluid.specific_gas_constant
                * (c_v + spring * spring / stiffness),
            isochoric_heat_capacity: fluid.specific_gas_constant * c_v,
            ideal_isochoric_heat_capacity: c_v0,
        }
    }

    /// CoolProp 8.0.0 evaluates the same correlations at the same temperature and density: 24 random states of each substance.
    ///
    /// Three differ by more than rounding. It reduces the residual viscosity of carbon dioxide with the gas constant and molar
    /// mass of the equation of state, 2e-6, which the critical enhancement of the conductivity passes on. It mixes two
    /// critical temperatures of ethane in the dilute gas, 5e-5 of the conductivity. And near the critical point of ethanol
    /// the compressibility takes its digits from those of the equation of state.
    #[test]
    fn agrees_with_an_independent_implementation() {
        let rows = include_str!("coolprop.csv").lines().skip(1);
        let mut compared = 0;
        for row in rows {
            let fields: Vec<&str> = row.rsplitn(5, ',').collect();
            let [conductivity, viscosity, density, temperature, name] = fields[..] else {
                panic!("{row}")
            };
            let number = |text: &str| text.parse::<f64>().unwrap();
            let record = record(name);
            let point = point(record, number(temperature), number(density));
            let correlation = record.viscosity.as_ref().unwrap();
            let eta = correlation.dynamic_viscosity(&point);
            let (of_viscosity, of_conductivity) = match name {
                "carbon dioxide" => (2e-6, 2e-8),
                "ethane" => (1e-9, 5e-5),
                "ethanol" => (1e-9, 2e-8),
                _ => (1e-9, 2e-9),
            };
            assert!(
                (eta / number(viscosity) - 1.0).abs() < of_viscosity,
                "{row} {eta}"
            );
            compared += 1;
            let Some(conductivity_record) = record.thermal_conductivity.as_ref() else {
                continue;
            };
            let dilute = correlation.zero_density(point.temperature);
            let lambda = conductivity_record.thermal_conductivity(&point, eta, dilute);
            if !conductivity.is_empty() {
                let deviation = lambda / number(conductivity) - 1.0;
                assert!(deviation.abs() < of_conductivity, "{row} {lambda}");
            }
        }
        assert_eq!(compared, 21 * 24);
    }
}
