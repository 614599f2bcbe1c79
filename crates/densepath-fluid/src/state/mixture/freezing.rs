//! A substance that freezes out of a mixture as a pure solid.
//!
//! It does where its chemical potential in the fluid exceeds the Gibbs energy of its solid; so much of it freezes that both
//! are equal. Both count from the zero of its reference equation. That a solid dissolves none of the other substances is an
//! assumption, which carbon dioxide with solvents and gases fulfils closely (common practice, no source).

use super::Mixed;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::equilibrium::{Equilibrium, normalized};
use crate::eos::mixture::Branch;
use crate::eos::solid::{Solid, SolidPoint};
use crate::error::{Error, Result};
use crate::num::Amounts;
use crate::num::root::{Tolerance, bracketed, secant};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::state::{Part, Phase, State};

/// Difference of a potential and a Gibbs energy, over R T, that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// Share of a substance that never freezes.
const LEFT: f64 = 1e-9;
/// Difference of a potential and a Gibbs energy, over R T, of phases that are in equilibrium.
const BALANCED: f64 = 1e-9;
/// Step in the logarithm of a ratio, and in a temperature, relative, below which the next would be rounding.
const SETTLED: f64 = 1e-13;
/// Rough change of the logarithm of a vapour pressure over a solid, with the temperature, in 1/K, and the range in K in which its boiling is sought.
const BOILING: f64 = -0.08;
const RANGE: (f64, f64) = (50.0, 500.0);
/// Logarithms of the pressures in Pa between which the sublimation of a solid is sought.
const PRESSURES: (f64, f64) = (-50.0, 20.0);
/// Logarithm of the ratio of a substance to the others at which it is dilute.
const DILUTE: f64 = -20.0;

/// A substance beyond its freezing point.
struct Freezing {
    index: usize,
    solid: SolidPoint,
}

