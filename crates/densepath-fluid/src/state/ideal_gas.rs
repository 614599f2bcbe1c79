//! The ideal gas of a substance in a mixture.

use crate::consts::{MOLAR_GAS_CONSTANT, STANDARD_ATMOSPHERE};
use crate::eos::TauDerivatives;
use crate::fluids::cubic::CubicRecord;
use crate::fluids::ideal_gas::IdealGasRecord;
use crate::fluids::record::{EquationOfState, IdealRecord};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Temperature in K and pressure in Pa at which enthalpy and entropy of the ideal gas are zero where no reference equation
/// sets another zero.
const ZERO: (f64, f64) = (298.15, STANDARD_ATMOSPHERE);

/// The ideal-gas part of the reduced Helmholtz energy of a substance.
#[derive(Debug, Clone)]
pub(crate) struct IdealGas {
    record: IdealRecord,
    /// Temperature in K and density in kg/m3 at which its reduced variables are 1.
    temperature: f64,
    density: f64,
}

impl IdealGas {
    /// That of a reference equation.
    pub(super) fn of_reference(equation: &EquationOfState) -> Self {
        Self {
            record: equation.ideal.clone(),
            temperature: equation.temperature_reducing,
            density: equation.molar_density_reducing * equation.molar_mass,
        }
    }

    /// That of a substance that only the cubic equation knows, from its heat capacity.
    pub(super) fn of_cubic(ideal_gas: &IdealGasRecord, cubic: &CubicRecord) -> Self {
        let temperature = cubic.critical_temperature;
        let mut record = IdealRecord {
            lead: [0.0, 0.0],
            log_tau: ideal_gas.constant - 1.0,
            planck_einstein: ideal_gas
                .planck_einstein
                .iter()
                .map(|[n, theta]| [*n, theta / temperature])
                .collect(),
            // A term n T^t of c_p0/R comes from -n T_c^t tau^-t / (t (t + 1)).
            power: ideal_gas
                .power
                .iter()
                .map(|[n, t]| [-n * temperature.powf(*t) / (t * (t + 1.0)), -t])
                .collect(),
            sinh: Vec::new(),
            cosh: Vec::new(),
            logistic: Vec::new(),
        };
        let tau = temperature / ZERO.0;
        let delta = ZERO.1 / cubic.critical_pressure * tau;
        let rest = record.at(tau);
        let slope = -(1.0 + rest.first) / tau;
        record.lead = [-1.0 - delta.ln() - slope * tau - rest.value, slope];
        Self {
            record,
            temperature,
            density: cubic.critical_pressure * ideal_gas.molar_mass
                / (MOLAR_GAS_CONSTANT * temperature),
        }
    }

    /// The part at a temperature in K and a partial density in kg/m3.
    pub(super) fn at(&self, temperature: f64, density: f64) -> TauDerivatives {
        self.compressed(self.warmed(temperature), density)
    }

    /// What depends on a temperature in K alone.
    pub(super) fn warmed(&self, temperature: f64) -> TauDerivatives {
        self.record.at(self.temperature / temperature)
    }

    /// The part at a partial density in kg/m3, by what depends on the temperature alone.
    pub(super) fn compressed(&self, warmed: TauDerivatives, density: f64) -> TauDerivatives {
        TauDerivatives {
            value: (density / self.density).ln() + warmed.value,
            ..warmed
        }
    }
}
