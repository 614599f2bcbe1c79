//! Where two substances are said to mix in all proportions, the full test of stability finds nothing, and polynomials stand for the
//! density.

use super::*;
use crate::eos::equilibrium::samples::Forgetful;
use crate::eos::equilibrium::{Given, boundaries, flash, stability};
use crate::state::State;
use crate::state::cells::densities;

/// Numbers between 0 and 1 that fill the unit cube evenly (Halton, Numer. Math. 2, 84 (1960)).
fn even(index: u32) -> [f64; 3] {
    [2, 3, 5].map(|base| {
        let (mut rest, mut share, mut sum) = (index, 1.0, 0.0);
        while rest > 0 {
            share /= f64::from(base);
            sum += share * f64::from(rest % base);
            rest /= base;
        }
        sum
    })
}

const PARTNERS: [&str; 18] = [
    "methanol",
    "ethanol",
    "propan-1-ol",
    "propan-2-ol",
    "butan-1-ol",
    "acetonitrile",
    "acetone",
    "ethyl acetate",
    "tetrahydrofuran",
    "dichloromethane",
    "dimethyl sulfoxide",
    "water",
    "toluene",
    "cyclohexane",
    "n-hexane",
    "nitrogen",
    "ethane",
    "helium",
];

/// States of every pair with carbon dioxide in both kinds of model: half of them anywhere, half just beyond the lowest pressure from
/// which the substances are known to mix. How many of them are said to be one phase, and those that are not.
fn compare(states: u32) -> (u32, Vec<String>) {
    let (mut said, mut wrong) = (0, Vec::new());
    for (number, partner) in (0..).zip(PARTNERS) {
        for choice in [ModelChoice::MultiFluid, ModelChoice::Cubic] {
            let pair = [("carbon dioxide", 0.5), (partner, 0.5)];
            let Ok(fluid) = Fluid::mixture_with_model(&pair, choice) else {
                continue;
            };
            let model = fluid.mixed().unwrap().mixture.model();
            let range = fluid.range();
            let (low, high) = (
                range.temperature_min.max(200.0),
                range.temperature_max.min(480.0),
            );
            let highest = range.pressure_max.min(6e7);
            for index in 0..states {
                let [a, b, c] = even(1 + index + 10_000 * number);
                let temperature = low + a * (high - low);
                let pressure = |share: f64| 1e6 * (highest / 1e6).powf(share);
                let pressure = if index % 2 == 0 {
                    pressure(b)
                } else {
                    let mut rising = (0..60).map(|step| pressure(f64::from(step) / 60.0));
                    let first = rising.find(|p| model.mixes(temperature, *p));
                    first.unwrap_or(highest) * (1.0 + 0.02 * b)
                };
                if !model.mixes(temperature, pressure) {
                    continue;
                }
                said += 1;
                let x = [1.0 - c * c, c * c];
                let full = stability(&Forgetful(model), temperature, pressure, &x).unwrap();
                let roots = model.at(temperature, &x).densities(pressure).unwrap();
                if !full.is_stable() || roots.vapour != roots.liquid {
                    wrong.push(format!(
                        "{partner} {choice:?} {temperature} {pressure} {x:?}"
                    ));
                }
            }
        }
    }
    (said, wrong)
}

