//! Many states of one substance at given temperatures and pressures, by the quick way.
//!
//! The densities come from [`super::cells`], the energies several side by side. A state that has no polynomial is left to
//! [`State::from_tp`]; for the others the checks of the range and of the solid are those of the rectangles.

use super::cells::{densities, fill, filled_density};
use super::pure::Pure;
use super::solve::phase_above_dome;
use super::{Content, Energy, Fluid, Phase, State, shift};
use crate::eos::helmholtz::Helmholtz;
use crate::eos::{EnergyPoint, OnePhase};
use crate::error::{Error, Result, positive};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// States that are prepared at a time.
const BATCH: usize = 128;

/// Rows of properties, one for each temperature in K and pressure in Pa; not a number where [`State::from_tp`] must be asked: of a
/// mixture and of a fluid whose volume is shifted for all but the density.
pub(crate) fn rows(
    fluid: &Fluid,
    quantities: &[Quantity],
    temperatures: &[f64],
    pressures: &[f64],
    out: &mut [f64],
) {
    if let Some((of_model, shift)) = fluid.unshifted() {
        if quantities != [Quantity::Density] {
            return out.fill(f64::NAN);
        }
        rows(&of_model, quantities, temperatures, pressures, out);
        for value in out {
            *value = shift::after(*value, shift).unwrap_or(f64::NAN);
        }
        return;
    }
    match (fluid.pure(), fluid.mixed(), quantities) {
        (Some(pure), ..) => rows_of_pure(pure, quantities, temperatures, pressures, out),
        (None, Some(mixed), [Quantity::Density]) => {
            densities(mixed, temperatures, pressures, out);
        }
        (None, mixed, _) => {
            out.fill(f64::NAN);
            let is_density = |quantity: &Quantity| *quantity == Quantity::Density;
            let place = quantities.iter().position(is_density);
            let (Some(mixed), Some(place)) = (mixed, place) else {
                return;
            };
            let mut known = vec![f64::NAN; temperatures.len()];
            densities(mixed, temperatures, pressures, &mut known);
            for (row, density) in out.chunks_mut(quantities.len()).zip(known) {
                if let Some(value) = row.get_mut(place) {
                    *value = density;
                }
            }
        }
    }
}

