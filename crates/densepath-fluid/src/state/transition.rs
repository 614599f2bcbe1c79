//! Two phases of one substance in equilibrium, of which one or the other may be its solid, and all three at the triple point.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::isobar::caloric;
use super::pure::Pure;
use super::{Body, Part, Phase, State};
use crate::eos::Coexistence;
use crate::eos::solid::{SolidEquilibrium, SolidPoint};
use crate::error::Result;
use crate::quantity::Quantity;

/// Share of a phase below zero, or above one, that rounding can feign.
const SATURATED: f64 = 1e-10;

impl Body {
    /// Specific enthalpy, entropy or internal energy.
    pub(super) fn caloric(&self, quantity: Quantity) -> f64 {
        match self {
            Body::Fluid(state) => caloric(state, quantity),
            Body::Solid(solid) => caloric_of_solid(solid, quantity),
        }
    }

    pub(super) fn density(&self) -> f64 {
        match self {
            Body::Fluid(state) => state.density,
            Body::Solid(solid) => solid.density,
        }
    }

    /// The density or a caloric quantity, the density as its inverse, so that shares of mass add up.
    fn per_mass(&self, quantity: Quantity) -> f64 {
        match self {
            Body::Fluid(state) => per_mass(state, quantity),
            Body::Solid(solid) if quantity == Quantity::Density => 1.0 / solid.density,
            Body::Solid(solid) => caloric_of_solid(solid, quantity),
        }
    }

    /// The phase alone.
    pub(super) fn alone(&self, fluid: Pure<'_>) -> State {
        match self {
            Body::Fluid(state) => state.clone(),
            Body::Solid(solid) => State::of_solid(fluid, *solid),
        }
    }
}

/// As [`Body::per_mass`].
fn per_mass(state: &State, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Density => 1.0 / state.density,
        _ => caloric(state, quantity),
    }
}

pub(super) fn caloric_of_solid(solid: &SolidPoint, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::SpecificEntropy => solid.specific_entropy,
        Quantity::SpecificInternalEnergy => solid.specific_internal_energy(),
        _ => solid.specific_enthalpy(),
    }
}

/// Where a substance passes from one phase to another.
#[derive(Debug)]
pub(super) struct Transition {
    /// The phase that is stable when colder or more compressed.
    pub dense: Body,
    /// The other one, a fluid.
    pub thin: State,
}

/// On which side of a transition a state lies.
pub(super) enum Place {
    /// Beyond the denser phase.
    Dense,
    /// Between both, or a hair beyond one of them.
    Here(State),
    /// Beyond the thinner phase.
    Thin,
}

impl Transition {
    /// The boiling liquid and the dry vapour.
    pub(super) fn of_liquid(fluid: Pure<'_>, found: &Coexistence) -> Self {
        let (liquid, thin) = State::coexisting(fluid, found);
        Self {
            dense: Body::Fluid(liquid),
            thin,
        }
    }

    /// A solid and the fluid beside it, which has the phase given.
    pub(super) fn of_solid(fluid: Pure<'_>, found: &SolidEquilibrium, phase: Phase) -> Self {
        let SolidEquilibrium {
            solid,
            fluid_density,
        } = *found;
        let isotherm = fluid.helmholtz().isotherm(solid.temperature);
        let beside = State::single(fluid, &isotherm, fluid_density, solid.pressure, phase);
        Self {
            dense: Body::Solid(solid),
            thin: beside,
        }
    }

    pub(super) fn temperature(&self) -> f64 {
        self.thin.temperature
    }

    /// Mass fraction of the thinner phase at which both together have a density in kg/m3 or a caloric quantity.
    fn share(&self, quantity: Quantity, target: f64) -> f64 {
        let target = match quantity {
            Quantity::Density => 1.0 / target,
            _ => target,
        };
        let (dense, thin) = (
            self.dense.per_mass(quantity),
            per_mass(&self.thin, quantity),
        );
        (target - dense) / (thin - dense)
    }

    /// Where a state with a caloric quantity lies.
    ///
    /// A hair outside the two phases the temperature no longer tells the two sides apart.
    pub(super) fn place(&self, fluid: Pure<'_>, quantity: Quantity, target: f64) -> Place {
        let share = self.share(quantity, target);
        if share < -SATURATED {
            Place::Dense
        } else if share < 0.0 {
            Place::Here(self.dense.alone(fluid))
        } else if share <= 1.0 {
            Place::Here(self.state(fluid, share))
        } else if share < 1.0 + SATURATED {
            Place::Here(self.thin.clone())
        } else {
            Place::Thin
        }
    }

