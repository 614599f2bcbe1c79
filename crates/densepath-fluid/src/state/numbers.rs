//! A state as plain numbers and back, to the last bit: what is stored or sent to another process.

use super::{Content, Dense, Fluid, Phase, State, TwoPhases};
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result, positive};
use crate::quantity::Quantity;

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
        let phase = Phase::ALL.iter().position(|phase| *phase == self.phase);
        let mut numbers = vec![phase.map_or(f64::NAN, |place| place as f64)];
        numbers.extend(self.variables());
        if let Content::Two(two) = &self.content {
            numbers.push(two.vapour_fraction);
            numbers.extend(two.vapour.variables());
            match &two.dense {
                Dense::Liquid(liquid) => numbers.extend(liquid.variables()),
                Dense::Solid(solid) => numbers.extend([
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
    pub fn from_numbers(fluid: &Fluid, numbers: &[f64]) -> Result<Self> {
        let [phase, temperature, pressure, density, rest @ ..] = numbers else {
            return Err(refusal(numbers));
        };
        let phase = Phase::ALL
            .iter()
            .enumerate()
            .find(|(place, _)| *place as f64 == *phase)
            .map(|(_, phase)| *phase)
            .ok_or_else(|| refusal(numbers))?;
        let whole = [*temperature, *pressure, *density];
        let (dense, vapour_fraction, vapour) = match (phase, rest) {
            (Phase::Liquid | Phase::Vapour | Phase::Supercritical, []) => {
                return one(fluid, whole, phase);
            }
            (Phase::LiquidVapour, [q, vt, vp, vd, lt, lp, ld]) => {
                let liquid = one(fluid, [*lt, *lp, *ld], Phase::Liquid)?;
                (Dense::Liquid(liquid), *q, [*vt, *vp, *vd])
            }
            (Phase::SolidVapour, [q, vt, vp, vd, t, p, d, g, s, cp, alpha, kappa]) => {
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
                (Dense::Solid(solid), *q, [*vt, *vp, *vd])
            }
            _ => return Err(refusal(numbers)),
        };
        let two = TwoPhases {
            dense,
            vapour: one(fluid, vapour, Phase::Vapour)?,
            vapour_fraction,
        };
        let [temperature, pressure, density] = checked(whole)?;
        Ok(Self {
            fluid: fluid.clone(),
            temperature,
            pressure,
            density,
            phase,
            content: Content::Two(Box::new(two)),
        })
    }

    /// Temperature, pressure and density.
    fn variables(&self) -> [f64; 3] {
        [self.temperature, self.pressure, self.density]
    }
}

/// One phase of known temperature, pressure and density.
fn one(fluid: &Fluid, variables: [f64; 3], phase: Phase) -> Result<State> {
    let [temperature, pressure, density] = checked(variables)?;
    let fluid = fluid.reference()?;
    let isotherm = fluid.helmholtz().isotherm(temperature);
    Ok(State::single(fluid, &isotherm, density, pressure, phase))
}

fn checked([temperature, pressure, density]: [f64; 3]) -> Result<[f64; 3]> {
    Ok([
        positive(Quantity::Temperature, temperature)?,
        positive(Quantity::Pressure, pressure)?,
        positive(Quantity::Density, density)?,
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
