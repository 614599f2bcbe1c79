//! The border of every entry: errors become numbers, panics become error 901, and the last of them can be asked for.

use std::cell::RefCell;
use std::ffi::c_char;
use std::panic::{AssertUnwindSafe, catch_unwind};

use densepath_core::{BatchError, Error};

use crate::argument::{output, refused};
use crate::dp_status;
use crate::lookup::quantity_number;
use crate::tables::{dp_error, dp_quantity};

/// An error with the index of the array element it was found at.
#[derive(Debug, Clone)]
pub struct Failure {
    error: Error,
    element: Option<usize>,
}

impl From<Error> for Failure {
    #[cold]
    fn from(error: Error) -> Self {
        let element = match error {
            Error::InElement { index, .. } => Some(index),
            _ => None,
        };
        Self { error, element }
    }
}

impl From<BatchError> for Failure {
    fn from(batch: BatchError) -> Self {
        // Arrays that do not match are no fault of one element.
        let is_of_element = !matches!(batch.error, Error::Argument { .. });
        Self {
            element: is_of_element.then_some(batch.index),
            error: batch.error,
        }
    }
}

impl Failure {
    fn of_a_panic() -> Self {
        Self::from(Error::Internal {
            place: "a function that stopped by a panic",
        })
    }

    fn status(&self) -> dp_status {
        self.error.code()
    }

    fn message(&self) -> String {
        match (self.element, &self.error) {
            (Some(index), error) if !matches!(error, Error::InElement { .. }) => {
                format!("element {index}: {error}")
            }
            (_, error) => error.to_string(),
        }
    }
}

thread_local! {
    static LAST: RefCell<Option<Failure>> = const { RefCell::new(None) };
}

/// Runs the body of an entry and returns its status; the failure, or none, becomes the last of this thread.
#[inline]
pub fn guard(body: impl FnOnce() -> Result<(), Failure>) -> dp_status {
    // A failure is kept within, so that a success moves nothing but its status.
    let entry = || match body() {
        Ok(()) if is_clear() => dp_error::DP_OK as i32,
        outcome => keep(outcome.err()),
    };
    // After a panic nothing of the body is used again but handles, which are immutable.
    catch_unwind(AssertUnwindSafe(entry)).unwrap_or_else(|_| keep(Some(Failure::of_a_panic())))
}

/// Whether the last call of this thread succeeded, so that there is nothing to clear.
fn is_clear() -> bool {
    LAST.try_with(|last| last.borrow().is_none())
        .unwrap_or(true)
}

/// Makes a failure, or none, the last of this thread, and returns its status.
#[cold]
fn keep(failure: Option<Failure>) -> dp_status {
    let status = failure
        .as_ref()
        .map_or(dp_error::DP_OK as i32, Failure::status);
    // While a thread ends, its last error may be gone; the status still tells.
    let _ = LAST.try_with(|last| last.replace(failure));
    status
}

fn last() -> Option<Failure> {
    LAST.try_with(|last| last.borrow().clone()).ok().flatten()
}

/// The numbers of the last error of the calling thread.
#[repr(C)]
pub struct dp_error_info {
    /// Number of the error, one of `dp_error`; `DP_OK` if the last call succeeded.
    pub code: dp_status,
    /// Number of the error that was found inside a part where `code` is `DP_ERROR_IN_ELEMENT`; the same as `code` elsewhere.
    pub cause: dp_status,
    /// Number of the quantity concerned, one of `dp_quantity`; `DP_QUANTITY_NONE` if there is none.
    pub quantity: i32,
    /// The offending value in the SI unit of the quantity; NaN if there is none.
    pub value: f64,
    /// Smallest value allowed, in the same unit; NaN if there is none.
    pub min: f64,
    /// Largest value allowed, in the same unit; NaN if there is none.
    pub max: f64,
    /// Index, from 0, of the array element or of the part of the instrument; -1 if there is none.
    pub element: i64,
}

impl dp_error_info {
    fn of(failure: Option<&Failure>) -> Self {
        let error = failure.map(|failure| &failure.error);
        let number = |value: fn(&Error) -> Option<f64>| error.and_then(value).unwrap_or(f64::NAN);
        Self {
            code: failure.map_or(dp_error::DP_OK as i32, Failure::status),
            cause: error.map_or(dp_error::DP_OK as i32, |error| error.root().code()),
            quantity: error
                .and_then(Error::quantity)
                .map_or(dp_quantity::DP_QUANTITY_NONE as i32, quantity_number),
            value: number(Error::value),
            min: number(Error::min),
            max: number(Error::max),
            element: failure
                .and_then(|failure| failure.element)
                .and_then(|index| i64::try_from(index).ok())
                .unwrap_or(-1),
        }
    }
}

