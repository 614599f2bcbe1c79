//! Elementary functions of plain numbers, for modules in which a trait of numbers has methods of the same names.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

#[inline(always)]
pub(super) fn exp(x: f64) -> f64 {
    x.exp()
}

#[inline(always)]
pub(super) fn ln(x: f64) -> f64 {
    x.ln()
}

#[inline(always)]
pub(super) fn ln_1p(x: f64) -> f64 {
    x.ln_1p()
}

#[inline(always)]
pub(super) fn powi(x: f64, power: i32) -> f64 {
    x.powi(power)
}

#[inline(always)]
pub(super) fn sqrt(x: f64) -> f64 {
    x.sqrt()
}
