//! Properties of a state: of one phase from its Helmholtz energy, of several from theirs.

use super::mixture::isentropic_yielding;
use super::{Body, State};
use crate::eos::OnePhase;
use crate::eos::solid::SolidPoint;
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

impl State {
    /// Specific enthalpy h in J/kg; zero for the ideal gas at 298.15 K for carbon dioxide (its paper's convention).
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // Warming carbon dioxide from the pump head to the column takes some 150 kJ/kg: the duty of a preheater.
    /// let (head, column) = (State::from_tp(&co2, 278.15, 15e6)?, State::from_tp(&co2, 313.15, 15e6)?);
    /// let duty = column.specific_enthalpy() - head.specific_enthalpy();
    /// // Dividing by the span of temperature gives the mean heat capacity.
    /// let ends = [head.specific_isobaric_heat_capacity()?, column.specific_isobaric_heat_capacity()?];
    /// assert!((ends[0]..ends[1]).contains(&(duty / 35.0)));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_enthalpy(&self) -> f64 {
        self.weigh(
            OnePhase::specific_enthalpy,
            State::specific_enthalpy,
            SolidPoint::specific_enthalpy,
        )
    }

    /// Specific internal energy u in J/kg.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// let work = state.pressure() / state.density();
    /// assert!((state.specific_enthalpy() - state.specific_internal_energy() - work).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_internal_energy(&self) -> f64 {
        self.weigh(
            OnePhase::specific_internal_energy,
            State::specific_internal_energy,
            SolidPoint::specific_internal_energy,
        )
    }

    /// Specific entropy s in J/(kg K).
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // An ideal stroke of a pump keeps the entropy and warms the liquid.
    /// let suction = State::from_tp(&co2, 278.15, 5.5e6)?;
    /// let delivery = State::from_ps(&co2, 20e6, suction.specific_entropy())?;
    /// assert!(delivery.temperature() > suction.temperature() + 3.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_entropy(&self) -> f64 {
        self.weigh(
            OnePhase::specific_entropy,
            State::specific_entropy,
            |solid| solid.specific_entropy,
        )
    }

    /// Specific Gibbs energy g in J/kg.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let boiling = Fluid::new("CO2")?.saturation_at_temperature(293.15)?;
    /// let difference = boiling.liquid.specific_gibbs_energy() - boiling.vapour.specific_gibbs_energy();
    /// assert!(difference.abs() < 1e-4);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_gibbs_energy(&self) -> f64 {
        self.specific_enthalpy() - self.temperature * self.specific_entropy()
    }

    /// Specific Helmholtz energy a in J/kg.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// let expected = state.specific_internal_energy() - 313.15 * state.specific_entropy();
    /// assert!((state.specific_helmholtz_energy() - expected).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_helmholtz_energy(&self) -> f64 {
        self.specific_internal_energy() - self.temperature * self.specific_entropy()
    }

    /// Compression factor Z = p / (rho R T), dimensionless.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let gas = State::from_tp(&co2, 313.15, 1e3)?;
    /// assert!((gas.compression_factor() - 1.0).abs() < 1e-4);
    /// // In the column the fluid is far from an ideal gas.
    /// assert!(State::from_tp(&co2, 313.15, 15e6)?.compression_factor() < 0.4);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn compression_factor(&self) -> f64 {
        self.pressure / (self.density * self.thermal_energy())
    }

    /// Specific isochoric heat capacity c_v in J/(kg K). Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// assert!(state.specific_isochoric_heat_capacity()? < state.specific_isobaric_heat_capacity()?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_isochoric_heat_capacity(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::SpecificIsochoricHeatCapacity,
            OnePhase::specific_isochoric_heat_capacity,
            SolidPoint::specific_isochoric_heat_capacity,
        )
    }

    /// Isochoric heat capacity of the ideal gas over the gas constant, dimensionless. Error 301 for two phases.
    pub(crate) fn ideal_isochoric_heat_capacity(&self) -> Result<f64> {
        let of = OnePhase::ideal_isochoric_heat_capacity;
        self.one(Quantity::SpecificIsochoricHeatCapacity, of)
    }

    /// Residual entropy over the gas constant with its sign turned, `-s_res/R`. Error 301 for two phases.
    pub(crate) fn reduced_residual_entropy(&self) -> Result<f64> {
        self.one(
            Quantity::SpecificEntropy,
            OnePhase::reduced_residual_entropy,
        )
    }

    /// Specific isobaric heat capacity c_p in J/(kg K). Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // It rises steeply towards the pseudo-critical line.
    /// let far = State::from_tp(&co2, 313.15, 20e6)?.specific_isobaric_heat_capacity()?;
    /// let near = State::from_tp(&co2, 313.15, 9e6)?.specific_isobaric_heat_capacity()?;
    /// assert!(near > 4.0 * far);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_isobaric_heat_capacity(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::SpecificIsobaricHeatCapacity,
            OnePhase::specific_isobaric_heat_capacity,
            |solid| solid.specific_isobaric_heat_capacity,
        )
    }

    /// Speed of sound c in m/s. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// // Span and Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), Table 34: triple point.
    /// let boiling = Fluid::new("CO2")?.saturation_at_temperature(216.592)?;
    /// assert!((boiling.liquid.speed_of_sound()? - 975.85).abs() < 0.005);
    /// assert!((boiling.vapour.speed_of_sound()? - 222.78).abs() < 0.005);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn speed_of_sound(&self) -> Result<f64> {
        self.one(Quantity::SpeedOfSound, OnePhase::speed_of_sound)
    }

    /// Speed of sound in m/s of slow waves, in which the phases stay in equilibrium: that of one phase, or `((dp/drho)_s)^(1/2)` of
    /// phases that exchange heat and substance meanwhile, far below that of each. In a short nozzle a flow of phases chokes at it.
    ///
    /// *Valid* in the range of the equation of state. Where a phase holds too little of a substance of the others for a number, it is
    /// that of an expansion by 1e-5 of the pressure, good to 1e-3.
    /// *Source*: identities of the equation of state. Errors: 301 at a triple point, and where rounding leaves no slope; those of
    /// [`State::from_ps`].
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let boiling = State::from_t_rho(&co2, 293.15, 600.0)?;
    /// let squeezed = State::from_ps(&co2, boiling.pressure() * 1.0001, boiling.specific_entropy())?;
    /// let slope = (squeezed.pressure() - boiling.pressure()) / (squeezed.density() - boiling.density());
    /// assert!((boiling.equilibrium_speed_of_sound()? / slope.sqrt() - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn equilibrium_speed_of_sound(&self) -> Result<f64> {
        if self.is_one_phase() {
            return self.speed_of_sound();
        }
        if let Some(of_model) = &self.of_model {
            // What the volume yields to the pressure is the same: `c = v / sqrt(-(dv/dp)_s)`.
            return Ok(of_model.equilibrium_speed_of_sound()? * of_model.density / self.density);
        }
        let yielding = if self.fluid.mixed().is_some() {
            isentropic_yielding(self).map_or_else(|| self.expanded_yielding(), Ok)?
        } else {
            // Of one substance the pressure is that of its temperature: `(dp/drho)_s = T (dp/dT)^2 / (rho^2 c_v)`.
            let response = self.isochoric_response();
            let (capacity, push) =
                response.ok_or_else(|| self.not_one_fluid(Quantity::SpeedOfSound))?;
            -capacity / (self.temperature * push * push)
        };
        if yielding < 0.0 {
            Ok((-1.0 / yielding).sqrt() / self.density)
        } else {
            Err(self.not_one_fluid(Quantity::SpeedOfSound))
        }
    }

    /// `(dv/dp)_s` in m3/(kg Pa) of a small expansion.
    fn expanded_yielding(&self) -> Result<f64> {
        const EXPANSION: f64 = 1e-5;
        let pressure = self.pressure * (1.0 - EXPANSION);
        let expanded = State::from_ps(&self.fluid, pressure, self.specific_entropy())?;
        Ok((1.0 / expanded.density - 1.0 / self.density) / (pressure - self.pressure))
    }

    /// Joule-Thomson coefficient mu_JT = (dT/dp)_h in K/Pa. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 10e6)?;
    /// // A small throttling cools by it.
    /// let cooling = 313.15 - state.expand_to(10e6 - 100.0)?.temperature();
    /// assert!((cooling / 100.0 / state.joule_thomson_coefficient()? - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn joule_thomson_coefficient(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::JouleThomsonCoefficient,
            OnePhase::joule_thomson_coefficient,
            SolidPoint::joule_thomson_coefficient,
        )
    }

    /// Isothermal compressibility kappa_T = (drho/dp)_T / rho in 1/Pa. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // The liquid in the pump head gives way far less than the fluid in the column.
    /// let head = State::from_tp(&co2, 278.15, 15e6)?.isothermal_compressibility()?;
    /// let column = State::from_tp(&co2, 313.15, 15e6)?.isothermal_compressibility()?;
    /// assert!(column > 3.0 * head);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isothermal_compressibility(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::IsothermalCompressibility,
            OnePhase::isothermal_compressibility,
            |solid| solid.isothermal_compressibility,
        )
    }

    /// Isobaric expansivity alpha_V = -(drho/dT)_p / rho in 1/K. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// // alpha_V = kappa_T (dp/dT)_rho
    /// let expected = state.isothermal_compressibility()? * state.dp_dt_rho()?;
    /// assert!((state.isobaric_expansivity()? / expected - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isobaric_expansivity(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::IsobaricExpansivity,
            OnePhase::isobaric_expansivity,
            |solid| solid.isobaric_expansivity,
        )
    }

    /// `(dp/drho)_T` in m2/s2. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// let product = state.dp_drho_t()? * state.density() * state.isothermal_compressibility()?;
    /// assert!((product - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dp_drho_t(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::Pressure,
            OnePhase::dp_drho_t,
            SolidPoint::dp_drho_t,
        )
    }

    /// `(dp/dT)_rho` in Pa/K. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // Liquid shut in between two valves: a kelvin of warming costs some 10 bar.
    /// let shut_in = State::from_tp(&co2, 278.15, 15e6)?;
    /// let warmer = co2.pressure(278.16, shut_in.density())?;
    /// assert!(((warmer - 15e6) / 0.01 / shut_in.dp_dt_rho()? - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dp_dt_rho(&self) -> Result<f64> {
        self.one_or_solid(
            Quantity::Pressure,
            OnePhase::dp_dt_rho,
            SolidPoint::dp_dt_rho,
        )
    }

    /// `(drho/dp)_h` in s2/m2: how the density follows a throttling. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// let thinner = state.density() - state.expand_to(15e6 - 100.0)?.density();
    /// assert!((thinner / 100.0 / state.drho_dp_h()? - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn drho_dp_h(&self) -> Result<f64> {
        let throttled = self.isobaric_expansivity()? * self.joule_thomson_coefficient()?;
        Ok(self.density() * (self.isothermal_compressibility()? - throttled))
    }

    /// `(drho/dp)_s` in s2/m2: how the density follows a sound wave. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// let sound = state.speed_of_sound()?;
    /// assert!((state.drho_dp_s()? * sound * sound - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn drho_dp_s(&self) -> Result<f64> {
        Ok(self.speed_of_sound()?.powi(-2))
    }

    /// `(drho/dh)_p` in kg2/(m3 J): how the density follows a heating. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// // (drho/dh)_p = -rho alpha_V / c_p
    /// let expected = -state.density() * state.isobaric_expansivity()? / state.specific_isobaric_heat_capacity()?;
    /// assert!((state.drho_dh_p()? / expected - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn drho_dh_p(&self) -> Result<f64> {
        let expansion = self.density() * self.isobaric_expansivity()?;
        Ok(-expansion / self.specific_isobaric_heat_capacity()?)
    }

    /// `(dh/dp)_T` in m3/kg. Error 301 for two phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// // (dh/dp)_T = -c_p mu_JT
    /// let expected = -state.specific_isobaric_heat_capacity()? * state.joule_thomson_coefficient()?;
    /// assert!((state.dh_dp_t()? / expected - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dh_dp_t(&self) -> Result<f64> {
        Ok((1.0 - self.temperature() * self.isobaric_expansivity()?) / self.density())
    }

    /// A property of one phase, the solid too; error 301 if there are two.
    fn one_or_solid(
        &self,
        property: Quantity,
        of: impl Fn(&OnePhase<f64>) -> f64,
        solid: impl Fn(&SolidPoint) -> f64,
    ) -> Result<f64> {
        match self.solid_alone() {
            Some(point) => Ok(solid(point)),
            None => self.one(property, of),
        }
    }

    /// The solid, where there is nothing beside it.
    pub(crate) fn solid_alone(&self) -> Option<&SolidPoint> {
        match self.parts() {
            [part] => part.solid(),
            _ => None,
        }
    }

    /// Why a property of one fluid phase is refused: error 303 for a solid, 301 for several phases.
    pub(crate) fn not_one_fluid(&self, property: Quantity) -> Error {
        let (temperature, pressure) = (self.temperature, self.pressure);
        match self.solid_alone() {
            Some(_) => Error::Solid {
                temperature,
                pressure,
                limit: self.fluid.melting_pressure(temperature),
            },
            None => Error::TwoPhase {
                property,
                temperature,
                pressure,
                vapour_fraction: self.vapour_fraction().unwrap_or_default(),
            },
        }
    }

    /// A property of one fluid phase, error 301 if there are two, 303 for a solid.
    fn one(&self, property: Quantity, of: impl Fn(&OnePhase<f64>) -> f64) -> Result<f64> {
        let phase = self.one_phase();
        let phase = phase.ok_or_else(|| self.not_one_fluid(property))?;
        Ok(of(&phase))
    }

    /// A property per mass, the mean by mass of all phases if there are several.
    fn weigh(
        &self,
        of: impl Fn(&OnePhase<f64>) -> f64,
        whole: impl Fn(&State) -> f64,
        solid: impl Fn(&SolidPoint) -> f64,
    ) -> f64 {
        if let Some(phase) = self.one_phase() {
            return of(&phase);
        }
        let shares = self.parts().iter().map(|part| {
            let value = match &part.body {
                Body::Fluid(state) => whole(state),
                Body::Solid(point) => solid(point),
            };
            part.mass_fraction * value
        });
        shares.sum()
    }

    /// What the properties of one phase follow from.
    fn one_phase(&self) -> Option<OnePhase<f64>> {
        let energy = *self.energy()?;
        let gas_constant = self.fluid.specific_gas_constant();
        Some(OnePhase::new(
            gas_constant,
            [self.temperature, self.density],
            energy,
        ))
    }

    pub(super) fn thermal_energy(&self) -> f64 {
        self.fluid.specific_gas_constant() * self.temperature
    }
}
