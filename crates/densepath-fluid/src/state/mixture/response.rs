//! How the pressure, the volume and the energy of a state answer to each other, also where phases in equilibrium exchange
//! substance meanwhile: the slopes by which Newton's method finds states.
//!
//! In every phase the amounts per volume `rho_i` follow the logarithms of the fugacities over `R T`,
//! `m_i = ln rho_i + psi_i`, which all phases share: `dm = H drho + psi_iT dT` with `H_ik = delta_ik / rho_i + psi_ik`. The
//! equation of Gibbs and Duhem of each phase, `sum_i rho_i dm_i = d(p/RT) + psi_T dT`, the amounts, which stay, and the volume of
//! all are linear equations for `dm`, the volumes of the phases and the pressure (Michelsen and Mollerup, Thermodynamic Models, 2nd
//! ed. 2007, chapter 1: Gibbs-Duhem; the system is our own). A pure solid obeys the same equation with
//! `psi_T = rho (u_ideal - u) / (R T^2)`; it takes up its substance alone, and its density follows temperature and pressure.

use nalgebra::{DMatrix, DVector};

use super::Mixed;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::solid::SolidPoint;
#[cfg(not(feature = "std"))]
use crate::prelude::*;
use crate::quantity::Quantity;
use crate::state::{Content, Part, State};

/// First derivatives of the pressure and the energy of a state in temperature and volume.
#[derive(Debug, Clone, Copy)]
pub(super) struct Response {
    temperature: f64,
    pressure: f64,
    specific_volume: f64,
    /// `(dp/dT)_v` in Pa/K.
    push: f64,
    /// `(dp/dv)_T` in Pa kg/m3; zero where phases can have no other pressure at their temperature, as three of two substances.
    spring: f64,
    /// `(du/dT)_v` in J/(kg K).
    capacity: f64,
}

impl Response {
    /// Of one phase or of phases in equilibrium; nothing where they can follow no other temperature, as four of two substances.
    pub(super) fn of(state: &State) -> Option<Self> {
        let specific_volume = 1.0 / state.density;
        let (push, spring, capacity) = match &state.content {
            Content::One(_) => {
                let compressibility = state.isothermal_compressibility().ok()?;
                (
                    state.isobaric_expansivity().ok()? / compressibility,
                    -1.0 / (specific_volume * compressibility),
                    state.specific_isochoric_heat_capacity().ok()?,
                )
            }
            Content::Several(parts) => System::of(state, parts)?.response()?,
        };
        Some(Self {
            temperature: state.temperature,
            pressure: state.pressure,
            specific_volume,
            push,
            spring,
            capacity,
        })
    }

    /// `(dv/dp)_T` in m3/(kg Pa), if there is another pressure.
    fn yielding(&self) -> Option<f64> {
        (self.spring < 0.0).then_some(1.0 / self.spring)
    }

    /// `(dv/dT)_p` in m3/(kg K).
    pub(super) fn expansion(&self) -> Option<f64> {
        Some(-self.push * self.yielding()?)
    }

    /// `(dv/d ln p)_T` in m3/kg.
    pub(super) fn yielding_to_ln_pressure(&self) -> Option<f64> {
        Some(self.pressure * self.yielding()?)
    }

    /// Derivative of a caloric quantity in the temperature at constant pressure.
    pub(super) fn on_isobar(&self, quantity: Quantity) -> Option<f64> {
        let expansion = self.expansion()?;
        let heat = self.capacity + self.temperature * self.push * expansion;
        Some(self.caloric(quantity, heat, expansion, 0.0))
    }

    /// `(d ln T/d ln p)_s`, by `(dT/dp)_s = (dv/ds)_p`.
    pub(super) fn isentropic_exponent(&self) -> Option<f64> {
        let warming = self.expansion()? / self.on_isobar(Quantity::SpecificEntropy)?;
        Some(self.pressure / self.temperature * warming)
    }

    /// Derivative of a caloric quantity in ln p at constant temperature: `(ds/dv)_T = (dp/dT)_v`.
    pub(super) fn on_isotherm(&self, quantity: Quantity) -> Option<f64> {
        let yielding = self.yielding()?;
        let heat = self.temperature * self.push * yielding;
        Some(self.pressure * self.caloric(quantity, heat, yielding, 1.0))
    }

    /// Derivative of a caloric quantity in the temperature at constant density.
    pub(super) fn on_isochore(&self, quantity: Quantity) -> f64 {
        self.caloric(quantity, self.capacity, 0.0, self.push)
    }

