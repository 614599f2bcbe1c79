//! What the tests of the parts share.

use crate::fluid::Fluid;

/// Carbon dioxide.
pub fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

/// Whether two numbers agree to a relative tolerance.
pub fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}
