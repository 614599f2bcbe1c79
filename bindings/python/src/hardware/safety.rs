//! What can hurt: rooms, shut-in liquid, vessels under pressure, vapours that burn. Estimates for planning: local codes and licensed
//! practice decide.

use densepath::Quantity;
use densepath::hardware::safety::{
    Drawn, LetDown, Room, blocked_in as shut_in, flammable_records, hammer as hammer_of,
    heated_shut_in as heated_of, stored_energy as energy_of, tube_rating as rating_of,
    vapour_in_vent as vapour_of,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::record::{Notices, record};
use crate::state::PyState;
use crate::table::{Column, PyTable};
use crate::watched::watch_within;

record! {
    /// What gas let out into a room does to its air; immutable. Made by `room_exposure`.
    PyRoomExposure "RoomExposure"
    from "room = dp.room_exposure(30.0, 2 / 3600, gas_volume_flow_rate=2e-3 / 60, mass=20.0)"
        shows room.fraction_after_release as ".2f" = "0.30"
    {
        /// float: Volume fraction of the gas after a long time, mixed.
        steady_fraction: f64 ["1"],
        /// float: Volume fraction of oxygen then.
        oxygen_fraction: f64 ["1"],
        /// float or None: Time in s until 5000 ppm, the limit of a working day for carbon dioxide; None if it never comes.
        time_to_exposure_limit: Option<f64> ["s"],
        /// float or None: Volume fraction after `mass` kg were let out at once.
        fraction_after_release: Option<f64> ["1"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

/// What carbon dioxide let out into a ventilated room does to its air, mixed.
///
/// Parameters
/// ----------
/// volume : float
///     Volume of the room in m3.
/// air_change_rate : float
///     How often its air is changed, in 1/s: 6/3600 for six times an hour.
/// gas_volume_flow_rate : float, keyword-only
///     Gas let out in m3/s at 20 degC and 101325 Pa, as `Solution.gas_volume_flow_rate`.
/// mass : float, keyword-only, optional
///     Mass in kg of carbon dioxide let out at once, such as a whole cylinder.
///
/// Returns
/// -------
/// RoomExposure
///     Fractions, times, cautions.
///
/// Raises
/// ------
/// DomainError
///     For a volume not above zero, or negative rates.
///
/// Notes
/// -----
/// Heavy gas does not mix: floors and pits see several times as much. Limits: 29 CFR 1910.1000, table Z-1; ACGIH; NIOSH 1994 (seen
/// quoted). Follow local codes.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> room = dp.room_exposure(30.0, 2 / 3600, gas_volume_flow_rate=2e-3 / 60, mass=20.0)
/// >>> print(f"{1e6 * room.steady_fraction:.0f} ppm, and {100 * room.fraction_after_release:.0f} % once a cylinder is empty")
/// 2420 ppm, and 30 % once a cylinder is empty
/// >>> "dangerous to life" in str(room.notices[1])
/// True
#[pyfunction]
#[pyo3(signature = (volume, air_change_rate, *, gas_volume_flow_rate, mass = None))]
pub fn room_exposure(
    volume: f64,
    air_change_rate: f64,
    gas_volume_flow_rate: f64,
    mass: Option<f64>,
) -> Outcome<PyRoomExposure> {
    let room = Room::new(volume, air_change_rate)?;
    let found = room.exposure(gas_volume_flow_rate)?;
    let carbon_dioxide = densepath::Fluid::new("carbon dioxide")?;
    let released = mass.map(|mass| room.release(&carbon_dioxide, mass));
    let released = released.transpose()?;
    let mut notices = found.notices;
    notices.extend(released.iter().flat_map(|release| release.notices.clone()));
    Ok(PyRoomExposure {
        steady_fraction: found.steady_fraction,
        oxygen_fraction: found.oxygen_fraction,
        time_to_exposure_limit: found.time_to_exposure_limit,
        fraction_after_release: released.map(|release| release.fraction),
        notices: notices.as_slice().into(),
    })
}

record! {
    /// A shut-in fluid that takes up heat; immutable. Made by `heated_shut_in`.
    PyHeatedShutIn "HeatedShutIn"
    from r#"liquid = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=57.3e5)"#
        "heated = dp.heated_shut_in(liquid, 50e-6, 10.0)"
        shows heated.pressure_rate as ".4g" = "1.651e+05"
    {
        /// float: Rise of the pressure in Pa/s while nothing leaves.
        pressure_rate: f64 ["Pa/s"],
        /// float: Volume flow rate in m3/s, at the state of the fluid, that a relief device has to pass to hold the pressure.
        relief_volume_flow_rate: f64 ["m3/s"],
        /// tuple of Notice: What to know: always a caution.
        notices: Notices [""],
    }
}

/// How fast the pressure of a shut-in fluid rises while it takes up heat, and what a relief device has to pass to hold it.
///
/// Parameters
/// ----------
/// state : State
///     The fluid in it.
/// volume : float
///     Volume in m3.
/// heat_flow_rate : float
///     Heat flow rate in W, not negative.
///
/// Returns
/// -------
/// HeatedShutIn
///     Both rates, of a rigid volume, with a caution.
///
/// Raises
/// ------
/// DomainError
///     For a volume not above zero or a negative heat flow rate.
/// PhaseError
///     Where two phases coexist.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> liquid = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=57.3e5)
/// >>> heated = dp.heated_shut_in(liquid, 50e-6, 10.0)
/// >>> print(f"{heated.pressure_rate / 1e5:.2f} bar/s or {heated.relief_volume_flow_rate * 60e6:.2f} mL/min")
/// 1.65 bar/s or 1.91 mL/min
#[pyfunction]
pub fn heated_shut_in(
    py: Python<'_>,
    state: &PyState,
    volume: f64,
    heat_flow_rate: f64,
) -> Outcome<PyHeatedShutIn> {
    let found = enter(py, || heated_of(&state.state, volume, heat_flow_rate))?;
    Ok(PyHeatedShutIn {
        pressure_rate: found.pressure_rate,
        relief_volume_flow_rate: found.relief_volume_flow_rate,
        notices: found.notices.as_slice().into(),
    })
}

record! {
    /// What a flow that is stopped does to its line; immutable. Made by `pressure_hammer`.
    PyPressureHammer "PressureHammer"
    from r#"liquid = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=57.3e5)"#
        "hammer = dp.pressure_hammer(liquid, 0.5)"
        shows hammer.pressure_rise as ".4g" = "2.434e+05"
    {
        /// float: Rise of the pressure in Pa, an upper bound.
        pressure_rise: f64 ["Pa"],
        /// tuple of Notice: What to know: always a caution.
        notices: Notices [""],
    }
}

/// Rise of the pressure where a flow is stopped at once, or a gap behind a slug closes.
///
/// Parameters
/// ----------
/// state : State
///     The fluid.
/// velocity : float
///     Velocity in m/s that ends.
///
/// Returns
/// -------
/// PressureHammer
///     Density times speed of sound times velocity, an upper bound, with a caution.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> liquid = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=57.3e5)
/// >>> print(f"{dp.pressure_hammer(liquid, 0.5).pressure_rise / 1e5:.2f} bar")
/// 2.43 bar
#[pyfunction]
pub fn pressure_hammer(
    py: Python<'_>,
    state: &PyState,
    velocity: f64,
) -> Outcome<PyPressureHammer> {
    let found = enter(py, || hammer_of(&state.state, velocity))?;
    Ok(PyPressureHammer {
        pressure_rise: found.pressure_rise,
        notices: found.notices.as_slice().into(),
    })
}

record! {
    /// A fluid shut in a rigid volume that warms; immutable. Made by `blocked_in`.
    PyBlockedIn "BlockedIn"
    from r#"liquid = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=57.3e5)"#
        "shut = dp.blocked_in(liquid, 293.15)"
        shows shut.warmed.pressure as ".4g" = "1.646e+07"
    {
        /// float or None: Rise of the pressure with temperature at the start in Pa/K; None where two phases coexist.
        pressure_coefficient: Option<f64> ["Pa/K"],
        /// State: The fluid at the end.
        warmed: PyState [""],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

/// What becomes of a fluid that is shut in between two valves and warms: the same density, a higher pressure.
///
/// Parameters
/// ----------
/// state : State
///     The fluid when it is shut in.
/// temperature : float
///     Temperature in K that it comes to.
/// rating : float, keyword-only, optional
///     Pressure in Pa that the weakest part stands.
///
/// Returns
/// -------
/// BlockedIn
///     The state at the end, with cautions.
///
/// Raises
/// ------
/// RangeError
///     If the end lies outside the equation of state: then nothing holds it.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> full = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=57.3e5)
/// >>> f"{dp.blocked_in(full, 293.15).warmed.pressure / 1e5:.1f} bar"
/// '164.6 bar'
#[pyfunction]
#[pyo3(signature = (state, temperature, *, rating = None))]
pub fn blocked_in(state: &PyState, temperature: f64, rating: Option<f64>) -> Outcome<PyBlockedIn> {
    let found = shut_in(&state.state, temperature, rating)?;
    Ok(PyBlockedIn {
        pressure_coefficient: found.pressure_coefficient,
        warmed: found.warmed.into(),
        notices: found.notices.as_slice().into(),
    })
}

record! {
    /// What a fluid under pressure can do when its part bursts or comes apart; immutable. Made by `stored_energy`.
    PyStoredEnergy "StoredEnergy"
    from r#"dense = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=400e5)"#
        "stored = dp.stored_energy(dense, 20e-6)"
        shows stored.sudden_energy as ".0f" = "1068"
    {
        /// float: Largest work in J, with heat that the room gives while the fluid expands: its availability.
        energy: f64 ["J"],
        /// float: Largest work in J of a part that bursts at once, without heat: along the isentrope.
        sudden_energy: f64 ["J"],
        /// tuple of Notice: What to know: always a caution.
        notices: Notices [""],
    }
}

/// Largest work that a fluid shut in a volume can do when it expands into the room, with heat from it and without.
///
/// Parameters
/// ----------
/// state : State
///     The fluid.
/// volume : float
///     Volume in m3.
/// room_temperature, room_pressure : float, keyword-only, optional
///     Those of the room in K and Pa; 293.15 and 101325 if not given.
///
/// Returns
/// -------
/// StoredEnergy
///     Both bounds, with a caution.
///
/// Raises
/// ------
/// DomainError
///     For a volume or pressure not above zero.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> dense = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=400e5)
/// >>> print(f"{dp.stored_energy(dense, 20e-6).energy / 1e3:.1f} kJ")
/// 3.8 kJ
#[pyfunction]
#[pyo3(signature = (state, volume, *, room_temperature = 293.15, room_pressure = 101_325.0))]
pub fn stored_energy(
    state: &PyState,
    volume: f64,
    room_temperature: f64,
    room_pressure: f64,
) -> Outcome<PyStoredEnergy> {
    let found = energy_of(&state.state, volume, room_temperature, room_pressure)?;
    Ok(PyStoredEnergy {
        energy: found.energy,
        sudden_energy: found.sudden_energy,
        notices: found.notices.as_slice().into(),
    })
}

record! {
    /// The pressure that a tube stands; immutable. Made by `tube_rating`.
    PyTubeRating "TubeRating"
    from "rating = dp.tube_rating(0.25e-3, 1.5875e-3, 115e6)"
        shows rating.pressure as ".4g" = "1.094e+08"
    {
        /// float: Pressure in Pa inside, above that outside, at which the inner wall reaches the stress.
        pressure: f64 ["Pa"],
        /// tuple of Notice: What to know: always a caution.
        notices: Notices [""],
    }
}

/// Pressure inside a straight round tube, above that outside, at which its inner wall reaches a stress: Lame, S (k^2 - 1)/(k^2 + 1).
///
/// Parameters
/// ----------
/// inner_diameter, outer_diameter : float
///     Diameters in m.
/// allowable_stress : float
///     Stress in Pa that the code of the place allows for the metal at its temperature.
///
/// Returns
/// -------
/// TubeRating
///     The pressure, with a caution: fittings, bends, corrosion and heat lower it, and the rating that the maker states goes before it.
///
/// Raises
/// ------
/// DomainError
///     For values not above zero, or a wall without thickness.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> f"{dp.tube_rating(0.25e-3, 1.5875e-3, 115e6).pressure / 1e5:.0f} bar"
/// '1094 bar'
#[pyfunction]
pub fn tube_rating(
    inner_diameter: f64,
    outer_diameter: f64,
    allowable_stress: f64,
) -> Outcome<PyTubeRating> {
    let found = rating_of(inner_diameter, outer_diameter, allowable_stress)?;
    Ok(PyTubeRating {
        pressure: found.pressure,
        notices: found.notices.as_slice().into(),
    })
}

record! {
    /// How a vessel empties through a hole; immutable. Made by `let_down`.
    PyLetDown "LetDownCourse"
    from r#"state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "course = dp.let_down(state, volume=50e-6, diameter=100e-6, end_pressure=10e5)"
        shows course.lowest_temperature as ".1f" = "233.0"
    {
        /// Table: Time, temperature, pressure, density, mass and mass flow rate, the start first.
        course: PyTable [""],
        /// float: Time in s to the last point.
        time: f64 ["s"],
        /// float: Lowest temperature in K met.
        lowest_temperature: f64 ["K"],
        /// bool: Whether the end pressure was reached; if not, dry ice forms in the hole at the last point.
        is_complete: bool [""],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

/// How a vessel is let down through a hole: pressure, temperature and mass in time.
///
/// Parameters
/// ----------
/// state : State
///     The fluid at the start.
/// volume : float, keyword-only
///     Volume of the vessel in m3.
/// diameter : float, keyword-only
///     Diameter of the hole in m.
/// end_pressure : float, keyword-only
///     Pressure in Pa at which to end.
/// discharge_coefficient : float, keyword-only, optional
///     Coefficient of discharge of the hole; 0.8 if not given.
/// wall_conductance : float, keyword-only, optional
///     Heat flow rate in W/K that the wall gives for each kelvin that the fluid is colder than the room; 0 if not given.
/// room_temperature, room_pressure : float, keyword-only, optional
///     Those of the room in K and Pa; 293.15 and 101325 if not given.
/// drawn : {"mixed", "vapour", "liquid"}, keyword-only, optional
///     What is drawn from the vessel; "mixed" if not given.
/// time_limit : float, keyword-only, optional
///     Time in s for the work, which may take minutes for a mixture; `StoppedError` within a step of seconds after it.
///
/// Returns
/// -------
/// LetDownCourse
///     The course, with cautions.
///
/// Raises
/// ------
/// DomainError
///     For values not above zero.
/// FlowError
///     For an end pressure not between those of the start and of the room.
///
/// Notes
/// -----
/// Mass and energy of the whole content in equilibrium, flow of the hole as for `OrificeRestrictor`, uncertain by 10 to 30 %.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> state = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> course = dp.let_down(state, volume=50e-6, diameter=100e-6, end_pressure=10e5)
/// >>> print(f"{course.time:.0f} s, down to {course.lowest_temperature:.0f} K")
/// 320 s, down to 233 K
/// >>> course.notices[0].severity
/// 'caution'
#[pyfunction]
#[pyo3(signature = (state, *, volume, diameter, end_pressure, discharge_coefficient = 0.8, wall_conductance = 0.0, room_temperature = 293.15, room_pressure = 101_325.0, drawn = "mixed", time_limit = None))]
#[allow(clippy::too_many_arguments, reason = "keywords of Python")]
pub fn let_down(
    py: Python<'_>,
    state: &PyState,
    volume: f64,
    diameter: f64,
    end_pressure: f64,
    discharge_coefficient: f64,
    wall_conductance: f64,
    room_temperature: f64,
    room_pressure: f64,
    drawn: &str,
    time_limit: Option<f64>,
) -> Outcome<PyLetDown> {
    let drawn = match drawn {
        "mixed" => Drawn::Mixed,
        "vapour" => Drawn::Vapour,
        "liquid" => Drawn::Liquid,
        other => {
            return Err(argument(
                "drawn",
                "\"mixed\", \"vapour\" or \"liquid\"",
                other,
            ));
        }
    };
    let vessel = LetDown {
        volume,
        diameter,
        discharge_coefficient,
        wall_conductance,
        room_temperature,
        room_pressure,
        drawn,
    };
    let watch = watch_within(time_limit)?;
    let found = enter(py, || {
        vessel.course_followed(&state.state, end_pressure, |_| watch.check())
    })?;
    let points = &found.points;
    let columns = vec![
        Column::numbers(Quantity::Time, points.iter().map(|point| point.time)),
        Column::numbers(
            Quantity::Temperature,
            points.iter().map(|point| point.state.temperature()),
        ),
        Column::numbers(
            Quantity::Pressure,
            points.iter().map(|point| point.state.pressure()),
        ),
        Column::numbers(
            Quantity::Density,
            points.iter().map(|point| point.state.density()),
        ),
        Column::numbers(Quantity::Mass, points.iter().map(|point| point.mass)),
        Column::numbers(
            Quantity::MassFlowRate,
            points.iter().map(|point| point.mass_flow_rate),
        ),
    ];
    Ok(PyLetDown {
        course: PyTable::of("course", columns),
        time: found.time(),
        lowest_temperature: found.lowest_temperature(),
        is_complete: found.is_complete,
        notices: found.notices.as_slice().into(),
    })
}

record! {
    /// What gas saturated with the vapour of a modifier carries; immutable. Made by `vapour_in_vent`.
    PyVapourInVent "VapourInVent"
    from r#"vapour = dp.vapour_in_vent(dp.Fluid("methanol"), 293.15)"#
        shows vapour.volume_fraction as ".3f" = "0.129"
    {
        /// float: Volume fraction of the vapour in the gas.
        volume_fraction: f64 ["1"],
        /// float or None: Lower flammable limit of the vapour in air, as volume fraction, if it is known.
        lower_flammable_limit: Option<f64> ["1"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

/// The vapour that a gas takes along beside a liquid modifier, at most, and whether it can burn once air comes to it.
///
/// Parameters
/// ----------
/// modifier : Fluid
///     The modifier.
/// temperature : float
///     Temperature in K.
/// pressure : float, optional
///     Pressure in Pa; 101325 if not given.
///
/// Returns
/// -------
/// VapourInVent
///     Fraction and limit, with a caution where it can burn.
///
/// Raises
/// ------
/// PhaseError
///     Above the critical temperature of the modifier.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> f"{100 * dp.vapour_in_vent(dp.Fluid('methanol'), 293.15).volume_fraction:.1f} %"
/// '12.9 %'
#[pyfunction]
#[pyo3(signature = (modifier, temperature, pressure = 101_325.0))]
pub fn vapour_in_vent(
    modifier: &PyFluid,
    temperature: f64,
    pressure: f64,
) -> Outcome<PyVapourInVent> {
    let found = vapour_of(&modifier.fluid, temperature, pressure)?;
    Ok(PyVapourInVent {
        volume_fraction: found.volume_fraction,
        lower_flammable_limit: found.lower_flammable_limit,
        notices: found.notices.as_slice().into(),
    })
}

/// Substances whose vapours burn: limits as volume fractions in air, flash points and temperatures of self-ignition.
///
/// Returns
/// -------
/// Table
///     One row a substance; NaN where a value is not known. IEC 60079-20-1:2010, annex B, by way of an open library.
///
/// Raises
/// ------
/// InternalError
///     If the table is damaged.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> table = dp.flammable_substances()
/// >>> row = list(table.name).index("methanol")
/// >>> print(f"{100 * table.lower_flammable_limit[row]:.1f} % in air, flash point {table.flash_point[row]:.0f} K")
/// 6.0 % in air, flash point 282 K
#[pyfunction]
pub fn flammable_substances() -> Outcome<PyTable> {
    let records = flammable_records()?;
    let numbers = |of: fn(&densepath::hardware::safety::FlammableRecord) -> Option<f64>| {
        records
            .iter()
            .map(|record| of(record).unwrap_or(f64::NAN))
            .collect::<Vec<_>>()
    };
    let columns = vec![
        Column::words("name", records.iter().map(|record| record.name.as_str())),
        Column::named(
            "lower_flammable_limit",
            "1",
            numbers(|record| record.lower_flammable_limit),
        ),
        Column::named(
            "upper_flammable_limit",
            "1",
            numbers(|record| record.upper_flammable_limit),
        ),
        Column::named("flash_point", "K", numbers(|record| record.flash_point)),
        Column::named(
            "autoignition_temperature",
            "K",
            numbers(|record| record.autoignition_temperature),
        ),
    ];
    Ok(PyTable::of("flammable substances", columns))
}