    /// Change of a caloric quantity with the heat `T ds`, the volume and the pressure: `du = T ds - p dv`, `dh = T ds + v dp`.
    fn caloric(&self, quantity: Quantity, heat: f64, volume: f64, pressure: f64) -> f64 {
        match quantity {
            Quantity::SpecificEntropy => heat / self.temperature,
            Quantity::SpecificInternalEnergy => heat - self.pressure * volume,
            _ => heat + self.specific_volume * pressure,
        }
    }
}

/// `(dv/dp)_s` in m3/(kg Pa) of a mixture, phases in equilibrium included: `(dp/dv)_s = (dp/dv)_T - T (dp/dT)_v^2 / c_v`.
pub(in crate::state) fn isentropic_yielding(state: &State) -> Option<f64> {
    let response = Response::of(state)?;
    let warming = response.temperature * response.push * response.push;
    let spring = response.spring - warming / response.capacity;
    (spring < 0.0).then_some(1.0 / spring)
}

/// One of the phases, per kilogram of them all.
struct Coexisting {
    /// Volume in m3/kg.
    volume: f64,
    /// Amounts per volume in mol/m3 of the substances present.
    densities: DVector<f64>,
    /// `psi_iT` in 1/K.
    slopes: DVector<f64>,
    /// The inverse of `H` in mol/m3.
    softness: DMatrix<f64>,
    /// `psi_T` in mol/(m3 K).
    warming: f64,
    /// Heat capacity at constant volume, of a solid `c_p - p (dv/dT)_p`, in J/(kg K).
    capacity: f64,
    /// `(dV/dT)_p` in m3/(kg K) of a solid.
    swelling: f64,
    /// `-(dV/dp)_T` in m3/(kg Pa) of a solid.
    shrinking: f64,
}

impl Coexisting {
    fn of(part: &Part, whole: &Mixed) -> Option<Self> {
        match (part.fluid(), part.solid()) {
            (Some(state), _) => Self::fluid(state, part.mass_fraction),
            (None, Some(solid)) => Self::solid(solid, part.mass_fraction, whole),
            (None, None) => None,
        }
    }

    fn fluid(state: &State, mass_fraction: f64) -> Option<Self> {
        let residual = state.energy()?.residual;
        let mixed = state.fluid.mixed()?;
        let (temperature, density) = (state.temperature, mixed.molar_density(state.density));
        let isotherm = mixed.isotherm(temperature);
        let found = isotherm.potential_derivatives(density);
        let count = mixed.fractions().len();
        let all = DVector::from_column_slice(mixed.fractions());
        let present = mixed.present();
        let densities = all.select_rows(&present) * density;
        let mut hessian = DMatrix::from_row_slice(count, count, &found.curvatures)
            .select_rows(&present)
            .select_columns(&present);
        for (index, own) in densities.iter().enumerate() {
            hessian[(index, index)] += 1.0 / own;
        }
        Some(Self {
            volume: mass_fraction / state.density,
            slopes: DVector::from_column_slice(&found.slopes).select_rows(&present) / temperature,
            softness: hessian.try_inverse()?,
            warming: -density * residual.a_t / temperature,
            capacity: mass_fraction * state.specific_isochoric_heat_capacity().ok()?,
            densities,
            swelling: 0.0,
            shrinking: 0.0,
        })
    }

    fn solid(solid: &SolidPoint, mass_fraction: f64, whole: &Mixed) -> Option<Self> {
        let index = whole.index_of(solid)?;
        let present = whole.present();
        let component = whole.system.components.get(index)?;
        let molar_density = solid.density / component.model_molar_mass;
        let own = |place: &usize| f64::from(u8::from(*place == index)) * molar_density;
        let densities = DVector::from_iterator(present.len(), present.iter().map(own));
        let thermal = whole.thermal_energy_of(index, solid.temperature);
        let ideal = component.ideal.at(solid.temperature, solid.density).first;
        let bound = ideal - solid.specific_internal_energy() / thermal;
        let volume = mass_fraction / solid.density;
        let swelling = volume * solid.isobaric_expansivity;
        let heat = mass_fraction * solid.specific_isobaric_heat_capacity;
        Some(Self {
            volume,
            slopes: DVector::zeros(present.len()),
            softness: DMatrix::zeros(present.len(), present.len()),
            warming: molar_density * bound / solid.temperature,
            capacity: heat - solid.pressure * swelling,
            densities,
            swelling,
            shrinking: volume * solid.isothermal_compressibility,
        })
    }
}

/// The linear equations for the common change of `m`, of the volumes of the phases and of `p / R T`.
struct System {
    phases: Vec<Coexisting>,
    substances: usize,
    temperature: f64,
    pressure: f64,
    /// Inverse of the matrix of the equations.
    inverse: DMatrix<f64>,
}

/// Change of the pressure in Pa and of the internal energy in J/kg of all phases.
struct Change {
    pressure: f64,
    energy: f64,
}

