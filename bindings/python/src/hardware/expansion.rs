//! The regulator, its valve, and what becomes of the fluid behind it.

use densepath::flow::valve::Valve;
use densepath::hardware::regulator::{
    Service, ValveSize, dry_inlet_temperature, flow_range, inlet_temperature_for, pulsed_valve,
    valve_size,
};
use densepath::hardware::{BackPressureRegulator, Expansion};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::{part, passes};
use crate::error::{Outcome, enter};
use crate::fluid::PyFluid;
use crate::record::{Notices, record};
use crate::state::PyState;

part! {
    "A regulator that holds the pressure before it, whatever the flow, with a heated outlet."
    "Throttling keeps the enthalpy; the heater adds its share up to its power."
    from "regulator = dp.BackPressureRegulator(pressure=150e5, outlet_temperature=293.15)"
        shows r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
            r#"print(f"{regulator.expand(inlet, 5e-5).heater_duty:.1f} W")"# = "10.8 W"
        keeps regulator.outlet_temperature = "293.15"
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

#[pymethods]
impl PyBackPressureRegulator {
    /// The opening of the valve that passes a flow.
    ///
    /// Parameters
    /// ----------
    /// inlet : State
    ///     The fluid before it.
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// outlet_pressure : float, keyword-only
    ///     Pressure in Pa behind it.
    /// recovery_factor, choked_ratio : float, keyword-only
    ///     Factors F_L and x_T of the valve, as IEC 60534-2-1 defines them.
    ///
    /// Returns
    /// -------
    /// ValveSize
    ///     Service, flow coefficients, and holes of the same flow.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the pressures drive no flow.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
    /// >>> size = dp.BackPressureRegulator.valve_size(inlet, 5e-5)
    /// >>> print(f"{size.service}: K_v = {size.kv:.2g} m3/h, hole of {size.equilibrium_diameter * 1e6:.0f} um")
    /// flashing: K_v = 2.4e-05 m3/h, hole of 27 um
    #[staticmethod]
    #[pyo3(signature = (inlet, mass_flow_rate, *, outlet_pressure = 101_325.0, recovery_factor = 0.9, choked_ratio = 0.7))]
    fn valve_size(
        py: Python<'_>,
        inlet: &PyState,
        mass_flow_rate: f64,
        outlet_pressure: f64,
        recovery_factor: f64,
        choked_ratio: f64,
    ) -> Outcome<PyValveSize> {
        let found = enter(py, || {
            let valve = Valve::new(recovery_factor, choked_ratio)?;
            valve_size(valve, &inlet.state, mass_flow_rate, outlet_pressure)
        })?;
        Ok(found.into())
    }

    /// The mass flow rates between which a valve holds its pressure.
    ///
    /// Parameters
    /// ----------
    /// inlet : State
    ///     The fluid before it.
    /// largest_kv : float, keyword-only
    ///     Flow coefficient K_v in m3/h of the open valve.
    /// rangeability : float, keyword-only
    ///     Largest over smallest flow coefficient that it holds; about 10 for needles of regulators (common practice, no source).
    /// outlet_pressure : float, keyword-only
    ///     Pressure in Pa behind it.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Smallest and largest mass flow rate in kg/s.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
    /// >>> smallest, largest = dp.BackPressureRegulator.flow_range(inlet, largest_kv=1e-4)
    /// >>> print(f"{smallest * 60e3:.1f} to {largest * 60e3:.1f} g/min")
    /// 1.2 to 12.3 g/min
    #[staticmethod]
    #[pyo3(signature = (inlet, *, largest_kv, rangeability = 10.0, outlet_pressure = 101_325.0))]
    fn flow_range(
        py: Python<'_>,
        inlet: &PyState,
        largest_kv: f64,
        rangeability: f64,
        outlet_pressure: f64,
    ) -> Outcome<(f64, f64)> {
        let found = enter(py, || {
            flow_range(
                Valve::default(),
                largest_kv,
                rangeability,
                &inlet.state,
                1e-5,
                outlet_pressure,
            )
        })?;
        Ok((found.0, found.1))
    }

    /// How the pulses of a valve that opens and shuts shake the fluid before it.
    ///
    /// Parameters
    /// ----------
    /// inlet : State
    ///     The fluid before it.
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// volume : float, keyword-only
    ///     Volume in m3 between column and valve.
    /// frequency : float, keyword-only
    ///     Pulses per second in Hz.
    /// open_share : float, keyword-only
    ///     Share of the time that the valve is open.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Change of the pressure in Pa, lowest to highest, and relative change of the density.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
    /// >>> pressure, density = dp.BackPressureRegulator.ripple(inlet, 5e-5, volume=1e-6, frequency=10.0)
    /// >>> print(f"{pressure / 1e5:.2f} bar, {100 * density:.2f} %")
    /// 1.59 bar, 0.32 %
    #[staticmethod]
    #[pyo3(signature = (inlet, mass_flow_rate, *, volume, frequency, open_share = 0.5))]
    fn ripple(
        py: Python<'_>,
        inlet: &PyState,
        mass_flow_rate: f64,
        volume: f64,
        frequency: f64,
        open_share: f64,
    ) -> Outcome<(f64, f64)> {
        let found = enter(py, || {
            pulsed_valve(&inlet.state, volume, mass_flow_rate, frequency, open_share)
        })?;
        Ok((found.pressure_ripple, found.density_ripple))
    }

    /// Temperature of the fluid before it from which the outlet is vapour alone without heat.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// outlet_pressure : float, keyword-only
    ///     Pressure in Pa behind it.
    ///
    /// Returns
    /// -------
    /// float
    ///     Temperature in K.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> regulator = dp.BackPressureRegulator(pressure=150e5)
    /// >>> print(f"{regulator.dry_inlet_temperature(co2):.1f} K")
    /// 356.6 K
    #[pyo3(signature = (fluid, *, outlet_pressure = 101_325.0))]
    fn dry_inlet_temperature(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            dry_inlet_temperature(&fluid.fluid, self.part.pressure(), outlet_pressure)
        })
    }

    /// Temperature of the fluid before it that brings the outlet to a temperature without heat.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// outlet_temperature : float
    ///     Temperature in K behind it.
    /// outlet_pressure : float, keyword-only
    ///     Pressure in Pa behind it.
    ///
    /// Returns
    /// -------
    /// float
    ///     Temperature in K.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> regulator = dp.BackPressureRegulator(pressure=150e5)
    /// >>> print(f"{regulator.inlet_temperature_for(co2, 293.15):.1f} K")
    /// 394.2 K
    #[pyo3(signature = (fluid, outlet_temperature, *, outlet_pressure = 101_325.0))]
    fn inlet_temperature_for(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        outlet_temperature: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            inlet_temperature_for(
                &fluid.fluid,
                self.part.pressure(),
                outlet_temperature,
                outlet_pressure,
            )
        })
    }
}

