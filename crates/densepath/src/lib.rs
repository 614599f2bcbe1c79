//! From the pump head to the outlet: the laws of flow, the parts of the instrument, the path and its report.

#![forbid(unsafe_code)]

pub use densepath_fluid as fluid;
pub use densepath_fluid::property::{BatchError, PROPERTIES};
pub use densepath_fluid::{
    CriticalPoint, Error, Fluid, ModelChoice, Notice, NoticeCode, Phase, PropertyTable, Quantity,
    Result, Saturation, Severity, State, critical_locus, isothermal_phase_diagram, substances,
    units,
};

pub use method::{Method, read_method, read_method_file};
pub use path::{Path, Solution};

pub mod flow;
pub mod hardware;
pub mod method;
pub mod path;
pub mod report;
pub mod study;
