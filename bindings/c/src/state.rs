//! States by any pair of variables, what they tell, and what becomes of them.

use std::ffi::c_char;

use densepath_core::fluid::phase::PseudoCritical;
use densepath_core::{Error, Fluid, Quantity, State};

use crate::argument::{output, refused, text, value};
use crate::dp_status;
use crate::guard::{fill_text, guard};
use crate::handle::{NamedFluid, dp_fluid, dp_state, free, owned};
use crate::lookup::{notice_number, phase_number, quantity};
use crate::mixture::at;

/// Makes a state of a fluid and two variables.
unsafe fn make(
    fluid: *const dp_fluid,
    out: *mut *mut dp_state,
    from: impl FnOnce(&Fluid) -> Result<State, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, out) = unsafe { (value(fluid, "fluid")?, output(out, "out")?) };
        out.write(owned(from(&fluid.fluid)?));
        Ok(())
    })
}

/// The state at `temperature` in K and `pressure` in Pa (absolute); exactly at saturation the liquid.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the equation of state,
/// 303 where the stable phase is solid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_from_tp(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        make(fluid, out, |fluid| {
            State::from_tp(fluid, temperature, pressure)
        })
    }
}

/// The state at `temperature` in K and `density` in kg/m3; two phases inside the dome.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the equation of state.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_from_t_rho(
    fluid: *const dp_fluid,
    temperature: f64,
    density: f64,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        make(fluid, out, |fluid| {
            State::from_t_rho(fluid, temperature, density)
        })
    }
}

/// The state on the pseudo-critical line at `temperature` in K, above the critical one, by the `definition` named: of the largest
/// `heat_capacity` at constant pressure, the largest `density_gradient` by pressure, or the largest isobaric `expansivity` on the
/// isotherm.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 102 below the critical temperature, 104 for another definition, 402 where the property has no largest value.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_pseudo_critical(
    fluid: *const dp_fluid,
    temperature: f64,
    definition: *const c_char,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        make(fluid, out, |fluid| {
            let name = text(definition, "definition")?;
            let definition: PseudoCritical = name.parse().map_err(|()| {
                let expected = "heat_capacity, density_gradient or expansivity";
                refused("definition", expected, &name)
            })?;
            fluid.pseudo_critical(temperature, definition)
        })
    }
}

/// The state at `pressure` in Pa (absolute) and `specific_enthalpy` in J/kg; two phases inside the dome.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_from_ph(
    fluid: *const dp_fluid,
    pressure: f64,
    specific_enthalpy: f64,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        make(fluid, out, |fluid| {
            State::from_ph(fluid, pressure, specific_enthalpy)
        })
    }
}

/// The state at `pressure` in Pa (absolute) and `specific_entropy` in J/(kg K); two phases inside the dome.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_from_ps(
    fluid: *const dp_fluid,
    pressure: f64,
    specific_entropy: f64,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        make(fluid, out, |fluid| {
            State::from_ps(fluid, pressure, specific_entropy)
        })
    }
}

/// Frees a state; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_free(state: *mut dp_state) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(state) };
}

/// Writes what a state tells.
pub unsafe fn tell<T>(
    state: *const dp_state,
    out: *mut T,
    what: impl FnOnce(&State) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (state, out) = unsafe { (value(state, "state")?, output(out, "out")?) };
        out.write(what(state)?);
        Ok(())
    })
}

/// The quantity with the number `property` of `dp_quantity`, in its SI unit: temperature, pressure, or any property of the list
/// of `dp_property_at`.
///
/// Errors: 104 for a number that is not in `dp_quantity`, 202 for a quantity that is no property of a state, 301 for a property of
/// one phase of a state of two, 102 outside the range of the model.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_get(
    state: *const dp_state,
    property: i32,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, |state| state.get(quantity(property)?)) }
}

/// Relative standard uncertainty that the source of its model states for the property with the number `property` of
/// `dp_quantity` at the state; for the refractive index relative to n - 1.
///
/// Errors as `dp_state_get`; besides 102 beyond the range for which it is stated, 202 for a property without a stated uncertainty
/// and near the critical point.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_uncertainty(
    state: *const dp_state,
    property: i32,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, |state| state.uncertainty(quantity(property)?)) }
}

