//! What the solvers rely on in every data record, and what every state must obey.

use std::sync::LazyLock;

use super::*;
use crate::eos::{Coexistence, guess};
use crate::error::Error;
use crate::num::root::{Tolerance, bracketed};
use crate::quantity::Quantity;
use proptest::prelude::*;

/// The substances with a reference equation.
fn fluids() -> &'static [Fluid] {
    static FLUIDS: LazyLock<Vec<Fluid>> = LazyLock::new(|| {
        let all = substances().unwrap().iter();
        let known = |fluid: &&Fluid| fluid.record().unwrap().equation_of_state.is_some();
        all.filter(known).cloned().collect()
    });
    &FLUIDS
}

/// Temperatures from the lowest to the highest of the range, at equal ratios.
fn temperatures(fluid: &Fluid, count: u32) -> impl Iterator<Item = f64> {
    let range = fluid.range();
    let ratio = range.temperature_max / range.temperature_min;
    (0..=count)
        .map(move |step| range.temperature_min * ratio.powf(f64::from(step) / f64::from(count)))
}

/// Temperatures of the dome, dense towards its top: from the triple point to a share of 1e-8 below it.
fn temperatures_of_the_dome(fluid: &Fluid, count: u32) -> Vec<f64> {
    let (low, top) = (
        fluid.triple_temperature().unwrap(),
        fluid.helmholtz().unwrap().dome_top.temperature,
    );
    let share: f64 = 1.0 - low / top;
    let share_at = |step| share * (1e-8 / share).powf(f64::from(step) / f64::from(count));
    let even = (1..count).map(|step| low + (top - low) * f64::from(step) / f64::from(count));
    std::iter::once(low)
        .chain(even)
        .chain((0..=count).map(|step| top * (1.0 - share_at(step))))
        .collect()
}

fn coexistence(fluid: &Fluid, temperature: f64) -> Coexistence {
    let found = fluid
        .helmholtz()
        .unwrap()
        .coexistence_at_temperature(temperature);
    found.unwrap_or_else(|error| panic!("{} at {temperature} K: {error}", fluid.name()))
}

/// The search for a density relies on this: each isotherm rises from the liquid to the highest pressure of the fluid, and
/// does not fall below it again up to the highest density.
#[test]
fn every_isotherm_reaches_its_highest_pressure_once() {
    for fluid in fluids() {
        let helmholtz = fluid.helmholtz().unwrap();
        let top = helmholtz.density_max;
        for temperature in temperatures(fluid, 60) {
            let isotherm = helmholtz.isotherm(temperature);
            let dome = helmholtz.dome_top.temperature > temperature;
            let start = if dome {
                coexistence(fluid, temperature).liquid_density
            } else {
                1e-3 * top
            };
            let limit = fluid
                .range()
                .pressure_max
                .min(fluid.melting_pressure(temperature));
            let place =
                |density: f64| format!("{}, {temperature} K, {density} kg/m3", fluid.name());
            let mut reached = false;
            for step in 0..=600 {
                let density = start + (top - start) * f64::from(step) / 600.0;
                let point = isotherm.pressure(density);
                if reached {
                    assert!(point.pressure > limit, "{}", place(density));
                } else {
                    assert!(point.dp_drho > 0.0, "{}", place(density));
                    reached = point.pressure > limit;
                }
            }
            assert!(reached, "{}", place(top));
        }
    }
}

