//! A state as plain numbers and back, to the last bit: what is stored or sent to another process.

use super::solve::DENSITY_MIN;
use super::{Body, Content, Fluid, Part, Phase, State, phase_of};
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result, positive, within};
#[cfg(not(feature = "std"))]
use crate::prelude::*;
use crate::quantity::Quantity;

/// Stands for a phase whose word has not been sought.
const UNNAMED: f64 = -1.0;
/// Mark a phase as fluid or solid.
const FLUID: f64 = 0.0;
const SOLID: f64 = 1.0;

impl State {
    /// The numbers that make up the state, which [`State::from_numbers`] reads.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&co2, 313.15, 150e5)?.expand_to(101_325.0)?;
    /// let twin = State::from_numbers(&co2, &state.to_numbers())?;
    /// assert_eq!(twin.specific_entropy().to_bits(), state.specific_entropy().to_bits());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn to_numbers(&self) -> Vec<f64> {
        // A shift of the volume is the fluid's.
        let state = self.of_model();
        let mut numbers = state.variables().to_vec();
        for part in state.parts() {
            numbers.push(part.mass_fraction);
            match &part.body {
                Body::Fluid(state) => {
                    numbers.push(FLUID);
                    numbers.extend(state.variables());
                    numbers.extend(state.fluid.amount_fractions());
                }
                Body::Solid(solid) => numbers.extend([
                    SOLID,
                    solid.temperature,
                    solid.pressure,
                    solid.density,
                    solid.specific_gibbs_energy,
                    solid.specific_entropy,
                    solid.specific_isobaric_heat_capacity,
                    solid.isobaric_expansivity,
                    solid.isothermal_compressibility,
                ]),
            }
        }
        numbers
    }

    /// The state of a fluid that [`State::to_numbers`] has written. Error 104 for any other numbers.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// let same = State::from_numbers(&co2, &state.to_numbers())?;
    /// assert_eq!(same.density(), state.density());
    /// assert_eq!(State::from_numbers(&co2, &[1.0]).unwrap_err().code(), 104);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_numbers(fluid: &Fluid, numbers: &[f64]) -> Result<Self> {
        if let Some((of_model, shift)) = fluid.unshifted() {
            return Self::from_numbers(&of_model, numbers)?.shifted(shift);
        }
        let refuse = || refusal(numbers);
        let [phase, temperature, pressure, density, rest @ ..] = numbers else {
            return Err(refuse());
        };
        let phase = named(*phase).map_err(|NoPhase| refuse())?;
        let variables = [*temperature, *pressure, *density];
        if rest.is_empty() && phase.is_none_or(Phase::is_single_fluid) {
            return one(fluid, variables, phase);
        }
        let mut parts = Vec::new();
        let mut rest = rest;
        while !rest.is_empty() {
            let (part, left) = part(fluid, rest)?.ok_or_else(refuse)?;
            parts.push(part);
            rest = left;
        }
        let several = parts.len() > 1 || phase == Some(Phase::Solid);
        if !several || phase != Some(phase_of(&parts)) {
            return Err(refuse());
        }
        let [temperature, pressure, density] = checked(variables)?;
        Ok(Self {
            fluid: fluid.clone(),
            temperature,
            pressure,
            density,
            phase,
            is_beside: false,
            content: Content::Several(parts),
            of_model: None,
        })
    }

    /// Number of the phase, temperature, pressure and density.
    fn variables(&self) -> [f64; 4] {
        let place = |phase| Phase::ALL.iter().position(|known| *known == phase);
        let known = self.phase.or_else(|| self.is_beside.then(|| self.phase()));
        let phase = known.and_then(place);
        let phase = phase.map_or(UNNAMED, |place| place as f64);
        [phase, self.temperature, self.pressure, self.density]
    }
}

/// A number that stands for no phase.
struct NoPhase;

