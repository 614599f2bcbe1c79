//! Identities of thermodynamics over the whole range of every reference equation, to 1e-8.
//!
//! Each compares a property that the library derives in closed form with a difference of another one, or with a combination of
//! others. The differences are extrapolated (Romberg), so that their own error, told by the last two stages, stays below the
//! tolerance; where it does not, as close to the critical point, the difference says nothing and is left out.

use std::cell::Cell;
use std::sync::LazyLock;

use super::*;
use proptest::prelude::*;
use proptest::strategy::ValueTree;

/// What is asked for, relative.
const TOLERANCE: f64 = 1e-8;

/// The substances with a reference equation.
fn fluids() -> &'static [Fluid] {
    static FLUIDS: LazyLock<Vec<Fluid>> = LazyLock::new(|| {
        let all = substances().unwrap().iter();
        let known = |fluid: &&Fluid| fluid.record().unwrap().equation_of_state.is_some();
        all.filter(known).cloned().collect()
    });
    &FLUIDS
}

/// The derivative of a function by central differences with halved steps, extrapolated, and an estimate of its error.
fn derivative(at: f64, step: f64, of: impl Fn(f64) -> Option<f64>) -> Option<(f64, f64)> {
    const STAGES: usize = 5;
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let mut best: Option<(f64, f64)> = None;
    for stage in 0..STAGES {
        let h = step / 2f64.powi(i32::try_from(stage).ok()?);
        let mut row = vec![(of(at + h)? - of(at - h)?) / (2.0 * h)];
        for order in 1..=stage {
            let factor = 4f64.powi(i32::try_from(order).ok()?);
            let (fine, coarse) = (row[order - 1], rows[stage - 1][order - 1]);
            let better = (factor * fine - coarse) / (factor - 1.0);
            let error = (better - fine).abs().max((better - coarse).abs());
            if best.is_none_or(|(_, known)| error < known) {
                best = Some((better, error));
            }
            row.push(better);
        }
        rows.push(row);
    }
    best
}

thread_local! {
    /// Derivatives compared, and those whose own error was too large to say anything.
    static COUNTS: Cell<(u32, u32)> = const { Cell::new((0, 0)) };
}

/// Fails where a derivative differs from what it must be by more than the tolerance of the scale.
fn compare(
    place: &str,
    found: Option<(f64, f64)>,
    expected: f64,
    scale: f64,
) -> std::result::Result<(), TestCaseError> {
    let (compared, silent) = COUNTS.get();
    match found {
        Some((value, error)) if error < 0.3 * TOLERANCE * scale => {
            COUNTS.set((compared + 1, silent));
            let missed = (value - expected).abs();
            prop_assert!(
                missed < TOLERANCE * scale,
                "{}: {} instead of {}",
                place,
                value,
                expected
            );
        }
        _ => COUNTS.set((compared, silent + 1)),
    }
    Ok(())
}

/// A state of one phase by a fluid and shares of its temperatures (by their logarithm) and its densities up to the highest
/// pressure; nothing where the pair is not one fluid phase.
fn state_at((index, warmth, fill): (usize, f64, f64)) -> Option<State> {
    let fluid = &fluids()[index];
    let range = fluid.range();
    let ratio = range.temperature_max / range.temperature_min;
    let temperature = range.temperature_min * ratio.powf(warmth);
    let highest = range.pressure_max.min(fluid.melting_pressure(temperature));
    let dense = State::from_tp(fluid, temperature, highest * (1.0 - 1e-9)).ok()?;
    let thin = 1e-4 * dense.density();
    let density = if fill < 0.3 {
        thin * (dense.density() / thin).powf(fill / 0.3)
    } else {
        dense.density() * (fill - 0.3) / 0.7
    };
    let state = State::from_t_rho(fluid, temperature, density).ok()?;
    state.phase().is_single_fluid().then_some(state)
}

fn shares() -> impl Strategy<Value = (usize, f64, f64)> {
    (0..fluids().len(), 0.0..1.0_f64, 0.02..1.0_f64)
}

