//! Restrictors and valves on plain numbers.

use densepath_core::Error;
use densepath_core::flow::valve::Valve;
use densepath_core::hardware::regulator::valve_size;
use densepath_core::hardware::restrictor::{
    BoredRestrictor, FritRestrictor, LinearRestrictor, OrificeRestrictor, Restrictor,
};

use crate::dp_status;
use crate::fluid::tell;
use crate::handle::{dp_fluid, dp_state};
use crate::state::tell as tell_of_state;

/// Mass flow rate in kg/s through a capillary of one bore `diameter` and a `length` in m at a `temperature` in K, between two
/// pressures in Pa (absolute).
///
/// Valid for one phase, real gas with friction, kinetic energy and choking at one temperature; uncertainty 2 % below Re = 2300 and 5
/// to 10 % above, in practice that of the bore. Errors: 101 and 102 for an impossible restrictor or state, 501 and 502 if the fluid
/// chokes or boils on the way, 503 if the pressures drive no flow.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_linear_restrictor_flow(
    fluid: *const dp_fluid,
    diameter: f64,
    length: f64,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            LinearRestrictor::new(diameter, length)?.mass_flow_rate(
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

/// Length in m with which a capillary of a bore `diameter` in m passes a `mass_flow_rate` in kg/s; otherwise as
/// `dp_linear_restrictor_flow`. Error 402 if the bore cannot pass it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_linear_restrictor_length(
    fluid: *const dp_fluid,
    diameter: f64,
    mass_flow_rate: f64,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            LinearRestrictor::new(diameter, 1e3 * diameter)?.length_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

/// Bore in m with which a capillary of a `length` in m passes a `mass_flow_rate` in kg/s; otherwise as `dp_linear_restrictor_flow`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_linear_restrictor_diameter(
    fluid: *const dp_fluid,
    length: f64,
    mass_flow_rate: f64,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            LinearRestrictor::new(1e-3 * length, length)?.diameter_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

/// Mass flow rate in kg/s through a cone of bores `inlet_diameter` and `outlet_diameter` and a `length` in m; otherwise as
/// `dp_linear_restrictor_flow`. Error 102 for a cone steeper than 0.2 of bore per length.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_tapered_restrictor_flow(
    fluid: *const dp_fluid,
    inlet_diameter: f64,
    outlet_diameter: f64,
    length: f64,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            flow(
                &BoredRestrictor::tapered(inlet_diameter, outlet_diameter, length)?,
                &fluid.fluid,
                [temperature, inlet_pressure, outlet_pressure],
            )
        })
    }
}

/// Mass flow rate in kg/s through a short hole of a `diameter` in m with a `discharge_coefficient`, from a fluid at rest at a
/// `temperature` in K, between two pressures in Pa (absolute): isentropic expansion in equilibrium of the phases.
///
/// Uncertainty 10 % with a measured coefficient, 30 % where the fluid boils. Errors as `dp_linear_restrictor_flow`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_orifice_restrictor_flow(
    fluid: *const dp_fluid,
    diameter: f64,
    discharge_coefficient: f64,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            flow(
                &OrificeRestrictor::new(diameter, discharge_coefficient)?,
                &fluid.fluid,
                [temperature, inlet_pressure, outlet_pressure],
            )
        })
    }
}

/// Mass flow rate in kg/s through a plug of frit of a `diameter` and a `length` in m, a `permeability` in m2 and pores of
/// `pore_diameter` in m (0 leaves the slip at their walls out), at a `temperature` in K, between two pressures in Pa (absolute).
///
/// Valid for slow flow; error 102 above a Reynolds number of 1 in the pores. Errors otherwise as `dp_linear_restrictor_flow`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_frit_restrictor_flow(
    fluid: *const dp_fluid,
    diameter: f64,
    length: f64,
    permeability: f64,
    pore_diameter: f64,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            flow(
                &FritRestrictor::new(diameter, length, permeability, pore_diameter)?,
                &fluid.fluid,
                [temperature, inlet_pressure, outlet_pressure],
            )
        })
    }
}

/// Flow coefficient `K_v` in m3/h of a valve that passes a `mass_flow_rate` in kg/s from the state `inlet` to an `outlet_pressure`
/// in Pa (absolute), after IEC 60534-2-1 with the factors 0.9 and 0.7 of a globe valve.
///
/// A supercritical fluid counts as a liquid that chokes where its expansion in equilibrium does: an estimate. Errors: 101 for a flow
/// not above zero, 503 if the pressures drive no flow.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_valve_flow_coefficient(
    inlet: *const dp_state,
    mass_flow_rate: f64,
    outlet_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_state(inlet, out, |inlet| {
            Ok(valve_size(Valve::default(), inlet, mass_flow_rate, outlet_pressure)?.kv)
        })
    }
}

fn flow<R: Restrictor>(
    restrictor: &R,
    fluid: &densepath_core::Fluid,
    conditions: [f64; 3],
) -> Result<f64, Error> {
    let [temperature, inlet_pressure, outlet_pressure] = conditions;
    restrictor.mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)
}
