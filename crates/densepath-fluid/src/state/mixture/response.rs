//! How the volume and the enthalpy of a state answer to temperature and pressure, also where phases in equilibrium exchange
//! substance meanwhile: the slopes by which Newton's method finds states.
//!
//! In every phase the amounts per volume `rho_i` follow the logarithms of the fugacities over `R T`,
//! `m_i = ln rho_i + psi_i`, which all phases share: `dm = H drho + psi_iT dT` with `H_ik = delta_ik / rho_i + psi_ik`. The
//! equation of Gibbs and Duhem of each phase, `sum_i rho_i dm_i = d(p/RT) + psi_T dT`, and the amounts, which stay, are linear
//! equations for `dm` and the volumes of the phases (Michelsen and Mollerup, Thermodynamic Models, 2nd ed. 2007, chapter 1:
//! Gibbs-Duhem; the system is our own).

use nalgebra::{DMatrix, DVector};

use crate::consts::MOLAR_GAS_CONSTANT;
#[cfg(not(feature = "std"))]
use crate::prelude::*;
use crate::quantity::Quantity;
use crate::state::{Content, Part, State};

/// First derivatives of the specific volume and enthalpy of a state.
#[derive(Debug, Clone, Copy)]
pub(super) struct Response {
    temperature: f64,
    pressure: f64,
    specific_volume: f64,
    /// `(dv/dT)_p` in m3/(kg K).
    expansion: f64,
    /// `(dv/dp)_T` in m3/(kg Pa).
    yielding: f64,
    /// `(dh/dT)_p` in J/(kg K).
    capacity: f64,
}

impl Response {
    /// Of one phase, or of fluid phases in equilibrium; nothing where phases cannot follow both changes, as three of two
    /// substances, and beside a solid.
    pub(super) fn of(state: &State) -> Option<Self> {
        let (temperature, pressure) = (state.temperature, state.pressure);
        let specific_volume = 1.0 / state.density;
        let (expansion, yielding, capacity) = match &state.content {
            Content::One { .. } => (
                specific_volume * state.isobaric_expansivity().ok()?,
                -specific_volume * state.isothermal_compressibility().ok()?,
                state.specific_isobaric_heat_capacity().ok()?,
            ),
            Content::Several(parts) => {
                let phases = parts.iter().map(Coexisting::of);
                let system = System::of(phases.collect::<Option<Vec<_>>>()?, temperature)?;
                let thermal = MOLAR_GAS_CONSTANT * temperature;
                let warmed = system.change(1.0, -pressure / (thermal * temperature))?;
                let pressed = system.change(0.0, 1.0 / thermal)?;
                let capacity = warmed.energy + pressure * warmed.volume;
                (warmed.volume, pressed.volume, capacity)
            }
        };
        Some(Self {
            temperature,
            pressure,
            specific_volume,
            expansion,
            yielding,
            capacity,
        })
    }

    /// `(dv/dT)_p` in m3/(kg K).
    pub(super) fn expansion(&self) -> f64 {
        self.expansion
    }

    /// `(dv/d ln p)_T` in m3/kg.
    pub(super) fn yielding_to_ln_pressure(&self) -> f64 {
        self.pressure * self.yielding
    }

    /// Derivative of a caloric quantity in the temperature at constant pressure.
    pub(super) fn on_isobar(&self, quantity: Quantity) -> f64 {
        self.caloric(quantity, self.capacity, self.expansion, 0.0)
    }

    /// Derivative of a caloric quantity in ln p at constant temperature: `(ds/dp)_T = -(dv/dT)_p`.
    pub(super) fn on_isotherm(&self, quantity: Quantity) -> f64 {
        let heat = -self.temperature * self.expansion;
        self.pressure * self.caloric(quantity, heat, self.yielding, 1.0)
    }

