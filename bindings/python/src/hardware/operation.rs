//! Running an instrument: density programs, pulses of the pump, cycles, and what its signs say.

use densepath::Quantity;
use densepath::flow::pulsation::ramp_behind;
use densepath::flow::separation::PeakMoments;
use densepath::hardware::cycle::{cycle_time as cycle_of, stacked_injections as stacked_of};
use densepath::hardware::diagnosis::{
    density_error as density_error_of, leak_mass_flow_rate as leak_of,
    mass_flow_from_gas_meter as metered, stroke_frequency as frequency_of, suspect,
};
use densepath::hardware::schedule::{
    DensityPoint, fastest_rise, schedule, storage_mass_flow_rate as storage_of,
};
use densepath::hardware::{Chamber, Compression, Cushion, Drive};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::supply::PyCompression;
use crate::error::{Outcome, argument};
use crate::fluid::PyFluid;
use crate::record::{Notices, record};
use crate::state::PyState;
use crate::table::{Column, PyTable};

record! {
    /// Pressures for a density program; immutable. Made by `density_schedule`.
    PyDensitySchedule "DensitySchedule"
    from r#"co2 = dp.Fluid("carbon dioxide")"#
        "schedule = dp.density_schedule(co2, [0.0, 600.0], [373.15, 373.15], [300.0, 600.0], tolerance=5e-3)"
        shows schedule.fastest_rise as ".4g" = "2.765e+04"
    {
        /// Table: Time, temperature and pressure of each point, straight between them.
        points: PyTable [""],
        /// float: Largest relative error of the density in the middle between two points.
        density_error: f64 ["1"],
        /// float: Fastest rise of the pressure in Pa/s; negative if it only falls.
        fastest_rise: f64 ["Pa/s"],
        /// float: Fastest fall of the pressure in Pa/s, as a negative rate; positive if it only rises.
        fastest_fall: f64 ["Pa/s"],
    }
}

/// The pressures that give a program of density and temperature, linear in time between its points.
///
/// Parameters
/// ----------
/// fluid : Fluid
///     The mobile phase.
/// time, temperature, density : sequence of float
///     The program: times in s, temperatures in K, densities in kg/m3.
/// tolerance : float, keyword-only, optional
///     Relative error of the density that is allowed between the points; 1e-3 if not given.
///
/// Returns
/// -------
/// DensitySchedule
///     As few points as keep the tolerance.
///
/// Raises
/// ------
/// DomainError
///     For times that do not rise, fewer than two points, or a tolerance not above zero.
/// PhaseError
///     Where the program enters the two-phase region: there is no density of one phase.
/// RangeError
///     For a state outside the equation.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> made = dp.density_schedule(dp.Fluid("carbon dioxide"), [0.0, 600.0], [373.15] * 2, [300.0, 600.0], tolerance=5e-3)
/// >>> [round(p / 1e5) for p in made.points.pressure]
/// [140, 189, 218, 236, 257]
#[pyfunction]
#[pyo3(signature = (fluid, time, temperature, density, *, tolerance = 1e-3))]
#[allow(clippy::needless_pass_by_value, reason = "sequences of Python")]
pub fn density_schedule(
    fluid: &PyFluid,
    time: Vec<f64>,
    temperature: Vec<f64>,
    density: Vec<f64>,
    tolerance: f64,
) -> Outcome<PyDensitySchedule> {
    if temperature.len() != time.len() || density.len() != time.len() {
        return Err(argument(
            "time, temperature and density",
            "sequences of one length",
            format!(
                "{}, {} and {}",
                time.len(),
                temperature.len(),
                density.len()
            ),
        ));
    }
    let rows = time.iter().zip(&temperature).zip(&density);
    let program: Vec<_> = rows
        .map(|((&time, &temperature), &density)| DensityPoint {
            time,
            temperature,
            density,
        })
        .collect();
    let made = schedule(&fluid.fluid, &program, tolerance)?;
    let points = &made.points;
    Ok(PyDensitySchedule {
        points: PyTable::of(
            "points",
            vec![
                Column::numbers(Quantity::Time, points.iter().map(|point| point.time)),
                Column::numbers(
                    Quantity::Temperature,
                    points.iter().map(|point| point.temperature),
                ),
                Column::numbers(
                    Quantity::Pressure,
                    points.iter().map(|point| point.pressure),
                ),
            ],
        ),
        density_error: made.density_error,
        fastest_rise: made.fastest_rise,
        fastest_fall: made.fastest_fall,
    })
}

