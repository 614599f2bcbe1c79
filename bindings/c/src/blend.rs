//! What pumps deliver together, and the flows to set for what is wanted.

use std::ffi::c_char;

use densepath_core::Error;
use densepath_core::hardware::{BlendBasis, Feed, Head, WholeFlow, blend, feeds_for};

use crate::argument::{array, array_out, output, refused, text, value};
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{NamedBlend, NamedFluid, c_text, dp_blend, dp_fluid, free, owned};
use crate::mixture::at;

/// What `n` pumps deliver together: each feeds one of `fluids` at one of `volume_flow_rates` in m3/s, counted at one of `temperatures`
/// in K and one of `pressures` in Pa (absolute).
///
/// Valid for pumps that lose nothing. The caller owns the result and frees it with `dp_blend_free`.
/// Errors: 101 for a flow not above zero, 104 for `NULL` and for no pump, and those of `dp_state_from_tp` of each feed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_new(
    fluids: *const *const dp_fluid,
    volume_flow_rates: *const f64,
    temperatures: *const f64,
    pressures: *const f64,
    n: usize,
    out: *mut *mut dp_blend,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (heads, rates, out) = unsafe {
            let heads = heads(fluids, temperatures, pressures, n)?;
            let rates = array(volume_flow_rates, n, "volume_flow_rates")?;
            (heads, rates, output(out, "out")?)
        };
        let feeds = heads.into_iter().zip(rates).map(|(head, rate)| Feed {
            fluid: head.fluid,
            volume_flow_rate: *rate,
            temperature: head.temperature,
            pressure: head.pressure,
        });
        let blend = blend(&feeds.collect::<Vec<_>>())?;
        out.write(owned(NamedBlend {
            substances: blend.substances.iter().map(|name| c_text(name)).collect(),
            blend,
        }));
        Ok(())
    })
}

unsafe fn heads(
    fluids: *const *const dp_fluid,
    temperatures: *const f64,
    pressures: *const f64,
    n: usize,
) -> Result<Vec<Head>, Error> {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        let temperatures = array(temperatures, n, "temperatures")?;
        let pressures = array(pressures, n, "pressures")?.iter();
        let fluids = array(fluids, n, "fluids")?.iter();
        let pairs = fluids.zip(temperatures).zip(pressures);
        pairs
            .map(|((fluid, temperature), pressure)| {
                Ok(Head {
                    fluid: value(*fluid, "fluids")?.fluid.clone(),
                    temperature: *temperature,
                    pressure: *pressure,
                })
            })
            .collect()
    }
}

/// The volume flow rates in m3/s to set, `n` of them in `out`, for wanted `fractions` of the feeds and a whole `mass_flow_rate` in
/// kg/s: the inverse of `dp_blend_new`.
///
/// `basis` tells what the fractions are shares of: "mass", "amount" or "volume", that of the set volumes. They must sum to 1.
/// `out` may not overlap another array. Errors as `dp_blend_new`; besides 103 for fractions that do not sum to 1, 104 for another
/// word for the basis.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_volume_flow_rates(
    fluids: *const *const dp_fluid,
    fractions: *const f64,
    temperatures: *const f64,
    pressures: *const f64,
    n: usize,
    basis: *const c_char,
    mass_flow_rate: f64,
    out: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (heads, fractions, basis, out) = unsafe {
            let heads = heads(fluids, temperatures, pressures, n)?;
            let fractions = array(fractions, n, "fractions")?;
            let others = [
                fractions,
                array(temperatures, n, "temperatures")?,
                array(pressures, n, "pressures")?,
            ];
            let out = array_out(out, n, &others)?;
            (heads, fractions, text(basis, "basis")?, out)
        };
        let basis = match basis {
            "mass" => BlendBasis::Mass,
            "amount" => BlendBasis::Amount,
            "volume" => BlendBasis::Volume,
            other => {
                let words = "\"mass\", \"amount\" or \"volume\"";
                return Err(refused("basis", words, &format!("\"{other}\"")).into());
            }
        };
        let feeds = feeds_for(&heads, fractions, basis, WholeFlow::Mass(mass_flow_rate))?;
        for (place, feed) in out.iter_mut().zip(feeds) {
            *place = feed.volume_flow_rate;
        }
        Ok(())
    })
}

/// Writes what a blend tells.
unsafe fn tell<T>(
    blend: *const dp_blend,
    out: *mut T,
    what: impl FnOnce(&NamedBlend) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (blend, out) = unsafe { (value(blend, "blend")?, output(out, "out")?) };
        out.write(what(blend)?);
        Ok(())
    })
}

/// The mixture with its best model.
///
/// The caller owns the result and frees it with `dp_fluid_free`. Error 202 for a pair without parameters.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_fluid(
    blend: *const dp_blend,
    out: *mut *mut dp_fluid,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(blend, out, |named| {
            Ok(owned(NamedFluid::new(named.blend.fluid()?)))
        })
    }
}

/// Mass flow rate q_m of all pumps in kg/s.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_mass_flow_rate(
    blend: *const dp_blend,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(blend, out, |named| Ok(named.blend.mass_flow_rate)) }
}

/// Number of the substances, in the order in which they are first fed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_substance_count(
    blend: *const dp_blend,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(blend, out, |named| Ok(named.substances.len())) }
}

/// Name of the substance at `index`, from 0. The text belongs to the blend and is valid as long as it.
/// Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_substance_name(
    blend: *const dp_blend,
    index: usize,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(blend, out, |named| {
            Ok(at(&named.substances, "index", index)?.as_ptr())
        })
    }
}

/// Amount fraction x of the substance at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_amount_fraction(
    blend: *const dp_blend,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(blend, out, |named| {
            let fractions = named.blend.composition.amount_fractions();
            at(fractions, "index", index).copied()
        })
    }
}

/// Mass fraction w of the substance at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_mass_fraction(
    blend: *const dp_blend,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(blend, out, |named| {
            at(named.blend.composition.mass_fractions(), "index", index).copied()
        })
    }
}

/// Frees a blend; `NULL` is left alone. Fluids made of it stay valid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blend_free(blend: *mut dp_blend) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(blend) };
}
