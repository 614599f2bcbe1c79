//! The gas that leaves the instrument.

use std::f64::consts::PI;

use densepath_fluid::consts::{ICE_POINT, STANDARD_ATMOSPHERE};
use densepath_fluid::error::{Result, positive};
use densepath_fluid::{Fluid, Quantity, State};

/// Temperature in K at which volumes of gas are stated: 20 degC.
pub const REFERENCE_TEMPERATURE: f64 = ICE_POINT + 20.0;
/// Pressure in Pa at which volumes of gas are stated: 1 atm.
pub const REFERENCE_PRESSURE: f64 = STANDARD_ATMOSPHERE;

/// Density in kg/m3 of a gas at 20 degC and 101325 Pa.
pub fn reference_density(fluid: &Fluid) -> Result<f64> {
    Ok(State::from_tp(fluid, REFERENCE_TEMPERATURE, REFERENCE_PRESSURE)?.density())
}

/// Volume flow rate in m3/s, at 20 degC and 101325 Pa, of a mass flow rate in kg/s let out as gas.
///
/// *Uncertainty*: that of the equation of state at low density, below 0.1 %.
pub fn gas_volume_flow_rate(fluid: &Fluid, mass_flow_rate: f64) -> Result<f64> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    Ok(mass_flow_rate / reference_density(fluid)?)
}

/// The pipe that leads the gas away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vent {
    diameter: f64,
}

impl Vent {
    /// A vent of a bore in m. Error 101 if it is not above zero.
    pub fn new(diameter: f64) -> Result<Self> {
        Ok(Self {
            diameter: positive(Quantity::Diameter, diameter)?,
        })
    }

    /// Bore in m.
    pub fn diameter(&self) -> f64 {
        self.diameter
    }

    /// Mean velocity in m/s of a mass flow rate in kg/s of gas at a state in the pipe.
    pub fn velocity(&self, gas: &State, mass_flow_rate: f64) -> Result<f64> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let area = PI / 4.0 * self.diameter * self.diameter;
        Ok(mass_flow_rate / (gas.density() * area))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{GRAM_PER_MINUTE, MILLILITRE_PER_MINUTE};

    const LITRE_PER_MINUTE: f64 = 1e3 * MILLILITRE_PER_MINUTE;

    /// L/min at 20 degC and 1 atm: independent computation with CoolProp 8.0.0.
    #[test]
    fn grams_become_litres() {
        for (grams, litres) in [(2.93214, 1.59412), (100.0, 54.3672)] {
            let rate = gas_volume_flow_rate(&co2(), grams * GRAM_PER_MINUTE).unwrap();
            assert!(close(rate / LITRE_PER_MINUTE, litres, 1e-5));
        }
    }

    /// m/s of 1.27535 L/min at 20 degC and 1 atm: independent arithmetic.
    #[test]
    fn a_narrow_vent_blows() {
        let gas = State::from_tp(&co2(), REFERENCE_TEMPERATURE, REFERENCE_PRESSURE).unwrap();
        let rate = 1.275_35 * LITRE_PER_MINUTE * gas.density();
        for (diameter, expected) in [(0.5e-3, 108.251), (2.0e-3, 6.76567)] {
            let velocity = Vent::new(diameter).unwrap().velocity(&gas, rate).unwrap();
            assert!(close(velocity, expected, 1e-4), "{velocity}");
        }
    }

    #[test]
    fn no_flow_and_no_bore_are_errors() {
        assert_eq!(Vent::new(0.0).unwrap_err().code(), 101);
        assert_eq!(gas_volume_flow_rate(&co2(), -1.0).unwrap_err().code(), 101);
    }
}
