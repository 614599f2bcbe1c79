//! The parts that let the pressure go: linear restrictor, back-pressure regulator.

use densepath::flow::capillary::CapillaryFlow;
use densepath::hardware::{BackPressureRegulator, Expansion, LinearRestrictor};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::{part, passes};
use crate::error::{Outcome, enter};
use crate::fluid::PyFluid;
use crate::record::{Notices, record};
use crate::state::PyState;

part! {
    "A capillary of constant bore at one temperature, from the dense phase to the outlet pressure."
    "The flow follows the isothermal balance of friction and kinetic energy, with choking at the isothermal speed of sound. \
     Uncertainty: 2 % below Re = 2300, 5 to 10 % above; in practice that of the bore, which counts with its fourth power."
    PyLinearRestrictor "LinearRestrictor": LinearRestrictor {
        diameter: f64, "float" "Bore d in m.";
        length: f64, "float" "Length L in m, at least ten bores.";
        temperature: Option<f64> = None, "float or None" "Temperature in K of its own; None for that of the fluid that enters.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
        roughness: f64 = 0.0, "float" "Roughness of the wall in m.";
    }
    make |diameter, length, temperature, calibration_factor, roughness| {
        let restrictor = LinearRestrictor::new(*diameter, *length)?
            .with_calibration_factor(*calibration_factor)?
            .with_roughness(*roughness)?;
        Ok(match temperature {
            Some(temperature) => restrictor.with_temperature(*temperature)?,
            None => restrictor,
        })
    };
}

