//! From the pump head to the outlet: the laws of flow, the parts of the instrument, the path and its report.
//!
//! ```
//! let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
//! let solution = method.solve()?;
//! // The pump holds more than the regulator, which is set to 150 bar, and the mass flow is the same at every station.
//! assert!(solution.delivery_pressure > 150e5);
//! assert!(solution.stations.iter().all(|station| station.mass_flow_rate == solution.stations[0].mass_flow_rate));
//! // What is doubtful or dangerous comes with the numbers, cautions first.
//! assert_eq!(solution.notices[0].code.severity(), densepath::Severity::Caution);
//! # Ok::<(), densepath::Error>(())
//! ```

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
