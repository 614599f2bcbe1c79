//! What the tests of the parts share.

use super::{Stream, Surroundings};
use crate::fluid::{Fluid, State};

/// A room at 20 degC and 101325 Pa.
pub const SURROUNDINGS: Surroundings<'static> = Surroundings {
    delivery_pressure: 2e7,
    room_temperature: 293.15,
    room_pressure: 101_325.0,
    solute: None,
};

/// A stream.
pub fn stream(state: State, mass_flow_rate: f64) -> Stream {
    Stream {
        state,
        mass_flow_rate,
    }
}

/// Carbon dioxide.
pub fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

/// Whether two numbers agree to a relative tolerance.
pub fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}
