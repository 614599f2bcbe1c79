//! Where the phases of two substances change at one temperature and pressure, and a quantity jumps: three of them lie side by side.

use super::Mixed;
use crate::eos::equilibrium::ThreeNear;
#[cfg(not(feature = "std"))]
use crate::prelude::*;
use crate::state::State;

/// Distance of a phase from others, in the logarithms of the ratio of its substances and of its density, from which it is none of them.
const ANOTHER: f64 = 0.3;

/// Where a quantity may jump, and the relative distance within which rounding blurs on which side of it a state is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    pub place: f64,
    pub blur: f64,
}

/// What rounding leaves of the potentials blurs a solid, and the test of stability a fluid phase: it forgives a distance of the
/// tangent plane that one more phase would lower.
const BLUR_OF_SOLID: f64 = 3e-12;
const BLUR_OF_FLUID: f64 = 2e-9;

impl Mixed<'_> {
    /// The temperature in K between two states of one pressure at which three phases of two substances lie side by side, one of them a
    /// solid or none; nothing where it is not found.
    pub(super) fn edge_temperature(&self, one: &State, other: &State) -> Option<Edge> {
        let (low, high) = (one.temperature, other.temperature);
        let temperatures = (low.min(high), low.max(high));
        let of_fluids = || {
            self.three_fluids(one, other)?
                .temperature(one.pressure, temperatures)
        };
        edge(self.freezing_temperature(one, other), of_fluids)
    }

    /// As [`Mixed::edge_temperature`], the logarithm of the pressure in Pa between two states of one temperature.
    pub(super) fn edge_pressure(&self, one: &State, other: &State) -> Option<Edge> {
        let of_fluids = || {
            self.three_fluids(one, other)?
                .ln_pressure(one.temperature, one.pressure)
        };
        edge(self.freezing_pressure(one, other), of_fluids)
    }

    /// Three phases of two states without a solid: those of one of them, or its two and one of the other that is neither; nothing
    /// among other numbers of substances.
    fn three_fluids(&self, one: &State, other: &State) -> Option<ThreeNear<'_>> {
        let phases = match (fluids(one)?.as_slice(), fluids(other)?.as_slice()) {
            (&[a, b, c], _) | (_, &[a, b, c]) => [a, b, c],
            (&[a, b], others) => {
                let from_pair = |phase: &Phase| distance(a, *phase).min(distance(b, *phase));
                let farthest = |x: &&Phase, y: &&Phase| from_pair(x).total_cmp(&from_pair(y));
                let third = others.iter().max_by(farthest)?;
                (from_pair(third) > ANOTHER).then_some([a, b, *third])?
            }
            _ => return None,
        };
        let model = self.model();
        Some(ThreeNear { model, phases })
    }
}

fn edge(of_solid: Option<f64>, of_fluids: impl FnOnce() -> Option<f64>) -> Option<Edge> {
    let (place, blur) = match of_solid {
        Some(place) => (place, BLUR_OF_SOLID),
        None => (of_fluids()?, BLUR_OF_FLUID),
    };
    Some(Edge { place, blur })
}

/// A fluid phase of two substances: the logarithm of the ratio of the second to the first, and the molar density in mol/m3.
type Phase = (f64, f64);

fn distance(one: Phase, other: Phase) -> f64 {
    (one.0 - other.0).hypot((one.1 / other.1).ln())
}

/// The phases of a state of two substances; nothing where one of them is a solid or holds but one substance.
fn fluids(state: &State) -> Option<Vec<Phase>> {
    let coordinates = |phase: &State| {
        let mixed = phase.fluid.mixed()?;
        let [first, second] = *mixed.fractions() else {
            return None;
        };
        Some(((second / first).ln(), mixed.molar_density(phase.density)))
    };
    let phases = state.fluid_phases();
    let fluids = phases.into_iter().map(|(_, phase)| coordinates(phase));
    state.solid().is_none().then(|| fluids.collect())?
}
