//! Opaque types of C and the Rust values behind them. A handle can be freed only as what it was made.

use std::ffi::CString;

use densepath_core::{Error, Fluid, State};

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
    pub fn new(fluid: Fluid) -> Result<Self, Error> {
        Ok(Self {
            name: c_text(fluid.name())?,
            model: c_text(fluid.model())?,
            fluid,
        })
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

/// A handle to the value, owned by the caller.
pub fn owned<H: Handle>(value: H::Value) -> *mut H {
    Box::into_raw(Box::new(value)).cast()
}

/// Frees what [`owned`] made; a null pointer is left alone.
///
/// # Safety
///
/// `handle` is null or comes from [`owned`] for the same type and was not freed.
pub unsafe fn free<H: Handle>(handle: *mut H) {
    if !handle.is_null() {
        // SAFETY: by the contract of this function the pointer is that of a box of this type.
        drop(unsafe { Box::from_raw(handle.cast::<H::Value>()) });
    }
}

/// Text as C reads it. Error 901 for text with a NUL inside, which no text of the library has.
pub fn c_text(text: &str) -> Result<CString, Error> {
    CString::new(text).map_err(|_| Error::Internal {
        place: "a text with a NUL inside",
    })
}