fn rows_of_pure(
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
    if quantities.iter().all(|quantity| OnePhase::knows(*quantity)) {
        return rows_of_one_phase(fluid, quantities, temperatures, pressures, out);
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

/// As [`rows_of_pure`] for quantities that follow from the energy alone.
fn rows_of_one_phase(
    fluid: Pure<'_>,
    quantities: &[Quantity],
    temperatures: &[f64],
    pressures: &[f64],
    out: &mut [f64],
) {
    let mut known = [f64::NAN; BATCH];
    let points = temperatures.chunks(BATCH).zip(pressures.chunks(BATCH));
    for ((temperatures, pressures), out) in points.zip(out.chunks_mut(BATCH * quantities.len())) {
        let found = &mut known[..temperatures.len()];
        densities(fluid, temperatures, pressures, found);
        let helmholtz = fluid.helmholtz();
        let [t, d] = known_or_thin(helmholtz, temperatures, found);
        helmholtz.rows(quantities, &t[..found.len()], &d[..found.len()], out);
        for (row, density) in out.chunks_mut(quantities.len()).zip(found) {
            if density.is_nan() {
                row.fill(f64::NAN);
            }
        }
    }
}

/// Temperatures and densities with a thin gas in place of those that are not known: what is no number, and what is no stable phase,
/// raises flags of invalid operations, which numpy reports.
fn known_or_thin(
    helmholtz: &Helmholtz,
    temperatures: &[f64],
    densities: &[f64],
) -> [[f64; BATCH]; 2] {
    let mut all_t = [helmholtz.temperature_reducing; BATCH];
    let mut all_d = [1e-3 * helmholtz.density_reducing; BATCH];
    let given = temperatures.iter().zip(densities);
    for ((own_t, own_d), (t, d)) in all_t.iter_mut().zip(&mut all_d).zip(given) {
        if !d.is_nan() {
            (*own_t, *own_d) = (*t, *d);
        }
    }
    [all_t, all_d]
}

impl Fluid {
    /// Prepares the densities between two temperatures in K and two pressures in Pa for [`Fluid::prepared_density`].
    ///
    /// What is prepared is kept as long as any handle of the substance. It takes some 0.1 ms for each of the rectangles, of which carbon
    /// dioxide from 270 to 380 K and from 5 to 40 MPa has 24 thousand, the small ones beside the border of the vapour and the critical
    /// isochore among them. Error 101 for what is no positive number; 202 for a mixture, which has no prepared densities.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// fluid.prepare_densities([310.0, 320.0], [14e6, 16e6])?;
    /// assert_eq!(fluid.prepared_density(313.15, 15e6)?, fluid.density(313.15, 15e6)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn prepare_densities(&self, temperature: [f64; 2], pressure: [f64; 2]) -> Result<()> {
        for value in temperature {
            positive(Quantity::Temperature, value)?;
        }
        for value in pressure {
            positive(Quantity::Pressure, value)?;
        }
        let pure = self.pure().ok_or_else(|| self.not_prepared())?;
        fill(pure, temperature, pressure);
        Ok(())
    }

    /// Density rho in kg/m3 at a temperature T in K and a pressure p in Pa as prepared, at a fixed cost: at most nine steps down a
    /// tree and one polynomial, without iterations, locks and memory asked for.
    ///
    /// The bits are those of [`Fluid::density`]. Error 202 where no polynomial is prepared: outside the region of
    /// [`Fluid::prepare_densities`], and in the narrow surroundings of the vapour pressure, the critical point, the critical
    /// isochore and the solid that polynomials leave to the solver. *Valid*, *Uncertainty*: as [`Fluid::property`].
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// co2.prepare_densities([310.0, 316.0], [140e5, 160e5])?;
    /// assert_eq!(co2.prepared_density(313.15, 150e5)?, co2.density(313.15, 150e5)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn prepared_density(&self, temperature: f64, pressure: f64) -> Result<f64> {
        let found = self.pure();
        let found = found.and_then(|pure| filled_density(pure, temperature, pressure));
        shift::after(
            found.ok_or_else(|| self.not_prepared())?,
            self.volume_shift(),
        )
    }

    fn not_prepared(&self) -> Error {
        Error::MissingModel {
            property: Quantity::Density,
            fluid: self.name().to_owned(),
            need: "a density prepared for this temperature and pressure; the density itself is computed without",
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
                is_beside: false,
                content: Content::One(Energy::Known(EnergyPoint::default())),
                of_model: None,
            },
        }
    }

    fn prepare(&mut self, temperatures: &[f64], pressures: &[f64]) {
        let count = temperatures.len().min(BATCH);
        let (found, energies) = (&mut self.densities[..count], &mut self.energies[..count]);
        densities(self.fluid, temperatures, pressures, found);
        let helmholtz = self.fluid.helmholtz();
        let [t, d] = known_or_thin(helmholtz, temperatures, found);
        helmholtz.points(&t[..count], &d[..count], energies);
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
        state.content = Content::One(Energy::Known(*energy));
        (state.temperature, state.pressure, state.density) = (temperature, pressure, density);
        Some(state)
    }
}

#[cfg(test)]
mod tests {
    use crate::state::Fluid;

    /// Every density of a region that lies clear of borders is prepared, and nothing outside.
    #[test]
    fn prepared_densities_have_the_bits_of_others() {
        let name = "1,1,1,2-tetrafluoroethane";
        let fluid = Fluid::new(name).unwrap();
        assert_eq!(fluid.prepared_density(300.0, 3e6).unwrap_err().code(), 202);
        fluid.prepare_densities([290.0, 310.0], [2e6, 5e6]).unwrap();
        for step in 0..200 {
            let t = 290.0 + 20.0 * (f64::from(step) * 0.754_877_666_246_693).fract();
            let p = 2e6 + 3e6 * (f64::from(step) * 0.569_840_290_998_053).fract();
            let found = fluid.prepared_density(t, p).unwrap();
            assert_eq!(found.to_bits(), fluid.density(t, p).unwrap().to_bits());
        }
        let border = fluid.coexistence_at_temperature(300.0).unwrap().pressure;
        for (t, p) in [
            (300.0, border),
            (350.0, 3e6),
            (f64::NAN, 3e6),
            (300.0, -1.0),
        ] {
            assert_eq!(
                fluid.prepared_density(t, p).unwrap_err().code(),
                202,
                "{t} {p}"
            );
        }
        assert_eq!(
            fluid
                .prepare_densities([0.0, 1.0], [1e5, 1e6])
                .unwrap_err()
                .code(),
            101
        );
    }
}
