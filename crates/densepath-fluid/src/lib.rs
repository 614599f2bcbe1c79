//! Thermophysics of one point: the state of a fluid from its reference equation, its transport properties and its phases.

//!
//! Without the feature `std` the crate needs an allocator only; the elementary functions then come from the feature `libm`,
//! lists are done on one thread, and messages suggest no words.

#![forbid(unsafe_code)]
#![cfg_attr(not(feature = "std"), no_std)]

#[cfg(not(any(feature = "std", feature = "libm")))]
compile_error!("densepath-fluid needs the feature `std` or, without the standard library, `libm`");

extern crate alloc;

pub mod consts;
pub mod eos;
pub mod error;
pub mod fluids;
pub mod notice;
pub mod num;
pub mod phase;
#[cfg(not(feature = "std"))]
mod prelude;
pub mod property;
pub mod quantity;
pub mod state;
pub mod table;
pub mod transport;
pub mod units;

pub use error::{Error, Result};
pub use notice::{Notice, NoticeCode, Severity};
pub use phase::{critical_locus, isothermal_phase_diagram};
pub use quantity::Quantity;
pub use state::{CriticalPoint, Fluid, ModelChoice, Phase, Saturation, State, substances};
pub use table::PropertyTable;