/// Below the top of the dome the start values bound the branches: beyond the vapour the pressure stays above all pressures that
/// are sought there, and before the liquid below.
#[test]
fn start_values_bound_the_branches() {
    for fluid in fluids() {
        let helmholtz = fluid.helmholtz().unwrap();
        let tolerance = helmholtz.guess.density_tolerance;
        for temperature in temperatures_of_the_dome(fluid, 60) {
            let (start, found) = (
                guess(helmholtz, temperature),
                coexistence(fluid, temperature),
            );
            let place = format!("{} at {temperature} K", fluid.name());
            let error = |start: f64, found: f64| (start / found - 1.0).abs();
            assert!(error(start.pressure, found.pressure) < 2e-3, "{place}");
            assert!(
                error(start.liquid_density, found.liquid_density) < tolerance,
                "{place}"
            );
            assert!(
                error(start.vapour_density, found.vapour_density) < tolerance,
                "{place}"
            );
            let isotherm = helmholtz.isotherm(temperature);
            // What some units in the last place of the density move the pressure of the liquid by: more than the vapour pressure
            // itself where that is millionths of a pascal.
            let slope = isotherm.pressure(found.liquid_density).dp_drho;
            let rounding = 16.0 * f64::EPSILON * found.liquid_density * slope;
            for step in 0..=20 {
                let share = f64::from(step) / 20.0;
                let between =
                    |from: f64, to: f64| isotherm.pressure(from + share * (to - from)).pressure;
                let vapour = between(
                    found.vapour_density,
                    start.vapour_density * (1.0 + tolerance),
                );
                let liquid = between(
                    found.liquid_density,
                    start.liquid_density * (1.0 - tolerance),
                );
                assert!(vapour > 0.992 * found.pressure, "{place}");
                assert!(liquid < 1.008 * found.pressure + rounding, "{place}");
            }
        }
    }
}

/// The stated critical point and the one of the equation differ by no more than the authors left it free.
#[test]
fn the_dome_ends_near_the_critical_point() {
    for fluid in fluids() {
        let (top, critical) = (
            fluid.helmholtz().unwrap().dome_top,
            fluid.critical_point().unwrap(),
        );
        let isotherm = fluid.helmholtz().unwrap().isotherm(top.temperature);
        let point = isotherm.pressure(top.density);
        assert!(
            point.dp_drho.abs() < 1e-6 * isotherm.thermal_energy(),
            "{}",
            fluid.name()
        );
        assert!(
            (top.temperature / critical.temperature - 1.0).abs() < 6e-3,
            "{}",
            fluid.name()
        );
        assert!(
            (point.pressure / critical.pressure - 1.0).abs() < 0.04,
            "{}",
            fluid.name()
        );
    }
}

/// Equal pressures, equal Gibbs energies and the slope of Clapeyron, from the triple point to 1e-8 below the top of the dome.
#[test]
fn coexisting_phases_are_in_equilibrium() {
    for fluid in fluids() {
        for temperature in temperatures_of_the_dome(fluid, 40) {
            let found = coexistence(fluid, temperature);
            let (liquid, vapour) = State::coexisting(fluid.pure().unwrap(), &found);
            let place = format!("{} at {temperature} K", fluid.name());
            let isotherm = fluid.helmholtz().unwrap().isotherm(temperature);
            let [at_liquid, at_vapour] = [found.liquid_density, found.vapour_density]
                .map(|density| isotherm.pressure(density));
            let energy = isotherm.thermal_energy();
            // The pressure of a liquid is known to the last digits of its density.
            let rounding = 1e-13 * found.liquid_density * (energy + at_liquid.dp_drho);
            assert!(
                (at_liquid.pressure - at_vapour.pressure).abs() < rounding,
                "{place}"
            );
            let difference = liquid.specific_gibbs_energy() - vapour.specific_gibbs_energy();
            assert!(
                difference.abs() < 1e-11 * energy.max(liquid.specific_enthalpy().abs()),
                "{place}"
            );
            assert!(
                (at_liquid.potential - at_vapour.potential).abs() < 1e-12,
                "{place}"
            );
        }
        for temperature in temperatures_of_the_dome(fluid, 20) {
            let share = 1.0 - temperature / fluid.helmholtz().unwrap().dome_top.temperature;
            let step = 1e-4 * temperature * share.min(0.1);
            if share < 1e-4 || temperature - step < fluid.triple_temperature().unwrap() {
                continue;
            }
            let (low, high) = (
                coexistence(fluid, temperature - step),
                coexistence(fluid, temperature + step),
            );
            let (liquid, vapour) =
                State::coexisting(fluid.pure().unwrap(), &coexistence(fluid, temperature));
            let slope = (high.pressure / low.pressure).ln() / (2.0 * step);
            let heat = vapour.specific_enthalpy() - liquid.specific_enthalpy();
            let clapeyron = heat
                / (temperature * liquid.pressure)
                / (1.0 / vapour.density - 1.0 / liquid.density);
            assert!(
                (slope / clapeyron - 1.0).abs() < 2e-6,
                "{} at {temperature} K: {slope} {clapeyron}",
                fluid.name()
            );
        }
    }
}

