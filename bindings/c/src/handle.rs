//! Opaque types of C and the Rust values behind them. A handle can be freed only as what it was made.

use std::ffi::CString;
use std::panic::{AssertUnwindSafe, catch_unwind};

use densepath_core::fluid::phase::{CriticalLine, Flash, PhaseBoundary};
use densepath_core::hardware::Blend;
use densepath_core::{Fluid, State};

use crate::cycle::NamedCycle;
use crate::danger::Danger;
use crate::property_table::NamedTable;
use crate::solution::Solved;

/// An opaque type of C with the Rust value that its pointers lead to.
pub trait Handle {
    /// The value.
    type Value;
}

/// A substance or a mixture with its models.
///
/// Made by `dp_fluid_new`, `dp_mixture_new` and others that say so, freed by `dp_fluid_free`. It never changes, so that threads
/// may share it.
pub struct dp_fluid {
    _private: [u8; 0],
}

/// A fluid, with its texts as C reads them.
pub struct NamedFluid {
    /// The fluid.
    pub fluid: Fluid,
    /// Its name in words.
    pub name: CString,
    /// The names of its substances.
    pub substances: Vec<CString>,
    /// The name of its equation of state.
    pub model: CString,
}

impl NamedFluid {
    /// The fluid with its texts.
    pub fn new(fluid: Fluid) -> Self {
        Self {
            name: c_text(fluid.name()),
            model: c_text(&fluid.corrected_model()),
            substances: fluid.substances().into_iter().map(c_text).collect(),
            fluid,
        }
    }
}

impl Handle for dp_fluid {
    type Value = NamedFluid;
}

/// The state of a fluid at one point.
///
/// Made by the functions `dp_state_from_*` and others that say so, freed by `dp_state_free`. It does not need its `dp_fluid`
/// any more and never changes, so that threads may share it.
pub struct dp_state {
    _private: [u8; 0],
}

impl Handle for dp_state {
    type Value = State;
}

/// The phases of a fluid at a temperature and a pressure, by falling density.
///
/// Made by `dp_flash`, freed by `dp_phases_free`. It never changes, so that threads may share it.
pub struct dp_phases {
    _private: [u8; 0],
}

impl Handle for dp_phases {
    type Value = Flash;
}

/// Every border between one and two phases of a fluid at a temperature or at a pressure.
///
/// Made by `dp_boundaries_at_temperature` and `dp_boundaries_at_pressure`, freed by `dp_boundaries_free`. It never changes, so
/// that threads may share it.
pub struct dp_boundaries {
    _private: [u8; 0],
}

impl Handle for dp_boundaries {
    type Value = Vec<PhaseBoundary>;
}

/// The critical lines of two substances.
///
/// Made by `dp_critical_locus_new`, freed by `dp_critical_locus_free`. It never changes, so that threads may share it.
pub struct dp_critical_locus {
    _private: [u8; 0],
}

/// Critical lines, with their text as C reads it.
pub struct NamedLocus {
    /// The lines.
    pub line: CriticalLine,
    /// How they hang together.
    pub kind: CString,
}

impl Handle for dp_critical_locus {
    type Value = NamedLocus;
}

/// What pumps deliver together.
///
/// Made by `dp_blend_new`, freed by `dp_blend_free`. It does not need the fluids of its feeds any more and never changes, so that
/// threads may share it.
pub struct dp_blend {
    _private: [u8; 0],
}

/// A blend, with its texts as C reads them.
pub struct NamedBlend {
    /// The blend.
    pub blend: Blend,
    /// The names of its substances.
    pub substances: Vec<CString>,
}

impl Handle for dp_blend {
    type Value = NamedBlend;
}

/// What can hurt, in numbers, with the cautions that belong to them.
///
/// Made by `dp_blocked_in`, `dp_stored_energy` and others that say so, freed by `dp_danger_free`. It never changes, so that threads may
/// share it.
pub struct dp_danger {
    _private: [u8; 0],
}

impl Handle for dp_danger {
    type Value = Danger;
}

/// What the runs of a method take and use up.
///
/// Made by `dp_solution_cycle`, freed by `dp_cycle_free`. It does not need its `dp_solution` any more and never changes, so that threads
/// may share it.
pub struct dp_cycle {
    _private: [u8; 0],
}

impl Handle for dp_cycle {
    type Value = NamedCycle;
}

/// Properties of a fluid over a region as a table.
///
/// Made by `dp_table_new` and `dp_table_read`, freed by `dp_table_free`. It never changes, so that threads may share it.
pub struct dp_table {
    _private: [u8; 0],
}

impl Handle for dp_table {
    type Value = NamedTable;
}

/// All that follows from a method in steady flow.
///
/// Made by `dp_solve_toml` and `dp_solve_file`, freed by `dp_solution_free`. It never changes, so that threads may share it.
pub struct dp_solution {
    _private: [u8; 0],
}

impl Handle for dp_solution {
    type Value = Solved;
}

/// A handle to the value, owned by the caller.
pub fn owned<H: Handle>(value: H::Value) -> *mut H {
    Box::into_raw(Box::new(value)).cast()
}

/// Frees what [`owned`] made; a null pointer is left alone, and so is the last error, which is often asked for after cleaning up.
///
/// # Safety
///
/// `handle` is null or comes from [`owned`] for the same type and was not freed.
pub unsafe fn free<H: Handle>(handle: *mut H) {
    if handle.is_null() {
        return;
    }
    // A value that cannot be dropped is lost; nothing of it is used again, and there is no status to tell it by.
    let _ = catch_unwind(AssertUnwindSafe(|| {
        // SAFETY: by the contract of this function the pointer is that of a box of this type.
        drop(unsafe { Box::from_raw(handle.cast::<H::Value>()) });
    }));
}

/// Text as C reads it; a NUL inside, which would end it early, becomes the replacement character.
pub fn c_text(text: &str) -> CString {
    CString::new(text.replace('\0', "\u{fffd}")).unwrap_or_default()
}
