//! What can hurt: numbers that never come without their cautions.

use std::ffi::{CString, c_char};

use densepath_core::hardware::safety::{
    Drawn, LetDown, Room, blocked_in, hammer, heated_shut_in, stored_energy, tube_rating,
    vapour_in_vent,
};
use densepath_core::path::Watch;
use densepath_core::{Error, Notice, Quantity, State};

use crate::argument::{output, refused, text, value};
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{c_text, dp_danger, dp_fluid, dp_state, free, owned};
use crate::lookup::quantity_number;
use crate::rows::{Labels, at, dp_fact, dp_notice, notice_row};

/// Numbers with the cautions that belong to them, with their texts as C reads them.
pub struct Danger {
    numbers: Vec<(CString, Quantity, f64)>,
    notices: Vec<(Labels, Notice)>,
}

impl Danger {
    fn new<const N: usize>(
        numbers: [(&str, Quantity, Option<f64>); N],
        notices: Vec<Notice>,
    ) -> Self {
        let known = numbers
            .into_iter()
            .filter_map(|(name, quantity, value)| Some((c_text(name), quantity, value?)));
        let told = notices
            .into_iter()
            .map(|notice| (Labels::new(&notice.station, &notice.text), notice));
        Self {
            numbers: known.collect(),
            notices: told.collect(),
        }
    }
}

/// A danger made from what is asked, owned by the caller.
unsafe fn tell(
    out: *mut *mut dp_danger,
    what: impl FnOnce() -> Result<Danger, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        out.write(owned(what()?));
        Ok(())
    })
}

/// A danger of a state.
unsafe fn tell_of_state(
    state: *const dp_state,
    out: *mut *mut dp_danger,
    what: impl FnOnce(&State) -> Result<Danger, Error>,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(out, || what(value(state, "state")?)) }
}

