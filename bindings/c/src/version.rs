//! Versions of the library and of its binary interface.

use std::ffi::{CStr, c_char};

use crate::abi::DP_ABI_VERSION;

const VERSION: &CStr =
    match CStr::from_bytes_with_nul(concat!(env!("CARGO_PKG_VERSION"), "\0").as_bytes()) {
        Ok(text) => text,
        Err(_) => c"",
    };

/// Version of the binary interface of the library that the program runs with; compare it with `DP_ABI_VERSION`.
#[unsafe(no_mangle)]
pub extern "C" fn dp_abi_version() -> u32 {
    DP_ABI_VERSION
}

/// Version of the library that the program runs with, such as "1.2.3"; it stays valid, do not free it.
#[unsafe(no_mangle)]
pub extern "C" fn dp_version() -> *const c_char {
    VERSION.as_ptr()
}
