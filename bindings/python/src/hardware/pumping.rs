//! Pumps at work: the flow in the course of a turn, what dampeners and mixers leave of it, and what takes the heat out of a head.

use densepath::flow::pulsation::attenuation;
use densepath::hardware::head_cooling::{bath, thermoelectric};
use densepath::hardware::schedule::require_rise;
use densepath::hardware::{Compression, Drive, PistonMotion};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::supply::PyCompression;
use crate::error::{Outcome, argument, enter};
use crate::record::record;
use crate::state::PyState;
use crate::table::{Column, PyTable};

record! {
    /// The flow of a pump in the course of a turn; immutable. Made by `pump_waveform`.
    PyWaveform "PumpWaveform"
    from "pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)"
        r#"feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)"#
        "wave = dp.pump_waveform(pump.stroke(feed, 150e5).expected, heads=2)"
        shows wave.swing as ".3f" = "1.071"
    {
        /// Table: Part of the turn, flow over its mean, and the same behind the dampener.
        points: PyTable [""],
        /// float: Swing of the flow from its lowest to its highest, over its mean.
        swing: f64 ["1"],
        /// float: The same behind the dampener.
        damped_swing: f64 ["1"],
    }
}

/// The flow of a pump with several heads in the course of a turn, and what a dampener leaves of it.
///
/// Parameters
/// ----------
/// compression : Compression
///     One way through the stroke, as `ReciprocatingPump.stroke(...).expected`.
/// heads : int, keyword-only
///     Number of heads, spread evenly over the turn.
/// motion : {"cam", "crank"}, keyword-only, optional
///     Pistons at constant speed that hand over to each other, or as a sine for half of a turn each; "cam" if not given.
/// compensated_volume_fraction : float, keyword-only, optional
///     Share of its volume that the pump takes the fluid to lose; 0, no compensation, if not given.
/// period : float, keyword-only, optional
///     Time in s of one turn, for the dampener; 1 if not given.
/// time_constant : float, keyword-only, optional
///     Time constant in s of the dampener and the resistance behind it, as `PumpPulse.time_constant`; 0 if not given.
/// steps : int, keyword-only, optional
///     Number of even steps of the turn; 720 if not given.
///
/// Returns
/// -------
/// PumpWaveform
///     The flow over its mean, with its swings.
///
/// Raises
/// ------
/// DomainError
///     For no heads, no steps, a compensation above the compression, or a period not above zero.
/// ArgumentError
///     For another word of the motion.
///
/// Notes
/// -----
/// Valid for valves that open and close at once. Source: kinematics of the pistons; first-order lag.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)
/// >>> feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)
/// >>> stroke = pump.stroke(feed, 60e5).expected
/// >>> print(f"{dp.pump_waveform(stroke, heads=3, motion='crank', compensated_volume_fraction=stroke.volume_fraction).swing:.3f}")
/// 0.140
#[pyfunction]
#[pyo3(signature = (compression, *, heads, motion = "cam", compensated_volume_fraction = 0.0, period = 1.0, time_constant = 0.0, steps = 720))]
pub fn pump_waveform(
    compression: &PyCompression,
    heads: u32,
    motion: &str,
    compensated_volume_fraction: f64,
    period: f64,
    time_constant: f64,
    steps: u32,
) -> Outcome<PyWaveform> {
    let motion = match motion {
        "cam" => PistonMotion::Cam,
        "crank" => PistonMotion::Crank,
        other => {
            let expected = "\"cam\" or \"crank\"";
            return Err(argument("motion", expected, format!("\"{other}\"")));
        }
    };
    let drive = Drive {
        heads,
        swept_volume: 1.0,
        compensated_volume_fraction,
    };
    let wave = drive.waveform(motion, &Compression::from(compression), steps)?;
    let damped = wave.behind(period, time_constant)?;
    let (swing, damped_swing) = (wave.swing(), damped.swing());
    let columns = vec![
        Column::named("turn", "1", wave.turn),
        Column::named("flow", "1", wave.flow),
        Column::named("damped_flow", "1", damped.flow),
    ];
    Ok(PyWaveform {
        points: PyTable::of("points", columns),
        swing,
        damped_swing,
    })
}

/// Amplitude of a ripple of the composition or the flow behind a mixer or a dampener, over that before it.
///
/// Parameters
/// ----------
/// frequency : float
///     Frequency in Hz, such as that of the strokes of the modifier pump.
/// time_constant : float
///     Time constant in s: volume of the mixer over the flow through it.
///
/// Returns
/// -------
/// float
///     `1/sqrt(1 + (2 pi f tau)^2)`.
///
/// Raises
/// ------
/// DomainError
///     For negative values.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.ripple_attenuation(1.0, 4.0):.4f}")
/// 0.0398
#[pyfunction]
pub fn ripple_attenuation(frequency: f64, time_constant: f64) -> Outcome<f64> {
    Ok(attenuation(frequency, time_constant)?)
}

