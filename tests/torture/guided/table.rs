//! Bytes of property tables by guided chance: a table that answers, or error 611; nothing else. The checksum is made to fit, so that what
//! lies behind it is reached.
#![no_main]

use densepath::PropertyTable;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    let sum = data.iter().fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
        (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    });
    let sealed = [data, &sum.to_le_bytes()].concat();
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
