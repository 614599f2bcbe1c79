//! Mixtures: how they are made, what they are made of, their phases and their critical lines.

use std::ffi::c_char;

use densepath_core::fluid::phase::{BoundaryKind, Flash, FlashPhase, PhaseBoundary};
use densepath_core::{CriticalPoint, Error, Fluid, ModelChoice, critical_locus};

use crate::argument::{array, output, refused, text, value};
use crate::dp_status;
use crate::fluid::tell;
use crate::guard::guard;
use crate::handle::{
    NamedFluid, NamedLocus, c_text, dp_boundaries, dp_critical_locus, dp_fluid, dp_phases,
    dp_state, free, owned,
};

/// The element at an index; error 104 beyond the last.
pub fn at<'a, T>(all: &'a [T], argument: &str, index: usize) -> Result<&'a T, Error> {
    all.get(index).ok_or_else(|| {
        let got = format!("{index} of {}", all.len());
        refused(argument, "below the number of them", &got)
    })
}

/// The substance called `name` with the model wanted: "best", "multi-fluid" (the reference equation) or "cubic".
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Errors as `dp_fluid_new`; besides 104 for another word for the model, 202 if the substance has no such model.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_new_with_model(
    name: *const c_char,
    model: *const c_char,
    out: *mut *mut dp_fluid,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (name, model, out) = unsafe {
            let (name, model) = (text(name, "name")?, text(model, "model")?);
            (name, model, output(out, "out")?)
        };
        let fluid = Fluid::new_with_model(name, model.parse()?)?;
        out.write(owned(NamedFluid::new(fluid)));
        Ok(())
    })
}

/// A mixture of `n` substances told by their `names`, as `dp_fluid_new` takes them, with their `amount_fractions`, which must sum to
/// 1 within 1e-9 and may be zero.
///
/// The model is the multi-fluid equation where every pair has parameters from measurements, else the cubic equation, which a
/// notice of every state then tells. The caller owns the result and frees it with `dp_fluid_free`.
/// Errors: 103 for fractions that are none or do not sum to 1, 104 for `NULL`, for no substance, and for one named twice, 201 for
/// an unknown name, 202 for a pair without parameters.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_mixture_new(
    names: *const *const c_char,
    amount_fractions: *const f64,
    n: usize,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    guard(|| unsafe {
        let model = ModelChoice::Best;
        let out = output(out, "out")?;
        out.write(owned(mixture(names, amount_fractions, n, model)?));
        Ok(())
    })
}

/// As `dp_mixture_new`, with the model wanted: "best", "multi-fluid" or "cubic".
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Errors as `dp_mixture_new`; besides 104 for another word for the model.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_mixture_new_with_model(
    names: *const *const c_char,
    amount_fractions: *const f64,
    n: usize,
    model: *const c_char,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    guard(|| unsafe {
        let model = text(model, "model")?.parse()?;
        let out = output(out, "out")?;
        out.write(owned(mixture(names, amount_fractions, n, model)?));
        Ok(())
    })
}

unsafe fn mixture(
    names: *const *const c_char,
    amount_fractions: *const f64,
    n: usize,
    model: ModelChoice,
) -> Result<NamedFluid, Error> {
    // SAFETY: the caller keeps the rules of the header.
    let (names, fractions) = unsafe {
        let names = array(names, n, "names")?.iter();
        let names: Vec<&str> = names
            .map(|name| text(*name, "names"))
            .collect::<Result<_, _>>()?;
        let fractions = array(amount_fractions, n, "amount_fractions")?;
        (names, fractions)
    };
    let substances: Vec<(&str, f64)> = names.into_iter().zip(fractions.iter().copied()).collect();
    let fluid = Fluid::mixture_with_model(&substances, model)?;
    Ok(NamedFluid::new(fluid))
}

/// The same substances with the same model in other amount fractions, `n` of them; cheaper than a new mixture.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Errors: 103 for fractions that are none or do not sum to 1, 104 for another number of them than of substances.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_with_amount_fractions(
    fluid: *const dp_fluid,
    amount_fractions: *const f64,
    n: usize,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            let fractions = array(amount_fractions, n, "amount_fractions")?;
            let other = fluid.fluid.with_amount_fractions(fractions)?;
            Ok(owned(NamedFluid::new(other)))
        })
    }
}

/// The same fluid, whose models may be asked beyond their ranges: up to one and a half times the highest temperature and ten
/// times the highest pressure of each. A notice of the state tells of it, and no uncertainty is known there.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_extrapolating(
    fluid: *const dp_fluid,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            Ok(owned(NamedFluid::new(fluid.fluid.extrapolating())))
        })
    }
}

