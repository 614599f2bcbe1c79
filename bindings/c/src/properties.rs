//! One function of each property, for one state and for arrays.
//!
//! Written by `cargo xtask header` from the list of properties; not to be edited by hand.

use densepath_core::Quantity;

use crate::dp_status;
use crate::fluid::{property, property_array};
use crate::handle::dp_fluid;

/// Density rho, in kg/m3, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_density(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { property(Quantity::Density, fluid, temperature, pressure, out) }
}

/// Density rho, in kg/m3, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_density_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::Density,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Compression factor Z, dimensionless, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_compression_factor(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::CompressionFactor,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Compression factor Z, dimensionless, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_compression_factor_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::CompressionFactor,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific enthalpy h, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_enthalpy(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::SpecificEnthalpy,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Specific enthalpy h, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_enthalpy_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificEnthalpy,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific entropy s, in J/(kg K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_entropy(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { property(Quantity::SpecificEntropy, fluid, temperature, pressure, out) }
}

/// Specific entropy s, in J/(kg K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_entropy_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificEntropy,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific internal energy u, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_internal_energy(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::SpecificInternalEnergy,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Specific internal energy u, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_internal_energy_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificInternalEnergy,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific Gibbs energy g, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_gibbs_energy(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::SpecificGibbsEnergy,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Specific Gibbs energy g, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_gibbs_energy_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificGibbsEnergy,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific Helmholtz energy a, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_helmholtz_energy(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::SpecificHelmholtzEnergy,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Specific Helmholtz energy a, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_helmholtz_energy_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificHelmholtzEnergy,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific isobaric heat capacity c_p, in J/(kg K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_isobaric_heat_capacity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::SpecificIsobaricHeatCapacity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Specific isobaric heat capacity c_p, in J/(kg K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_isobaric_heat_capacity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificIsobaricHeatCapacity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Specific isochoric heat capacity c_v, in J/(kg K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_isochoric_heat_capacity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::SpecificIsochoricHeatCapacity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Specific isochoric heat capacity c_v, in J/(kg K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_specific_isochoric_heat_capacity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpecificIsochoricHeatCapacity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Speed of sound c, in m/s, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_speed_of_sound(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { property(Quantity::SpeedOfSound, fluid, temperature, pressure, out) }
}

/// Speed of sound c, in m/s, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_speed_of_sound_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::SpeedOfSound,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Joule-Thomson coefficient mu_JT, in K/Pa, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_joule_thomson_coefficient(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::JouleThomsonCoefficient,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Joule-Thomson coefficient mu_JT, in K/Pa, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_joule_thomson_coefficient_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::JouleThomsonCoefficient,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Isothermal compressibility kappa_T, in 1/Pa, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_isothermal_compressibility(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::IsothermalCompressibility,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Isothermal compressibility kappa_T, in 1/Pa, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_isothermal_compressibility_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::IsothermalCompressibility,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Isobaric expansivity alpha_V, in 1/K, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_isobaric_expansivity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::IsobaricExpansivity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Isobaric expansivity alpha_V, in 1/K, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_isobaric_expansivity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::IsobaricExpansivity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Dynamic viscosity eta, in Pa s, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_dynamic_viscosity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::DynamicViscosity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Dynamic viscosity eta, in Pa s, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_dynamic_viscosity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::DynamicViscosity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Kinematic viscosity nu, in m2/s, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_kinematic_viscosity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::KinematicViscosity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Kinematic viscosity nu, in m2/s, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_kinematic_viscosity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::KinematicViscosity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Thermal conductivity lambda, in W/(m K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_thermal_conductivity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::ThermalConductivity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Thermal conductivity lambda, in W/(m K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_thermal_conductivity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::ThermalConductivity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Relative permittivity epsilon_r, dimensionless, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_relative_permittivity(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property(
            Quantity::RelativePermittivity,
            fluid,
            temperature,
            pressure,
            out,
        )
    }
}

/// Relative permittivity epsilon_r, dimensionless, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_relative_permittivity_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::RelativePermittivity,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}

/// Refractive index n, dimensionless, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_refractive_index(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { property(Quantity::RefractiveIndex, fluid, temperature, pressure, out) }
}

/// Refractive index n, dimensionless, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_refractive_index_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        property_array(
            Quantity::RefractiveIndex,
            fluid,
            temperature,
            pressure,
            n,
            out,
            status,
        )
    }
}
