//! Cost of a state and its properties: `cargo bench -p densepath-benches --bench state`.

#![allow(missing_docs, reason = "a program")]

use densepath::{Fluid, ModelChoice, State};
use densepath_benches::{EIGHT, dense_points};
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

fn co2() -> Fluid {
    Fluid::new("carbon dioxide").expect("carbon dioxide is known")
}

/// Density from temperature and pressure, a thousand dense states.
#[divan::bench]
fn density(bencher: Bencher) {
    let (fluid, points) = (co2(), dense_points(1000));
    bencher.counter(points.len()).bench(|| {
        points
            .iter()
            .map(|&(t, p)| fluid.density(t, black_box(p)).unwrap_or(f64::NAN))
            .sum::<f64>()
    });
}

/// The same by one call.
#[divan::bench]
fn densities(bencher: Bencher) {
    let (fluid, points) = (co2(), dense_points(1000));
    let (temperatures, pressures): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
    let mut out = vec![0.0; temperatures.len()];
    bencher
        .counter(temperatures.len())
        .bench_local(|| fluid.density_into(&temperatures, black_box(&pressures), &mut out));
}

/// A thousand densities of carbon dioxide with a tenth of methanol, 300 to 340 K and 15 to 40 MPa, by one call.
#[divan::bench(args = [ModelChoice::MultiFluid, ModelChoice::Cubic])]
fn densities_of_a_mixture(bencher: Bencher, choice: ModelChoice) {
    let substances = [("carbon dioxide", 0.9), ("methanol", 0.1)];
    let fluid = Fluid::mixture_with_model(&substances, choice).expect("the pair is known");
    let points = dense_points(1000).into_iter();
    let moved = |(t, p): (f64, f64)| (300.0 + (t - 270.0) / 2.75, 15e6 + (p - 5e6) / 1.4);
    let (temperatures, pressures): (Vec<f64>, Vec<f64>) = points.map(moved).unzip();
    let mut out = vec![0.0; temperatures.len()];
    bencher
        .counter(temperatures.len())
        .bench_local(|| fluid.density_into(&temperatures, black_box(&pressures), &mut out));
}

/// Eight properties of a thousand dense states by one call.
#[divan::bench]
fn eight_properties(bencher: Bencher) {
    let (fluid, points) = (co2(), dense_points(1000));
    let (temperatures, pressures): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
    let mut out = vec![0.0; temperatures.len() * EIGHT.len()];
    bencher.counter(temperatures.len()).bench_local(|| {
        fluid.properties_into(&EIGHT, &temperatures, black_box(&pressures), &mut out)
    });
}

/// State from pressure and enthalpy, a hundred throttlings to ambient pressure.
#[divan::bench]
fn throttling(bencher: Bencher) {
    let points = dense_points(100);
    let fluid = co2();
    let states: Vec<State> = points
        .iter()
        .filter_map(|&(t, p)| State::from_tp(&fluid, t, p).ok())
        .collect();
    bencher.counter(states.len()).bench(|| {
        states
            .iter()
            .filter_map(|state| state.expand_to(black_box(101_325.0)).ok())
            .map(|end| end.solid_fraction())
            .sum::<f64>()
    });
}

/// Vapour pressure, a hundred temperatures.
#[divan::bench]
fn saturation(bencher: Bencher) {
    let fluid = co2();
    bencher.counter(100_u32).bench(|| {
        (0..100)
            .filter_map(|step| {
                fluid
                    .coexistence_at_temperature(220.0 + 0.8 * f64::from(black_box(step)))
                    .ok()
            })
            .map(|found| found.pressure)
            .sum::<f64>()
    });
}