/// Fastest rise of the pressure that a flow can bring about in a volume while nothing leaves it: the limit of a regulator.
///
/// Parameters
/// ----------
/// state : State
///     The fluid in the volume.
/// volume : float
///     Volume in m3 of all that is under the pressure of the regulator.
/// mass_flow_rate : float
///     Mass flow rate in kg/s of the pumps.
///
/// Returns
/// -------
/// float
///     Rate in Pa/s.
///
/// Raises
/// ------
/// DomainError
///     For values not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> print(f"{dp.fastest_pressure_rise(state, 5e-6, 5e-5) * 60e-5:.0f} bar/min")
/// 382 bar/min
#[pyfunction]
pub fn fastest_pressure_rise(state: &PyState, volume: f64, mass_flow_rate: f64) -> Outcome<f64> {
    Ok(fastest_rise(&state.state, volume, mass_flow_rate)?)
}

/// Mass flow rate that a volume takes up while its pressure changes: what a row of steady flows leaves out.
///
/// Parameters
/// ----------
/// state : State
///     The fluid in the volume.
/// volume : float
///     Volume in m3.
/// pressure_rate : float
///     Rate in Pa/s.
///
/// Returns
/// -------
/// float
///     Mass flow rate in kg/s; below a fifth of the flow through the volume a program may be taken as a row of steady flows (common
///     practice, no source).
///
/// Raises
/// ------
/// DomainError
///     For a volume not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> print(f"{dp.storage_mass_flow_rate(state, 5e-6, 10e5 / 60) * 60e3:.3f} g/min")
/// 0.078 g/min
#[pyfunction]
pub fn storage_mass_flow_rate(state: &PyState, volume: f64, pressure_rate: f64) -> Outcome<f64> {
    Ok(storage_of(&state.state, volume, pressure_rate)?)
}

/// What leaves a delay and a mixing volume of a ramp that enters, over its slope: a gradient as the column sees it.
///
/// Parameters
/// ----------
/// time : sequence of float
///     Times in s after the ramp began at the pumps.
/// delay : float, keyword-only
///     Delay in s: volume between pumps and column over the flow.
/// time_constant : float, keyword-only
///     Time constant in s: volume of the mixer over the flow.
///
/// Returns
/// -------
/// numpy.ndarray
///     Times in s of the ramp that has come through; times its slope, the composition less that at the start.
///
/// Raises
/// ------
/// DomainError
///     For negative values.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.delayed_ramp([10.0, 30.0, 60.0], delay=15.0, time_constant=6.0).round(2)
/// array([ 0.  ,  9.49, 39.  ])
#[pyfunction]
#[pyo3(signature = (time, *, delay, time_constant))]
#[allow(clippy::needless_pass_by_value, reason = "a sequence of Python")]
pub fn delayed_ramp(
    py: Python<'_>,
    time: Vec<f64>,
    delay: f64,
    time_constant: f64,
) -> Outcome<Bound<'_, PyArray1<f64>>> {
    let values: densepath::Result<Vec<f64>> = time
        .into_iter()
        .map(|time| ramp_behind(time, delay, time_constant))
        .collect();
    Ok(PyArray1::from_vec(py, values?))
}