/// A fluid that is shut in at a state in a rigid volume and warms to a `temperature` in K, against the `rating` in Pa of the weakest part,
/// NaN where that is not known: "pressure" and "density" at the end, "pressure_coefficient" at the start in Pa/K of one phase.
///
/// The caller frees the result with `dp_danger_free`. Errors: 102 outside the range of the model, 101 for a rating not above zero.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_blocked_in(
    state: *const dp_state,
    temperature: f64,
    rating: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    let rating = (!rating.is_nan()).then_some(rating);
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_state(state, out, |state| {
            let found = blocked_in(state, temperature, rating)?;
            let numbers = [
                (
                    "pressure",
                    Quantity::Pressure,
                    Some(found.warmed.pressure()),
                ),
                ("density", Quantity::Density, Some(found.warmed.density())),
                (
                    "pressure_coefficient",
                    Quantity::PressureCoefficient,
                    found.pressure_coefficient,
                ),
            ];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// A fluid shut in a `volume` in m3 that takes up a `heat_flow_rate` in W: "pressure_rate" in Pa/s, and "relief_volume_flow_rate" in m3/s
/// that a relief device has to pass instead.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a volume not above zero or a heat flow rate that is negative, 301
/// for a state of two phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_heated_shut_in(
    state: *const dp_state,
    volume: f64,
    heat_flow_rate: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_state(state, out, |state| {
            let found = heated_shut_in(state, volume, heat_flow_rate)?;
            let numbers = [
                (
                    "pressure_rate",
                    Quantity::PressureRate,
                    Some(found.pressure_rate),
                ),
                (
                    "relief_volume_flow_rate",
                    Quantity::VolumeFlowRate,
                    Some(found.relief_volume_flow_rate),
                ),
            ];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// Largest work that a fluid shut in a `volume` in m3 can do when it expands into a room of a `room_temperature` in K and a `room_pressure`
/// in Pa: "energy" in J with heat from the room, "sudden_energy" in J of a part that bursts at once.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for values not above zero, those of the state at the end.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_stored_energy(
    state: *const dp_state,
    volume: f64,
    room_temperature: f64,
    room_pressure: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_state(state, out, |state| {
            let found = stored_energy(state, volume, room_temperature, room_pressure)?;
            let numbers = [
                ("energy", Quantity::Energy, Some(found.energy)),
                ("sudden_energy", Quantity::Energy, Some(found.sudden_energy)),
            ];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// Pressure inside a straight round tube at which its inner wall reaches an `allowable_stress` in Pa: "pressure" in Pa, above that outside.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for values not above zero, or a wall without thickness.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_tube_rating(
    inner_diameter: f64,
    outer_diameter: f64,
    allowable_stress: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(out, || {
            let found = tube_rating(inner_diameter, outer_diameter, allowable_stress)?;
            let numbers = [("pressure", Quantity::Pressure, Some(found.pressure))];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// Rise of the pressure where a flow of a `velocity` in m/s is stopped at once: "pressure_rise" in Pa, an upper bound.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a velocity that is not finite, 301 for a state of two phases.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_pressure_hammer(
    state: *const dp_state,
    velocity: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_state(state, out, |state| {
            let found = hammer(state, velocity)?;
            let rise = (
                "pressure_rise",
                Quantity::Pressure,
                Some(found.pressure_rise),
            );
            Ok(Danger::new([rise], found.notices))
        })
    }
}

/// A mixed room of a `volume` in m3 whose air changes `air_change_rate` times per second, with a flow of carbon dioxide in m3/s at 20 degC
/// and 101325 Pa let out into it: "steady_fraction" and "oxygen_fraction" by volume in the long run, and "time_to_exposure_limit" in s to
/// the limit of a working day, 5000 ppm (29 CFR 1910.1000, table Z-1, seen quoted), where it comes.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a volume not above zero or negative rates.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_room_exposure(
    volume: f64,
    air_change_rate: f64,
    gas_volume_flow_rate: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(out, || {
            let found = Room::new(volume, air_change_rate)?.exposure(gas_volume_flow_rate)?;
            let numbers = [
                (
                    "steady_fraction",
                    Quantity::VolumeFraction,
                    Some(found.steady_fraction),
                ),
                (
                    "oxygen_fraction",
                    Quantity::VolumeFraction,
                    Some(found.oxygen_fraction),
                ),
                (
                    "time_to_exposure_limit",
                    Quantity::Time,
                    found.time_to_exposure_limit,
                ),
            ];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// A `mass` in kg of a fluid set free at once in a room of a `volume` in m3, such as a whole cylinder: "fraction" by volume of its gas and
/// "oxygen_fraction", mixed.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for values not above zero, those of the gas.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_room_release(
    fluid: *const dp_fluid,
    mass: f64,
    volume: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(out, || {
            let fluid = value(fluid, "fluid")?;
            let found = Room::new(volume, 0.0)?.release(&fluid.fluid, mass)?;
            let numbers = [
                ("fraction", Quantity::VolumeFraction, Some(found.fraction)),
                (
                    "oxygen_fraction",
                    Quantity::VolumeFraction,
                    Some(found.oxygen_fraction),
                ),
            ];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// A vessel of a `volume` in m3 let down from a state to an `end_pressure` in Pa through a hole of a `diameter` in m with a
/// `discharge_coefficient`, into a room of 20 degC and 101325 Pa, with a `wall_conductance` in W/K: "time" in s, "lowest_temperature" in K,
/// and "end_pressure" in Pa, which is above the one asked for where dry ice in the hole ends the course.
///
/// All phases leave as they are mixed. Uncertainty 10 to 30 %, that of the hole. The caller frees the result with `dp_danger_free`. A
/// mixture may take minutes: `dp_let_down_within` bounds it.
/// Errors: 101 for values not above zero, 503 for an end pressure not between those of the start and the room.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_let_down(
    state: *const dp_state,
    volume: f64,
    diameter: f64,
    discharge_coefficient: f64,
    wall_conductance: f64,
    end_pressure: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    let vessel = vessel_of(volume, diameter, discharge_coefficient, wall_conductance);
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell_of_course(state, &vessel, end_pressure, || Ok(Watch::new()), out) }
}

/// As `dp_let_down`, within `time_limit` in s, looked at before each of some fifty steps, which take up to seconds each for a mixture.
///
/// The caller owns the result and frees it with `dp_danger_free`. Error 406 if the time is over, 101 for one that is negative or no
/// number; the others as for `dp_let_down`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_let_down_within(
    state: *const dp_state,
    volume: f64,
    diameter: f64,
    discharge_coefficient: f64,
    wall_conductance: f64,
    end_pressure: f64,
    time_limit: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    let vessel = vessel_of(volume, diameter, discharge_coefficient, wall_conductance);
    let watch = || Watch::within(time_limit);
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell_of_course(state, &vessel, end_pressure, watch, out) }
}

/// A vessel in a room of 20 degC and 1 atm, of which the mixed content leaves.
fn vessel_of(
    volume: f64,
    diameter: f64,
    discharge_coefficient: f64,
    wall_conductance: f64,
) -> LetDown {
    LetDown {
        volume,
        diameter,
        discharge_coefficient,
        wall_conductance,
        room_temperature: 293.15,
        room_pressure: 101_325.0,
        drawn: Drawn::Mixed,
    }
}

/// Tells of the course of a vessel as long as a watch allows it.
unsafe fn tell_of_course(
    state: *const dp_state,
    vessel: &LetDown,
    end_pressure: f64,
    watch: impl FnOnce() -> Result<Watch, Error>,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_of_state(state, out, |state| {
            let watch = watch()?;
            let course = vessel.course_followed(state, end_pressure, |_| watch.check())?;
            let last = course.points.last();
            let numbers = [
                ("time", Quantity::Time, Some(course.time())),
                (
                    "lowest_temperature",
                    Quantity::Temperature,
                    Some(course.lowest_temperature()),
                ),
                (
                    "end_pressure",
                    Quantity::Pressure,
                    last.map(|point| point.state.pressure()),
                ),
            ];
            Ok(Danger::new(numbers, course.notices))
        })
    }
}

/// The vapour that a gas takes along beside a liquid `modifier` at a `temperature` in K and a `pressure` in Pa: "volume_fraction", and
/// "lower_flammable_limit" in air where it is known (IEC 60079-20-1:2010).
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a pressure not above zero, 302 above the critical temperature of the
/// modifier.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_vapour_in_vent(
    modifier: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut *mut dp_danger,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(out, || {
            let modifier = value(modifier, "modifier")?;
            let found = vapour_in_vent(&modifier.fluid, temperature, pressure)?;
            let numbers = [
                (
                    "volume_fraction",
                    Quantity::VolumeFraction,
                    Some(found.volume_fraction),
                ),
                (
                    "lower_flammable_limit",
                    Quantity::VolumeFraction,
                    found.lower_flammable_limit,
                ),
            ];
            Ok(Danger::new(numbers, found.notices))
        })
    }
}

/// What of a danger is asked.
unsafe fn ask<T>(
    danger: *const dp_danger,
    out: *mut T,
    what: impl FnOnce(&Danger) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (danger, out) = unsafe { (value(danger, "danger")?, output(out, "out")?) };
        out.write(what(danger)?);
        Ok(())
    })
}

/// Count of the numbers of a danger.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_danger_count(danger: *const dp_danger, out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { ask(danger, out, |danger| Ok(danger.numbers.len())) }
}

