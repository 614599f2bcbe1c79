//! Transport properties: laws on plain numbers, and the same as properties of a state.

pub mod conductivity;
pub mod diffusion;
mod permittivity;
mod properties;
mod surface_tension;
mod viscosity;

pub use properties::{SODIUM_D_LINE, relative_uncertainty};

#[cfg(test)]
mod tests {
    use crate::fluids::transport::ViscosityRecord;
    use crate::fluids::{self, FluidRecord};

    /// The record of carbon dioxide.
    pub fn co2() -> &'static FluidRecord {
        fluids::record(fluids::find("carbon dioxide").unwrap()).unwrap()
    }

    /// The viscosity of carbon dioxide with the constants that CoolProp 8.0.0 reduces it by.
    pub fn with_constants_of_the_equation_of_state() -> ViscosityRecord {
        ViscosityRecord {
            gas_constant: 8.31451,
            molar_mass: 0.0440098,
            avogadro_constant: 6.02214129e23,
            ..co2().viscosity.clone().unwrap()
        }
    }
}
