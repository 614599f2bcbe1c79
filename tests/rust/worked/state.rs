use super::{assert_examples, at, density, unknown};
use densepath::{Fluid, Quantity, State};
use densepath_tests::Example;

/// Pressures between which the maxima along an isotherm are sought.
const LOWEST: f64 = 74e5;
const HIGHEST: f64 = 230e5;

/// Place of the highest value of a function with one maximum, by golden section.
pub fn maximum(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    while high - low > 1e-9 * high {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if value(left) < value(right) {
            low = left;
        } else {
            high = right;
        }
    }
    0.5 * (low + high)
}

/// Largest difference of density between a linear rise of pressure and one of density.
fn density_departure(fluid: &Fluid, temperature: f64, start: f64, end: f64) -> f64 {
    const STEPS: u32 = 1000;
    let low = fluid.pressure(temperature, start).unwrap();
    let high = fluid.pressure(temperature, end).unwrap();
    (0..=STEPS)
        .map(|step| {
            let x = f64::from(step) / f64::from(STEPS);
            let found = density(fluid, temperature, low + x * (high - low));
            (found - (start + x * (end - start))).abs()
        })
        .fold(0.0, f64::max)
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    if example.case == "critical_point" {
        return fluid.critical_point().unwrap().temperature;
    }
    let temperature = example.input("temperature / K");
    match (example.case.as_str(), output) {
        ("state", output) => {
            let quantity: Quantity = output.parse().unwrap();
            let state = at(fluid, temperature, example.input("pressure / Pa"));
            state.get(quantity).unwrap()
        }
        ("pressure_of_density", "pressure") => {
            let state = State::from_t_rho(fluid, temperature, example.input("density / (kg/m3)"));
            state.unwrap().pressure()
        }
        ("linear_pressure_ramp", "largest density departure") => density_departure(
            fluid,
            temperature,
            example.input("density at start / (kg/m3)"),
            example.input("density at end / (kg/m3)"),
        ),
        ("temperature_error", "relative density change") => {
            let start = example.input("density / (kg/m3)");
            let pressure = fluid.pressure(temperature, start).unwrap();
            let warmer = temperature + example.input("temperature error / K");
            density(fluid, warmer, pressure) / start - 1.0
        }
        ("pseudocritical_line", "pressure of the maximum of drho_dp_t") => {
            maximum(LOWEST, HIGHEST, |pressure| {
                1.0 / at(fluid, temperature, pressure).dp_drho_t().unwrap()
            })
        }
        ("pseudocritical_line", output) => {
            let pressure = maximum(LOWEST, HIGHEST, |pressure| {
                let state = at(fluid, temperature, pressure);
                state.specific_isobaric_heat_capacity().unwrap()
            });
            if output.starts_with("density") {
                density(fluid, temperature, pressure)
            } else {
                pressure
            }
        }
        _ => unknown(example, output),
    }
}

#[test]
fn states() {
    assert_examples("worked_state", computed);
}