/// Vapour pressures at the triple points that are too low for the rounding of a liquid's pressure: independent solution with
/// numbers of forty digits.
#[test]
fn very_low_vapour_pressures_keep_their_digits() {
    for (name, temperature, liquid, vapour, pressure) in LOW_VAPOUR_PRESSURES {
        let fluid = Fluid::new(name).unwrap();
        let found = coexistence(&fluid, temperature);
        let molar = |density: f64| density / fluid.molar_mass();
        assert!(
            (molar(found.liquid_density) / liquid - 1.0).abs() < 1e-13,
            "{name}"
        );
        assert!(
            (molar(found.vapour_density) / vapour - 1.0).abs() < 2e-12,
            "{name}"
        );
        assert!((found.pressure / pressure - 1.0).abs() < 2e-12, "{name}");
    }
}

/// Temperature in K, densities of liquid and vapour in mol/m3, pressure in Pa.
const LOW_VAPOUR_PRESSURES: [(&str, f64, f64, f64, f64); 4] = [
    (
        "propane",
        85.525,
        16625.8055596502,
        2.41945350569602e-7,
        0.000172046181512329,
    ),
    (
        "ethanol",
        159.0,
        19731.486294597,
        5.43463379816683e-7,
        0.000718459149019169,
    ),
    (
        "methanol",
        175.61,
        28230.3966216714,
        0.000127641610353968,
        0.186350215060989,
    ),
    (
        "n-pentane",
        143.47,
        10584.3566277826,
        6.54116638007917e-5,
        0.0780279474318881,
    ),
];

/// Within a millikelvin of the critical point on both sides: no failure, pressures given back.
#[test]
fn every_critical_point_is_survived() {
    for fluid in fluids() {
        let top = fluid.helmholtz().unwrap().dome_top;
        let pressure = fluid
            .helmholtz()
            .unwrap()
            .isotherm(top.temperature)
            .pressure(top.density)
            .pressure;
        for distance in [0.0, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4] {
            for side in [-1.0, 1.0] {
                let temperature = top.temperature * (1.0 + side * distance);
                for offset in [-1e-4, -1e-7, 0.0, 1e-7, 1e-4] {
                    let wanted = pressure * (1.0 + offset);
                    let state =
                        State::fluid_from_tp(fluid.pure().unwrap(), temperature, wanted).unwrap();
                    let isotherm = fluid.helmholtz().unwrap().isotherm(temperature);
                    let back = isotherm.pressure(state.density).pressure;
                    assert!(
                        (back / wanted - 1.0).abs() < 1e-11,
                        "{} {temperature} {wanted}",
                        fluid.name()
                    );
                }
            }
        }
    }
}

#[test]
fn air_is_refused_between_its_lines_only() {
    let air = Fluid::new("air").unwrap();
    assert!(air.is_pseudo_pure());
    for temperature in [60.0, 80.0, 100.0, 120.0, 130.0, 132.0, 132.6] {
        let (bubble, dew) = air.bubble_and_dew_pressure(temperature).unwrap();
        assert!(bubble > dew);
        let at = |pressure| State::from_tp(&air, temperature, pressure);
        assert_eq!(at(bubble).unwrap().phase(), Phase::Liquid);
        assert_eq!(at(dew).unwrap().phase(), Phase::Vapour);
        assert_eq!(at(0.5 * (bubble + dew)).unwrap_err().code(), 202);
        let density = 0.5 * (at(bubble).unwrap().density() + at(dew).unwrap().density());
        assert_eq!(
            State::from_t_rho(&air, temperature, density)
                .unwrap_err()
                .code(),
            202
        );
        assert!(at(1.1 * bubble).unwrap().single_phase_margin().unwrap() > 0.0);
        assert!(at(0.9 * dew).unwrap().single_phase_margin().unwrap() < 0.0);
    }
    assert_eq!(air.bubble_and_dew_pressure(132.64), None);
    assert_eq!(
        air.saturation_at_temperature(100.0).unwrap_err().code(),
        202
    );
    assert_eq!(air.saturation_at_pressure(1e6).unwrap_err().code(), 202);
    assert!(
        State::from_tp(&air, 293.15, 1e7)
            .unwrap()
            .single_phase_margin()
            .unwrap()
            .is_infinite()
    );
}