/// The same fluid with a dynamic viscosity that is `factor`, 0.1 to 10, times that of its model: a measured ratio, or the model's
/// uncertainty put into a budget.
///
/// Reynolds numbers, friction and estimates of diffusion follow; the thermal conductivity does not. Errors: 102 for another factor.
/// The caller owns the result and frees it with `dp_fluid_free`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_with_viscosity_factor(
    fluid: *const dp_fluid,
    factor: f64,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            let corrected = fluid.fluid.with_viscosity_factor(factor)?;
            Ok(owned(NamedFluid::new(corrected)))
        })
    }
}

/// The same fluid whose density at a temperature in K and a pressure in Pa of one phase is `factor`, 0.8 to 1.25, times that of its model: a
/// measured ratio, or the model's uncertainty put into a budget. It replaces one that is in force.
///
/// A constant is added to the specific volume at each temperature and pressure, and that times the pressure to the enthalpy, so that states
/// stay consistent; entropy, internal energy, heat capacities, phase equilibria, viscosity and conductivity stay. Errors: 102 for another
/// factor, 301 for two phases there, and those of `dp_state_from_tp`. The caller owns the result and frees it with `dp_fluid_free`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_with_density_factor(
    fluid: *const dp_fluid,
    factor: f64,
    temperature: f64,
    pressure: f64,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            let corrected = fluid
                .fluid
                .with_density_factor(factor, temperature, pressure)?;
            Ok(owned(NamedFluid::new(corrected)))
        })
    }
}

/// Number of the substances of the fluid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_substance_count(
    fluid: *const dp_fluid,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(fluid, out, |fluid| Ok(fluid.substances.len())) }
}

/// Name of the substance at `index`, from 0. The text belongs to the fluid and is valid as long as it.
/// Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_substance_name(
    fluid: *const dp_fluid,
    index: usize,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            Ok(at(&fluid.substances, "index", index)?.as_ptr())
        })
    }
}

/// Amount fraction x of the substance at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_amount_fraction(
    fluid: *const dp_fluid,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            at(fluid.fluid.amount_fractions(), "index", index).copied()
        })
    }
}

/// Mass fraction w of the substance at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_mass_fraction(
    fluid: *const dp_fluid,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            at(fluid.fluid.mass_fractions(), "index", index).copied()
        })
    }
}

/// Number of the critical points of the composition, the metastable ones too; 1 for a substance.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_point_count(
    fluid: *const dp_fluid,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(fluid, out, |fluid| Ok(fluid.fluid.critical_points()?.len())) }
}

/// A critical point.
#[repr(C)]
pub struct dp_critical {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Amount fraction of the second substance on a critical line; NaN elsewhere.
    pub amount_fraction: f64,
    /// 1 if no other phase is more stable there, 0 otherwise.
    pub is_stable: i32,
}

impl dp_critical {
    fn new(point: &CriticalPoint, amount_fraction: f64) -> Self {
        Self {
            temperature: point.temperature,
            pressure: point.pressure,
            density: point.density,
            amount_fraction,
            is_stable: i32::from(point.is_stable),
        }
    }
}

/// The critical point at `index`, from 0, by falling temperature. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_point_at(
    fluid: *const dp_fluid,
    index: usize,
    out: *mut dp_critical,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            let points = fluid.fluid.critical_points()?;
            Ok(dp_critical::new(at(&points, "index", index)?, f64::NAN))
        })
    }
}

/// Places of a border: the variable that is sought, and both phases.
#[derive(Clone, Copy)]
struct Places {
    sought: *mut f64,
    sought_name: &'static str,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
}

/// Writes the border of phases that a fluid has.
unsafe fn border(
    fluid: *const dp_fluid,
    places: Places,
    find: impl FnOnce(&Fluid) -> Result<(f64, PhaseBoundary), Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, sought, liquid, vapour) = unsafe {
            let sought = output(places.sought, places.sought_name)?;
            let liquid = output(places.liquid, "liquid")?;
            (
                value(fluid, "fluid")?,
                sought,
                liquid,
                output(places.vapour, "vapour")?,
            )
        };
        let (found, boundary) = find(&fluid.fluid)?;
        sought.write(found);
        liquid.write(owned(boundary.liquid));
        vapour.write(owned(boundary.vapour));
        Ok(())
    })
}

/// The bubble point at a temperature in K: the pressure in Pa at which the fluid begins to boil, the fluid itself as a liquid, and the
/// first bubble. Of several that of the lowest pressure; `dp_boundaries_at_temperature` gives all.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_bubble_point_at_temperature(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: *mut f64,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    let places = Places {
        sought: pressure,
        sought_name: "pressure",
        liquid,
        vapour,
    };
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        border(fluid, places, |fluid| {
            let found = fluid.bubble_point_at_temperature(temperature)?;
            Ok((found.pressure, found))
        })
    }
}