passes! {
    PyBackPressureRegulator
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "regulator = dp.BackPressureRegulator(pressure=150e5, outlet_temperature=293.15)"
        "outlet = regulator.outlet(inlet, 5e-5)"
        r#"print(f"{outlet.state.temperature:.2f} K with {outlet.heat_flow_rate:.1f} W")"# = "293.15 K with 10.8 W";
}

record! {
    /// The fluid behind a regulator; immutable. Made by `BackPressureRegulator.expand`.
    PyExpansion "Expansion"
    from "regulator = dp.BackPressureRegulator(pressure=150e5, outlet_temperature=293.15)"
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "expansion = regulator.expand(inlet, 5e-5)"
        shows expansion.heater_duty as ".2f" = "10.81"
    {
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

record! {
    /// The opening of a valve that passes a flow; immutable. Made by `BackPressureRegulator.valve_size`.
    PyValveSize "ValveSize"
    from r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "size = dp.BackPressureRegulator.valve_size(inlet, 5e-5)"
        shows size.service = "'flashing'"
    {
        /// str: "liquid-like", "flashing", "gas" or "choked gas".
        service: String [""],
        /// float: Flow coefficient K_v in m3/h.
        kv: f64 ["m3/h"],
        /// float: Flow coefficient C_v in US gallons per minute.
        cv: f64 ["gal/min"],
        /// float: Flow coefficient in m3/h by the drop as a whole, without choking.
        plain_kv: f64 ["m3/h"],
        /// float: Diameter in m of a hole (discharge 0.8) in equilibrium of the phases.
        equilibrium_diameter: f64 ["m"],
        /// float: Diameter in m of a hole (discharge 0.6) for a fluid that keeps its density.
        incompressible_diameter: f64 ["m"],
        /// float: Pressure in Pa in the throat.
        throat_pressure: f64 ["Pa"],
        /// float: Mass flux in kg/(m2 s) in the throat.
        mass_flux: f64 ["kg/(m2 s)"],
    }
}

impl From<ValveSize> for PyValveSize {
    fn from(size: ValveSize) -> Self {
        Self {
            service: Service::name(size.service).to_owned(),
            kv: size.kv,
            cv: size.cv,
            plain_kv: size.plain_kv,
            equilibrium_diameter: size.equilibrium_diameter,
            incompressible_diameter: size.incompressible_diameter,
            throat_pressure: size.throat_pressure,
            mass_flux: size.mass_flux,
        }
    }
}