proptest! {
    #![proptest_config(ProptestConfig { max_global_rejects: 1_000_000, ..ProptestConfig::with_cases(600) })]

    /// Closed relations between properties that are each computed in their own way.
    #[test]
    fn closed_relations_hold(shares in shares()) {
        let state = state_at(shares);
        prop_assume!(state.is_some());
        let state = state.unwrap();
        let (t, p, rho) = (state.temperature(), state.pressure(), state.density());
        let r = state.fluid.helmholtz().unwrap().specific_gas_constant;
        let cp = state.specific_isobaric_heat_capacity().unwrap();
        let cv = state.specific_isochoric_heat_capacity().unwrap();
        let alpha = state.isobaric_expansivity().unwrap();
        let kappa = state.isothermal_compressibility().unwrap();
        let (dp_drho, dp_dt) = (state.dp_drho_t().unwrap(), state.dp_dt_rho().unwrap());
        let relations = [
            ("cp - cv", cp - cv, t * alpha * alpha / (kappa * rho), cp),
            ("alpha / kappa", alpha / kappa, dp_dt, dp_dt.abs() + p / t),
            ("kappa", kappa * rho * dp_drho, 1.0, 1.0),
            ("w^2", state.speed_of_sound().unwrap().powi(2), cp / cv * dp_drho, cp / cv * dp_drho),
            ("mu_JT", state.joule_thomson_coefficient().unwrap() * rho * cp, t * alpha - 1.0, 1.0 + t * alpha.abs()),
            ("(drho/dp)_s", state.drho_dp_s().unwrap() * cp, rho * kappa * cv, rho * kappa * cv),
            ("(drho/dp)_h", state.drho_dp_h().unwrap(), rho * kappa - rho * alpha * (t * alpha - 1.0) / (rho * cp), rho * kappa),
            ("(dh/dp)_T", state.dh_dp_t().unwrap(), -state.joule_thomson_coefficient().unwrap() * cp, (1.0 + t * alpha.abs()) / rho),
            ("g", state.specific_gibbs_energy(), state.specific_enthalpy() - t * state.specific_entropy(), state.specific_enthalpy().abs() + r * t),
            ("a", state.specific_helmholtz_energy(), state.specific_internal_energy() - t * state.specific_entropy(), state.specific_internal_energy().abs() + r * t),
            ("h", state.specific_enthalpy(), state.specific_internal_energy() + p / rho, state.specific_enthalpy().abs() + r * t),
        ];
        for (name, one, other, scale) in relations {
            prop_assert!((one - other).abs() < TOLERANCE * scale, "{} of {} at {} K, {} kg/m3: {} {}", name, state.fluid.name(), t, rho, one, other);
        }
    }

    /// Slopes along isotherms and isochores: Maxwell's relation, the heat capacity and the slopes of the pressure.
    #[test]
    fn differences_agree_with_derivatives(shares in shares()) {
        let state = state_at(shares);
        prop_assume!(state.is_some());
        let state = state.unwrap();
        let (t, p, rho) = (state.temperature(), state.pressure(), state.density());
        let pure = state.fluid.reference().unwrap();
        // The equation itself, so that no difference is cut off at a border of the phases.
        let at = |temperature: f64, density: f64| {
            let isotherm = pure.helmholtz().isotherm(temperature);
            let pressure = isotherm.pressure(density).pressure;
            State::single(pure, &isotherm, density, pressure, Phase::Supercritical)
        };
        let along_density = |of: fn(&State) -> f64| derivative(rho, 0.02 * rho, |density| Some(of(&at(t, density))));
        let along_temperature = |of: fn(&State) -> f64| derivative(t, 0.01 * t, |temperature| Some(of(&at(temperature, rho))));
        let place = format!("{} at {t} K, {rho} kg/m3", state.fluid.name());
        let (dp_drho, dp_dt) = (state.dp_drho_t().unwrap(), state.dp_dt_rho().unwrap());
        let cv = state.specific_isochoric_heat_capacity().unwrap();
        let r = state.fluid.helmholtz().unwrap().specific_gas_constant;
        // (ds/drho)_T = -(dp/dT)_rho / rho^2 (Maxwell), (da/drho)_T = p / rho^2, (da/dT)_rho = -s.
        compare(&place, along_density(State::specific_entropy), -dp_dt / (rho * rho), dp_dt.abs() / (rho * rho))?;
        compare(&place, along_density(State::pressure), dp_drho, dp_drho)?;
        compare(&place, along_density(State::specific_helmholtz_energy), p / (rho * rho), (p.abs() + rho * r * t) / (rho * rho))?;
        compare(&place, along_temperature(State::pressure), dp_dt, dp_dt.abs())?;
        compare(&place, along_temperature(State::specific_internal_energy), cv, cv)?;
        compare(&place, along_temperature(State::specific_entropy), cv / t, cv / t)?;
        compare(&place, along_temperature(State::specific_helmholtz_energy), -state.specific_entropy(), state.specific_entropy().abs() + cv)?;
    }

    /// Equal Gibbs energies of liquid and vapour, and the slope of Clapeyron, from the triple point on.
    #[test]
    fn coexisting_phases_obey_clapeyron(index in 0..fluids().len(), share in 0.0..1.0_f64) {
        let fluid = &fluids()[index];
        let (low, top) = (fluid.triple_temperature().unwrap(), fluid.helmholtz().unwrap().dome_top.temperature);
        // Steps stay inside the dome; within a ten thousandth of its top the volumes differ by too few digits.
        let temperature = low + (top * (1.0 - 1e-4) - low) * share;
        let pure = fluid.reference().unwrap();
        let found = fluid.helmholtz().unwrap().coexistence_at_temperature(temperature).unwrap();
        let (liquid, vapour) = State::coexisting(pure, &found);
        let scale = liquid.specific_enthalpy().abs() + fluid.specific_gas_constant() * temperature;
        let apart = liquid.specific_gibbs_energy() - vapour.specific_gibbs_energy();
        prop_assert!(apart.abs() < TOLERANCE * scale, "{} at {temperature} K: {apart}", fluid.name());
        let step = (0.02 * temperature).min(0.2 * (top - temperature)).min(temperature - low);
        prop_assume!(step > 1e-3 * (top - temperature));
        let logarithm = |temperature| {
            let found = fluid.helmholtz().ok()?.coexistence_at_temperature(temperature);
            Some(found.ok()?.pressure.ln())
        };
        let jump = vapour.specific_enthalpy() - liquid.specific_enthalpy();
        let expected = jump / (temperature * found.pressure * (1.0 / vapour.density() - 1.0 / liquid.density()));
        compare(&format!("{} boiling at {temperature} K", fluid.name()), derivative(temperature, step, logarithm), expected, expected)?;
    }
}

/// Few of the differences above are too rough to say anything.
#[test]
fn most_differences_tell_something() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    COUNTS.set((0, 0));
    for _ in 0..200 {
        let tree = shares().new_tree(&mut runner).unwrap();
        let Some(state) = state_at(tree.current()) else {
            continue;
        };
        let pure = state.fluid.reference().unwrap();
        let slope = derivative(state.density(), 0.02 * state.density(), |density| {
            let isotherm = pure.helmholtz().isotherm(state.temperature());
            let pressure = isotherm.pressure(density).pressure;
            Some(
                State::single(pure, &isotherm, density, pressure, Phase::Supercritical)
                    .specific_entropy(),
            )
        });
        let expected = -state.dp_dt_rho().unwrap() / state.density().powi(2);
        compare(state.fluid.name(), slope, expected, expected.abs()).unwrap();
    }
    let (compared, silent) = COUNTS.get();
    println!("{compared} differences compared, {silent} too rough to say anything");
    assert!(compared > 9 * silent);
}