/// Water is densest at 4 degC: below, two temperatures share a density, and the entropy rises with pressure.
#[test]
fn two_states_of_cold_water_may_share_a_pair() {
    let water = Fluid::new("water").unwrap();
    let cold = State::from_tp(&water, 275.15, 101_325.0).unwrap();
    let refused = State::from_p_rho(&water, 101_325.0, cold.density()).unwrap_err();
    assert_eq!(
        refused,
        Error::NotUnique {
            quantity: Quantity::Density,
            value: cold.density(),
            solutions: 2
        }
    );
    let densest = bracketed("test", 274.0, 280.0, Tolerance::default(), |temperature| {
        State::from_tp(&water, temperature, 101_325.0)?.isobaric_expansivity()
    });
    // Independent computation with CoolProp 8.0.0 (Wagner and Pruß 2002).
    assert!((densest.unwrap() - 277.128_121).abs() < 1e-5);
    let pressed = State::from_tp(&water, 274.15, 20e6).unwrap();
    assert!(
        pressed.specific_entropy()
            > State::from_tp(&water, 274.15, 1e5)
                .unwrap()
                .specific_entropy()
    );
    assert_eq!(
        State::from_ts(&water, 274.15, pressed.specific_entropy())
            .unwrap_err()
            .code(),
        403
    );
    let warm = State::from_tp(&water, 320.0, 20e6).unwrap();
    let back = State::from_ts(&water, 320.0, warm.specific_entropy()).unwrap();
    assert!((back.pressure() / 20e6 - 1.0).abs() < 1e-9);
}

#[test]
fn pairs_that_determine_no_state_are_refused() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let refused = |one, other| State::from_pair(&co2, one, other).unwrap_err().code();
    assert_eq!(
        refused(
            (Quantity::SpecificEnthalpy, 4e5),
            (Quantity::SpecificInternalEnergy, 3e5)
        ),
        104
    );
    assert_eq!(
        refused((Quantity::Pressure, 1e7), (Quantity::Pressure, 1e7)),
        104
    );
    assert_eq!(
        refused((Quantity::SpeedOfSound, 300.0), (Quantity::Pressure, 1e7)),
        104
    );
    assert_eq!(
        refused(
            (Quantity::SpecificEnthalpy, 1e9),
            (Quantity::SpecificEntropy, 0.0)
        ),
        402
    );
    assert_eq!(
        refused(
            (Quantity::Density, 800.0),
            (Quantity::SpecificInternalEnergy, 1e9)
        ),
        102
    );
    // A wet vapour and a compressed liquid.
    let wet = State::from_ph(&co2, 3e6, -2.8e5).unwrap();
    assert_eq!(wet.phase(), Phase::LiquidVapour);
    assert_eq!(
        refused(
            (Quantity::Temperature, wet.temperature()),
            (Quantity::SpecificEnthalpy, -2.8e5)
        ),
        403
    );
}

