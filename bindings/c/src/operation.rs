//! What a control program asks of a state while an instrument runs: what is stored, what leaks, what the pumps can follow.

use densepath_core::hardware::diagnosis::{
    Suspect, density_error, leak_mass_flow_rate, mass_flow_from_gas_meter, suspect,
};
use densepath_core::hardware::schedule::{fastest_rise, storage_mass_flow_rate};
use densepath_core::hardware::{Chamber, SyringePump};

use crate::argument::output;
use crate::dp_status;
use crate::fluid::tell as tell_of_fluid;
use crate::guard::guard;
use crate::handle::{dp_fluid, dp_state};
use crate::state::tell;

/// Mass flow rate in kg/s that leaks from a shut `volume` in m3 whose pressure changes at a `pressure_rate` in Pa/s.
///
/// Valid for a volume that keeps its temperature. Errors: 101 for a volume not above zero, 301 for a state of two phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_leak_mass_flow_rate(
    state: *const dp_state,
    volume: f64,
    pressure_rate: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            leak_mass_flow_rate(state, volume, pressure_rate)
        })
    }
}

/// Mass flow rate in kg/s that a `volume` in m3 takes up while its pressure changes at a `pressure_rate` in Pa/s. Errors as
/// `dp_leak_mass_flow_rate`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_storage_mass_flow_rate(
    state: *const dp_state,
    volume: f64,
    pressure_rate: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            storage_mass_flow_rate(state, volume, pressure_rate)
        })
    }
}

/// Fastest rise of the pressure in Pa/s that a `mass_flow_rate` in kg/s of the pumps brings about in a `volume` in m3 while nothing
/// leaves it. Errors: 101 for values not above zero, 301 for a state of two phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fastest_pressure_rise(
    state: *const dp_state,
    volume: f64,
    mass_flow_rate: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            fastest_rise(state, volume, mass_flow_rate)
        })
    }
}

/// Volume flow rate in m3/s that the piston of a syringe pump displaces while a `volume` in m3 is left in its barrel, the pressure
/// changes at a `pressure_rate` in Pa/s and a `mass_flow_rate` in kg/s leaves: during a program not the flow of the column.
///
/// Errors: 101 for a volume not above zero or rates that are not finite, 301 for a state of two phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_displacement_rate(
    barrel: *const dp_state,
    volume: f64,
    pressure_rate: f64,
    mass_flow_rate: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(barrel, out, |barrel| {
            SyringePump::displacement_rate(barrel, volume, pressure_rate, mass_flow_rate)
        })
    }
}

/// Mass that a stroke of a piston pump delivers against a `delivery_pressure` in Pa, over the mass that its swept volume holds at the
/// state `suction`, with a `clearance_ratio` (volume never swept over volume swept) and an `isothermal_share` of the stroke, 1 for
/// isothermal and 0 for isentropic.
///
/// Errors: 504 if the feed is not liquid, 503 if the delivery pressure is not above it, 101 for a clearance above 1 or one that takes the
/// whole stroke, or another impossible value.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_volumetric_efficiency(
    suction: *const dp_state,
    delivery_pressure: f64,
    clearance_ratio: f64,
    isothermal_share: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(suction, out, |suction| {
            let chamber = Chamber::new(clearance_ratio)?;
            let stroke = chamber.stroke(suction, delivery_pressure, isothermal_share)?;
            Ok(stroke.expected.volumetric_efficiency)
        })
    }
}

/// Mass flow rate in kg/s of a piston that sweeps a `displacement_rate` in m3/s with a `clearance_ratio` (volume never swept over volume
/// swept), from the densities in kg/m3 at suction and where the outlet valve opens, as `dp_table_value` tells them in a loop:
/// `q_V rho_1 (1 - c (rho_2/rho_1 - 1))`.
///
/// It asks for no memory and calls no system. Errors: 101 for a clearance above 1 or one that takes the whole stroke, or another
/// impossible value.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_piston_mass_flow_rate(
    displacement_rate: f64,
    clearance_ratio: f64,
    suction_density: f64,
    delivery_density: f64,
    out: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        let chamber = Chamber::new(clearance_ratio)?;
        out.write(chamber.mass_flow_rate(displacement_rate, suction_density, delivery_density)?);
        Ok(())
    })
}

/// Standard uncertainty in kg/m3 of the density of a state, from those of its temperature in K and its pressure in Pa, independent of
/// each other; that of the equation of state comes on top. Errors: 101 for a negative uncertainty, 301 for a state of two phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_density_error(
    state: *const dp_state,
    temperature_error: f64,
    pressure_error: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            Ok(density_error(state, temperature_error, pressure_error)?.total())
        })
    }
}

/// Mass flow rate in kg/s of the gas of a fluid through a meter that shows a `volume_flow_rate` in m3/s at a `temperature` in K and a
/// `pressure` in Pa, with a `vapour_pressure` in Pa of water or modifier in it, 0 for none.
///
/// Errors: 101 for a flow not above zero or vapours that leave no gas, 102 outside the range of the model.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_mass_flow_from_gas_meter(
    fluid: *const dp_fluid,
    volume_flow_rate: f64,
    temperature: f64,
    pressure: f64,
    vapour_pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_fluid(fluid, out, |fluid| {
            mass_flow_from_gas_meter(
                &fluid.fluid,
                volume_flow_rate,
                temperature,
                pressure,
                vapour_pressure,
            )
        })
    }
}

/// What a rhythm of the pressure of a `frequency` in Hz points to in a pump of several `heads` that each make strokes at a
/// `stroke_frequency` in Hz: 1 for one head (its valve or seal), 2 for every head (the compression), 0 for not the pump. Frequencies within
/// a relative `tolerance` count as the same.
///
/// Common practice, no source. Errors: 101 for a frequency not above zero or a tolerance not between 0 and 1.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_ripple_suspect(
    frequency: f64,
    stroke_frequency: f64,
    heads: u32,
    tolerance: f64,
    out: *mut i32,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        out.write(
            match suspect(frequency, stroke_frequency, heads, tolerance)? {
                Suspect::NotThePump => 0,
                Suspect::OneHead => 1,
                Suspect::EveryHead => 2,
            },
        );
        Ok(())
    })
}
