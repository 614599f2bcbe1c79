//! Method documents by guided chance: read, or refused by name; nothing else.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    if let Ok(text) = std::str::from_utf8(data) {
        match densepath::read_method(text) {
            Ok(method) => drop(method.inputs()),
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
});
