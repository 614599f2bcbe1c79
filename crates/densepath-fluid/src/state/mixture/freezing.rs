//! A substance that freezes out of a mixture as a pure solid.
//!
//! It does where its chemical potential in the fluid exceeds the Gibbs energy of its solid; so much of it freezes that both
//! are equal. Both count from the zero of its reference equation. That a solid dissolves none of the other substances is an
//! assumption, which carbon dioxide with solvents and gases fulfils closely (common practice, no source).

use super::Mixed;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result};
use crate::num::Amounts;
use crate::num::root::{Tolerance, bracketed};
use crate::state::{Part, Phase, State};

/// Difference of a potential and a Gibbs energy, over R T, that rounding can feign.
const ROUNDING: f64 = 1e-11;
/// Share of a substance that never freezes.
const LEFT: f64 = 1e-9;

/// A substance beyond its freezing point.
struct Freezing {
    index: usize,
    solid: SolidPoint,
}

impl Mixed<'_> {
    /// The phases at a temperature in K and a pressure in Pa, a solid among them.
    pub(super) fn at(&self, temperature: f64, pressure: f64) -> Result<State> {
        let fluid = self.fluid_at(temperature, pressure)?;
        match self.freezing(&fluid) {
            None => Ok(fluid),
            Some(freezing) => self.frozen(temperature, pressure, &freezing),
        }
    }

    /// The substance whose potential exceeds the Gibbs energy of its solid.
    fn freezing(&self, fluid: &State) -> Option<Freezing> {
        let (temperature, pressure) = (fluid.temperature, fluid.pressure);
        for (index, component) in self.system.components.iter().enumerate() {
            let substance = component.substance.as_ref();
            let Some((substance, solid)) = substance.and_then(|s| Some((s, s.solid()?))) else {
                continue;
            };
            let is_warm = temperature >= substance.triple_temperature();
            if is_warm && pressure <= substance.melting_pressure(temperature) {
                continue;
            }
            // Beyond the equation of the solid iterations go on with the fluid alone; results are refused there.
            let Ok(solid) = solid.at(temperature, pressure) else {
                continue;
            };
            if self.excess(index, fluid, &solid) > ROUNDING {
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
                && pressure > substance.melting_pressure(temperature)
            {
                solid.at(temperature, pressure)?;
            }
        }
        Ok(())
    }

    /// The chemical potential of a substance in a fluid less the Gibbs energy of its solid, over R T; one for all phases in
    /// equilibrium.
    fn excess(&self, index: usize, fluid: &State, solid: &SolidPoint) -> f64 {
        let phases = fluid.fluid_phases();
        let Some((_, phase)) = phases.first() else {
            return f64::NAN;
        };
        let Some(component) = self.system.components.get(index) else {
            return f64::NAN;
        };
        let x = phase.fluid.amount_fractions().get(index).copied();
        let x = x.unwrap_or(0.0);
        if x == 0.0 {
            return f64::NEG_INFINITY;
        }
        let temperature = phase.temperature;
        let thermal_energy = MOLAR_GAS_CONSTANT / component.model_molar_mass * temperature;
        let in_fluid = match phase.fluid.mixed() {
            Some(mixed) => {
                let isotherm = mixed.isotherm(temperature);
                let residual = isotherm.potentials(mixed.molar_density(phase.density));
                let share = x * component.model_molar_mass / mixed.model_molar_mass;
                let ideal = component.ideal.at(temperature, share * phase.density).value;
                ideal + 1.0 + residual.get(index).copied().unwrap_or(f64::NAN)
            }
            None => phase.specific_gibbs_energy() / thermal_energy,
        };
        in_fluid - solid.specific_gibbs_energy / thermal_energy
    }

    /// As much of a substance as a solid as leaves the rest in equilibrium with it.
    fn frozen(&self, temperature: f64, pressure: f64, freezing: &Freezing) -> Result<State> {
        let Freezing { index, solid } = freezing;
        let whole = self.fractions().get(*index).copied().unwrap_or(0.0);
        let rest = |amount: f64| -> Result<State> {
            let left = self.fractions().iter().enumerate().map(|(place, z)| {
                let taken = if place == *index { amount } else { 0.0 };
                (z - taken).max(0.0) / (1.0 - amount)
            });
            let left: Amounts = left.collect();
            let sum: f64 = left.iter().sum();
            let left: Amounts = left.iter().map(|z| z / sum).collect();
            let handle = self.handle.with_amount_fractions(&left)?;
            match handle.mixed() {
                Some(mixed) => mixed.fluid_at(temperature, pressure),
                None => State::fluid_from_tp(handle.reference()?, temperature, pressure),
            }
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
        let component = self.system.components.get(*index);
        let molar_mass = component.map_or(f64::NAN, |component| component.model_molar_mass);
        let mass = amount * molar_mass / self.model_molar_mass;
        let fluid = rest(amount)?;
        let mut parts = vec![Part::of_solid(*solid, mass)];
        for (share, phase) in fluid.fluid_phases() {
            let mut phase = phase.clone();
            phase.phase = phase.phase.or_else(|| Some(beside_solid(&phase)));
            parts.push(Part::of_fluid(phase, (1.0 - mass) * share));
        }
        let handle = self.handle.clone();
        Ok(State::of_parts(handle, temperature, pressure, parts))
    }
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
