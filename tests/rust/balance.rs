//! The balance of energy that tests and campaigns hold parts to.

use densepath::hardware::ProfilePoint;
use densepath::path::{Part, Pass};

/// Energy that a part gains beyond its heat, over the enthalpy that flows through it. A part that holds the pressure lets its jet come to
/// rest, which the enthalpy at its outlet contains.
pub fn missing_energy(part: &Part, pass: &Pass) -> f64 {
    let (inlet, outlet) = (&pass.inlet, &pass.outlet);
    let kinetic = |point: Option<&ProfilePoint>| point.map_or(0.0, |at| 0.5 * at.velocity.powi(2));
    let leaving = if part.element.holds_pressure() {
        0.0
    } else {
        kinetic(outlet.profile.last())
    };
    let gained = outlet.stream.state.specific_enthalpy() + leaving
        - inlet.state.specific_enthalpy()
        - kinetic(outlet.profile.first());
    let whole = inlet.state.specific_enthalpy().abs().max(1e5);
    (gained - outlet.heat_flow_rate / inlet.mass_flow_rate).abs() / whole
}
