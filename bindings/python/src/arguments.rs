//! Reading of arguments.

use pyo3::prelude::*;
use pyo3::types::{PyFloat, PyInt};

use crate::error::{Outcome, argument};

/// What becomes of an element that fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OnError {
    /// An exception.
    Raise,
    /// Not a number, silently.
    Nan,
    /// Not a number, with one warning.
    Warn,
}

impl OnError {
    /// The rule by its word.
    pub fn read(word: &str) -> Outcome<Self> {
        match word {
            "raise" => Ok(OnError::Raise),
            "nan" => Ok(OnError::Nan),
            "warn" => Ok(OnError::Warn),
            other => Err(argument(
                "on_error",
                "\"raise\", \"nan\" or \"warn\"",
                format!("\"{other}\""),
            )),
        }
    }
}

/// The number, if the object is a float or an integer of Python.
pub fn plain_number(object: &Bound<'_, PyAny>) -> Option<f64> {
    if let Ok(float) = object.cast::<PyFloat>() {
        return Some(float.value());
    }
    object.cast::<PyInt>().ok()?.extract().ok()
}