record! {
    /// The pulse of a reciprocating pump; immutable. Made by `pump_pulse`.
    PyPulse "PumpPulse"
    from "pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)"
        r#"feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)"#
        "stroke = pump.stroke(feed, 150e5).expected"
        "warm = feed.fluid.state(temperature=313.15, pressure=150e5)"
        "pulse = dp.pump_pulse(stroke, feed, 5e-5, heads=2, swept_volume=50e-9, cushion=warm, cushion_volume=2e-6, resistance=4e10)"
        shows pulse.density_swing as ".2g" = "0.0018"
    {
        /// float: Frequency in Hz: heads times strokes.
        frequency: f64 ["Hz"],
        /// float: Relative change of the mean flow by what is not compensated; negative where too little is.
        flow_error: f64 ["1"],
        /// float: Share of each stroke in which flow fails, or comes twice where too much is compensated.
        gap: f64 ["1"],
        /// float: Time constant in s of volume and resistance.
        time_constant: f64 ["s"],
        /// float: Swing of the pressure in Pa from its lowest to its highest.
        pressure_swing: f64 ["Pa"],
        /// float: Relative swing of the density behind the cushion.
        density_swing: f64 ["1"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

/// What compression that is not made good does to flow, pressure and density behind a reciprocating pump.
///
/// Parameters
/// ----------
/// compression : Compression
///     One way through the stroke, as `ReciprocatingPump.stroke(...).expected`.
/// suction : State
///     The fluid at suction.
/// mass_flow_rate : float
///     Mass flow rate in kg/s.
/// heads : int, keyword-only
///     Number of heads that deliver one after the other.
/// swept_volume : float, keyword-only
///     Volume in m3 that each sweeps in one stroke.
/// cushion : State, keyword-only
///     The fluid in dampener, mixer and lines.
/// cushion_volume : float, keyword-only
///     Their volume in m3.
/// resistance : float, keyword-only
///     Rise of the pressure in Pa for each kg/s of flow more: the pressure drop over the flow, for a laminar path.
/// compensated_volume_fraction : float, keyword-only, optional
///     Share of its volume that the pump takes the fluid to lose; 0, no compensation, if not given.
///
/// Returns
/// -------
/// PumpPulse
///     Frequency and swings, with notices.
///
/// Raises
/// ------
/// DomainError
///     For values not above zero, or a compensation not between 0 and 1.
///
/// Notes
/// -----
/// Heads that hand over without overlap, and a first-order lag; uncertain by half, since cams and check valves differ.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)
/// >>> feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)
/// >>> stroke = pump.stroke(feed, 150e5).expected
/// >>> warm = feed.fluid.state(temperature=313.15, pressure=150e5)
/// >>> pulse = dp.pump_pulse(stroke, feed, 5e-5, heads=2, swept_volume=50e-9, cushion=warm, cushion_volume=2e-6, resistance=4e10)
/// >>> print(f"{pulse.frequency:.2f} Hz, {pulse.pressure_swing / 1e5:.1f} bar")
/// 1.10 Hz, 0.9 bar
#[pyfunction]
#[pyo3(signature = (compression, suction, mass_flow_rate, *, heads, swept_volume, cushion, cushion_volume, resistance, compensated_volume_fraction = 0.0))]
#[allow(clippy::too_many_arguments, reason = "keywords of Python")]
pub fn pump_pulse(
    compression: &PyCompression,
    suction: &PyState,
    mass_flow_rate: f64,
    heads: u32,
    swept_volume: f64,
    cushion: &PyState,
    cushion_volume: f64,
    resistance: f64,
    compensated_volume_fraction: f64,
) -> Outcome<PyPulse> {
    let drive = Drive {
        heads,
        swept_volume,
        compensated_volume_fraction,
    };
    let between = Cushion {
        state: cushion.state.clone(),
        volume: cushion_volume,
        resistance,
    };
    let density = suction.state.density();
    let pulse = drive.pulse(
        &Compression::from(compression),
        density,
        mass_flow_rate,
        &between,
    )?;
    Ok(PyPulse {
        frequency: pulse.frequency,
        flow_error: pulse.flow_error,
        gap: pulse.gap,
        time_constant: pulse.time_constant,
        pressure_swing: pulse.pressure_swing,
        density_swing: pulse.density_swing,
        notices: pulse.notices.as_slice().into(),
    })
}

/// Time from one injection to the next.
///
/// Parameters
/// ----------
/// run_time : float
///     Time in s of the run.
/// handling_time : float, keyword-only, optional
///     Time in s of what goes on between runs; 0 if not given.
/// equilibration_volume : float, keyword-only, optional
///     Volume in m3 that brings the system back to its start: after a program the volume between pumps and column once, and that of the
///     mobile phase in the column 5 to 10 times (common practice, no source); 0 if not given.
/// volume_flow_rate : float, keyword-only
///     Volume flow rate in m3/s through it.
///
/// Returns
/// -------
/// float
///     Time in s.
///
/// Raises
/// ------
/// DomainError
///     For negative values or a flow not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.cycle_time(300.0, volume_flow_rate=3e-6 / 60, handling_time=30.0, equilibration_volume=10e-6):.0f} s")
/// 530 s
#[pyfunction]
#[pyo3(signature = (run_time, *, volume_flow_rate, handling_time = 0.0, equilibration_volume = 0.0))]
pub fn cycle_time(
    run_time: f64,
    volume_flow_rate: f64,
    handling_time: f64,
    equilibration_volume: f64,
) -> Outcome<f64> {
    Ok(cycle_of(
        run_time,
        handling_time,
        equilibration_volume,
        volume_flow_rate,
    )?)
}

record! {
    /// Injections that follow each other as closely as their peaks allow; immutable. Made by `stacked_injections`.
    PyStackedInjections "StackedInjections"
    from "stacked = dp.stacked_injections([100.0, 180.0], [1.0, 6.25])"
        shows stacked.injections_per_day as ".0f" = "919"
    {
        /// float: Time in s from the start of the first peak to the end of the last.
        window: f64 ["s"],
        /// float: Shortest time in s between two injections.
        interval: f64 ["s"],
        /// float: Injections in a day.
        injections_per_day: f64 ["1"],
        /// float: Injections on their way at the same time, rounded up.
        on_the_way: f64 ["1"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

/// The shortest interval of injections whose peaks do not meet those of the next; runs without program.
///
/// Parameters
/// ----------
/// time, time_variance : sequence of float
///     Mean times in s and variances in s2 of all peaks, the solvent of the sample among them.
/// gap : float, keyword-only, optional
///     Time in s to leave between the peaks of two injections; 0 if not given.
///
/// Returns
/// -------
/// StackedInjections
///     Each peak counts four standard deviations to either side.
///
/// Raises
/// ------
/// DomainError
///     For no peak, a variance not above zero or a negative gap.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.stacked_injections([100.0, 180.0], [1.0, 6.25]).interval
/// 94.0
#[pyfunction]
#[pyo3(signature = (time, time_variance, *, gap = 0.0))]
#[allow(clippy::needless_pass_by_value, reason = "sequences of Python")]
pub fn stacked_injections(
    time: Vec<f64>,
    time_variance: Vec<f64>,
    gap: f64,
) -> Outcome<PyStackedInjections> {
    if time.len() != time_variance.len() {
        return Err(argument(
            "time and time_variance",
            "sequences of one length",
            format!("{} and {}", time.len(), time_variance.len()),
        ));
    }
    let peaks: Vec<_> = time
        .iter()
        .zip(&time_variance)
        .map(|(&time, &time_variance)| PeakMoments {
            time,
            time_variance,
        })
        .collect();
    let found = stacked_of(&peaks, gap)?;
    Ok(PyStackedInjections {
        window: found.window,
        interval: found.interval,
        injections_per_day: found.injections_per_day,
        on_the_way: f64::from(found.on_the_way),
        notices: found.notices.as_slice().into(),
    })
}

/// Mass flow rate that leaks from a shut volume whose pressure decays.
///
/// Parameters
/// ----------
/// state : State
///     The fluid in it.
/// volume : float
///     Volume in m3.
/// pressure_rate : float
///     Rate of the pressure in Pa/s, negative where it falls.
///
/// Returns
/// -------
/// float
///     Mass flow rate in kg/s that leaks. Wait until the temperature stands still: a change of 0.1 K looks like a leak.
///
/// Raises
/// ------
/// DomainError
///     For a volume not above zero.
/// PhaseError
///     For a state of two phases, whose pressure does not fall.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=298.15, pressure=200e5)
/// >>> print(f"{dp.leak_mass_flow_rate(state, 10e-6, -1e5 / 60) * 60e6:.1f} mg/min")
/// 6.5 mg/min
#[pyfunction]
pub fn leak_mass_flow_rate(state: &PyState, volume: f64, pressure_rate: f64) -> Outcome<f64> {
    Ok(leak_of(&state.state, volume, pressure_rate)?)
}

/// Frequency of the strokes of one head of a pump.
///
/// Parameters
/// ----------
/// volume_flow_rate : float
///     Volume flow rate in m3/s at suction.
/// heads : int
///     Number of heads.
/// swept_volume : float
///     Volume in m3 that each sweeps.
///
/// Returns
/// -------
/// float
///     Frequency in Hz.
///
/// Raises
/// ------
/// DomainError
///     For values not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.stroke_frequency(3e-6 / 60, 2, 50e-9):.2f} Hz")
/// 0.50 Hz
#[pyfunction]
pub fn stroke_frequency(volume_flow_rate: f64, heads: u32, swept_volume: f64) -> Outcome<f64> {
    Ok(frequency_of(volume_flow_rate, heads, swept_volume)?)
}

/// Mass flow rate of a piston that sweeps a volume flow rate, with what its clearance holds back.
///
/// Parameters
/// ----------
/// displacement_rate : float
///     Volume flow rate q_V that the piston sweeps in m3/s.
/// clearance_ratio : float
///     Volume never swept over volume swept, from 0 to 1.
/// suction_density : float
///     Density in kg/m3 of the fluid when it is drawn in.
/// delivery_density : float
///     Density in kg/m3 where the outlet valve opens.
///
/// Returns
/// -------
/// float
///     Mass flow rate in kg/s.
///
/// Raises
/// ------
/// DomainError
///     For an impossible value, or a clearance that takes the whole stroke.
///
/// Notes
/// -----
/// Valid: for a stroke slow against the speed of sound, without leaks.
///
/// Uncertainty: that of the densities; leaks and late valves on top.
///
/// Source: mass balance of the cylinder at the ends of the stroke, q_V rho_1 (1 - c (rho_2/rho_1 - 1)).
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> round(dp.piston_mass_flow_rate(5e-8, clearance_ratio=0.1, suction_density=900.0, delivery_density=945.0) * 60e3, 4)
/// 2.6865
#[pyfunction]
#[pyo3(signature = (displacement_rate, *, clearance_ratio, suction_density, delivery_density))]
pub fn piston_mass_flow_rate(
    displacement_rate: f64,
    clearance_ratio: f64,
    suction_density: f64,
    delivery_density: f64,
) -> Outcome<f64> {
    let chamber = Chamber::new(clearance_ratio)?;
    Ok(chamber.mass_flow_rate(displacement_rate, suction_density, delivery_density)?)
}

/// What a rhythm of the pressure points to.
///
/// Parameters
/// ----------
/// frequency : float
///     Frequency of the rhythm in Hz.
/// stroke_frequency : float
///     Frequency of the strokes of one head in Hz.
/// heads : int
///     Number of heads.
/// tolerance : float, keyword-only, optional
///     Relative difference within which frequencies count as the same; 0.05 if not given.
///
/// Returns
/// -------
/// str
///     "one head": a valve or a seal of one; "every head": the compression of all; "not the pump". Common practice, no source.
///
/// Raises
/// ------
/// DomainError
///     For frequencies not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dp.ripple_suspect(0.5, dp.stroke_frequency(3e-6 / 60, 2, 50e-9), 2)
/// 'one head'
#[pyfunction]
#[pyo3(signature = (frequency, stroke_frequency, heads, *, tolerance = 0.05))]
pub fn ripple_suspect(
    frequency: f64,
    stroke_frequency: f64,
    heads: u32,
    tolerance: f64,
) -> Outcome<&'static str> {
    Ok(suspect(frequency, stroke_frequency, heads, tolerance)?.name())
}

/// Mass flow rate of the mobile phase's gas through a meter at the vent.
///
/// Parameters
/// ----------
/// fluid : Fluid
///     The gas.
/// volume_flow_rate : float
///     What the meter shows, in m3/s at its own temperature and pressure.
/// temperature, pressure : float
///     Those of the meter in K and Pa.
/// vapour_pressure : float, keyword-only, optional
///     Partial pressure in Pa of vapours in the gas: water of a wet meter, modifier; 0 if not given.
///
/// Returns
/// -------
/// float
///     Mass flow rate in kg/s.
///
/// Raises
/// ------
/// DomainError
///     For a flow not above zero, or vapours that leave no gas.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> co2 = dp.Fluid("carbon dioxide")
/// >>> flow = dp.mass_flow_from_gas_meter(co2, 1e-3 / 60, 295.15, 100e3, vapour_pressure=2.6e3)
/// >>> print(f"{flow * 60e3:.2f} g/min")
/// 1.76 g/min
#[pyfunction]
#[pyo3(signature = (fluid, volume_flow_rate, temperature, pressure, *, vapour_pressure = 0.0))]
pub fn mass_flow_from_gas_meter(
    fluid: &PyFluid,
    volume_flow_rate: f64,
    temperature: f64,
    pressure: f64,
    vapour_pressure: f64,
) -> Outcome<f64> {
    Ok(metered(
        &fluid.fluid,
        volume_flow_rate,
        temperature,
        pressure,
        vapour_pressure,
    )?)
}

record! {
    /// What errors of temperature and pressure do to the density; immutable. Made by `density_error`.
    PyDensityError "DensityError"
    from r#"state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=90e5)"#
        "error = dp.density_error(state, 0.5, 0.5e5)"
        shows error.by_temperature as ".1f" = "24.0"
    {
        /// float: Standard uncertainty in kg/m3 from the temperature.
        by_temperature: f64 ["kg/m3"],
        /// float: Standard uncertainty in kg/m3 from the pressure.
        by_pressure: f64 ["kg/m3"],
        /// float: Both together in kg/m3, independent of each other.
        total: f64 ["kg/m3"],
    }
}

/// What standard uncertainties of temperature and pressure do to the density; that of the equation comes on top.
///
/// Parameters
/// ----------
/// state : State
///     The fluid.
/// temperature_error, pressure_error : float
///     Standard uncertainties in K and Pa.
///
/// Returns
/// -------
/// DensityError
///     Standard uncertainties of the density.
///
/// Raises
/// ------
/// DomainError
///     For a negative uncertainty.
/// PhaseError
///     For a state of two phases.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=90e5)
/// >>> print(f"{dp.density_error(state, 0.5, 0.5e5).total:.0f} kg/m3 of {state.density:.0f}")
/// 27 kg/m3 of 486
#[pyfunction]
pub fn density_error(
    state: &PyState,
    temperature_error: f64,
    pressure_error: f64,
) -> Outcome<PyDensityError> {
    let found = density_error_of(&state.state, temperature_error, pressure_error)?;
    Ok(PyDensityError {
        by_temperature: found.by_temperature,
        by_pressure: found.by_pressure,
        total: found.total(),
    })
}