/// The bubble point at a pressure in Pa: the temperature in K at which the fluid begins to boil, the fluid itself as a liquid, and the
/// first bubble. Of several that of the highest temperature; `dp_boundaries_at_pressure` gives all.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_bubble_point_at_pressure(
    fluid: *const dp_fluid,
    pressure: f64,
    temperature: *mut f64,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    let places = Places {
        sought: temperature,
        sought_name: "temperature",
        liquid,
        vapour,
    };
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        border(fluid, places, |fluid| {
            let found = fluid.bubble_point_at_pressure(pressure)?;
            Ok((found.temperature, found))
        })
    }
}

/// The dew point at a temperature in K: the pressure in Pa at which the fluid begins to condense, the first drop, and the fluid itself
/// as a vapour. Of several that of the lowest pressure; `dp_boundaries_at_temperature` gives the retrograde ones too.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_dew_point_at_temperature(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: *mut f64,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    let places = Places {
        sought: pressure,
        sought_name: "pressure",
        liquid,
        vapour,
    };
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        border(fluid, places, |fluid| {
            let found = fluid.dew_point_at_temperature(temperature)?;
            Ok((found.pressure, found))
        })
    }
}

/// The dew point at a pressure in Pa: the temperature in K at which the fluid begins to condense, the first drop, and the fluid itself
/// as a vapour. Of several that of the highest temperature; `dp_boundaries_at_pressure` gives all.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_dew_point_at_pressure(
    fluid: *const dp_fluid,
    pressure: f64,
    temperature: *mut f64,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    let places = Places {
        sought: temperature,
        sought_name: "temperature",
        liquid,
        vapour,
    };
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        border(fluid, places, |fluid| {
            let found = fluid.dew_point_at_pressure(pressure)?;
            Ok((found.temperature, found))
        })
    }
}

/// Every border between one and two phases at a temperature in K, by rising pressure: bubble and dew points, the retrograde ones and
/// those between liquids too; none where there is one phase throughout.
///
/// The caller owns the result and frees it with `dp_boundaries_free`. Errors as `dp_bubble_point_at_temperature`, without 402.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_boundaries_at_temperature(
    fluid: *const dp_fluid,
    temperature: f64,
    out: *mut *mut dp_boundaries,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            Ok(owned(fluid.fluid.boundaries_at_temperature(temperature)?))
        })
    }
}

/// Every border between one and two phases at a pressure in Pa, by rising temperature; see `dp_boundaries_at_temperature`.
///
/// The caller owns the result and frees it with `dp_boundaries_free`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_boundaries_at_pressure(
    fluid: *const dp_fluid,
    pressure: f64,
    out: *mut *mut dp_boundaries,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            Ok(owned(fluid.fluid.boundaries_at_pressure(pressure)?))
        })
    }
}

/// Number of the borders.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_boundaries_count(
    boundaries: *const dp_boundaries,
    out: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (all, out) = unsafe { (value(boundaries, "boundaries")?, output(out, "out")?) };
        out.write(all.len());
        Ok(())
    })
}

/// A border between one and two phases.
#[repr(C)]
pub struct dp_boundary {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// 1 where a thinner phase appears, a bubble; 0 where a denser one does, a drop.
    pub is_bubble: i32,
}

/// The border at `index`, from 0, with the denser and the thinner phase as states.
///
/// The caller owns both states and frees them with `dp_state_free`. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_boundaries_at(
    boundaries: *const dp_boundaries,
    index: usize,
    out: *mut dp_boundary,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (all, out, liquid, vapour) = unsafe {
            let (liquid, vapour) = (output(liquid, "liquid")?, output(vapour, "vapour")?);
            (
                value(boundaries, "boundaries")?,
                output(out, "out")?,
                liquid,
                vapour,
            )
        };
        let found = at(all, "index", index)?;
        out.write(dp_boundary {
            temperature: found.temperature,
            pressure: found.pressure,
            is_bubble: i32::from(found.kind == BoundaryKind::Bubble),
        });
        liquid.write(owned(found.liquid.clone()));
        vapour.write(owned(found.vapour.clone()));
        Ok(())
    })
}

/// Frees borders; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_boundaries_free(boundaries: *mut dp_boundaries) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(boundaries) };
}

/// The phases of the fluid at `temperature` in K and `pressure` in Pa (absolute), by falling density; one where it does not part.
///
/// The caller owns the result and frees it with `dp_phases_free`. Errors as `dp_state_from_tp`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_flash(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut *mut dp_phases,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            Ok(owned(fluid.fluid.flash(temperature, pressure)?))
        })
    }
}

