//! The path: an ordered list of parts, the march along it, the solve for what is unknown, the sum of the bands.

mod band;
mod blending;
mod branch;
mod chromatogram;
mod column_in_time;
mod cycle;
mod detection;
mod gradient;
mod history;
mod march;
mod phases;
mod plug;
mod program;
mod solution;
mod solve;
mod source;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_bands;
#[cfg(test)]
mod tests_of_columns;
#[cfg(test)]
mod tests_of_detections;
#[cfg(test)]
mod tests_of_series;
mod watch;

use fluid::Fluid;
use fluid::consts::STANDARD_ATMOSPHERE;
use fluid::units::from_celsius;

use crate::fluid;
use crate::hardware::{Solute, safety};

pub use band::{BandBudget, BandRow};
pub use chromatogram::{Chromatogram, RecordedPeak};
pub use column_in_time::ColumnEnds;
pub use cycle::{Cycle, CyclePlan, Use};
pub use detection::Detection;
pub use history::{NearestSplit, ProgramPoint};
pub use march::{Part, Pass};
pub use program::{ColumnPassage, ProgrammedBand, ProgrammedRun, Setting};
pub use solution::{Branch, ColumnSummary, Consumption, Duty, PartFact, Solution, Station};
pub use source::{Named, Pump, Source};
pub use watch::Watch;
pub(crate) use watch::unless_stopped;

/// A whole instrument with its mobile phase.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let path = &method.path;
/// assert!(path.parts.iter().any(|part| part.name == "column"));
/// assert_eq!(path.solve()?.delivery_pressure, method.solve()?.delivery_pressure);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Path {
    /// Title of the method.
    pub title: String,
    /// The mobile phase.
    pub fluid: Fluid,
    /// What feeds the path.
    pub source: Source,
    /// The parts from the outlet of the pump on, in the order of the flow.
    pub parts: Vec<Part>,
    /// The solutes whose bands are followed, one after the other.
    pub solutes: Vec<Solute>,
    /// The room the instrument stands in.
    pub room: Room,
    /// What may stop its solution.
    pub watch: Watch,
}

/// The room the instrument stands in.
///
/// ```
/// use densepath::path::Room;
/// let room = Room::default();
/// assert_eq!((room.temperature, room.pressure), (293.15, 101_325.0));
/// assert!(room.air.is_none());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Volume and ventilation, if the gas is let out into the room.
    pub air: Option<safety::Room>,
}

impl Default for Room {
    /// 20 degC and 101325 Pa, with the gas led outdoors.
    fn default() -> Self {
        Self {
            temperature: from_celsius(20.0),
            pressure: STANDARD_ATMOSPHERE,
            air: None,
        }
    }
}