    /// Both phases where they have a quantity together, and nothing elsewhere.
    pub(super) fn between(
        &self,
        fluid: Pure<'_>,
        quantity: Quantity,
        target: f64,
    ) -> Option<State> {
        let share = self.share(quantity, target);
        let state = || self.state(fluid, share);
        (0.0..=1.0).contains(&share).then(state)
    }

    /// Both phases at a density in kg/m3 of both together, which lies between theirs.
    pub(super) fn at_density(&self, fluid: Pure<'_>, density: f64) -> State {
        State {
            density,
            ..self.state(fluid, self.share(Quantity::Density, density))
        }
    }

    /// Whether a density in kg/m3 lies between those of the phases.
    pub(super) fn spans(&self, density: f64) -> bool {
        (self.thin.density..=self.dense.density()).contains(&density)
    }

    /// Both phases with a mass fraction of the thinner one.
    fn state(&self, fluid: Pure<'_>, share: f64) -> State {
        let thin = Part::of_fluid(self.thin.clone(), share);
        let parts = vec![part(&self.dense, 1.0 - share), thin];
        let (temperature, pressure) = (self.thin.temperature, self.thin.pressure);
        State::of_parts(fluid.handle.clone(), temperature, pressure, parts)
    }
}

fn part(body: &Body, mass_fraction: f64) -> Part {
    match body {
        Body::Fluid(state) => Part::of_fluid(state.clone(), mass_fraction),
        Body::Solid(solid) => Part::of_solid(*solid, mass_fraction),
    }
}

impl State {
    /// The solid alone.
    pub(super) fn of_solid(fluid: Pure<'_>, solid: SolidPoint) -> Self {
        let (temperature, pressure) = (solid.temperature, solid.pressure);
        let parts = vec![Part::of_solid(solid, 1.0)];
        Self::of_parts(fluid.handle.clone(), temperature, pressure, parts)
    }
}

impl Pure<'_> {
    /// Solid, liquid and vapour side by side at the triple point, where two quantities, the density or caloric ones, lie among
    /// those of its phases; nothing elsewhere, and where the solid is not known.
    ///
    /// Three mass fractions follow from their sum and from two quantities. Enthalpy and entropy are no such pair: the Gibbs
    /// energies of the three phases are equal.
    pub(super) fn triple_state(
        self,
        [(one, value), (other, second)]: [(Quantity, f64); 2],
    ) -> Result<Option<State>> {
        let Some(solid) = self.solid() else {
            return Ok(None);
        };
        let triple = solid.triple_point();
        let isotherm = self.helmholtz().isotherm(triple.temperature);
        let fluid =
            |density, phase| State::single(self, &isotherm, density, triple.pressure, phase);
        let bodies = [
            Body::Solid(solid.at(triple.temperature, triple.pressure)?),
            Body::Fluid(fluid(triple.liquid_density, Phase::Liquid)),
            Body::Fluid(fluid(triple.vapour_density, Phase::Vapour)),
        ];
        let inverse = |quantity, value: f64| match quantity {
            Quantity::Density => 1.0 / value,
            _ => value,
        };
        let wanted = [inverse(one, value), inverse(other, second)];
        // Each phase as a point in the plane of both quantities, counted from the vapour.
        let point = |body: &Body| [body.per_mass(one), body.per_mass(other)];
        let [solid, liquid, vapour] = [point(&bodies[0]), point(&bodies[1]), point(&bodies[2])];
        let from_vapour = |[x, y]: [f64; 2]| [x - vapour[0], y - vapour[1]];
        let cross = |[a, b]: [f64; 2], [c, d]: [f64; 2]| a * d - b * c;
        let [s, l, w] = [solid, liquid, wanted].map(from_vapour);
        let area = cross(s, l);
        let shares = [cross(w, l) / area, cross(s, w) / area];
        let shares = [shares[0], shares[1], 1.0 - shares[0] - shares[1]];
        if !shares.iter().all(|share| *share >= 0.0) {
            return Ok(None);
        }
        let parts = bodies.iter().zip(shares);
        let parts = parts.map(|(body, share)| part(body, share)).collect();
        let handle = self.handle.clone();
        let (temperature, pressure) = (triple.temperature, triple.pressure);
        Ok(Some(State::of_parts(handle, temperature, pressure, parts)))
    }
}