/// Writes what phases tell.
unsafe fn of_phases<T>(
    phases: *const dp_phases,
    out: *mut T,
    what: impl FnOnce(&Flash) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (phases, out) = unsafe { (value(phases, "phases")?, output(out, "out")?) };
        out.write(what(phases)?);
        Ok(())
    })
}

/// Number of the phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_phases_count(phases: *const dp_phases, out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { of_phases(phases, out, |found| Ok(found.phases.len())) }
}

fn phase(found: &Flash, index: usize) -> Result<&FlashPhase, Error> {
    at(&found.phases, "index", index)
}

/// Share of the amount of the whole fluid that is in the phase at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_phases_fraction(
    phases: *const dp_phases,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        of_phases(
            phases,
            out,
            |found| Ok(phase(found, index)?.amount_fraction),
        )
    }
}

/// Share of the mass of the whole fluid that is in the phase at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_phases_mass_fraction(
    phases: *const dp_phases,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { of_phases(phases, out, |found| Ok(phase(found, index)?.mass_fraction)) }
}

/// The phase at `index`, from 0, as a state; its composition is told by `dp_state_amount_fraction`.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_phases_state(
    phases: *const dp_phases,
    index: usize,
    out: *mut *mut dp_state,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        of_phases(phases, out, |found| {
            Ok(owned(phase(found, index)?.state.clone()))
        })
    }
}

/// Frees phases; `NULL` is left alone. States made of them stay valid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_phases_free(phases: *mut dp_phases) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(phases) };
}

/// Every critical line of two substances told by their names, within the range of their mixtures; `model` is "best", "multi-fluid"
/// or "cubic".
///
/// The caller owns the result and frees it with `dp_critical_locus_free`. It may take a second. Of three points in a row of a line one is
/// tested for stability; those between two that agree have their answer.
/// Errors: 104 for another word for the model, 201 for an unknown name, 202 for a pair without parameters.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_new(
    first: *const c_char,
    second: *const c_char,
    model: *const c_char,
    out: *mut *mut dp_critical_locus,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (first, second, model, out) = unsafe {
            let (first, second) = (text(first, "first")?, text(second, "second")?);
            (first, second, text(model, "model")?, output(out, "out")?)
        };
        let line = critical_locus(first, second, model.parse()?)?;
        let kind = c_text(line.kind.name());
        out.write(owned(NamedLocus { line, kind }));
        Ok(())
    })
}

/// How the lines hang together: "joined" where one line joins the critical points of both substances, "joined, with a line of two
/// liquids", "interrupted" where phases on a part within it are not stable, "interrupted, with a line of two liquids", "broken"
/// where no line joins both, and "not known" where a line of stable phases was lost, or left the temperatures of the mixture,
/// before it told. The text belongs to the lines and is valid as long as they are.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_kind(
    locus: *const dp_critical_locus,
    out: *mut *const c_char,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (locus, out) = unsafe { (value(locus, "locus")?, output(out, "out")?) };
        out.write(locus.kind.as_ptr());
        Ok(())
    })
}

/// 1 if one line of stable phases joins the critical points of both substances, 0 otherwise, and where that is not known.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_is_joined(
    locus: *const dp_critical_locus,
    out: *mut i32,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (locus, out) = unsafe { (value(locus, "locus")?, output(out, "out")?) };
        out.write(i32::from(locus.line.kind.is_joined()));
        Ok(())
    })
}

/// Number of the lines: first that from the first substance, then, if it does not end there, that from the second, then others.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_branch_count(
    locus: *const dp_critical_locus,
    out: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (locus, out) = unsafe { (value(locus, "locus")?, output(out, "out")?) };
        out.write(locus.line.branches.len());
        Ok(())
    })
}

/// Number of the points of the line `branch`, from 0. Error 104 for a number beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_point_count(
    locus: *const dp_critical_locus,
    branch: usize,
    out: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (locus, out) = unsafe { (value(locus, "locus")?, output(out, "out")?) };
        out.write(at(&locus.line.branches, "branch", branch)?.points.len());
        Ok(())
    })
}

/// The point at `index`, from 0, of the line `branch`, from 0. Error 104 for a number beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_point(
    locus: *const dp_critical_locus,
    branch: usize,
    index: usize,
    out: *mut dp_critical,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (locus, out) = unsafe { (value(locus, "locus")?, output(out, "out")?) };
        let line = at(&locus.line.branches, "branch", branch)?;
        let point = at(&line.points, "index", index)?;
        let fraction = at(&line.amount_fraction, "index", index)?;
        out.write(dp_critical::new(point, *fraction));
        Ok(())
    })
}

/// Frees critical lines; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_locus_free(locus: *mut dp_critical_locus) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(locus) };
}
