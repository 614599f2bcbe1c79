//! Thermophysics of one point: the state of a fluid from its reference equation, its transport properties and its phases.

#![forbid(unsafe_code)]

pub mod consts;
pub mod eos;
pub mod error;
pub mod fluids;
pub mod notice;
pub mod num;
pub mod phase;
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