    /// Derivative of a caloric quantity in the temperature at constant density.
    pub(super) fn on_isochore(&self, quantity: Quantity) -> f64 {
        let push = -self.expansion / self.yielding;
        let heat = self.capacity - self.temperature * self.expansion * push;
        self.caloric(quantity, heat, 0.0, push)
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

/// `(dv/dp)_s` in m3/(kg Pa) of a mixture, phases in equilibrium included.
pub(in crate::state) fn isentropic_yielding(state: &State) -> Option<f64> {
    let response = Response::of(state)?;
    let warming = response.expansion * response.expansion * state.temperature;
    let yielding = response.yielding + warming / response.capacity;
    (yielding < 0.0).then_some(yielding)
}

/// One of the fluid phases, per kilogram of them all.
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
    /// Isochoric heat capacity in J/(kg K).
    capacity: f64,
}

impl Coexisting {
    fn of(part: &Part) -> Option<Self> {
        let state = part.fluid()?;
        let Content::One { residual, .. } = state.content else {
            return None;
        };
        let mixed = state.fluid.mixed()?;
        let (temperature, density) = (state.temperature, mixed.molar_density(state.density));
        let isotherm = mixed.isotherm(temperature);
        let found = isotherm.potential_derivatives(density);
        let count = mixed.fractions().len();
        let all = DVector::from_column_slice(mixed.fractions());
        let present: Vec<usize> = (0..count).filter(|index| all[*index] > 0.0).collect();
        let densities = all.select_rows(&present) * density;
        let mut hessian = DMatrix::from_row_slice(count, count, &found.curvatures)
            .select_rows(&present)
            .select_columns(&present);
        for (index, own) in densities.iter().enumerate() {
            hessian[(index, index)] += 1.0 / own;
        }
        Some(Self {
            volume: part.mass_fraction / state.density,
            slopes: DVector::from_column_slice(&found.slopes).select_rows(&present) / temperature,
            softness: hessian.try_inverse()?,
            warming: -density * residual.a_t / temperature,
            capacity: part.mass_fraction * state.specific_isochoric_heat_capacity().ok()?,
            densities,
        })
    }
}

/// The linear equations for the common change of `m` and the volumes of the phases.
struct System {
    phases: Vec<Coexisting>,
    temperature: f64,
    /// Inverse of the matrix of the equations.
    inverse: DMatrix<f64>,
}

/// Change of the volume in m3/kg and of the internal energy in J/kg of all phases.
struct Change {
    volume: f64,
    energy: f64,
}

impl System {
    fn of(phases: Vec<Coexisting>, temperature: f64) -> Option<Self> {
        let substances = phases.first()?.densities.len();
        if phases
            .iter()
            .any(|phase| phase.densities.len() != substances)
        {
            return None;
        }
        let size = substances + phases.len();
        let mut matrix = DMatrix::zeros(size, size);
        for (index, phase) in phases.iter().enumerate() {
            let mut amounts = matrix.view_mut((0, 0), (substances, substances));
            amounts += phase.volume * &phase.softness;
            let place = substances + index;
            let mut column = matrix.view_mut((0, place), (substances, 1));
            column.copy_from(&phase.densities);
            let mut row = matrix.view_mut((place, 0), (1, substances));
            row.copy_from(&phase.densities.transpose());
        }
        Some(Self {
            phases,
            temperature,
            inverse: matrix.try_inverse()?,
        })
    }

    /// With a change of the temperature in K and of the pressure in Pa over `R T`, in mol/m3.
    fn change(&self, temperature: f64, pressure: f64) -> Option<Change> {
        let substances = self.inverse.nrows() - self.phases.len();
        let mut right = DVector::zeros(self.inverse.nrows());
        for (index, phase) in self.phases.iter().enumerate() {
            let mut amounts = right.rows_mut(0, substances);
            amounts += phase.volume * temperature * (&phase.softness * &phase.slopes);
            right[substances + index] = pressure + phase.warming * temperature;
        }
        let solved = &self.inverse * right;
        let potentials = solved.rows(0, substances);
        let thermal = MOLAR_GAS_CONSTANT * self.temperature;
        let mut change = Change {
            volume: 0.0,
            energy: 0.0,
        };
        for (index, phase) in self.phases.iter().enumerate() {
            let volume = solved[substances + index];
            let densities = &phase.softness * (potentials - &phase.slopes * temperature);
            // The energy per volume is `-R T^2 psi_T`, but for that of ideal gases, which goes with the amounts and stays.
            let exchanged = volume * phase.warming + phase.volume * phase.slopes.dot(&densities);
            change.volume += volume;
            change.energy += phase.capacity * temperature - thermal * self.temperature * exchanged;
        }
        let is_finite = change.volume.is_finite() && change.energy.is_finite();
        is_finite.then_some(change)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::state::Fluid;

    /// Between phases that exchange substance the differences of whole equilibria are the reference.
    #[test]
    fn phases_answer_as_differences_of_their_equilibria_say() {
        let mixture = |substances: &[(&str, f64)]| Fluid::mixture(substances).unwrap();
        let wet = mixture(&[("carbon dioxide", 0.5), ("water", 0.5)]);
        let methanol = mixture(&[("carbon dioxide", 0.6), ("methanol", 0.4)]);
        let three = mixture(&[("carbon dioxide", 0.5), ("methanol", 0.3), ("water", 0.2)]);
        for (fluid, temperature, pressure) in [
            (&wet, 350.0, 5e6),
            (&wet, 288.15, 2e7),
            (&methanol, 313.15, 5e6),
            (&three, 313.15, 5e6),
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
                (found.expansion(), slope(&warm, &volume, step)),
                (
                    found.yielding_to_ln_pressure(),
                    pressure * slope(&pressed, &volume, push),
                ),
            ];
            for quantity in quantities {
                let of = |state: &State| crate::state::isobar::caloric(state, quantity);
                pairs.push((found.on_isobar(quantity), slope(&warm, &of, step)));
                pairs.push((
                    found.on_isotherm(quantity),
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

    #[test]
    fn beside_a_solid_nothing_is_told() {
        let fluid = Fluid::mixture(&[("carbon dioxide", 0.95), ("methanol", 0.05)]).unwrap();
        let start = State::from_tp(&fluid, 303.15, 15e6).unwrap();
        let end = start.expand_to(101_325.0).unwrap();
        assert!(end.solid().is_some() && Response::of(&end).is_none());
    }
}
