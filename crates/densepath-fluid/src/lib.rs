//! Thermophysics of one point: the state of a fluid from its reference equation, its transport properties and its phases.
//!
//! ```
//! use densepath_fluid::{Fluid, Phase, State, units::{BAR, from_celsius}};
//! let co2 = Fluid::new("carbon dioxide")?;
//! let column = State::from_tp(&co2, from_celsius(40.0), 150.0 * BAR)?;
//! // An independent implementation of Span and Wagner 1996 has 780.233 kg/m3.
//! assert!((column.density() - 780.233).abs() < 1e-3);
//! // Behind an unheated regulator a quarter of it is dry ice.
//! let outlet = column.expand_to(101_325.0)?;
//! assert_eq!(outlet.phase(), Phase::SolidVapour);
//! assert!((outlet.solid_fraction() - 0.24).abs() < 0.005);
//! # Ok::<(), densepath_fluid::Error>(())
//! ```
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
