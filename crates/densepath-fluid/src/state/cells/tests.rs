use super::{Cells, Node, densities};
use crate::num::lanes::Plain;
use crate::state::{Fluid, State, substances};

/// Greatest relative difference from the solver that any density may have.
const AGREEMENT: f64 = 1e-11;

/// Points of a rank-1 lattice over temperatures in K and logarithms of pressures in Pa.
fn points(count: u32, temperature: [f64; 2], pressure: [f64; 2]) -> Vec<(f64, f64)> {
    let logarithms = pressure.map(f64::ln);
    let point = |index: u32| {
        let x = (f64::from(index) * 0.754_877_666_246_693).fract();
        let y = (f64::from(index) * 0.569_840_290_998_053).fract();
        let between = |[low, high]: [f64; 2], place: f64| low + place * (high - low);
        (between(temperature, x), between(logarithms, y).exp())
    };
    (1..=count).map(point).collect()
}

fn quick(fluid: &Fluid, points: &[(f64, f64)]) -> Vec<f64> {
    let (temperatures, pressures): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let mut out = vec![0.0; points.len()];
    densities(fluid.pure().unwrap(), &temperatures, &pressures, &mut out);
    out
}

/// Compares every density with the solver's; returns how many of the states have one from a polynomial.
fn compare(fluid: &Fluid, points: &[(f64, f64)]) -> usize {
    let mut answered = 0;
    for ((temperature, pressure), quick) in points.iter().zip(quick(fluid, points)) {
        if quick.is_nan() {
            continue;
        }
        answered += 1;
        let name = fluid.name();
        let state = State::from_tp(fluid, *temperature, *pressure)
            .unwrap_or_else(|error| panic!("{name} {temperature} {pressure} {error}"));
        let difference = (quick / state.density() - 1.0).abs();
        assert!(
            difference <= AGREEMENT,
            "{name} {temperature} K {pressure} Pa: {difference:e}"
        );
    }
    answered
}

fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

#[test]
fn densities_are_those_of_the_solver() {
    let points = points(20_000, [217.0, 400.0], [1e4, 80e6]);
    let answered = compare(&co2(), &points);
    // The rest lies beside the vapour pressure, near the critical point, and in the solid.
    assert!(answered > 19_700, "{answered}");
}

#[test]
fn the_critical_region_is_exact_or_left_to_the_solver() {
    let points = points(4_000, [300.0, 312.0], [6.5e6, 9e6]);
    let answered = compare(&co2(), &points);
    assert!(answered > 2_000, "{answered}");
}

#[test]
fn no_state_beside_the_vapour_pressure_has_the_density_of_the_other_phase() {
    let fluid = co2();
    let mut points = Vec::new();
    for step in 0..60 {
        let temperature = 217.0 + 1.45 * f64::from(step);
        let pressure = fluid
            .coexistence_at_temperature(temperature)
            .unwrap()
            .pressure;
        for exponent in 2..14 {
            let distance = 10f64.powi(-exponent);
            points.push((temperature, pressure * (1.0 + distance)));
            points.push((temperature, pressure * (1.0 - distance)));
        }
    }
    compare(&fluid, &points);
}

#[test]
fn no_solid_state_has_the_density_of_a_liquid() {
    let mut count = 0;
    for fluid in substances().unwrap() {
        let Some(pure) = fluid.pure() else {
            continue;
        };
        let range = fluid.range();
        for step in 0..400 {
            let share = (f64::from(step) * 0.618_033_988_749_895).fract();
            let temperature = range.temperature_min
                + share * (range.temperature_max - range.temperature_min).min(60.0);
            let border = pure.melting_pressure(temperature);
            for exponent in 1..8 {
                let pressure = border * (1.0 + 10f64.powi(-exponent));
                if pressure < range.pressure_max {
                    let mut out = [0.0];
                    densities(pure, &[temperature], &[pressure], &mut out);
                    assert!(out[0].is_nan(), "{} {temperature} {pressure}", fluid.name());
                    count += 1;
                }
            }
        }
    }
    assert!(count > 1000, "{count}");
}

#[test]
fn densities_of_every_substance_are_those_of_the_solver() {
    for fluid in substances()
        .unwrap()
        .iter()
        .filter(|fluid| fluid.pure().is_some())
    {
        let range = fluid.range();
        let top = fluid.saturation_temperature_max().unwrap();
        let reach = [range.temperature_min, range.temperature_max.min(1.5 * top)];
        compare(
            fluid,
            &points(60, reach, [2e3, range.pressure_max.min(1e8)]),
        );
    }
}

#[test]
fn an_answer_does_not_depend_on_what_was_asked_before() {
    let fluid = co2();
    let pure = fluid.pure().unwrap();
    let points = points(300, [260.0, 340.0], [1e6, 30e6]);
    let [one, other] = [(); 2].map(|()| Cells::new(pure.substance).unwrap());
    let ask = |cells: &Cells, (temperature, pressure): (f64, f64)| match cells
        .find(pure, cells.place(temperature, pressure))
    {
        Node::Cell(cell) => Some(cell.density(Plain, temperature, pressure)),
        Node::Near(cell) => cell.polished(pure, temperature, pressure),
        Node::Split(_) | Node::Open => None,
    };
    let forward: Vec<_> = points.iter().map(|point| ask(&one, *point)).collect();
    let backward: Vec<_> = points
        .iter()
        .rev()
        .map(|point| ask(&other, *point))
        .collect();
    assert!(forward.iter().eq(backward.iter().rev()));
}

#[test]
fn what_lies_outside_of_the_plane_or_is_no_number_has_no_polynomial() {
    let fluid = co2();
    let [cold, low] = [fluid.range().temperature_min, 1e3];
    let states = [300.0, cold, cold.next_down(), 0.0, -300.0, 1e9, 1e300];
    let pressures = [1e5, low, low.next_down(), 0.0, -0.0, -1e5, 1e12, 1e300];
    let no_numbers = [f64::NAN, -f64::NAN, f64::INFINITY, f64::NEG_INFINITY];
    let mut points = Vec::new();
    for temperature in states.into_iter().chain(no_numbers) {
        let pressures = pressures.into_iter().chain(no_numbers);
        points.extend(pressures.map(|pressure| (temperature, pressure)));
    }
    let found = quick(&fluid, &points);
    for ((temperature, pressure), density) in points.iter().zip(&found) {
        let is_inside = (cold..1e3).contains(temperature) && (low..1e8).contains(pressure);
        assert!(
            is_inside || density.is_nan(),
            "{temperature} K {pressure} Pa"
        );
    }
    assert!(found[0] > 1.0 && compare(&fluid, &points[..1]) == 1);
}

/// A million states of carbon dioxide and ten thousand of every other substance.
#[test]
#[ignore = "minutes; run with --release"]
fn campaign() {
    let count = 1_000_000;
    let answered = compare(&co2(), &points(count, [217.0, 400.0], [1e4, 80e6]));
    println!("carbon dioxide: {answered} of {count} by polynomials");
    for fluid in substances()
        .unwrap()
        .iter()
        .filter(|fluid| fluid.pure().is_some())
    {
        let range = fluid.range();
        let top = fluid.saturation_temperature_max().unwrap();
        let reach = [range.temperature_min, range.temperature_max.min(1.7 * top)];
        let points = points(10_000, reach, [1.1e3, range.pressure_max.min(2e8)]);
        println!(
            "{}: {} of 10000 by polynomials",
            fluid.name(),
            compare(fluid, &points)
        );
    }
}