/// The phase of a number, none where its word has not been sought.
fn named(number: f64) -> core::result::Result<Option<Phase>, NoPhase> {
    if number == UNNAMED {
        return Ok(None);
    }
    let mut phases = Phase::ALL.iter().enumerate();
    let found = phases.find(|(place, _)| *place as f64 == number);
    let (_, phase) = found.ok_or(NoPhase)?;
    Ok(Some(*phase))
}

/// The first phase that numbers tell, and the numbers after it.
fn part<'n>(fluid: &Fluid, numbers: &'n [f64]) -> Result<Option<(Part, &'n [f64])>> {
    match numbers {
        [fraction, SOLID, t, p, d, g, s, cp, alpha, kappa, rest @ ..] => {
            let solid = SolidPoint {
                temperature: *t,
                pressure: *p,
                density: *d,
                specific_gibbs_energy: *g,
                specific_entropy: *s,
                specific_isobaric_heat_capacity: *cp,
                isobaric_expansivity: *alpha,
                isothermal_compressibility: *kappa,
            };
            Ok(Some((Part::of_solid(solid, *fraction), rest)))
        }
        [fraction, FLUID, phase, t, p, d, rest @ ..] => {
            let count = fluid.amount_fractions().len();
            let (Ok(phase), Some((fractions, rest))) =
                (named(*phase), rest.split_at_checked(count))
            else {
                return Ok(None);
            };
            let fluid = fluid.with_amount_fractions(fractions)?;
            let state = one(&fluid, [*t, *p, *d], phase)?;
            Ok(Some((Part::of_fluid(state, *fraction), rest)))
        }
        _ => Ok(None),
    }
}

/// One phase of known temperature, pressure and density.
fn one(fluid: &Fluid, variables: [f64; 3], phase: Option<Phase>) -> Result<State> {
    let [temperature, pressure, density] = checked(variables)?;
    if let Some(mixed) = fluid.mixed() {
        return Ok(mixed.phase_of(temperature, pressure, density, phase));
    }
    let pure = fluid.reference()?;
    let phase = phase.ok_or_else(|| refusal(&variables))?;
    let isotherm = pure.helmholtz().isotherm(temperature);
    Ok(State::single(pure, &isotherm, density, pressure, phase))
}

fn checked([temperature, pressure, density]: [f64; 3]) -> Result<[f64; 3]> {
    Ok([
        positive(Quantity::Temperature, temperature)?,
        positive(Quantity::Pressure, pressure)?,
        within(
            Quantity::Density,
            positive(Quantity::Density, density)?,
            DENSITY_MIN,
            f64::MAX,
            "this library",
        )?,
    ])
}

fn refusal(numbers: &[f64]) -> Error {
    Error::Argument {
        argument: "numbers".to_owned(),
        expected: "the numbers of a state",
        got: format!("{} others", numbers.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_comes_back_to_the_last_bit() {
        let fluid = Fluid::new("CO2").unwrap();
        let start = State::from_tp(&fluid, 313.15, 150e5).unwrap();
        let saturation = fluid.saturation_at_temperature(280.0).unwrap();
        for state in [
            State::from_t_rho(&fluid, 298.15, 500.0).unwrap(),
            start.expand_to(60e5).unwrap(),
            start.expand_to(101_325.0).unwrap(),
            State::from_tp(&fluid, 280.0, 1e5).unwrap(),
            saturation.liquid,
            saturation.vapour,
            start,
        ] {
            let numbers = state.to_numbers();
            let twin = State::from_numbers(&fluid, &numbers).unwrap();
            assert_eq!(format!("{twin:?}"), format!("{state:?}"));
            for length in 0..numbers.len() {
                let cut = State::from_numbers(&fluid, &numbers[..length]);
                assert_eq!(cut.unwrap_err().code(), 104);
            }
        }
        for (numbers, code) in [
            ([9.0, 300.0, 1e5, 2.0], 104),
            ([1.0, 300.0, 1e5, f64::NAN], 101),
        ] {
            let refused = State::from_numbers(&fluid, &numbers).unwrap_err();
            assert_eq!(refused.code(), code);
        }
    }
}