/// The number at `index`, from 0, of a danger; its part is empty. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_danger_at(
    danger: *const dp_danger,
    index: usize,
    out: *mut dp_fact,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        ask(danger, out, |danger| {
            let (name, quantity, value) = at(&danger.numbers, "index", index)?;
            Ok(dp_fact {
                part: c"".as_ptr(),
                name: name.as_ptr(),
                quantity: quantity_number(*quantity),
                value: *value,
            })
        })
    }
}

/// The number called `name` of a danger, in the SI unit of its quantity. Error 104 if it has none of that name.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_danger_find(
    danger: *const dp_danger,
    name: *const c_char,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        ask(danger, out, |danger| {
            let name = text(name, "name")?;
            let mut numbers = danger.numbers.iter();
            let found = numbers.find(|(known, ..)| known.to_bytes() == name.as_bytes());
            found
                .map(|(_, _, value)| *value)
                .ok_or_else(|| refused("name", "a number of the danger", &name))
        })
    }
}

/// Count of the notices of a danger.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_danger_notice_count(
    danger: *const dp_danger,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { ask(danger, out, |danger| Ok(danger.notices.len())) }
}

/// The notice at `index`, from 0, of a danger. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_danger_notice_at(
    danger: *const dp_danger,
    index: usize,
    out: *mut dp_notice,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        ask(danger, out, |danger| {
            let (labels, notice) = at(&danger.notices, "index", index)?;
            notice_row(labels, notice)
        })
    }
}

/// Frees a danger; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_danger_free(danger: *mut dp_danger) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(danger) }
}
