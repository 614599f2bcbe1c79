//! Opaque types of C and the Rust values behind them. A handle can be freed only as what it was made.

use std::ffi::CString;
use std::panic::{AssertUnwindSafe, catch_unwind};

use densepath_core::{Fluid, State};

use crate::solution::Solved;

/// An opaque type of C with the Rust value that its pointers lead to.
pub trait Handle {
    /// The value.
    type Value;
}

/// A substance with its models.
///
/// Made by `dp_fluid_new`, freed by `dp_fluid_free`. It never changes, so that threads may share it.
pub struct dp_fluid {
    _private: [u8; 0],
}

/// A substance, with its texts as C reads them.
pub struct NamedFluid {
    /// The substance.
    pub fluid: Fluid,
    /// Its name in words.
    pub name: CString,
    /// The name of its equation of state.
    pub model: CString,
}

impl NamedFluid {
    /// The substance with its texts.
    pub fn new(fluid: Fluid) -> Self {
        Self {
            name: c_text(fluid.name()),
            model: c_text(fluid.model()),
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