/// Dry ice and vapour come back with their fractions.
#[test]
fn states_with_solid_come_back() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let snow = State::from_tp(&co2, 313.15, 15e6)
        .unwrap()
        .expand_to(101_325.0)
        .unwrap();
    assert_eq!(snow.phase(), Phase::SolidVapour);
    let (h, s, u) = (
        snow.specific_enthalpy(),
        snow.specific_entropy(),
        snow.specific_internal_energy(),
    );
    for back in [
        State::from_p_rho(&co2, 101_325.0, snow.density()).unwrap(),
        State::from_ps(&co2, 101_325.0, s).unwrap(),
        State::from_pu(&co2, 101_325.0, u).unwrap(),
        State::from_hs(&co2, h, s).unwrap(),
        State::from_su(&co2, s, u).unwrap(),
    ] {
        assert_eq!(back.phase(), Phase::SolidVapour);
        assert!((back.pressure() / 101_325.0 - 1.0).abs() < 1e-9);
        assert!((back.solid_fraction() / snow.solid_fraction() - 1.0).abs() < 1e-9);
    }
}

/// Shares that place a state: of the fluids, of the temperatures, of the pressures, and the vapour fraction if it is positive.
type Shares = (usize, f64, f64, f64);

fn shares() -> impl Strategy<Value = Shares> {
    (0..fluids().len(), 0.0..1.0_f64, 0.0..1.0_f64, -1.0..1.0_f64)
}

/// The state of some shares; nothing outside the range of its fluid.
fn state_at((index, warmth, push, fraction): Shares) -> Option<State> {
    let fluid = &fluids()[index];
    let range = fluid.range();
    let top = fluid.helmholtz().unwrap().dome_top.temperature;
    let highest = range.temperature_max;
    let temperature = range.temperature_min + warmth * (highest - range.temperature_min);
    // Near the critical point the digits of the variables no longer tell the states apart.
    if (temperature / top - 1.0).abs() < 2e-3 {
        return None;
    }
    if fraction > 0.0 && temperature < top {
        let saturation = fluid.saturation_at_temperature(temperature).ok()?;
        let usual = saturation.pressure > 1e3;
        let volume =
            (1.0 - fraction) / saturation.liquid.density + fraction / saturation.vapour.density;
        return State::from_t_rho(fluid, temperature, 1.0 / volume)
            .ok()
            .filter(|_| usual);
    }
    let pressure = 1e3 * (range.pressure_max / 1e3).powf(push);
    State::from_tp(fluid, temperature, pressure).ok()
}

/// Pairs that determine a state, and the relative error that the rounding of their digits leaves.
const PAIRS: [(Quantity, Quantity, f64); 12] = [
    (Quantity::Temperature, Quantity::Pressure, 1e-14),
    (Quantity::Temperature, Quantity::Density, 1e-13),
    (Quantity::Pressure, Quantity::Density, 1e-9),
    (Quantity::Pressure, Quantity::SpecificEnthalpy, 1e-9),
    (Quantity::Pressure, Quantity::SpecificEntropy, 1e-9),
    (Quantity::Pressure, Quantity::SpecificInternalEnergy, 1e-9),
    (Quantity::Density, Quantity::SpecificEnthalpy, 1e-9),
    (Quantity::Density, Quantity::SpecificEntropy, 1e-9),
    (Quantity::Density, Quantity::SpecificInternalEnergy, 1e-9),
    (Quantity::Temperature, Quantity::SpecificEntropy, 1e-9),
    (Quantity::SpecificEnthalpy, Quantity::SpecificEntropy, 1e-8),
    // Of a liquid under low pressure the internal energy hardly depends on the pressure.
    (
        Quantity::SpecificEntropy,
        Quantity::SpecificInternalEnergy,
        1e-7,
    ),
];

