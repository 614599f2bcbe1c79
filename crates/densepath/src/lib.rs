//! From the pump head to the outlet: the laws of flow, the parts of the instrument, the path and its report.

#![forbid(unsafe_code)]

pub use densepath_fluid as fluid;

pub mod method;