/// A rate of the pressure, refused where the flow of the pumps cannot bring it about.
///
/// Parameters
/// ----------
/// state : State
///     The fluid in the volume.
/// volume : float
///     Volume in m3 of all that is under the pressure.
/// mass_flow_rate : float
///     Mass flow rate in kg/s of the pumps.
/// pressure_rate : float
///     Rate in Pa/s asked for.
///
/// Returns
/// -------
/// float
///     The rate.
///
/// Raises
/// ------
/// FlowError
///     If it is faster than `fastest_pressure_rise`; code 505, with the rate and the limit.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> try:
/// ...     dp.require_pressure_rise(state, 5e-6, 5e-5, 10e5)
/// ... except dp.FlowError as error:
/// ...     print(error.code)
/// 505
#[pyfunction]
pub fn require_pressure_rise(
    py: Python<'_>,
    state: &PyState,
    volume: f64,
    mass_flow_rate: f64,
    pressure_rate: f64,
) -> Outcome<f64> {
    enter(py, || {
        require_rise(&state.state, volume, mass_flow_rate, pressure_rate)
    })
}

record! {
    /// A bath that cools a pump head; immutable. Made by `bath_cooling`.
    PyBathCooling "BathCooling"
    from "bath = dp.bath_cooling(10.0, 278.15, 5.0, 20.0)"
        shows bath.return_temperature as ".2f" = "276.39"
    {
        /// float: Temperature in K at which the bath must be supplied.
        supply_temperature: f64 ["K"],
        /// float: Temperature in K at which it comes back.
        return_temperature: f64 ["K"],
    }
}

/// The circulating bath that takes a heat flow rate out of a pump head.
///
/// Parameters
/// ----------
/// heat_flow_rate : float
///     Heat flow rate in W, as `HeadDuty.total`.
/// head_temperature : float
///     Temperature in K of the head.
/// conductance : float
///     Heat conductance in W/K between head and liquid, measured.
/// heat_capacity_rate : float
///     Mass flow rate times specific heat capacity of the liquid in W/K.
///
/// Returns
/// -------
/// BathCooling
///     The temperatures of the bath.
///
/// Raises
/// ------
/// DomainError
///     For impossible values, or a bath that would have to be below 0 K.
///
/// Notes
/// -----
/// Valid for a head of one temperature, without heat from the room on the way. Source: effectiveness `1 - exp(-UA/C)`.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.bath_cooling(10.0, 278.15, 5.0, 20.0).supply_temperature:.2f} K")
/// 275.89 K
#[pyfunction]
pub fn bath_cooling(
    heat_flow_rate: f64,
    head_temperature: f64,
    conductance: f64,
    heat_capacity_rate: f64,
) -> Outcome<PyBathCooling> {
    let found = bath(
        heat_flow_rate,
        head_temperature,
        conductance,
        heat_capacity_rate,
    )?;
    Ok(PyBathCooling {
        supply_temperature: found.supply_temperature,
        return_temperature: found.return_temperature,
    })
}

record! {
    /// A thermoelectric cooler at a pump head; immutable. Made by `thermoelectric_cooling`.
    PyThermoelectricCooling "ThermoelectricCooling"
    from "cooler = dp.thermoelectric_cooling(10.0, 278.15, 303.15, 0.8)"
        shows cooler.second_law_efficiency as ".3f" = "0.072"
    {
        /// float: Electric power in W that it takes.
        power: f64 ["W"],
        /// float: Heat flow rate in W that it gives to its sink.
        rejected: f64 ["W"],
        /// float: Its coefficient of performance over that of a perfect refrigerator.
        second_law_efficiency: f64 ["1"],
    }
}

/// The thermoelectric cooler that takes a heat flow rate out of a pump head.
///
/// Parameters
/// ----------
/// heat_flow_rate : float
///     Heat flow rate in W, as `HeadDuty.total`.
/// head_temperature, sink_temperature : float
///     Temperatures in K of the head and of what the heat is given to.
/// coefficient_of_performance : float
///     Heat over power; about 1 at a lift of 15 K and 0.4 at 40 K (common practice, no source).
///
/// Returns
/// -------
/// ThermoelectricCooling
///     Power and heat.
///
/// Raises
/// ------
/// DomainError
///     For impossible values, a sink not warmer than the head, or a coefficient that the second law forbids.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.thermoelectric_cooling(10.0, 278.15, 303.15, 0.8).rejected
/// 22.5
#[pyfunction]
pub fn thermoelectric_cooling(
    heat_flow_rate: f64,
    head_temperature: f64,
    sink_temperature: f64,
    coefficient_of_performance: f64,
) -> Outcome<PyThermoelectricCooling> {
    let found = thermoelectric(
        heat_flow_rate,
        head_temperature,
        sink_temperature,
        coefficient_of_performance,
    )?;
    Ok(PyThermoelectricCooling {
        power: found.power,
        rejected: found.rejected,
        second_law_efficiency: found.second_law_efficiency,
    })
}
