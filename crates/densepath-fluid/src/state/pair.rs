//! The state that any two variables determine, for interfaces that name them.

use super::{Fluid, State};
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

impl State {
    /// The state at two of temperature, pressure, density, specific enthalpy, specific entropy and specific internal energy, in
    /// any order, each in SI.
    ///
    /// As the constructors by name. Error 104 for two of the same, for other quantities, and for enthalpy with internal energy,
    /// which do not determine a state: of an ideal gas both depend on temperature alone.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, Quantity, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let one = State::from_pair(&co2, (Quantity::Pressure, 15e6), (Quantity::Temperature, 313.15))?;
    /// assert_eq!(one.density(), State::from_tp(&co2, 313.15, 15e6)?.density());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_pair(fluid: &Fluid, one: (Quantity, f64), other: (Quantity, f64)) -> Result<Self> {
        let forwards = by_name(one.0, other.0).map(|constructor| (constructor, one.1, other.1));
        let backwards = || by_name(other.0, one.0).map(|constructor| (constructor, other.1, one.1));
        let (constructor, first, second) =
            forwards.or_else(backwards).ok_or_else(|| Error::Argument {
                argument: "the variables of the state".to_owned(),
                expected: "two different ones of temperature, pressure, density, specific_enthalpy, specific_entropy and \
                           specific_internal_energy, but not enthalpy with internal energy",
                got: format!("{} and {}", one.0, other.0),
            })?;
        constructor(fluid, first, second)
    }
}

type Constructor = fn(&Fluid, f64, f64) -> Result<State>;

fn by_name(first: Quantity, second: Quantity) -> Option<Constructor> {
    use Quantity::{
        Density, Pressure, SpecificEnthalpy, SpecificEntropy, SpecificInternalEnergy, Temperature,
    };
    Some(match (first, second) {
        (Temperature, Pressure) => State::from_tp,
        (Temperature, Density) => State::from_t_rho,
        (Temperature, SpecificEnthalpy) => State::from_th,
        (Temperature, SpecificEntropy) => State::from_ts,
        (Temperature, SpecificInternalEnergy) => State::from_tu,
        (Pressure, Density) => State::from_p_rho,
        (Pressure, SpecificEnthalpy) => State::from_ph,
        (Pressure, SpecificEntropy) => State::from_ps,
        (Pressure, SpecificInternalEnergy) => State::from_pu,
        (Density, SpecificEnthalpy) => State::from_rho_h,
        (Density, SpecificEntropy) => State::from_rho_s,
        (Density, SpecificInternalEnergy) => State::from_rho_u,
        (SpecificEnthalpy, SpecificEntropy) => State::from_hs,
        (SpecificEntropy, SpecificInternalEnergy) => State::from_su,
        _ => return None,
    })
}