impl System {
    fn of(state: &State, parts: &[Part]) -> Option<Self> {
        let whole = state.fluid.mixed()?;
        let phases = parts.iter().map(|part| Coexisting::of(part, &whole));
        let phases = phases.collect::<Option<Vec<_>>>()?;
        let substances = whole.present().len();
        let is_whole = |phase: &Coexisting| phase.densities.len() == substances;
        if phases.len() > substances + 1 || !phases.iter().all(is_whole) {
            return None;
        }
        let (temperature, pressure) = (state.temperature, state.pressure);
        let last = substances + phases.len();
        let mut matrix = DMatrix::zeros(last + 1, last + 1);
        for (index, phase) in phases.iter().enumerate() {
            let mut amounts = matrix.view_mut((0, 0), (substances, substances));
            amounts += phase.volume * &phase.softness;
            let place = substances + index;
            let mut column = matrix.view_mut((0, place), (substances, 1));
            column.copy_from(&phase.densities);
            let mut row = matrix.view_mut((place, 0), (1, substances));
            row.copy_from(&phase.densities.transpose());
            matrix[(place, last)] = -1.0;
            matrix[(last, place)] = 1.0;
            matrix[(last, last)] -= phase.shrinking * MOLAR_GAS_CONSTANT * temperature;
        }
        Some(Self {
            phases,
            substances,
            temperature,
            pressure,
            inverse: matrix.try_inverse()?,
        })
    }

    /// `(dp/dT)_v`, `(dp/dv)_T` and `(du/dT)_v`.
    fn response(&self) -> Option<(f64, f64, f64)> {
        let warmed = self.change(1.0, 0.0)?;
        let has_pressures = self.phases.len() <= self.substances;
        let spring = if has_pressures {
            self.change(0.0, 1.0)?.pressure
        } else {
            0.0
        };
        Some((warmed.pressure, spring, warmed.energy))
    }