/// The numbers of the last error of the calling thread.
///
/// Every other function that returns a status sets or clears it; this one and `dp_last_error_message` leave it as it is.
/// Error 104 if `out` is `NULL`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_last_error(out: *mut dp_error_info) -> dp_status {
    let info = catch_unwind(|| dp_error_info::of(last().as_ref()));
    // SAFETY: the caller keeps the rules of the header.
    match (info, unsafe { output(out, "out") }) {
        (Ok(info), Ok(out)) => {
            out.write(info);
            dp_error::DP_OK as i32
        }
        (Err(_), _) => dp_error::DP_ERROR_INTERNAL as i32,
        (_, Err(error)) => error.code(),
    }
}

/// The message of the last error of the calling thread: what was refused, its value with unit, the limit, and what to do.
///
/// At most `capacity` bytes are written to `buffer`, the closing NUL included; a longer message is cut between two characters.
/// `buffer` may be `NULL` if `capacity` is 0. `needed`, unless it is `NULL`, receives the bytes of the whole message, the
/// closing NUL included. The message is empty if the last call succeeded. Text is UTF-8.
/// Error 104 if `buffer` is `NULL` and `capacity` is not 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_last_error_message(
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
) -> dp_status {
    let Ok(message) = catch_unwind(|| last().map_or_else(String::new, |last| last.message()))
    else {
        return dp_error::DP_ERROR_INTERNAL as i32;
    };
    // SAFETY: the caller keeps the rules of the header.
    let filled = unsafe { fill_text(&message, buffer, capacity, needed) };
    filled.map_or_else(|error| error.code(), |()| dp_error::DP_OK as i32)
}

/// Writes text to a buffer, cut between two characters, and the bytes that the whole of it needs.
///
/// # Safety
///
/// `buffer` is null or holds `capacity` bytes; `needed` is null or leads to memory for a number.
pub unsafe fn fill_text(
    text: &str,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
) -> Result<(), Error> {
    if buffer.is_null() && capacity > 0 {
        return Err(refused("buffer", "not NULL", &"NULL"));
    }
    if capacity > 0 {
        let kept = fitting(text, capacity - 1);
        // SAFETY: `buffer` holds `capacity` bytes by the contract of this function, and `kept + 1 <= capacity`.
        unsafe {
            buffer
                .cast::<u8>()
                .copy_from_nonoverlapping(text.as_ptr(), kept);
            buffer.add(kept).write(0);
        }
    }
    // SAFETY: by the contract of this function.
    if let Ok(needed) = unsafe { output(needed, "needed") } {
        needed.write(text.len() + 1);
    }
    Ok(())
}

/// The most bytes, `limit` at most, that `message` can be cut to between two characters.
fn fitting(message: &str, limit: usize) -> usize {
    let mut kept = limit.min(message.len());
    while !message.is_char_boundary(kept) {
        kept -= 1;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message() -> String {
        let mut buffer = [0_u8; 400];
        let mut needed = 0;
        // SAFETY: the buffer is as long as said.
        let status = unsafe {
            dp_last_error_message(buffer.as_mut_ptr().cast(), buffer.len(), &raw mut needed)
        };
        assert_eq!((status, buffer[needed - 1]), (0, 0));
        String::from_utf8(buffer[..needed - 1].to_vec()).unwrap()
    }

    #[test]
    fn a_panic_becomes_error_901() {
        let status = guard(|| panic!("on purpose"));
        assert_eq!(status, 901);
        assert!(message().starts_with("internal fault"));
        assert_eq!(guard(|| Ok(())), 0);
        assert_eq!(message(), "");
    }

    #[test]
    fn a_message_is_cut_between_characters() {
        guard(|| {
            Err(Failure::from(Error::UnknownFluid {
                name: "é".repeat(50),
                nearest: None,
            }))
        });
        let whole = message();
        for capacity in 1..=whole.len() + 1 {
            let mut buffer = vec![0x7f_u8; capacity];
            // SAFETY: the buffer is as long as said, and `needed` may be null.
            unsafe {
                dp_last_error_message(buffer.as_mut_ptr().cast(), capacity, std::ptr::null_mut());
            }
            let end = buffer.iter().position(|&byte| byte == 0).unwrap();
            let text = std::str::from_utf8(&buffer[..end]).unwrap();
            assert!(whole.starts_with(text) && end + 2 >= capacity);
        }
    }

    #[test]
    fn an_error_in_a_part_tells_its_place() {
        let inner = Error::Domain {
            quantity: densepath_core::Quantity::Length,
            value: -1.0,
            rule: "finite and above zero",
        };
        let status = guard(|| {
            Err(Failure::from(Error::InElement {
                element: "tube".to_owned(),
                index: 3,
                source: Box::new(inner),
            }))
        });
        let info = dp_error_info::of(last().as_ref());
        assert_eq!((status, info.code, info.cause), (590, 590, 101));
        assert_eq!((info.element, info.value), (3, -1.0));
        assert_eq!(info.quantity, dp_quantity::DP_QUANTITY_LENGTH as i32);
    }
}
