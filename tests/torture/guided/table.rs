//! Bytes of property tables by guided chance: a table that answers, or error 611; nothing else. The checksum is made to fit, so that what
//! lies behind it is reached.
#![no_main]

#[path = "../src/sealed.rs"]
mod sealed;

use densepath::PropertyTable;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    let sealed = sealed::sealed(data);
    match PropertyTable::from_bytes(&sealed) {
        Ok(table) => {
            assert_eq!(table.to_bytes(), sealed);
            let [temperature, _] = table.temperature();
            let [_, pressure] = table.pressure();
            table
                .value(0, temperature, pressure)
                .expect("a value at a corner");
        }
        Err(error) => assert_eq!(error.code(), 611),
    }
});