/// Pressure in Pa by which the state lies above the pressure where a second phase appears at its temperature; see
/// `dp_single_phase_margin`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_single_phase_margin(
    state: *const dp_state,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, State::single_phase_margin) }
}

/// Speed of sound in m/s of slow waves, in which the phases of the state stay in equilibrium; that of one phase alone.
///
/// Error 301 at a triple point, where the pressure stays while the volume changes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_equilibrium_speed_of_sound(
    state: *const dp_state,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, State::equilibrium_speed_of_sound) }
}

/// Phase of the state, one of `dp_phase`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_phase(state: *const dp_state, out: *mut i32) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, |state| phase_number(state.phase())) }
}

/// Mass fraction of vapour: 1 for a vapour, 0 for a liquid or a solid, between for two phases.
///
/// Error 202 for a supercritical state, which is neither.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_vapour_fraction(
    state: *const dp_state,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            state.vapour_fraction().ok_or_else(|| Error::MissingModel {
                property: Quantity::VapourFraction,
                fluid: state.fluid().name().to_owned(),
                need: "a supercritical state is neither liquid nor vapour",
            })
        })
    }
}

/// Mass fraction of solid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_solid_fraction(
    state: *const dp_state,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, |state| Ok(state.solid_fraction())) }
}

/// The fluid of the state, which for a phase of a mixture has the composition of the phase.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_fluid(
    state: *const dp_state,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            Ok(owned(NamedFluid::new(state.fluid().clone())))
        })
    }
}

/// Amount fraction x of the substance at `index`, from 0, in the state. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_amount_fraction(
    state: *const dp_state,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            at(state.fluid().amount_fractions(), "index", index).copied()
        })
    }
}

/// Number of the doubts that belong to the state itself.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_notice_count(
    state: *const dp_state,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, |state| Ok(state.all_notices().len())) }
}

/// What the doubt at `index`, from 0, is about, one of `dp_notice_code`. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_notice_code(
    state: *const dp_state,
    index: usize,
    out: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            notice_number(at(&state.all_notices(), "index", index)?.code)
        })
    }
}

/// The words of the doubt at `index`, from 0, in `buffer` of `capacity` bytes; see `dp_last_error_message`.
/// Error 104 for an index beyond the last, and if `buffer` is `NULL` and `capacity` is not 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_notice_text(
    state: *const dp_state,
    index: usize,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        unsafe {
            let notices = value(state, "state")?.all_notices();
            let notice = at(&notices, "index", index)?;
            Ok(fill_text(&notice.text, buffer, capacity, needed)?)
        }
    })
}

/// One of the phases of a state of several.
fn part(part: Option<&State>, name: &str, phase: &str) -> Result<*mut dp_state, Error> {
    let part = part.ok_or_else(|| {
        let got = format!("{phase}, asked for its {name}");
        refused(
            "state",
            "a state of several phases that holds the phase asked for",
            &got,
        )
    })?;
    Ok(owned(part.clone()))
}

/// The liquid of a state of several phases, the densest if there are more.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 if the state is of another kind.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_liquid(
    state: *const dp_state,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            part(state.liquid(), "liquid", state.phase().name())
        })
    }
}

/// The vapour of a state of several phases.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 if the state is of another kind.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_vapour(
    state: *const dp_state,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(state, out, |state| {
            part(state.vapour(), "vapour", state.phase().name())
        })
    }
}

/// The state after throttling to `pressure` in Pa (absolute): the same enthalpy, solid included.
///
/// Valid for a valve or an orifice without heat exchange, once the velocity has died out.
/// The caller owns the result and frees it with `dp_state_free`. Errors as `dp_state_from_ph`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_state_expand_to(
    state: *const dp_state,
    pressure: f64,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(state, out, |state| Ok(owned(state.expand_to(pressure)?))) }
}
