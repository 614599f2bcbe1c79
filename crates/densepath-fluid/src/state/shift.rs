//! A constant shift of the specific volume, by which the density of a model is corrected.
//!
//! `v' = v + c` at each temperature and pressure, hence `g' = g + c p` and `h' = h + c p`. Entropy, internal energy, Helmholtz energy and
//! both heat capacities stay, and so does each equilibrium of phases, in which the potentials of a substance move alike. A liquid
//! moves by about the share of the state that the shift was taken from, a thin gas by next to nothing.
//!
//! *Source*: Péneloux, Rauzy, Frèze, Fluid Phase Equilib. 8, 7 (1982), doi 10.1016/0378-3812(82)80002-2, from memory.
//!
//! A state is sought without the shift, as the model has it, and moved when it is found. It keeps the state of the model, from which
//! viscosity, conductivity, diffusion and permittivity follow: their laws were drawn to the densities of the model.

use alloc::sync::Arc;

use super::{Body, Content, Energy, Fluid, Part, Saturation, State};
use crate::eos::solid::SolidPoint;
use crate::eos::{Coexistence, EnergyPoint, PointDerivatives};
use crate::error::{Error, Result, finite, positive, within};
use crate::quantity::Quantity;

/// Largest share of a specific volume that a shift may be: a choice of this library, beyond which it corrects no model.
const LARGEST_SHARE: f64 = 0.25;
/// Factors that may correct a density: a choice of this library.
const DENSITY_FACTORS: (f64, f64) = (0.8, 1.25);
/// Steps in which an enthalpy of the model settles, and how closely, as a share of `R T`.
const SETTLING: (u32, f64) = (60, 1e-12);

impl Fluid {
    /// The same fluid whose specific volume is that of its model plus `shift` in m3/kg at each temperature and pressure, negative to make it
    /// denser.
    ///
    /// Enthalpy and Gibbs energy move by `shift` times the pressure, so that all states stay consistent; entropy, internal energy, heat
    /// capacities, phase equilibria and what is computed from the density of the model, as the viscosity, stay as they are. Its states
    /// are refused, error 102, where the shift is more than a quarter of the volume. Error 101 for a shift that is no number.
    ///
    /// *Source*: Péneloux, Rauzy, Frèze, Fluid Phase Equilib. 8, 7 (1982), doi 10.1016/0378-3812(82)80002-2, from memory.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let shift = 1e-5;
    /// let [plain, moved] = [&co2, &co2.with_volume_shift(shift)?].map(|fluid| State::from_tp(fluid, 313.15, 15e6));
    /// let (plain, moved) = (plain?, moved?);
    /// assert!((1.0 / moved.density() - 1.0 / plain.density() - shift).abs() < 1e-15);
    /// assert!((moved.specific_enthalpy() - plain.specific_enthalpy() - shift * 15e6).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn with_volume_shift(&self, shift: f64) -> Result<Self> {
        finite(Quantity::SpecificVolume, shift)?;
        Ok(self.shifted_by(shift))
    }

    /// The same fluid whose density at a temperature T in K and a pressure p in Pa is `factor` times that of its model: a measured ratio, or
    /// the model's uncertainty put into a budget.
    ///
    /// As [`Fluid::with_volume_shift`] with the shift that this takes; it replaces one that is in force. Elsewhere the density moves by
    /// that share in proportion to itself, so give a state among those of interest. Error 102 for a factor below 0.8 or above 1.25, which
    /// corrects no model; 301 for a state of two phases; those of [`State::from_tp`].
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let dense = co2.with_density_factor(1.01, 313.15, 15e6)?;
    /// let ratio = |t, p| Ok::<_, densepath_fluid::Error>(dense.density(t, p)? / co2.density(t, p)?);
    /// assert!((ratio(313.15, 15e6)? - 1.01).abs() < 1e-14);
    /// // The gas is hardly touched.
    /// assert!((ratio(313.15, 1e5)? - 1.0).abs() < 5e-5);
    /// assert_eq!(co2.with_density_factor(2.0, 313.15, 15e6).unwrap_err().code(), 102);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn with_density_factor(
        &self,
        factor: f64,
        temperature: f64,
        pressure: f64,
    ) -> Result<Self> {
        let (low, high) = DENSITY_FACTORS;
        let what = "a factor that corrects a density";
        within(Quantity::Ratio, factor, low, high, what)?;
        let state = State::from_tp(&self.shifted_by(0.0), temperature, pressure)?;
        if !state.is_one_phase() {
            return Err(state.not_one_fluid(Quantity::Density));
        }
        Ok(self.shifted_by((1.0 / factor - 1.0) / state.density))
    }

    /// The fluid without its shift, and the shift in m3/kg; nothing where there is none.
    pub(crate) fn unshifted(&self) -> Option<(Self, f64)> {
        let shift = self.volume_shift();
        (shift != 0.0).then(|| (self.shifted_by(0.0), shift))
    }

    /// The density in kg/m3 that the model has where the fluid has another one.
    pub(crate) fn density_of_model(&self, density: f64) -> f64 {
        match self.volume_shift() {
            0.0 => density,
            shift => density / (1.0 - shift * density),
        }
    }

    /// The density in kg/m3 of the fluid where its model has another one.
    pub(crate) fn density_from_model(&self, density: f64) -> f64 {
        match self.volume_shift() {
            0.0 => density,
            shift => moved(density, shift),
        }
    }

    /// Densities of the model in equilibrium as those of the fluid.
    pub(super) fn coexistence_from_model(&self, found: Coexistence) -> Coexistence {
        Coexistence {
            liquid_density: self.density_from_model(found.liquid_density),
            vapour_density: self.density_from_model(found.vapour_density),
            ..found
        }
    }
}

