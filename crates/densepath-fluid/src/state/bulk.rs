//! Many states of one substance at given temperatures and pressures, by the quick way.
//!
//! The densities come from [`super::cells`], the energies several side by side. A state that has no polynomial is left to
//! [`State::from_tp`]; for the others the checks of the range and of the solid are those of the rectangles.

use super::cells::densities;
use super::pure::Pure;
use super::solve::phase_above_dome;
use super::{Content, Phase, State};
use crate::eos::EnergyPoint;
use crate::quantity::Quantity;

/// States that are prepared at a time.
const BATCH: usize = 32;

/// Rows of properties, one for each temperature in K and pressure in Pa; not a number where [`State::from_tp`] must be asked.
pub(crate) fn rows(
    fluid: Pure<'_>,
    quantities: &[Quantity],
    temperatures: &[f64],
    pressures: &[f64],
    out: &mut [f64],
) {
    if quantities == [Quantity::Density] {
        return densities(fluid, temperatures, pressures, out);
    }
    if quantities.is_empty() {
        return;
    }
    let mut states = States::new(fluid);
    let points = temperatures.chunks(BATCH).zip(pressures.chunks(BATCH));
    for ((temperatures, pressures), out) in points.zip(out.chunks_mut(BATCH * quantities.len())) {
        states.prepare(temperatures, pressures);
        let points = temperatures.iter().zip(pressures).enumerate();
        for ((index, (t, p)), row) in points.zip(out.chunks_mut(quantities.len())) {
            let Some(state) = states.at(index, *t, *p) else {
                row.fill(f64::NAN);
                continue;
            };
            for (value, quantity) in row.iter_mut().zip(quantities) {
                *value = state.get(*quantity).unwrap_or(f64::NAN);
            }
        }
    }
}

/// States of one batch, each told through the same place.
struct States<'a> {
    fluid: Pure<'a>,
    densities: [f64; BATCH],
    energies: [EnergyPoint; BATCH],
    state: State,
}

impl<'a> States<'a> {
    fn new(fluid: Pure<'a>) -> Self {
        let EnergyPoint { ideal, residual } = EnergyPoint::default();
        Self {
            fluid,
            densities: [f64::NAN; BATCH],
            energies: [EnergyPoint::default(); BATCH],
            state: State {
                fluid: fluid.handle.clone(),
                temperature: f64::NAN,
                pressure: f64::NAN,
                density: f64::NAN,
                phase: None,
                content: Content::One { ideal, residual },
            },
        }
    }

    fn prepare(&mut self, temperatures: &[f64], pressures: &[f64]) {
        let count = temperatures.len().min(BATCH);
        let (found, energies) = (&mut self.densities[..count], &mut self.energies[..count]);
        densities(self.fluid, temperatures, pressures, found);
        // What is not a number raises the flag of an invalid operation, which numpy reports.
        let helmholtz = self.fluid.helmholtz();
        let known = self.densities.map(|density| {
            if density.is_nan() {
                helmholtz.density_reducing
            } else {
                density
            }
        });
        helmholtz.points(temperatures, &known, energies);
    }

    /// A state of the batch; nothing where its density is not known.
    fn at(&mut self, index: usize, temperature: f64, pressure: f64) -> Option<&State> {
        let (density, energy) = (*self.densities.get(index)?, self.energies.get(index)?);
        if density.is_nan() {
            return None;
        }
        let top = self.fluid.helmholtz().dome_top;
        let state = &mut self.state;
        state.phase = Some(if temperature >= top.temperature {
            phase_above_dome(self.fluid, temperature, pressure)
        } else if density > top.density {
            Phase::Liquid
        } else {
            Phase::Vapour
        });
        let EnergyPoint { ideal, residual } = *energy;
        state.content = Content::One { ideal, residual };
        (state.temperature, state.pressure, state.density) = (temperature, pressure, density);
        Some(state)
    }
}

#[cfg(test)]
mod tests {
    use super::rows;
    use crate::property::PROPERTIES;
    use crate::quantity::Quantity;
    use crate::state::{Fluid, State};

    /// Properties that follow from a density within 1e-11 differ by more where a small change of density means much.
    #[test]
    fn properties_are_those_of_states() {
        let mut compared = 0;
        for (name, range) in [("carbon dioxide", 217.0..400.0), ("ethanol", 260.0..500.0)] {
            let fluid = Fluid::new(name).unwrap();
            for step in 0..400 {
                let place = (f64::from(step) * 0.754_877_666_246_693).fract();
                let t = range.start + place * (range.end - range.start);
                let p = 1e4 * 7e3_f64.powf((f64::from(step) * 0.569_840_290_998_053).fract());
                let mut row = vec![0.0; PROPERTIES.len()];
                rows(fluid.pure().unwrap(), PROPERTIES, &[t], &[p], &mut row);
                let Ok(state) = State::from_tp(&fluid, t, p) else {
                    assert!(row.iter().all(|value| value.is_nan()));
                    continue;
                };
                for (quantity, value) in PROPERTIES.iter().zip(row) {
                    let Ok(exact) = state.get(*quantity) else {
                        assert!(value.is_nan());
                        continue;
                    };
                    if value.is_nan() {
                        continue;
                    }
                    compared += 1;
                    let zero = match quantity {
                        Quantity::SpecificEntropy => fluid.specific_gas_constant(),
                        Quantity::JouleThomsonCoefficient => 1e-7,
                        Quantity::SpecificEnthalpy
                        | Quantity::SpecificInternalEnergy
                        | Quantity::SpecificGibbsEnergy
                        | Quantity::SpecificHelmholtzEnergy => fluid.specific_gas_constant() * t,
                        _ => 0.0,
                    };
                    let difference = (value - exact).abs() / (exact.abs() + zero);
                    assert!(
                        difference < 2e-10,
                        "{name} {quantity} {t} {p}: {difference:e}"
                    );
                }
            }
        }
        assert!(compared > 10_000, "{compared}");
    }
}
