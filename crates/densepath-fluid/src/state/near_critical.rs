//! Carbon dioxide within a millikelvin and a millionth of the density of its critical point.

use super::*;
use crate::eos::Coexistence;
use crate::eos::helmholtz::EVALUATIONS;
use crate::quantity::Quantity;

fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

/// Zero, and distances from the smallest to the largest on both sides at equal ratios; rising.
fn distances(smallest: f64, largest: f64, steps: i32) -> Vec<f64> {
    let ratio = (largest / smallest).powf(1.0 / f64::from(steps));
    let up = (0..=steps).map(|step| smallest * ratio.powi(step));
    let down = up.clone().rev().map(|distance| -distance);
    down.chain([0.0]).chain(up).collect()
}

/// What `work` returns, and the evaluations of the equation that it took.
fn counted<T>(work: impl FnOnce() -> T) -> (T, u32) {
    EVALUATIONS.set(0);
    let value = work();
    (value, EVALUATIONS.get())
}

fn every_property_is_a_number(state: &State) {
    let caloric = [
        state.pressure(),
        state.density(),
        state.specific_enthalpy(),
        state.specific_entropy(),
        state.specific_internal_energy(),
    ];
    assert!(caloric.iter().all(|value| value.is_finite()), "{state:?}");
    if state.phase().is_single_fluid() {
        assert!(state.specific_isochoric_heat_capacity().unwrap() > 0.0);
        assert!(state.specific_isobaric_heat_capacity().unwrap() > 0.0);
        assert!(state.speed_of_sound().unwrap() > 0.0);
    }
}

/// Rounding allowed to a pressure, relative; an allowance, not derived.
const ROUNDING: f64 = 1e-14;

#[test]
fn the_pressure_rises_with_density_on_every_isotherm() {
    let fluid = co2();
    let critical = fluid.critical_point().unwrap();
    let mut largest = 0;
    for offset in distances(1e-9, 1e-3, 36) {
        let temperature = critical.temperature + offset;
        let mut before = 0.0;
        for share in distances(1e-12, 1e-6, 36) {
            let density = critical.density * (1.0 + share);
            let (state, count) = counted(|| State::from_t_rho(&fluid, temperature, density));
            let state = state.unwrap_or_else(|error| panic!("{offset} {share}: {error}"));
            every_property_is_a_number(&state);
            let pressure = state.pressure();
            assert!(pressure >= before * (1.0 - ROUNDING), "{offset} {share}");
            before = pressure;
            largest = largest.max(count);
        }
    }
    println!("largest number of evaluations of a state from (T, rho): {largest}");
    assert!(largest < 1_000);
}

#[test]
fn every_pressure_is_met_and_the_density_rises_with_it() {
    let fluid = co2();
    let critical = fluid.critical_point().unwrap();
    let mut largest = 0;
    for offset in distances(1e-9, 1e-3, 36) {
        let temperature = critical.temperature + offset;
        let isotherm = fluid.helmholtz().unwrap().isotherm(temperature);
        let mut before = 0.0;
        for step in distances(1e-6, 1e3, 36) {
            let pressure = critical.pressure + step;
            let (state, count) = counted(|| State::from_tp(&fluid, temperature, pressure));
            let state = state.unwrap_or_else(|error| panic!("{offset} {step}: {error}"));
            every_property_is_a_number(&state);
            let back = isotherm.pressure(state.density()).pressure;
            assert!(
                (back / pressure - 1.0).abs() < ROUNDING,
                "{offset} {step} {back}"
            );
            assert!(state.density() >= before, "{offset} {step}");
            before = state.density();
            largest = largest.max(count);
        }
    }
    println!("largest number of evaluations of a state from (T, p): {largest}");
    assert!(largest < 1_000);
}

#[test]
fn liquid_and_vapour_part_down_from_the_critical_point() {
    let fluid = co2();
    let critical = fluid.critical_point().unwrap();
    let mut largest = 0;
    let mut above: Option<Coexistence> = None;
    for offset in distances(1e-6, 1e-3, 36)
        .into_iter()
        .rev()
        .filter(|offset| *offset < 0.0)
    {
        let temperature = critical.temperature + offset;
        let (found, count) = counted(|| fluid.coexistence_at_temperature(temperature));
        let found = found.unwrap_or_else(|error| panic!("{offset}: {error}"));
        assert!(found.liquid_density > critical.density && critical.density > found.vapour_density);
        if let Some(above) = above {
            assert!(found.pressure < above.pressure, "{offset}");
            assert!(found.liquid_density > above.liquid_density, "{offset}");
            assert!(found.vapour_density < above.vapour_density, "{offset}");
        }
        above = Some(found);
        largest = largest.max(count);
        let (at_pressure, count) = counted(|| fluid.coexistence_at_pressure(found.pressure));
        let back = at_pressure.unwrap_or_else(|error| panic!("{offset}: {error}"));
        assert!(
            (back.temperature - temperature).abs() < 1e-9,
            "{offset} {back:?}"
        );
        largest = largest.max(count);
    }
    println!("largest number of evaluations of a saturation: {largest}");
    assert!(largest < BOUND);
}