/// A density in kg/m3 after a shift of the specific volume.
fn moved(density: f64, shift: f64) -> f64 {
    density / (1.0 + shift * density)
}

/// A density in kg/m3 before a shift. Error 102 where the shift is too large a share of the volume, or the density none.
pub(super) fn before(density: f64, shift: f64) -> Result<f64> {
    positive(Quantity::Density, density)?;
    let largest = LARGEST_SHARE / shift.abs();
    let what = "a shift of the specific volume of at most a quarter of it";
    within(Quantity::Density, density, 0.0, largest, what)?;
    Ok(density / (1.0 - shift * density))
}

/// A density in kg/m3 after a shift. Error 102 where the shift is too large a share of the volume.
pub(super) fn after(density: f64, shift: f64) -> Result<f64> {
    let moved = moved(density, shift);
    before(moved, shift)?;
    Ok(moved)
}

/// A caloric quantity in SI before a shift, at a pressure in Pa.
pub(super) fn caloric_before(quantity: Quantity, target: f64, shift: f64, pressure: f64) -> f64 {
    match quantity {
        Quantity::SpecificEnthalpy => target - shift * pressure,
        _ => target,
    }
}

/// The state of a shifted fluid at a caloric quantity where its pressure is not given, from how the model finds one: the enthalpy of the
/// model is the wanted one less the shift times the pressure found, which settles as the shift is small.
pub(super) fn at_caloric(
    quantity: Quantity,
    target: f64,
    shift: f64,
    of_model: impl Fn(f64) -> Result<State>,
) -> Result<State> {
    let (iterations, closeness) = SETTLING;
    let mut tried = target;
    let mut residual = f64::INFINITY;
    for _ in 0..iterations {
        let state = of_model(tried)?;
        let next = caloric_before(quantity, target, shift, state.pressure);
        residual = (next - tried).abs();
        if residual <= closeness * state.thermal_energy() {
            return state.shifted(shift);
        }
        tried = next;
    }
    Err(Error::NoConvergence {
        solver: "enthalpy of a fluid with a shifted volume",
        iterations,
        residual,
        tolerance: closeness,
    })
}

impl State {
    /// The state as the model has it, without a shift of the volume.
    pub(crate) fn of_model(&self) -> &Self {
        self.of_model.as_deref().unwrap_or(self)
    }

    /// The state of the model with its volume shifted. Error 102 where the shift is too large a share of the volume.
    pub(crate) fn shifted(self, shift: f64) -> Result<Self> {
        let density = after(self.density, shift)?;
        let content = if let Some(energy) = self.energy() {
            Content::One(Energy::Known(EnergyPoint {
                ideal: energy.ideal,
                residual: energy.residual.stretched(self.density / density),
            }))
        } else {
            let shifted = self.parts().iter().map(|part| part.clone().shifted(shift));
            Content::Several(shifted.collect::<Result<_>>()?)
        };
        Ok(Self {
            fluid: self.fluid.shifted_by(shift),
            temperature: self.temperature,
            pressure: self.pressure,
            density,
            phase: self.phase,
            is_beside: self.is_beside,
            content,
            of_model: Some(Arc::new(self)),
        })
    }
}

impl Part {
    fn shifted(self, shift: f64) -> Result<Self> {
        let body = match self.body {
            Body::Fluid(state) => Body::Fluid(state.shifted(shift)?),
            Body::Solid(solid) => Body::Solid(solid.shifted(shift)),
        };
        Ok(Self { body, ..self })
    }
}

impl SolidPoint {
    fn shifted(self, shift: f64) -> Self {
        let density = moved(self.density, shift);
        let shrinking = density / self.density;
        Self {
            density,
            specific_gibbs_energy: self.specific_gibbs_energy + shift * self.pressure,
            isobaric_expansivity: self.isobaric_expansivity * shrinking,
            isothermal_compressibility: self.isothermal_compressibility * shrinking,
            ..self
        }
    }
}

impl PointDerivatives {
    /// Those of a volume that is `stretch` times as large at the same temperature, pressure, entropy and internal energy, if it is so by a
    /// shift: `p/(rho R T)` and `(dp/dT)_rho/(rho R)` grow with the volume, `(dp/drho)_T/(R T)` with its square.
    fn stretched(self, stretch: f64) -> Self {
        let stiffness = (1.0 + 2.0 * self.a_d + self.a_dd) * stretch * stretch;
        let spring = self.spring() * stretch;
        let a_d = (1.0 + self.a_d) * stretch - 1.0;
        Self {
            a_d,
            a_dd: stiffness - 1.0 - 2.0 * a_d,
            a_dt: 1.0 + a_d - spring,
            ..self
        }
    }
}

impl Saturation {
    /// Both phases with their volumes shifted.
    pub(super) fn shifted(self, shift: f64) -> Result<Self> {
        Ok(Self {
            liquid: self.liquid.shifted(shift)?,
            vapour: self.vapour.shifted(shift)?,
            ..self
        })
    }
}