    /// With a change of the temperature in K and of the volume in m3/kg.
    fn change(&self, temperature: f64, volume: f64) -> Option<Change> {
        let last = self.substances + self.phases.len();
        let mut right = DVector::zeros(last + 1);
        right[last] = volume;
        for (index, phase) in self.phases.iter().enumerate() {
            let mut amounts = right.rows_mut(0, self.substances);
            amounts += phase.volume * temperature * (&phase.softness * &phase.slopes);
            right[self.substances + index] = phase.warming * temperature;
            let pressed = self.pressure / self.temperature * phase.shrinking;
            right[last] -= (phase.swelling - pressed) * temperature;
        }
        let solved = &self.inverse * right;
        let potentials = solved.rows(0, self.substances);
        let thermal = MOLAR_GAS_CONSTANT * self.temperature;
        let pressure = thermal * solved[last] + self.pressure / self.temperature * temperature;
        let mut energy = 0.0;
        for (index, phase) in self.phases.iter().enumerate() {
            let volume = solved[self.substances + index];
            let densities = &phase.softness * (potentials - &phase.slopes * temperature);
            // The energy per volume is `-R T^2 psi_T`, but for that of ideal gases, which goes with the amounts and stays.
            let exchanged = volume * phase.warming + phase.volume * phase.slopes.dot(&densities);
            let pressed = self.pressure * phase.shrinking - self.temperature * phase.swelling;
            energy += phase.capacity * temperature - thermal * self.temperature * exchanged;
            energy += pressed * pressure;
        }
        let is_finite = pressure.is_finite() && energy.is_finite();
        is_finite.then_some(Change { pressure, energy })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::state::{Fluid, Phase};

    /// Between phases that exchange substance the differences of whole equilibria are the reference.
    #[test]
    fn phases_answer_as_differences_of_their_equilibria_say() {
        let mixture = |substances: &[(&str, f64)]| Fluid::mixture(substances).unwrap();
        let wet = mixture(&[("carbon dioxide", 0.5), ("water", 0.5)]);
        let methanol = mixture(&[("carbon dioxide", 0.6), ("methanol", 0.4)]);
        let three = mixture(&[("carbon dioxide", 0.5), ("methanol", 0.3), ("water", 0.2)]);
        let thin = mixture(&[("carbon dioxide", 0.99), ("nitrogen", 0.01)]);
        for (fluid, temperature, pressure) in [
            (&wet, 350.0, 5e6),
            (&wet, 288.15, 2e7),
            (&methanol, 313.15, 5e6),
            (&three, 313.15, 5e6),
            // Beside dry ice: a vapour, and a liquid.
            (&thin, 190.0, 3e5),
            (&methanol, 190.0, 1e6),
        ] {
            let at = |t: f64, p: f64| State::from_tp(fluid, t, p).unwrap();
            let state = at(temperature, pressure);
            assert!(!state.is_one_phase());
            let found = Response::of(&state).unwrap();
            let (step, push) = (1e-3, 1e-5 * pressure);
            let warm = [
                at(temperature - step, pressure),
                at(temperature + step, pressure),
            ];
            let pressed = [
                at(temperature, pressure - push),
                at(temperature, pressure + push),
            ];
            let slope = |ends: &[State; 2], of: &dyn Fn(&State) -> f64, width: f64| {
                (of(&ends[1]) - of(&ends[0])) / (2.0 * width)
            };
            let volume = |state: &State| 1.0 / state.density();
            let quantities = [
                Quantity::SpecificEnthalpy,
                Quantity::SpecificEntropy,
                Quantity::SpecificInternalEnergy,
            ];
            let mut pairs = vec![
                (found.expansion().unwrap(), slope(&warm, &volume, step)),
                (
                    found.yielding_to_ln_pressure().unwrap(),
                    pressure * slope(&pressed, &volume, push),
                ),
            ];
            for quantity in quantities {
                let of = |state: &State| crate::state::isobar::caloric(state, quantity);
                pairs.push((found.on_isobar(quantity).unwrap(), slope(&warm, &of, step)));
                pairs.push((
                    found.on_isotherm(quantity).unwrap(),
                    pressure * slope(&pressed, &of, push),
                ));
            }
            let along = |t: f64| State::from_t_rho(fluid, t, state.density()).unwrap();
            let closed = [along(temperature - step), along(temperature + step)];
            let energy = |state: &State| state.specific_internal_energy();
            let quantity = Quantity::SpecificInternalEnergy;
            pairs.push((found.on_isochore(quantity), slope(&closed, &energy, step)));
            for (place, (found, wanted)) in pairs.into_iter().enumerate() {
                let told = format!("{fluid:?} {place}: {found} {wanted}");
                assert!((found / wanted - 1.0).abs() < 2e-6, "{told}");
            }
        }
    }

    /// Liquid, vapour and dry ice of two substances have one pressure at a temperature; their energy still has a slope.
    #[test]
    fn three_phases_of_two_substances_answer_at_constant_volume() {
        let fluid = Fluid::mixture(&[("carbon dioxide", 0.95), ("methanol", 0.05)]).unwrap();
        let start = State::from_tp(&fluid, 303.15, 15e6).unwrap();
        let state = start.expand_to(101_325.0).unwrap();
        assert_eq!(state.phase(), Phase::SolidLiquidVapour);
        let found = Response::of(&state).unwrap();
        assert!(found.expansion().is_none() && found.yielding_to_ln_pressure().is_none());
        let (temperature, step) = (state.temperature(), 1e-3);
        let [cold, warm] = [temperature - step, temperature + step]
            .map(|temperature| State::from_t_rho(&fluid, temperature, state.density()).unwrap());
        let energy = |state: &State| state.specific_internal_energy();
        let wanted = (energy(&warm) - energy(&cold)) / (2.0 * step);
        let capacity = found.on_isochore(Quantity::SpecificInternalEnergy);
        assert!(
            (capacity / wanted - 1.0).abs() < 1e-6,
            "{capacity} {wanted}"
        );
        let push = (warm.pressure() - cold.pressure()) / (2.0 * step);
        assert!(
            (found.push / push - 1.0).abs() < 1e-6,
            "{} {push}",
            found.push
        );
    }

    /// A slow wave through vapour and dry ice, and through liquid, vapour and dry ice: small expansions are the reference.
    #[test]
    fn slow_waves_pass_a_solid() {
        let thin = Fluid::mixture(&[("carbon dioxide", 0.99), ("nitrogen", 0.01)]).unwrap();
        let dense = Fluid::mixture(&[("carbon dioxide", 0.95), ("methanol", 0.05)]).unwrap();
        let start = State::from_tp(&dense, 303.15, 15e6).unwrap();
        for state in [
            State::from_tp(&thin, 190.0, 1e5).unwrap(),
            start.expand_to(101_325.0).unwrap(),
        ] {
            let fluid = state.fluid();
            let beside = [1.0 - 1e-4, 1.0 + 1e-4].map(|factor| {
                State::from_ps(fluid, state.pressure() * factor, state.specific_entropy()).unwrap()
            });
            let [thinner, denser] = &beside;
            assert!(beside.iter().all(|one| one.phase() == state.phase()));
            let slope =
                (denser.pressure() - thinner.pressure()) / (denser.density() - thinner.density());
            let found = state.equilibrium_speed_of_sound().unwrap();
            assert!(
                (found / slope.sqrt() - 1.0).abs() < 1e-6,
                "{found} {}",
                slope.sqrt()
            );
        }
    }
}
