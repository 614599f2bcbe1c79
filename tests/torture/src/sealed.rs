//! A checksum made to fit, as someone with bad intent would, so that what lies behind it is reached.

/// Bytes with the checksum of a property table behind them: 64 bit of Fowler, Noll and Vo (FNV-1a).
pub fn sealed(bytes: &[u8]) -> Vec<u8> {
    let sum = bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
        (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    });
    [bytes, &sum.to_le_bytes()].concat()
}