proptest! {
    #![proptest_config(ProptestConfig { max_global_rejects: 1_000_000, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn any_pair_that_determines_a_state_gives_it_back(shares in shares()) {
        let state = state_at(shares);
        prop_assume!(state.is_some());
        let state = state.unwrap();
        let two_phases = state.phase() == Phase::LiquidVapour;
        let softness = state.isothermal_compressibility().map_or(1.0, |kappa| 1.0 + kappa * state.pressure());
        for (one, other, tolerance) in PAIRS {
            if two_phases && (one, other) == (Quantity::Temperature, Quantity::Pressure) {
                continue;
            }
            let values = [one, other].map(|quantity| state.get(quantity).unwrap());
            let back = match State::from_pair(&state.fluid, (one, values[0]), (other, values[1])) {
                Err(Error::NotUnique { .. }) => continue,
                // A poorly determined pressure may fall between the bubble and the dew line.
                Err(Error::MissingModel { .. }) if state.fluid.is_pseudo_pure() => continue,
                back => back.unwrap(),
            };
            prop_assert_eq!(back.phase(), state.phase());
            prop_assert!((back.temperature / state.temperature - 1.0).abs() < tolerance, "{} {} {}", one, other, back.temperature);
            prop_assert!((back.density / state.density - 1.0).abs() < tolerance * softness, "{} {} {}", one, other, back.density);
        }
    }

    /// A state is met again by temperature and enthalpy or internal energy, or said to be one of several.
    #[test]
    fn energies_on_an_isotherm_give_the_state_or_name_several(shares in shares()) {
        let state = state_at(shares);
        prop_assume!(state.is_some());
        let state = state.unwrap();
        for quantity in [Quantity::SpecificEnthalpy, Quantity::SpecificInternalEnergy] {
            let pair = (quantity, state.get(quantity).unwrap());
            match State::from_pair(&state.fluid, (Quantity::Temperature, state.temperature), pair) {
                Err(Error::NotUnique { solutions, .. }) => prop_assert!(solutions > 1),
                back => {
                    // A dilute gas keeps few digits of its pressure in its energy.
                    prop_assert!((back.unwrap().density / state.density - 1.0).abs() < 1e-5);
                }
            }
        }
    }

    /// Relations between the second derivatives of the Helmholtz energy, each computed in its own way, and first derivatives
    /// against differences.
    #[test]
    fn thermodynamic_identities_hold(shares in shares()) {
        let state = state_at(shares);
        prop_assume!(state.is_some());
        let state = state.unwrap();
        prop_assume!(state.phase().is_single_fluid());
        let cp = state.specific_isobaric_heat_capacity().unwrap();
        let cv = state.specific_isochoric_heat_capacity().unwrap();
        let (expansivity, compressibility) = (state.isobaric_expansivity().unwrap(), state.isothermal_compressibility().unwrap());
        let (t, p, rho) = (state.temperature, state.pressure, state.density);
        let gas = state.fluid.helmholtz().unwrap().specific_gas_constant;
        let difference = t * expansivity * expansivity / (compressibility * rho);
        prop_assert!((cp - cv - difference).abs() < 1e-11 * (cp + gas));
        // Joule-Thomson coefficient and speed of sound.
        let throttling = state.joule_thomson_coefficient().unwrap();
        prop_assert!((throttling - (t * expansivity - 1.0) / (rho * cp)).abs() < 1e-10 * (1.0 + t * expansivity.abs()) / (rho * cp));
        let speed = state.speed_of_sound().unwrap();
        let stiffness = cp / cv / (rho * compressibility);
        prop_assert!((speed * speed - stiffness).abs() < 1e-10 * stiffness);
        // (dh/dT)_p = c_p and T (ds/dT)_p = c_p by differences; no difference crosses a border of the phases.
        let step = 1e-5 * t;
        let near = |temperature| State::from_tp(&state.fluid, temperature, p).ok().filter(|near| near.phase() == state.phase());
        if let (Some(cold), Some(hot)) = (near(t - step), near(t + step)) {
            let slope = |of: fn(&State) -> f64| (of(&hot) - of(&cold)) / (2.0 * step);
            prop_assert!((slope(State::specific_enthalpy) / cp - 1.0).abs() < 1e-4);
            prop_assert!((t * slope(State::specific_entropy) / cp - 1.0).abs() < 1e-4);
            prop_assert!((slope(State::density) + rho * expansivity).abs() < 1e-4 * rho * (expansivity.abs() + 1e-3 / t));
        }
        prop_assert!((state.specific_enthalpy() - state.specific_internal_energy() - p / rho).abs() < 1e-9 * (gas * t + p / rho));
    }
}