#[pymethods]
impl PyLinearRestrictor {
    /// Mass flow rate of a fluid between two pressures.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Mass flow rate q_m in kg/s.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the outlet pressure is not below that of the inlet, the fluid boils on the way, or the flow chokes before the end.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.20)
    /// >>> flow = restrictor.mass_flow_rate(dp.Fluid("carbon dioxide"), 373.15, 200e5, 1.013e5)
    /// >>> print(f"{flow * 60e6:.2f} mg/min")
    /// 11.57 mg/min
    fn mass_flow_rate(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part
                .mass_flow_rate(&fluid.fluid, temperature, inlet_pressure, outlet_pressure)
        })
    }

    /// Mass flow rate by the viscous law alone, without kinetic energy, choking and turbulence.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Mass flow rate q_m in kg/s: right within some percent up to bores of 10 um and useless above 20 um.
    fn viscous_mass_flow_rate(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.viscous_mass_flow_rate(
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }

    /// The flow as calculated, with its exit, without the calibration factor.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// CapillaryFlow
    ///     Mass flow rate, exit and regime.
    fn flow(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<PyCapillaryFlow> {
        let flow = enter(py, || {
            self.part
                .flow(&fluid.fluid, temperature, inlet_pressure, outlet_pressure)
        })?;
        Ok(flow.into())
    }

    /// Length with which a restrictor of this bore passes a mass flow rate.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Length L in m.
    ///
    /// Raises
    /// ------
    /// ConvergenceError
    ///     If no length of this bore passes the flow.
    fn length_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.length_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }

    /// Bore with which a restrictor of this length passes a mass flow rate.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Bore d in m.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     If the bore would be above a tenth of the length.
    fn diameter_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.diameter_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

part! {
    "A regulator that holds the pressure before it, whatever the flow, with a heated outlet."
    "Throttling keeps the enthalpy; the heater adds its share up to its power."
    PyBackPressureRegulator "BackPressureRegulator": BackPressureRegulator {
        pressure: f64, "float" "Pressure in Pa that it holds, absolute.";
        outlet_pressure: Option<f64> = None, "float or None" "Pressure in Pa behind it; None for that of the room.";
        outlet_temperature: Option<f64> = None, "float or None" "Temperature in K that its heater is set to; None for no heater.";
        heater_power: Option<f64> = None, "float or None" "Largest power of the heater in W; None for as much as it takes.";
    }
    make |pressure, outlet_pressure, outlet_temperature, heater_power| {
        let mut regulator = BackPressureRegulator::new(*pressure)?;
        if let Some(pressure) = outlet_pressure {
            regulator = regulator.with_outlet_pressure(*pressure)?;
        }
        if let Some(temperature) = outlet_temperature {
            regulator = regulator.with_outlet_temperature(*temperature)?;
        }
        if let Some(power) = heater_power {
            regulator = regulator.with_heater_power(*power)?;
        }
        Ok(regulator)
    };
}

#[pymethods]
impl PyBackPressureRegulator {
    /// The fluid behind the regulator, from the fluid before it.
    ///
    /// Parameters
    /// ----------
    /// inlet : State
    ///     The fluid before it.
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// room_pressure : float, keyword-only
    ///     Pressure of the room in Pa.
    ///
    /// Returns
    /// -------
    /// Expansion
    ///     End states with and without heat, duty of the heater, and the inlet temperature for a dry outlet.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the fluid before it is not above the pressure behind it.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> regulator = dp.BackPressureRegulator(pressure=150e5)
    /// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
    /// >>> regulator.expand(inlet, 5e-5).outlet.phase
    /// 'solid + vapour'
    #[pyo3(signature = (inlet, mass_flow_rate, *, room_pressure = 101_325.0))]
    fn expand(
        &self,
        py: Python<'_>,
        inlet: &PyState,
        mass_flow_rate: f64,
        room_pressure: f64,
    ) -> Outcome<PyExpansion> {
        let found = enter(py, || {
            self.part
                .expand(&inlet.state, mass_flow_rate, room_pressure)
        })?;
        Ok(found.into())
    }
}

passes! { PyLinearRestrictor PyBackPressureRegulator }

record! {
    /// A steady flow through a capillary; immutable. Made by `LinearRestrictor.flow`.
    PyCapillaryFlow "CapillaryFlow" {
        /// float: Mass flow rate q_m in kg/s.
        mass_flow_rate: f64 ["kg/s"],
        /// float: Mass flux G in kg/(m2 s).
        mass_flux: f64 ["kg/(m2 s)"],
        /// float: Pressure in Pa inside the exit.
        exit_pressure: f64 ["Pa"],
        /// float: Velocity in m/s at the exit.
        exit_velocity: f64 ["m/s"],
        /// float: Reynolds number Re at the inlet.
        inlet_reynolds_number: f64 ["1"],
        /// float: Reynolds number Re at the exit.
        exit_reynolds_number: f64 ["1"],
        /// bool: Whether the exit runs at the isothermal speed of sound, so that the pressure outside has no influence.
        is_choked: bool [""],
        /// str: "laminar", "transitional" or "turbulent".
        regime: String [""],
    }
}

impl From<CapillaryFlow> for PyCapillaryFlow {
    fn from(flow: CapillaryFlow) -> Self {
        Self {
            mass_flow_rate: flow.mass_flow_rate,
            mass_flux: flow.mass_flux,
            exit_pressure: flow.exit.pressure,
            exit_velocity: flow.exit.velocity,
            inlet_reynolds_number: flow.inlet.reynolds_number,
            exit_reynolds_number: flow.exit.reynolds_number,
            is_choked: flow.is_choked,
            regime: flow.regime.name().to_owned(),
        }
    }
}

record! {
    /// The fluid behind a regulator; immutable. Made by `BackPressureRegulator.expand`.
    PyExpansion "Expansion" {
        /// State: Without heat.
        adiabatic: PyState [""],
        /// State: With the heat of the heater.
        outlet: PyState [""],
        /// float or None: Heat flow rate in W that the set temperature asks for.
        heater_duty: Option<f64> ["W"],
        /// float: Heat flow rate in W that the heater gives.
        heat_flow_rate: f64 ["W"],
        /// float or None: Temperature in K of the inlet above which the outlet is dry without heat.
        dry_inlet_temperature: Option<f64> ["K"],
        /// tuple of Notice: Doubts and cautions.
        notices: Notices [""],
    }
}

impl From<Expansion> for PyExpansion {
    fn from(expansion: Expansion) -> Self {
        Self {
            adiabatic: expansion.adiabatic.into(),
            outlet: expansion.outlet.into(),
            heater_duty: expansion.heater_duty,
            heat_flow_rate: expansion.heat_flow_rate,
            dry_inlet_temperature: expansion.dry_inlet_temperature,
            notices: expansion.notices.as_slice().into(),
        }
    }
}