impl Mixed<'_> {
    /// The phases at a temperature in K and a pressure in Pa, a solid among them.
    pub(super) fn at(&self, temperature: f64, pressure: f64) -> Result<State> {
        let fluid = self.fluid_phases(temperature, pressure)?;
        match self.freezing(&fluid) {
            None => self.state_of(&fluid),
            Some(freezing) => self.frozen(temperature, pressure, &freezing),
        }
    }

    /// The substance whose potential exceeds the Gibbs energy of its solid.
    fn freezing(&self, fluid: &Equilibrium) -> Option<Freezing> {
        let (temperature, pressure) = (fluid.temperature, fluid.pressure);
        for (index, component) in self.system.components.iter().enumerate() {
            let substance = component.substance.as_ref();
            let Some((substance, solid)) = substance.and_then(|s| Some((s, s.solid()?))) else {
                continue;
            };
            let is_warm = temperature >= substance.triple_temperature();
            let is_fluid = substance.is_far_from_melting(temperature, pressure)
                || is_warm && pressure <= substance.melting_pressure(temperature);
            if is_fluid {
                continue;
            }
            // Beyond the equation of the solid iterations go on with the fluid alone; results are refused there.
            let Ok(solid) = solid.at(temperature, pressure) else {
                continue;
            };
            if self.excess_of(index, fluid, &solid) > ROUNDING {
                return Some(Freezing { index, solid });
            }
        }
        None
    }

    /// Error 102 for a state in which a substance may be beyond its freezing point, and beyond the equation of its solid.
    pub(super) fn refuse_unknown_solid(&self, state: &State) -> Result<()> {
        let (temperature, pressure) = (state.temperature, state.pressure);
        let present = self.system.components.iter().zip(self.fractions());
        for (component, _) in present.filter(|(_, x)| **x > 0.0) {
            let Some(substance) = component.substance.as_ref() else {
                continue;
            };
            if let Some(solid) = substance.solid()
                && !substance.is_far_from_melting(temperature, pressure)
                && pressure > substance.melting_pressure(temperature)
            {
                solid.at(temperature, pressure)?;
            }
        }
        Ok(())
    }

    /// Whether a substance may freeze between two temperatures in K up to a pressure in Pa; of five temperatures.
    pub(in crate::state) fn may_freeze(&self, [cold, hot]: [f64; 2], pressure: f64) -> bool {
        let present = self.system.components.iter().zip(self.fractions());
        let substances = present.filter(|(_, x)| **x > 0.0);
        let with_solid = substances.filter_map(|(component, _)| {
            let substance = component.substance.as_ref()?;
            substance.solid().map(|_| substance)
        });
        let temperature = |step: i32| cold + 0.25 * f64::from(step) * (hot - cold);
        let mut each = with_solid.map(|substance| {
            cold < substance.triple_temperature()
                || (0..=4).any(|step| pressure > substance.melting_pressure(temperature(step)))
        });
        each.any(|freezes| freezes)
    }

    /// The chemical potential of a substance in a fluid less the Gibbs energy of its solid, over R T; one for all phases in
    /// equilibrium.
    fn excess(&self, index: usize, fluid: &State, solid: &SolidPoint) -> f64 {
        let phases = fluid.fluid_phases();
        let Some((_, phase)) = phases.first() else {
            return f64::NAN;
        };
        match phase.fluid.mixed() {
            Some(mixed) => {
                let density = mixed.molar_density(phase.density);
                self.excess_in(index, mixed.fractions(), density, solid)
            }
            None if phase.fluid.amount_fractions().get(index) == Some(&0.0) => f64::NEG_INFINITY,
            None => {
                let energy = phase.specific_gibbs_energy() - solid.specific_gibbs_energy;
                energy / self.thermal_energy_of(index, phase.temperature)
            }
        }
    }

    /// As [`Mixed::excess`], in phases in equilibrium.
    fn excess_of(&self, index: usize, found: &Equilibrium, solid: &SolidPoint) -> f64 {
        // The densest phase holds most of what freezes.
        found.phases.last().map_or(f64::NAN, |phase| {
            self.excess_in(index, &phase.fractions, phase.molar_density, solid)
        })
    }

    /// As [`Mixed::excess`], in a phase of given amount fractions and a molar density in mol/m3 at the temperature of the solid.
    fn excess_in(
        &self,
        index: usize,
        fractions: &[f64],
        molar_density: f64,
        solid: &SolidPoint,
    ) -> f64 {
        let temperature = solid.temperature;
        let (Some(component), Some(x)) = (self.system.components.get(index), fractions.get(index))
        else {
            return f64::NAN;
        };
        if *x == 0.0 {
            return f64::NEG_INFINITY;
        }
        let isotherm = self.model().at(temperature, fractions);
        let residual = isotherm.potentials(molar_density);
        let partial = x * molar_density * component.model_molar_mass;
        let ideal = component.ideal.at(temperature, partial).value;
        let in_fluid = ideal + 1.0 + residual.get(index).copied().unwrap_or(f64::NAN);
        in_fluid - solid.specific_gibbs_energy / self.thermal_energy_of(index, temperature)
    }

    /// R T of a substance in J/kg.
    pub(super) fn thermal_energy_of(&self, index: usize, temperature: f64) -> f64 {
        let component = self.system.components.get(index);
        let molar_mass = component.map_or(f64::NAN, |component| component.model_molar_mass);
        MOLAR_GAS_CONSTANT / molar_mass * temperature
    }

    /// The equation of the solid of a substance, if it is known.
    fn solid_of(&self, index: usize) -> Option<&Solid> {
        let component = self.system.components.get(index)?;
        component.substance.as_ref()?.solid()
    }

    /// Which of the substances a solid is.
    pub(super) fn index_of(&self, solid: &SolidPoint) -> Option<usize> {
        (0..self.fractions().len()).find(|index| {
            let own = self.solid_of(*index);
            own.is_some_and(|own| own.at(solid.temperature, solid.pressure).as_ref() == Ok(solid))
        })
    }

    /// The temperature in K at which liquid, vapour and the solid of one of two substances lie side by side, between two states
    /// of one pressure, one of which has the solid; nothing among other numbers of substances, or where it is not found.
    pub(super) fn freezing_temperature(&self, one: &State, other: &State) -> Option<f64> {
        let (index, frozen) = self.frozen_of(one, other)?;
        let pressure = frozen.pressure;
        // The solid alone would boil a little above the temperature sought, by as much as the vapour holds of the other.
        let boils = secant(
            (frozen.temperature, BOILING),
            RANGE,
            SETTLED,
            |temperature| self.excess_of_vapour(index, temperature, pressure),
        )?;
        let below = |distance: f64| (boils - distance, pressure);
        let found = self.three_phases(index, [1e-4 * boils, boils], below)?;
        Some(boils - found)
    }

    /// As [`Mixed::freezing_temperature`], the logarithm of the pressure in Pa between two states of one temperature.
    pub(super) fn freezing_pressure(&self, one: &State, other: &State) -> Option<f64> {
        let (index, frozen) = self.frozen_of(one, other)?;
        let temperature = frozen.temperature;
        let substance = self.system.components.get(index)?.substance.as_ref()?;
        let start = substance
            .sublimation(temperature)
            .ok()??
            .solid
            .pressure
            .ln();
        // The vapour of the solid alone is a little thinner than the one sought, which holds some of the other.
        let sublimes = secant((start, 1.0), PRESSURES, SETTLED, |logarithm| {
            self.excess_of_vapour(index, temperature, logarithm.exp())
        })?;
        let above = |distance: f64| (temperature, (sublimes + distance).exp());
        let found = self.three_phases(index, [1e-3, 1.0], above)?;
        Some(sublimes + found)
    }

    /// The one of two states of two substances that has a solid, and which substance that is.
    fn frozen_of<'s>(&self, one: &'s State, other: &'s State) -> Option<(usize, &'s State)> {
        let (frozen, solid) = match (one.solid(), other.solid()) {
            (Some(solid), None) => (one, solid),
            (None, Some(solid)) => (other, solid),
            _ => return None,
        };
        let index = self.index_of(solid)?;
        (self.fractions().len() == 2).then_some((index, frozen))
    }

    /// The excess of a substance alone as a vapour over its solid.
    fn excess_of_vapour(&self, index: usize, temperature: f64, pressure: f64) -> Option<f64> {
        let solid = self.solid_of(index)?.at(temperature, pressure).ok()?;
        let pure = [0, 1].map(|place| f64::from(u8::from(place == index)));
        let isotherm = self.model().at(temperature, &pure);
        let vapour = isotherm.molar_density(pressure, Branch::Vapour).ok()?;
        Some(self.excess_in(index, &pure, vapour, &solid))
    }

    /// How far from where the solid of one of two substances alone would boil it does so beside the liquid of both, from a start up
    /// to a limit.
    fn three_phases(
        &self,
        index: usize,
        [start, limit]: [f64; 2],
        place: impl Fn(f64) -> (f64, f64),
    ) -> Option<f64> {
        // Liquid and vapour, each in equilibrium with the solid, are so with each other where the other substance is.
        let difference = |logarithm: f64| {
            let (temperature, pressure) = place(logarithm.exp());
            let solid = self.solid_of(index)?.at(temperature, pressure).ok()?;
            let freezing = Freezing { index, solid };
            let potential = |branch, start| {
                let beside = self.beside_solid(&freezing, branch, start)?;
                let isotherm = self.model().at(temperature, &beside.fractions);
                let residual = isotherm.potentials(beside.molar_density);
                let (x, psi) = (beside.fractions.get(1 - index)?, residual.get(1 - index)?);
                Some((x * beside.molar_density).ln() + psi)
            };
            let vapour = potential(Branch::Vapour, Start::Rich)?;
            let liquid = [Start::Dilute, Start::Rich]
                .into_iter()
                .find_map(|start| potential(Branch::Liquid, start))?;
            Some(vapour - liquid)
        };
        // The distance is a small difference, and known no better.
        let bounds = (f64::NEG_INFINITY, limit.ln());
        secant((start.ln(), 1.0), bounds, 1e-8, difference).map(f64::exp)
    }

    /// One fluid phase in equilibrium with a solid, the other substances in proportion; stable or not.
    ///
    /// A dilute substance is sought by the logarithm of its ratio to the others, with which its potential over R T rises one to
    /// one, a rich one by the fraction of the others, with which it falls so.
    fn beside_solid(
        &self,
        freezing: &Freezing,
        branch: Branch,
        start: Start,
    ) -> Option<BesideSolid> {
        let Freezing { index, solid } = freezing;
        let whole = self.fractions().get(*index)?;
        let mut last = None;
        let excess = |sought: f64| {
            let (own, others) = match start {
                Start::Dilute => (1.0 / (1.0 + (-sought).exp()), 1.0 / (1.0 + sought.exp())),
                Start::Rich => (1.0 - sought, sought),
            };
            let scaled = self.fractions().iter().enumerate().map(|(place, z)| {
                if place == *index {
                    own
                } else {
                    z * others / (1.0 - whole)
                }
            });
            let fractions: Amounts = scaled.collect();
            let isotherm = self.model().at(solid.temperature, &fractions);
            let molar_density = isotherm.molar_density(solid.pressure, branch).ok()?;
            let excess = self.excess_in(*index, &fractions, molar_density, solid);
            last = Some(BesideSolid {
                amount: 1.0 - (1.0 - whole) / others,
                fractions,
                molar_density,
            });
            Some(excess)
        };
        match start {
            Start::Dilute => secant((DILUTE, 1.0), (DILUTE, -DILUTE), SETTLED, excess),
            Start::Rich => secant((0.0, -1.0), (0.0, 1.0), SETTLED, excess),
        }?;
        last
    }

    /// As much of a substance as a solid as leaves the rest in equilibrium with it.
    ///
    /// The rest is one phase as a rule, which is found quickly and tested; else its amount is bracketed.
    fn frozen(&self, temperature: f64, pressure: f64, freezing: &Freezing) -> Result<State> {
        let Freezing { index, solid } = freezing;
        for (branch, start) in BESIDE {
            let found = self.beside_solid(freezing, branch, start);
            if let Some(found) = found.filter(|found| found.amount > 0.0) {
                let fluid = self.rest(&found.fractions, temperature, pressure)?;
                let balance = self.excess(*index, &fluid, solid);
                if fluid.is_one_phase() && balance.abs() < BALANCED {
                    return Ok(self.with_solid(freezing, found.amount, &fluid));
                }
            }
        }
        let whole = self.fractions().get(*index).copied().unwrap_or(0.0);
        let rest = |amount: f64| -> Result<State> {
            let left = self.fractions().iter().enumerate().map(|(place, z)| {
                let taken = if place == *index { amount } else { 0.0 };
                (z - taken).max(0.0) / (1.0 - amount)
            });
            let left: Amounts = left.collect();
            self.rest(&left, temperature, pressure)
        };
        let most = whole * (1.0 - LEFT);
        let excess = |amount: f64| Ok(self.excess(*index, &rest(amount)?, solid));
        if excess(most)? > 0.0 {
            return Err(Error::Solid {
                temperature,
                pressure,
                limit: pressure,
            });
        }
        let solver = "amount of a solid in a mixture";
        let amount = bracketed(solver, 0.0, most, Tolerance::default(), excess)?;
        Ok(self.with_solid(freezing, amount, &rest(amount)?))
    }

    /// The fluid phases of what a solid leaves.
    fn rest(&self, fractions: &[f64], temperature: f64, pressure: f64) -> Result<State> {
        let handle = self.handle.with_amount_fractions(&normalized(fractions))?;
        match handle.mixed() {
            Some(mixed) => mixed.fluid_at(temperature, pressure),
            None => State::fluid_from_tp(handle.reference()?, temperature, pressure),
        }
    }

    /// An amount of a substance as a solid, of one mole in all, beside the fluid phases of the rest.
    fn with_solid(&self, freezing: &Freezing, amount: f64, fluid: &State) -> State {
        let component = self.system.components.get(freezing.index);
        let molar_mass = component.map_or(f64::NAN, |component| component.model_molar_mass);
        let mass = amount * molar_mass / self.model_molar_mass;
        let mut parts = vec![Part::of_solid(freezing.solid, mass)];
        for (share, phase) in fluid.fluid_phases() {
            let mut phase = phase.clone();
            phase.phase = phase.phase.or_else(|| Some(beside_solid(&phase)));
            parts.push(Part::of_fluid(phase, (1.0 - mass) * share));
        }
        let handle = self.handle.clone();
        State::of_parts(handle, fluid.temperature, fluid.pressure, parts)
    }
}

/// From where the composition of a phase beside a solid is sought: with hardly anything or with all of what freezes.
#[derive(Debug, Clone, Copy)]
enum Start {
    Dilute,
    Rich,
}

/// The phases sought beside a solid, in order.
const BESIDE: [(Branch, Start); 4] = [
    (Branch::Liquid, Start::Dilute),
    (Branch::Liquid, Start::Rich),
    (Branch::Vapour, Start::Rich),
    (Branch::Vapour, Start::Dilute),
];

/// One fluid phase beside a solid.
struct BesideSolid {
    /// Amount of the solid, of one mole in all; negative where there is not enough of the substance.
    amount: f64,
    fractions: Amounts,
    /// Molar density in mol/m3.
    molar_density: f64,
}

/// The word of the only fluid phase beside a solid: liquid where it is denser than its substances at their critical points.
fn beside_solid(phase: &State) -> Phase {
    let is_dense = phase
        .fluid
        .mixed()
        .is_some_and(|mixed| mixed.is_dense(mixed.molar_density(phase.density)));
    if is_dense {
        Phase::Liquid
    } else {
        Phase::Vapour
    }
}