#[test]
fn substances_said_to_mix_are_one_phase_in_every_composition() {
    let (said, wrong) = compare(24);
    assert!(said > 200, "{said}");
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
#[ignore = "a campaign of 100 000 states: cargo test --release -p densepath-fluid mixing -- --ignored --nocapture"]
fn substances_said_to_mix_are_one_phase_in_a_hundred_thousand_states() {
    let (said, wrong) = compare(7500);
    println!(
        "{said} states said to be one phase, {} are not",
        wrong.len()
    );
    assert!(said > 100_000, "{said}");
    assert!(wrong.is_empty(), "{wrong:?}");
}

/// States of every pair with carbon dioxide in both kinds of model: how many are known to have no second phase within 5 bar, and those
/// of them that have one by a scan that knows nothing.
fn compare_nearness(states: u32) -> (u32, Vec<String>) {
    const NEAR: f64 = 5e5;
    let (mut said, mut wrong) = (0, Vec::new());
    for (number, partner) in (0..).zip(PARTNERS) {
        for choice in [ModelChoice::MultiFluid, ModelChoice::Cubic] {
            let pair = [("carbon dioxide", 0.5), (partner, 0.5)];
            let Ok(fluid) = Fluid::mixture_with_model(&pair, choice) else {
                continue;
            };
            let (low, high) = (fluid.range().temperature_min.max(230.0), 400.0);
            let highest = fluid.range().pressure_max.min(6e7);
            for index in 0..states {
                let [a, b, c] = even(1 + index + 10_000 * number);
                let (temperature, pressure) = (low + a * (high - low), 2e6 + b * (highest - 2e6));
                let x = [1.0 - c * c, c * c];
                let fluid = fluid.with_amount_fractions(&x).unwrap();
                let Ok(state) = State::from_tp(&fluid, temperature, pressure) else {
                    continue;
                };
                if !state.is_known_single_within(NEAR) {
                    continue;
                }
                said += 1;
                let model = Forgetful(fluid.mixed().unwrap().mixture.model());
                let around = (pressure - NEAR, pressure + NEAR);
                let given = Given::Temperature(temperature);
                let found = boundaries(&model, given, &x, around).unwrap();
                if !found.is_empty() || !state.is_one_phase() {
                    wrong.push(format!(
                        "{partner} {choice:?} {temperature} {pressure} {x:?}"
                    ));
                }
            }
        }
    }
    (said, wrong)
}

#[test]
fn states_known_to_be_single_have_no_border_near_by() {
    let (said, wrong) = compare_nearness(8);
    assert!(said > 50, "{said}");
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
#[ignore = "a campaign of some thousand scans: cargo test --release -p densepath-fluid mixing -- --ignored --nocapture"]
fn thousands_of_states_known_to_be_single_have_no_border_near_by() {
    let (said, wrong) = compare_nearness(600);
    println!("{said} states said to be single, {} are not", wrong.len());
    assert!(said > 5000, "{said}");
    assert!(wrong.is_empty(), "{wrong:?}");
}

/// The density of lists and that of states, which are solved one by one.
#[test]
fn polynomials_of_a_mixture_give_the_density_of_its_states() {
    for choice in [ModelChoice::MultiFluid, ModelChoice::Cubic] {
        let pair = [("carbon dioxide", 0.9), ("methanol", 0.1)];
        let fluid = Fluid::mixture_with_model(&pair, choice).unwrap();
        let points = (1..200).map(even);
        let (t, p): (Vec<f64>, Vec<f64>) = points
            .map(|[a, b, _]| (285.0 + 60.0 * a, 15e6 + 25e6 * b))
            .unzip();
        let mut quick = vec![f64::NAN; t.len()];
        crate::state::bulk::rows(&fluid, &[Quantity::Density], &t, &p, &mut quick);
        let answered = quick.iter().filter(|density| density.is_finite());
        assert!(answered.count() > 100);
        let mut listed = vec![f64::NAN; t.len()];
        fluid.density_into(&t, &p, &mut listed).unwrap();
        for (((t, p), listed), quick) in t.iter().zip(&p).zip(listed).zip(quick) {
            let state = State::from_tp(&fluid, *t, *p).unwrap().density();
            assert!(
                (listed / state - 1.0).abs() < 1e-11,
                "{t} {p} {listed} {state}"
            );
            assert!(quick.is_nan() || quick == listed);
            assert_eq!(listed, fluid.density(*t, *p).unwrap());
        }
    }
}

/// States of every pair with carbon dioxide in the cubic equation, half of them just beside the ordinary bubble and dew points: how
/// many have a density by a polynomial, and those of them of which a search that knows nothing finds several phases or another one.
fn compare_lists(states: u32) -> (u32, Vec<String>) {
    const SHARES: [f64; 5] = [0.3, 0.1, 0.7, 0.01, 0.001];
    let (mut said, mut wrong) = (0, Vec::new());
    for (number, partner) in (0..).zip(PARTNERS) {
        for (other, share) in (0..).zip(SHARES) {
            let pair = [("carbon dioxide", 1.0 - share), (partner, share)];
            let Ok(fluid) = Fluid::mixture_with_model(&pair, ModelChoice::Cubic) else {
                continue;
            };
            let mixed = fluid.mixed().unwrap();
            let low = fluid.range().temperature_min.max(210.0);
            for index in 0..states {
                let [a, b, c] = even(1 + index + 1000 * (number * 5 + other));
                let t = low + a * (430.0 - low);
                let border = match index % 4 {
                    0 => fluid.bubble_point_at_temperature(t),
                    1 => fluid.dew_point_at_temperature(t),
                    _ => Err(Error::Internal { place: "none" }),
                };
                let anywhere = 1e4 * (5e7 / 1e4_f64).powf(b);
                let p = border.map_or(anywhere, |border| border.pressure * (0.99 + 0.02 * c));
                let mut density = [f64::NAN];
                densities(mixed, &[t], &[p], &mut density);
                if density[0].is_nan() {
                    continue;
                }
                said += 1;
                let found = flash(&Forgetful(mixed.model()), t, p, mixed.fractions()).unwrap();
                let own = mixed.density(found.molar_density());
                if found.phases.len() > 1 || (density[0] / own - 1.0).abs() > 1e-11 {
                    wrong.push(format!("{partner} {share} {t} {p} {density:?} {own}"));
                }
            }
        }
    }
    (said, wrong)
}

#[test]
fn densities_of_lists_are_those_of_one_phase() {
    let (said, wrong) = compare_lists(8);
    assert!(said > 200, "{said}");
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
#[ignore = "a campaign of 20 000 states: cargo test --release -p densepath-fluid mixing -- --ignored --nocapture"]
fn densities_of_lists_are_those_of_one_phase_in_thousands_of_states() {
    let (said, wrong) = compare_lists(250);
    println!("{said} densities of lists, {} wrong", wrong.len());
    assert!(said > 10_000, "{said}");
    assert!(wrong.is_empty(), "{wrong:?}");
}
