//! Cost of sizing restrictors and of a map of flow over pressure: `cargo bench -p densepath-benches --bench restrictor`.

#![allow(missing_docs, reason = "a program")]

use densepath::flow::friction::Wall;
use densepath::hardware::LinearRestrictor;
use densepath::hardware::restrictor::{
    BoredRestrictor, OrificeRestrictor, Restrictor, RestrictorHeating,
};
use densepath::{Fluid, State};
use divan::Bencher;

const TEMPERATURE: f64 = 373.15;
const INLET: f64 = 200e5;
const OUTSIDE: f64 = 1.013e5;
const FLOW: f64 = 1.9e-8;

fn main() {
    divan::main();
}

fn co2() -> Fluid {
    Fluid::new("carbon dioxide").expect("a known substance")
}

fn linear() -> LinearRestrictor {
    LinearRestrictor::new(10e-6, 0.2).expect("a restrictor")
}

/// One sizing call from nothing: the isotherm is made for it.
#[divan::bench]
fn length_for(bencher: Bencher) {
    let (fluid, restrictor) = (co2(), linear());
    bencher.bench(|| restrictor.length_for(FLOW, &fluid, TEMPERATURE, INLET, OUTSIDE));
}

#[divan::bench]
fn diameter_for(bencher: Bencher) {
    let (fluid, restrictor) = (co2(), linear());
    bencher.bench(|| restrictor.diameter_for(FLOW, &fluid, TEMPERATURE, INLET, OUTSIDE));
}

/// The dearest of them: from laminar to turbulent flow, nine kelvins above the critical temperature.
#[divan::bench]
fn diameter_near_critical(bencher: Bencher) {
    let fluid = co2();
    let wide = LinearRestrictor::new(25e-6, 0.5).expect("a restrictor");
    bencher.bench(|| wide.diameter_for(84.0 * FLOW, &fluid, 313.15, 150e5, OUTSIDE));
}

#[divan::bench]
fn inlet_pressure_for(bencher: Bencher) {
    let (fluid, restrictor) = (co2(), linear());
    bencher.bench(|| restrictor.inlet_pressure_for(FLOW, &fluid, TEMPERATURE, OUTSIDE));
}

/// Half a kelvin above the critical temperature.
#[divan::bench]
fn length_near_critical(bencher: Bencher) {
    let (fluid, restrictor) = (co2(), linear());
    bencher.bench(|| restrictor.length_for(FLOW, &fluid, 304.65, INLET, OUTSIDE));
}

/// A sizing call on an isotherm at hand.
#[divan::bench]
fn length_on_isotherm(bencher: Bencher) {
    let isotherm = linear()
        .isotherm(&co2(), TEMPERATURE, INLET, OUTSIDE)
        .expect("one phase");
    bencher.bench(|| isotherm.flow_of_length_for(10e-6, FLOW, Wall::SMOOTH));
}

/// Bores in um and temperatures in degC: laminar flow, flow between laminar and turbulent, and turbulent flow.
const MAPS: [(u32, u32); 4] = [(10, 100), (10, 40), (20, 40), (50, 40)];

/// Flows at 1000 inlet pressures on the isotherm of the highest.
#[divan::bench(args = MAPS)]
fn map_of_1000_pressures(bencher: Bencher, (bore, temperature): (u32, u32)) {
    map(bencher, (bore, temperature), Wall::SMOOTH);
}

/// The same by the friction law of Colebrook, between rough walls.
#[divan::bench(args = MAPS)]
fn map_of_1000_pressures_between_rough_walls(bencher: Bencher, (bore, temperature): (u32, u32)) {
    let wall = Wall {
        roughness: 1e-8,
        ..Wall::default()
    };
    map(bencher, (bore, temperature), wall);
}

fn map(bencher: Bencher, (bore, temperature): (u32, u32), wall: Wall) {
    let (fluid, kelvin) = (co2(), 273.15 + f64::from(temperature));
    let highest = linear()
        .isotherm(&fluid, kelvin, 300e5, OUTSIDE)
        .expect("one phase");
    let pressures: Vec<f64> = (1..=1000)
        .map(|step| 80e5 + 22e3 * f64::from(step))
        .collect();
    let diameter = 1e-6 * f64::from(bore);
    bencher.bench(|| highest.flows(diameter, 0.2, wall, &pressures));
}

#[divan::bench]
fn tapered(bencher: Bencher) {
    let (fluid, cone) = (
        co2(),
        BoredRestrictor::tapered(30e-6, 8e-6, 0.1).expect("a restrictor"),
    );
    bencher.bench(|| cone.mass_flow_rate(&fluid, TEMPERATURE, INLET, OUTSIDE));
}

#[divan::bench(sample_count = 10)]
fn adiabatic(bencher: Bencher) {
    let fluid = co2();
    let cold = linear()
        .with_heating(RestrictorHeating::Adiabatic)
        .expect("a restrictor");
    bencher.bench(|| cold.mass_flow_rate(&fluid, TEMPERATURE, INLET, OUTSIDE));
}

#[divan::bench]
fn orifice(bencher: Bencher) {
    let (fluid, hole) = (co2(), OrificeRestrictor::new(1e-6, 0.8).expect("a hole"));
    bencher.bench(|| hole.mass_flow_rate(&fluid, TEMPERATURE, INLET, OUTSIDE));
}

/// One state, as a measure of the others.
#[divan::bench]
fn one_density(bencher: Bencher) {
    let fluid = co2();
    bencher.bench(|| State::from_tp(&fluid, TEMPERATURE, INLET).map(|state| state.density()));
}