/// Pairs of variables that determine a state near the critical point.
const PAIRS: [(Quantity, Quantity); 10] = [
    (Quantity::Pressure, Quantity::SpecificEnthalpy),
    (Quantity::Pressure, Quantity::SpecificEntropy),
    (Quantity::Pressure, Quantity::SpecificInternalEnergy),
    (Quantity::Density, Quantity::SpecificEnthalpy),
    (Quantity::Density, Quantity::SpecificEntropy),
    (Quantity::Density, Quantity::SpecificInternalEnergy),
    (Quantity::Temperature, Quantity::SpecificEntropy),
    (Quantity::Pressure, Quantity::Density),
    (Quantity::SpecificEnthalpy, Quantity::SpecificEntropy),
    (Quantity::SpecificEntropy, Quantity::SpecificInternalEnergy),
];

/// Largest number of evaluations of the equation that a state or a saturation may take.
const BOUND: u32 = 2_000;

/// One phase at a temperature and a pressure, and one or two at a temperature and a density, from every pair.
#[test]
fn every_pair_leads_back_to_a_state_in_bounded_work() {
    let fluid = co2();
    let critical = fluid.critical_point().unwrap();
    let mut states = Vec::new();
    for offset in distances(1e-6, 1e-3, 9) {
        let temperature = critical.temperature + offset;
        for step in distances(1.0, 1e3, 6) {
            states.push(State::from_tp(&fluid, temperature, critical.pressure + step).unwrap());
        }
        for share in distances(1e-9, 1e-6, 6) {
            let density = critical.density * (1.0 + share);
            states.push(State::from_t_rho(&fluid, temperature, density).unwrap());
        }
    }
    for (one, other) in PAIRS {
        let mut largest = 0;
        let mut misses = (0.0_f64, 0.0_f64);
        for state in &states {
            let pair = [one, other].map(|quantity| (quantity, state.get(quantity).unwrap()));
            let (back, count) = counted(|| State::from_pair(&fluid, pair[0], pair[1]));
            let place = format!("{one} {other} {} {}", state.temperature(), state.density());
            let back = back.unwrap_or_else(|error| panic!("{place}: {error}"));
            every_property_is_a_number(&back);
            let [apart, missed] = [
                back.temperature() - state.temperature(),
                back.pressure() / state.pressure() - 1.0,
            ];
            misses = (misses.0.max(apart.abs()), misses.1.max(missed.abs()));
            assert!(apart.abs() < 5e-8, "{place}: {apart} K");
            assert!(missed.abs() < 1.2e-9, "{place}: {missed}");
            largest = largest.max(count);
        }
        println!(
            "largest number of evaluations of a state from {one} and {other}: {largest}; misses {misses:?}"
        );
        assert!(largest < BOUND, "{one} {other}: {largest}");
    }
}

#[test]
fn enthalpy_and_entropy_lead_back_to_a_state() {
    let fluid = co2();
    let critical = fluid.critical_point().unwrap();
    let mut largest = 0;
    for offset in distances(1e-6, 1e-3, 9) {
        for step in distances(1.0, 1e3, 12) {
            let (temperature, pressure) = (critical.temperature + offset, critical.pressure + step);
            let state = State::from_tp(&fluid, temperature, pressure).unwrap();
            let (enthalpy, entropy) = (state.specific_enthalpy(), state.specific_entropy());
            // The last digits of the temperature and of the pressure of the equation, of both states, are this much enthalpy.
            let last_digits =
                4.0 * f64::EPSILON * temperature + ROUNDING * pressure / state.dp_dt_rho().unwrap();
            let resolution = 1e-12 * enthalpy.abs()
                + 2.0 * last_digits * state.specific_isobaric_heat_capacity().unwrap();
            let (by_enthalpy, first) = counted(|| State::from_ph(&fluid, pressure, enthalpy));
            let (by_entropy, second) = counted(|| State::from_ps(&fluid, pressure, entropy));
            for back in [by_enthalpy.unwrap(), by_entropy.unwrap()] {
                let missed = back.specific_enthalpy() - enthalpy;
                assert!(
                    (back.temperature() - temperature).abs() < 1e-9,
                    "{offset} {step}"
                );
                assert!(missed.abs() < resolution, "{offset} {step}: {missed}");
            }
            largest = largest.max(first).max(second);
        }
    }
    println!("largest number of evaluations of a state from (p, h) or (p, s): {largest}");
    assert!(largest < BOUND);
}
